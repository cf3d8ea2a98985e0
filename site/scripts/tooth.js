// The cross-section of the prepared tooth: a box cavity in dentine over the pulp, with the layers in it.
//
// Everything is drawn to one scale, chosen so that dentine and layers fill the picture, but for what could not be seen at
// it (films) and what has no thickness: these carry a break mark and say that they are not to scale. A layer covers as
// much of the cavity as its place says, from the deepest spot to all walls. Places are whole numbers of tenths of a unit;
// the picture is 320 units wide, so that its words keep 12 pixels on the narrowest phone.

const TOOTH_WIDTH = 3200;
const [TOOTH_CENTRE, TOOTH_TOOTH, TOOTH_HALF, TOOTH_TOP] = [730, 715, 440, 190];
const [TOOTH_SPOT, TOOTH_SLOPE, TOOTH_DIP, TOOTH_LEAST] = [140, 150, 90, 270];
const [TOOTH_MOST_SCALE, TOOTH_ROOM] = [new Exact(1100n), new Exact(2000n)];
const [TOOTH_FILM, TOOTH_PLAIN, TOOTH_UNKNOWN, TOOTH_JUST] = [70, 110, 340, 12];
const [TOOTH_REST, TOOTH_PULP, TOOTH_WALL, TOOTH_WALLS, TOOTH_ROUND] = [560, 480, 80, 240, 50];
const [TOOTH_TEXT_X, TOOTH_TEXT_WIDTH, TOOTH_NUMBER_X] = [1800, 1390, 1590];
const [TOOTH_LINE, TOOTH_GAP, TOOTH_ASIDE] = [170, 90, 90];

/** The figure of what `sectionOf` gives; every height and surface in tenths of a unit. */
class ToothDrawing {
  constructor(section, uid) {
    const { ground, layers } = section;
    this.section = section;
    this.uid = uid;
    const sizes = [...layers, ground].map((one) => one.thickness).filter((thickness) => thickness !== null);
    const total = sizes.reduce((sum, size) => sum.plus(size), new Exact(0n));
    this.scale = total.numerator === 0n ? new Exact(0n) : TOOTH_ROOM.over(total);
    if (this.scale.compare(TOOTH_MOST_SCALE) > 0) this.scale = TOOTH_MOST_SCALE;
    this.ground = ground.thickness === null ? TOOTH_UNKNOWN : this.drawn(ground.thickness);
    if (ground.isJustShort) this.ground = Math.max(this.ground, TOOTH_JUST);
    const onWalls = layers.filter((layer) => this.isOnWalls(layer)).length;
    this.mostOnWall = onWalls ? Math.min(TOOTH_WALL, Math.floor(TOOTH_WALLS / onWalls)) : 0;
    const floor = [[0, 0], [TOOTH_SPOT, 0], [TOOTH_SPOT + TOOTH_SLOPE, TOOTH_DIP], [TOOTH_HALF, TOOTH_DIP]];
    const reaches = layers.filter((layer) => !this.isOnWalls(layer)).map((layer) => this.reach(layer));
    const ends = reaches.filter((reach) => reach < TOOTH_HALF).flatMap((reach) => [reach - TOOTH_SLOPE, reach]);
    const places = [...new Set([...floor.map(([u]) => u), ...ends])].sort((one, other) => one - other);
    this.surfaces = [places.map((u) => [u, toothAt(floor, u)])];
    for (const layer of layers) this.surfaces.push(this.covered(this.surfaces.at(-1), layer));
    this.stack = Math.max(...this.surfaces.flat().map(([, height]) => height));
  }

  drawn(thickness) {
    return drawingHalfUp(thickness.times(this.scale));
  }

  height(layer) {
    return layer.thickness === null ? TOOTH_PLAIN : Math.max(TOOTH_FILM, this.drawn(layer.thickness));
  }

  isBroken(layer) {
    return layer.thickness === null || this.drawn(layer.thickness) < TOOTH_FILM;
  }

  isOnWalls(layer) {
    return this.section.places > 0 && layer.place === this.section.places - 1;
  }

  /** The surface after a layer. */
  covered(under, layer) {
    const height = this.height(layer);
    let end = under.at(-1)[0];
    if (this.isOnWalls(layer)) {
      end -= Math.min(height, this.mostOnWall);
      const cut = under.filter(([u]) => u < end);
      return [...cut, [end, toothAt(under, end)]].map(([u, h]) => [u, h + height]);
    }
    const reach = this.reach(layer);
    if (reach >= end) return under.map(([u, h]) => [u, h + height]);
    return under.map(([u, h]) => [u, h + toothTapered(height, reach, u)]);
  }

