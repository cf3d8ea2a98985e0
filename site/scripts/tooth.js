// The cross-section of the prepared tooth: a cavity over a horn of the pulp, with the layers in it and words beside it.
//
// Dentine and layers over the deepest spot are drawn to one scale of heights, but for what could not be seen at it
// (films) and what has no thickness: these carry a break mark and say that they are not to scale. A layer covers as much
// of the cavity as its place says, from the deepest spot to all walls; one on the whole floor has a flat top. Places are
// whole numbers of tenths of a unit; the picture is 320 units wide, so that its words keep 12 pixels on the narrowest
// phone, or as wide as a sheet of pictures asks for.

const [TOOTH_WIDTH, TOOTH_TEXT_X, TOOTH_NUMBER_X, TOOTH_CENTRE] = [3200, 1920, 1710, 790];
const [TOOTH_MOST_SCALE, TOOTH_ROOM, TOOTH_FREE] = [new Exact(300n), new Exact(600n), 140];
const [TOOTH_FILM, TOOTH_PLAIN, TOOTH_UNKNOWN, TOOTH_JUST] = [45, 90, 200, 12];
const [TOOTH_WALL, TOOTH_WALLS, TOOTH_ROUND, TOOTH_STEP] = [45, 180, 50, 20];
const [TOOTH_FLAT, TOOTH_BOWL, TOOTH_DEEPEST, TOOTH_SLOPE, TOOTH_LEAST] = [50, 170, 260, 40, 210];
const TOOTH_WHOLE = CROWN_CAVITY + CROWN_SPOT;
const [TOOTH_LINE, TOOTH_GAP] = [170, 60];

/** Tenths of a unit to a millimetre at which what a section shows has room; films need no scale. */
function toothScale({ ground, layers }) {
  const sizes = layers.map((layer) => layer.thickness).filter((thickness) => thickness !== null);
  const total = (scale) =>
    sizes
      .filter((size) => drawingHalfUp(size.times(scale)) >= TOOTH_FILM)
      .reduce((sum, size) => sum.plus(size), ground.thickness ?? new Exact(0n));
  for (let scale = TOOTH_MOST_SCALE; ; ) {
    const sum = total(scale);
    if (sum.times(scale).compare(TOOTH_ROOM) <= 0) return scale;
    scale = TOOTH_ROOM.over(sum);
  }
}

/** How much higher the tooth must be than it is, so that the layers leave room for what is on them. */
function toothMore({ stack, ground }) {
  return Math.max(0, stack + ground - TOOTH_FREE - Number(TOOTH_ROOM.floor()));
}

/** The drawing of what `sectionOf` gives. `sheet` says what its pictures share: `scale`, `more` and `wide`. */
class ToothDrawing {
  constructor(section, uid, sheet = {}) {
    const { ground, layers } = section;
    this.section = section;
    this.uid = uid;
    this.scale = sheet.scale ?? toothScale(section);
    this.wide = sheet.wide ?? TOOTH_WIDTH;
    this.ground = ground.thickness === null ? TOOTH_UNKNOWN : this.drawn(ground.thickness);
    this.isGroundBroken = ground.thickness === null;
    if (this.ground < TOOTH_JUST && (ground.isJustShort || (ground.thickness?.numerator ?? 0n) > 0n)) {
      this.ground = TOOTH_JUST;
      this.isGroundBroken = true;
    }
    const onWalls = layers.filter((layer) => this.isOnWalls(layer)).length;
    this.mostOnWall = onWalls ? Math.min(TOOTH_WALL, Math.floor(TOOTH_WALLS / onWalls)) : 0;
    this.surfaces = [this.floor()];
    for (const layer of layers) this.surfaces.push(this.covered(this.surfaces.at(-1), layer));
    this.stack = Math.max(...this.surfaces.flat().map(([, height]) => height));
    this.more = sheet.more ?? toothMore(this);
  }

  drawn(thickness) {
    return drawingHalfUp(thickness.times(this.scale));
  }

  height(layer) {
    if (layer.thickness === null) return this.isOnWalls(layer) ? TOOTH_FILM : TOOTH_PLAIN;
    return Math.max(TOOTH_FILM, this.drawn(layer.thickness));
  }