  /** How far from the middle a layer on the floor reaches. */
  reach(layer) {
    const steps = this.section.places - 2;
    if (steps < 1 || layer.place < 0) return TOOTH_HALF;
    return TOOTH_LEAST + Math.floor(((TOOTH_HALF - TOOTH_LEAST) * layer.place) / steps);
  }

  figure() {
    const blocks = this.labels(0).map(toothLines);
    const tall = blocks.reduce((sum, lines) => sum + lines.length * TOOTH_LINE + TOOTH_GAP, 0);
    const plain = TOOTH_REST + this.stack + this.ground + TOOTH_PULP;
    const more = Math.max(0, tall - TOOTH_GAP - plain - TOOTH_TOP + 100);
    this.base = TOOTH_TOP + TOOTH_REST + this.stack + more;
    this.bottom = this.base + this.ground + TOOTH_PULP;
    const parts = [this.patterns(), this.tooth(), this.pulp(), this.fillings(), this.dimension()];
    parts.push(this.words(this.labels(this.base)), this.key());
    const said = { title: say("section-title"), description: sectionDescription(this.section) };
    return drawingFrame("section", this.uid, TOOTH_WIDTH, this.bottom + 380, said, parts.join(""));
  }

  patterns() {
    const used = [...new Set(this.section.layers.map((layer) => layer.hatch))].sort((one, other) => one - other);
    const tubules =
      `<pattern id="dentine-${this.uid}" width="6" height="14" patternUnits="userSpaceOnUse">` +
      `<path class="fig-sand" d="M0 0H6V14H0Z" fill="${DRAWING_SAND}"/>` +
      `${drawingStroke("M1.5 0V9M4.5 7V14M4.5 0V2", "0.5")}</pattern>`;
    const hatches = used.map((hatch) => drawingHatch(hatch, `layer-${hatch}-${this.uid}`));
    return `<defs>${tubules}${hatches.join("")}</defs>`;
  }

  tooth() {
    const t = drawingTenths;
    const [left, right] = [TOOTH_CENTRE - TOOTH_TOOTH, TOOTH_CENTRE + TOOTH_TOOTH];
    const [from, to] = [TOOTH_CENTRE - TOOTH_HALF, TOOTH_CENTRE + TOOTH_HALF];
    const [low, rim, cusp] = [t(TOOTH_TOP + 110), t(TOOTH_TOP), t(TOOTH_TOP - 90)];
    const crown =
      `M${t(left)} ${t(this.bottom)}V${low}Q${t(left)} ${cusp} ${t(left + 110)} ${cusp}` +
      `Q${t(from - 40)} ${cusp} ${t(from)} ${rim}H${t(to)}Q${t(to + 40)} ${cusp} ${t(right - 110)} ${cusp}` +
      `Q${t(right)} ${cusp} ${t(right)} ${low}V${t(this.bottom)}`;
    return `<path d="${crown}Z" fill="url(#dentine-${this.uid})"/>${drawingStroke(crown, "1.6")}`;
  }

  pulp() {
    const t = drawingTenths;
    const [roof, floor, wide, flat] = [this.base + this.ground, this.bottom, 470, 300];
    const [left, right] = [TOOTH_CENTRE - wide, TOOTH_CENTRE + wide];
    const [from, to] = [TOOTH_CENTRE - flat, TOOTH_CENTRE + flat];
    const path =
      `M${t(left)} ${t(floor)}C${t(left)} ${t(roof + 120)} ${t(from - 130)} ${t(roof)} ${t(from)} ${t(roof)}H${t(to)}` +
      `C${t(to + 130)} ${t(roof)} ${t(right)} ${t(roof + 120)} ${t(right)} ${t(floor)}`;
    return `<path class="fig-wash" d="${path}Z" fill="${DRAWING_WASH}"/>${drawingStroke(path, "1.6")}`;
  }

  /** A surface as places in the picture, with the walls above it. */
  outlined(surface) {
    const right = surface.map(([u, h]) => [TOOTH_CENTRE + u, this.base - h]);
    const left = surface.slice(1).reverse().map(([u, h]) => [TOOTH_CENTRE - u, this.base - h]);
    const end = surface.at(-1)[0];
    return [[TOOTH_CENTRE - end, TOOTH_TOP], ...left, ...right, [TOOTH_CENTRE + end, TOOTH_TOP]];
  }

  /** The restoration in the whole cavity, then over it every layer down to the floor, the first placed last. */
  fillings() {
    const t = drawingTenths;
    const lines = this.surfaces.map((surface) => drawingRounded(this.outlined(surface), TOOTH_ROUND));
    const floor = drawingCurve(lines[0]);
    const [middle, dip] = [t(TOOTH_CENTRE), t(TOOTH_TOP + 60)];
    const close = `Q${middle} ${dip} ${t(TOOTH_CENTRE - TOOTH_HALF)} ${t(TOOTH_TOP)}Z`;
    const parts = [`<path class="fig-paper" d="M${floor}${close}" fill="${DRAWING_PAPER}"/>`];
    for (let n = this.section.layers.length; n > 0; n -= 1) {
      const name = `layer-${this.section.layers[n - 1].hatch}-${this.uid}`;
      parts.push(`<path d="M${floor}L${drawingCurve(lines[n], true)}Z" fill="url(#${name})"/>`);
      parts.push(drawingStroke(`M${drawingCurve(lines[n])}`, "1.2"));
    }
    const end = this.surfaces.at(-1).at(-1)[0];
    const [left, right] = [t(TOOTH_CENTRE - end), t(TOOTH_CENTRE + end)];
    const biting = `M${left} ${t(TOOTH_TOP)}Q${middle} ${dip} ${right} ${t(TOOTH_TOP)}`;
    return [...parts, drawingStroke(biting, "1.6"), drawingStroke(`M${floor}`, "2.2")].join("");
  }

  /** The dentine that is left, between the deepest spot and the pulp. */
  dimension() {
    if (this.section.ground.thickness === null || this.ground < 60) return "";
    const t = drawingTenths;
    const [top, end, middle] = [this.base + 14, this.base + this.ground - 8, t(TOOTH_CENTRE)];
    const [left, right] = [t(TOOTH_CENTRE - 35), t(TOOTH_CENTRE + 35)];
    let heads = "";
    if (this.ground >= 160)
      heads =
        `M${left} ${t(top + 55)}L${middle} ${t(top)}L${right} ${t(top + 55)}` +
        `M${left} ${t(end - 55)}L${middle} ${t(end)}L${right} ${t(end - 55)}`;
    return drawingHaloed(`M${middle} ${t(top)}V${t(end)}${heads}`, "5", "1.6");
  }

  /** What stands beside the tooth, from the top down; heights are right once the height of the picture is known. */
  labels(base) {
    const { ground, layers, top } = this.section;
    const tops = this.surfaces.map((surface) => surface[0][1]);
    const aside = TOOTH_CENTRE + TOOTH_ASIDE;
    const said = top[1] ? [top[1]] : [];
    if (!layers.length) said.push(say("no-layer-under"));
    const rest = Math.floor((TOOTH_TOP + 90 + base - tops.at(-1)) / 2);
    const head = top[0] || say("what-is-on-top");
    const found = [{ at: rest, head, body: said.join(". "), number: 0, isBroken: true, x: aside }];
    for (let n = layers.length - 1; n >= 0; n -= 1) {
      const layer = layers[n];
      const isBroken = this.isBroken(layer);
      const at = base - Math.floor((tops[n] + tops[n + 1]) / 2);
      found.push({ at, head: layer.agent, body: this.body(layer, isBroken), number: layer.number, isBroken, x: aside });
    }
    const isKnown = ground.thickness !== null;
    found.push({
      at: base + Math.floor(this.ground / 2),
      head: ground.label,
      body: isKnown ? ground.words : say("said-not-to-scale", { text: ground.words }),
      number: 0,
      isBroken: !isKnown,
      x: isKnown ? TOOTH_CENTRE : aside,
    });
    const pulp = base + this.ground + TOOTH_PULP / 2;
    return [...found, { at: pulp, head: say("pulp"), body: "", number: 0, isBroken: false, x: aside }];
  }

  body(layer, isBroken) {
    const { words, amount, at } = layer;
    if (!amount) return say("thickness-unstated", { words });
    if (isBroken) return say("thickness-not-to-scale", { words, amount });
    const said = at ? say("drawn-at", { words, amount, at }) : `${words}, ${amount}`;
    const isCut = this.isOnWalls(layer) && this.height(layer) > this.mostOnWall;
    return isCut ? say("walls-not-to-scale", { text: said }) : said;
  }