  isBroken(layer) {
    return layer.thickness === null || this.drawn(layer.thickness) < TOOTH_FILM;
  }

  isOnWalls(layer) {
    return this.section.places > 0 && layer.place === this.section.places - 1;
  }

  /** The floor of the cavity: flat, with a bowl over the horn that the first layers on the deepest spot fill. */
  floor() {
    let depth = 0;
    for (const layer of this.section.layers) {
      if (this.isOnWalls(layer)) continue;
      if (this.reach(layer) > TOOTH_LEAST) break;
      depth += this.height(layer);
    }
    depth = Math.min(depth, TOOTH_DEEPEST);
    const points = [];
    for (let x = -CROWN_CAVITY; x <= CROWN_CAVITY; x += TOOTH_STEP)
      points.push([x, toothEased(depth, Math.max(0, Math.abs(x - CROWN_SPOT) - TOOTH_FLAT), TOOTH_BOWL - TOOTH_FLAT)]);
    return points;
  }

  /** The surface after a layer: a film over all of it, or a level that is measured over the deepest spot. */
  covered(under, layer) {
    const height = this.height(layer);
    if (this.isOnWalls(layer)) {
      const end = under.at(-1)[0] - Math.min(height, this.mostOnWall);
      const kept = under.filter(([x]) => Math.abs(x) < end);
      return [[-end, under[0][1]], ...kept, [end, under.at(-1)[1]]].map(([x, h]) => [x, h + height]);
    }
    const reach = this.reach(layer);
    const isWhole = reach === TOOTH_WHOLE;
    const level = height + (isWhole ? Math.max(...under.map(([, h]) => h)) : toothAt(under, CROWN_SPOT));
    return under.map(([x, h]) => {
      const rise = Math.max(0, level - h);
      const past = Math.max(0, Math.abs(x - CROWN_SPOT) - reach + TOOTH_SLOPE);
      return [x, h + rise - (isWhole ? 0 : toothEased(rise, past, TOOTH_SLOPE))];
    });
  }

  /** How far from the deepest spot a layer on the floor reaches. */
  reach(layer) {
    const steps = this.section.places - 2;
    if (steps < 1 || layer.place < 0) return TOOTH_WHOLE;
    return TOOTH_LEAST + Math.floor(((TOOTH_WHOLE - TOOTH_LEAST) * layer.place) / steps);
  }

  /** How high the picture must be for the tooth and its words. */
  least() {
    return Math.max(CROWN_CUT + this.more + 60, toothTall(this.labels(0).map((label) => this.lines(label))) + 20);
  }

  /** The figure, as high as it must be or as `high` as those beside it. */
  figure(high = 0) {
    this.high = Math.max(high, this.least());
    this.base = CROWN_HORN + this.more - this.ground;
    const tooth = [crownTissues(TOOTH_CENTRE, this.more), this.fillings(), crownEdge(TOOTH_CENTRE, this.more), this.dimension()];
    const down = Math.floor((this.high - CROWN_CUT - this.more - 60) / 2);
    const labels = this.labels(this.base).map((label) => ({ ...label, at: label.at + down }));
    const parts = [`<g transform="translate(0 ${drawingTenths(down)})">${tooth.join("")}</g>`, this.words(labels)];
    const said = { title: say("section-title"), description: sectionDescription(this.section) };
    return drawingFrame("section", this.uid, this.wide, this.high, said, parts.join(""));
  }

  /** A surface as places in the picture, with the walls above it. */
  outlined(surface) {
    const [left, right] = [surface[0][0], surface.at(-1)[0]];
    const places = [[left, crownTop(left)], ...surface.map(([x, h]) => [x, this.base - h]), [right, crownTop(right)]];
    return places.map(([x, y]) => [TOOTH_CENTRE + x, y]);
  }