  words(labels) {
    const blocks = labels.map(toothLines);
    const tops = [];
    let free = 40;
    labels.forEach((label, n) => {
      tops.push(Math.max(free, label.at - TOOTH_LINE / 2));
      free = tops[n] + blocks[n].length * TOOTH_LINE + TOOTH_GAP;
    });
    let limit = this.bottom + 60;
    for (let n = labels.length - 1; n >= 0; n -= 1) {
      tops[n] = Math.min(tops[n], limit - blocks[n].length * TOOTH_LINE);
      limit = tops[n] - TOOTH_GAP;
    }
    const leaders = labels.map((label, n) => toothLeader(label, tops[n] + TOOTH_LINE / 2));
    const words = labels.map((label, n) => {
      const lines = blocks[n].map(([text, bold], row) =>
        drawingText(TOOTH_TEXT_X, tops[n] + 130 + row * TOOTH_LINE, text, { bold }),
      );
      return (label.number ? drawingNumber(TOOTH_NUMBER_X, tops[n], label.number) : "") + lines.join("");
    });
    return leaders.join("") + words.join("");
  }

  key() {
    const t = drawingTenths;
    const y = this.bottom + 260;
    const found = toothBreak(TOOTH_TEXT_X + 20, y) + drawingText(TOOTH_TEXT_X + 120, y + 45, say("not-to-scale"));
    if (this.scale.numerator === 0n) return found;
    const [size, words] = toothBar(this.scale);
    const [x, top] = [TOOTH_CENTRE - TOOTH_TOOTH + 40, y - Math.floor(size / 2)];
    const bar = `M${t(x - 35)} ${t(top)}h7M${t(x)} ${t(top)}v${t(size)}m-3.5 0h7`;
    return found + drawingStroke(bar, "1.6") + drawingText(x + 90, y + 45, say("heights-only", { length: words }));
  }
}

function toothLines(label) {
  const head = drawingWrap(label.head, true, TOOTH_TEXT_WIDTH).map((line) => [line, true]);
  return [...head, ...drawingWrap(label.body, false, TOOTH_TEXT_WIDTH).map((line) => [line, false])];
}

/** The height of a surface at a distance from the middle, to whole tenths. */
function toothAt(points, u) {
  for (let n = 1; n < points.length; n += 1) {
    const [[before, low], [after, high]] = [points[n - 1], points[n]];
    if (before <= u && u <= after && before < after) return low + drawingOver((high - low) * (u - before), after - before);
  }
  return points.at(-1)[1];
}

/** The height that a layer adds at a distance from the middle: all of it, then a slope, then nothing. */
function toothTapered(height, reach, u) {
  if (u <= reach - TOOTH_SLOPE) return height;
  return u >= reach ? 0 : drawingOver(height * (reach - u), TOOTH_SLOPE);
}

/** From what is named, level to the edge of the tooth, then to the words. */
function toothLeader(label, y) {
  const t = drawingTenths;
  const [edge, end] = [TOOTH_CENTRE + TOOTH_TOOTH + 20, TOOTH_NUMBER_X - 30];
  let data = `M${t(label.x)} ${t(label.at)}H${t(edge)}L${t(end)} ${t(y)}`;
  if (!label.number) data += `H${t(TOOTH_TEXT_X - 40)}`;
  const line = drawingHaloed(data, "3.6", "1");
  if (label.isBroken) return line + toothBreak(label.x, label.at);
  const dot = `cx="${t(label.x)}" cy="${t(label.at)}" r="3" fill="${DRAWING_INK}" stroke="${DRAWING_PAPER}"`;
  return `${line}<circle class="fig-ink fig-line-paper" ${dot} stroke-width="1.2"/>`;
}

/** The mark of what is not to scale: two strokes across. */
function toothBreak(x, y) {
  const t = drawingTenths;
  const one = (left) => `M${t(left)} ${t(y + 60)}L${t(left + 50)} ${t(y - 60)}`;
  return drawingHaloed(one(x - 40) + one(x + 20), "4.6", "1.6");
}

/** The scale bar: its height in tenths, and what it stands for, the least of 0.01, 0.02, 0.05 ... mm that shows. */
function toothBar(scale) {
  for (let power = new Exact(1n, 100n); ; power = power.times(new Exact(10n)))
    for (const step of [1n, 2n, 5n]) {
      const length = power.times(new Exact(step));
      const size = drawingHalfUp(scale.times(length));
      if (size >= 140) return [size, `${sayDecimal(length.toDecimal())} mm`];
    }
}