  /** The restoration in the whole cavity, then over it every layer down to the floor, the first placed last. */
  fillings() {
    const lines = this.surfaces.map((surface) => drawingRounded(toothPlain(this.outlined(surface)), TOOTH_ROUND));
    const floor = drawingCurve(lines[0]);
    const [left, right] = [TOOTH_CENTRE - CROWN_CAVITY, TOOTH_CENTRE + CROWN_CAVITY];
    const biting = `${crownPath(TOOTH_CENTRE, crownBiting(false))}Z`;
    const parts = [`<path class="fig-filling" d="M${floor}${biting}" fill="${DRAWING_FILLING}"/>`];
    const box = [left, CROWN_RIM, right, this.base + 10];
    for (let n = this.section.layers.length; n > 0; n -= 1) {
      const area = `M${floor}L${drawingCurve(lines[n], true)}Z`;
      parts.push(drawingHatched(this.section.layers[n - 1].hatch, `layer-${n}-${this.uid}`, area, box));
      parts.push(drawingStroke(`M${drawingCurve(lines[n])}`, "1"));
    }
    return [...parts, drawingStroke(`M${floor}`, "1.6")].join("");
  }

  /** The dentine that is left, between the deepest spot and the pulp. */
  dimension() {
    if (this.isGroundBroken || this.ground < 200) return "";
    const [x, top, end] = [TOOTH_CENTRE + CROWN_SPOT, this.base + 12, CROWN_HORN + this.more - 10];
    const t = drawingTenths;
    const head = (y, way) => `M${drawingPlace(x - 25, y + way)}L${drawingPlace(x, y)}L${drawingPlace(x + 25, y + way)}`;
    return drawingHaloed(`M${drawingPlace(x, top)}V${t(end)}${head(top, 40)}${head(end, -40)}`, "3.6", "1.1");
  }

  /** What stands beside the tooth, from the top down; heights are right once that of the floor is known. */
  labels(base) {
    const { ground, layers, top } = this.section;
    const spot = TOOTH_CENTRE + CROWN_SPOT;
    const rest = Math.floor((crownTop(300) + base - toothAt(this.surfaces.at(-1), 300)) / 2);
    const found = [{ x: TOOTH_CENTRE + 300, at: rest, head: top[0] || say("what-is-on-top"), body: "" }];
    if (!layers.length) found[0].body = say("no-layer-under");
    for (let n = layers.length - 1; n >= 0; n -= 1) {
      const layer = layers[n];
      const [under, over] = [this.surfaces[n], this.surfaces[n + 1]];
      const end = over.at(-1)[0];
      let x = end - 60;
      if (this.isOnWalls(layer)) x = Math.floor((under.at(-1)[0] + end) / 2);
      else if (this.reach(layer) < TOOTH_WHOLE) x = CROWN_SPOT;
      const at = base - Math.floor((toothAt(under, Math.min(x, end)) + toothAt(over, Math.min(x, end))) / 2);
      const isBroken = this.isBroken(layer);
      const body = this.body(layer, isBroken);
      found.push({ x: TOOTH_CENTRE + x, at, head: layer.agent, body, number: layer.number, isBroken });
    }
    const said = this.isGroundBroken ? say("said-not-to-scale", { text: ground.words }) : ground.words;
    const middle = base + Math.floor(this.ground / 2);
    found.push({ x: spot, at: middle, head: ground.label, body: said, isBroken: this.isGroundBroken });
    found.push({ x: spot, at: CROWN_HORN + this.more + 330, head: say("pulp"), body: "" });
    return found;
  }

  body(layer, isBroken) {
    const { amount, at } = layer;
    if (!amount) return say("no-thickness");
    if (isBroken) return say("said-not-to-scale", { text: amount });
    const said = at ? say("drawn-at", { amount, at }) : amount;
    const isCut = this.isOnWalls(layer) && this.height(layer) > this.mostOnWall;
    return isCut ? say("walls-not-to-scale", { text: said }) : said;
  }

  lines(label) {
    const wide = this.wide - TOOTH_TEXT_X - 10;
    const head = drawingWrap(label.head, true, wide).map((line) => [line, true]);
    return [...head, ...drawingWrap(label.body, false, wide).map((line) => [line, false])];
  }

  words(labels) {
    const blocks = labels.map((label) => this.lines(label));
    const tops = [];
    let free = 10;
    labels.forEach((label, n) => {
      tops.push(Math.max(free, label.at - TOOTH_LINE / 2));
      free = tops[n] + blocks[n].length * TOOTH_LINE + TOOTH_GAP;
    });
    let limit = this.high - TOOTH_LINE - TOOTH_GAP - 10;
    for (let n = labels.length - 1; n >= 0; n -= 1) {
      tops[n] = Math.min(tops[n], limit - blocks[n].length * TOOTH_LINE);
      limit = tops[n] - TOOTH_GAP;
    }
    const leaders = labels.map((label, n) => toothLeader(label, tops[n] + TOOTH_LINE / 2));
    const words = labels.map((label, n) => {
      const lines = blocks[n].map(([text, bold], row) =>
        drawingText(TOOTH_TEXT_X, tops[n] + 130 + row * TOOTH_LINE, text, { bold }),
      );
      const wider = 50 * (String(label.number ?? "").length - 1);
      return (label.number ? drawingNumber(TOOTH_NUMBER_X - wider, tops[n], label.number) : "") + lines.join("");
    });
    return leaders.join("") + words.join("") + this.bar();
  }

  /** The scale bar, under the words. */
  bar() {
    const [size, words] = toothBar(this.scale);
    const [x, y] = [TOOTH_TEXT_X - 60, this.high - 30];
    const bar = `M${drawingPlace(x - 25, y - size)}h5M${drawingPlace(x, y - size)}v${drawingTenths(size)}m-2.5 0h5`;
    const line = drawingStroke(bar, "1.4");
    return line + drawingText(TOOTH_TEXT_X, y - Math.floor(size / 2) + 45, say("heights-only", { length: words }));
  }
}

/** How high blocks of lines are, with the line of the scale under them. */
function toothTall(blocks) {
  return blocks.reduce((sum, lines) => sum + lines.length * TOOTH_LINE + TOOTH_GAP, TOOTH_LINE);
}

/** The height of a surface at a distance from the middle, to whole tenths. */
function toothAt(points, x) {
  for (let n = 1; n < points.length; n += 1) {
    const [[before, low], [after, high]] = [points[n - 1], points[n]];
    if (before <= x && x <= after && before < after) return low + drawingOver((high - low) * (x - before), after - before);
  }
  return points.at(-1)[1];
}

/** A part of `most` that grows from nothing at 0 to all of it at `length` and beyond, softly at both ends. */
function toothEased(most, way, length) {
  if (way >= length) return most;
  return drawingOver(most * way * way * (3 * length - 2 * way), length * length * length);
}

/** A line without the points that lie on a level between two others. */
function toothPlain(points) {
  const isLevel = ([, y], n) => n > 0 && n < points.length - 1 && points[n - 1][1] === y && points[n + 1][1] === y;
  return points.filter((point, n) => !isLevel(point, n));
}

/** From what is named, level to the edge of the tooth, then to the words. */
function toothLeader(label, y) {
  const [edge, end] = [TOOTH_CENTRE + CROWN_HALF + 20, TOOTH_NUMBER_X - 10];
  let data = `M${drawingPlace(label.x, label.at)}H${drawingTenths(edge)}L${drawingPlace(end, y)}`;
  if (!label.number) data += `H${drawingTenths(TOOTH_TEXT_X - 30)}`;
  const line = drawingHaloed(data, "2.6", "0.8");
  if (label.isBroken) return line + toothBreak(label.x, label.at);
  const dot = `cx="${drawingTenths(label.x)}" cy="${drawingTenths(label.at)}" r="2.2" fill="${DRAWING_INK}"`;
  return `${line}<circle class="fig-ink fig-line-paper" ${dot} stroke="${DRAWING_PAPER}" stroke-width="1"/>`;
}

/** The mark of what is not to scale: two strokes across. */
function toothBreak(x, y) {
  const one = (left) => `M${drawingPlace(left, y + 45)}L${drawingPlace(left + 35, y - 45)}`;
  return drawingHaloed(one(x - 30) + one(x + 15), "3.4", "1.2");
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
