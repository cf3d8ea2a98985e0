// The cross-section of the prepared tooth for a reply, as `show/views/section_view.py` and `show/figures/cross_section.py`
// draw it: for the same case both give the same text. Places are whole numbers of tenths of a unit.

import { Exact, exactWritten } from "./exact.mjs";
import { wordsCounted, wordsFrame, wordsNumber } from "./words.mjs";
import { drawingCurve, drawingFrame, drawingHalfUp, drawingHaloed, drawingHatch, drawingNumber } from "./drawing.mjs";
import { drawingOver, drawingRounded, drawingStroke, drawingTenths, drawingText, drawingWrap } from "./drawing.mjs";
import { DRAWING_INK, DRAWING_PAPER, DRAWING_SAND, DRAWING_WASH } from "./drawing.mjs";

const SECTION_WIDTH = 3200;
const [SECTION_CENTRE, SECTION_TOOTH, SECTION_HALF, SECTION_TOP] = [730, 715, 440, 190];
const [SECTION_SPOT, SECTION_SLOPE, SECTION_DIP, SECTION_LEAST] = [140, 150, 90, 270];
const [SECTION_MOST_SCALE, SECTION_ROOM] = [new Exact(1100n), new Exact(2000n)];
const [SECTION_FILM, SECTION_PLAIN, SECTION_UNKNOWN, SECTION_JUST] = [70, 110, 340, 12];
const [SECTION_REST, SECTION_PULP, SECTION_WALL, SECTION_WALLS, SECTION_ROUND] = [560, 480, 80, 240, 50];
const [SECTION_TEXT_X, SECTION_TEXT_WIDTH, SECTION_NUMBER_X] = [1800, 1390, 1590];
const [SECTION_LINE, SECTION_GAP, SECTION_ASIDE] = [170, 90, 90];
const SECTION_MILLIMETRE = new Exact(1n, 1000n);

/**
 * The figure for a reply of `answer`; the empty text where the advice is not one full set of layers.
 *
 * @param {object} compiled from `readBundle`
 * @param {object} reply from `answer`
 * @param {string} uid ends every identifier in the figure
 */
export function crossSection(compiled, reply, uid) {
  const section = sectionOf(compiled.bundle, reply);
  return section ? new SectionDrawing(section, uid).figure() : "";
}

// --- what the figure shows --------------------------------------------------------------------------------------------

function sectionOf(bundle, reply) {
  const layers = bundle.decisions.filter((decision) => decision.layer !== undefined).map((decision) => decision.id);
  let asked = false;
  for (const [name, outcome] of Object.entries(reply.advice)) {
    if (outcome.state === "not-needed") continue;
    if (outcome.state !== "answered") return null;
    if (!layers.includes(name)) continue;
    asked = true;
    if (typeof outcome.answer === "object" && !Object.hasOwn(outcome.answer, "agent")) return null;
  }
  if (!reply.in_scope || !asked) return null;
  const frame = wordsFrame(bundle, null);
  const placed = reply.placing_order.map((name, n) =>
    sectionLayer(frame, frame.decisions.get(name), reply.advice[name].answer, n + 1, layers.indexOf(name)),
  );
  const column = bundle.chart && frame.factors.get(bundle.chart.columns);
  const top = column ? [column.values.find((value) => value.id === reply.case[column.id]).label, column.label] : ["", ""];
  return { ground: sectionGround(frame, reply), layers: placed, places: (bundle.places ?? []).length, top };
}

function sectionGround(frame, reply) {
  const factor = frame.bundle.chart && frame.factors.get(frame.bundle.chart.bands);
  if (!factor || frame.units.get(factor.unit).dimension !== "length")
    return { label: "Dentine", words: "its thickness is not asked for", thickness: null, isJustShort: false };
  const words = wordsCounted(frame, factor, reply);
  const read = (text) => exactWritten(text, frame.units).value;
  const isJustShort = Boolean(reply.readings?.[factor.id]?.stops_short_of_limit);
  let value = read(reply.case[factor.id]);
  if (isJustShort) {
    const [low, high] = [read(factor.at_least), read(factor.at_most)];
    value = value.minus(low).compare(high.minus(value)) < 0 ? low : high;
  }
  if (value.compare(new Exact(0n)) < 0) return { label: factor.label, words, thickness: null, isJustShort: false };
  return { label: factor.label, words, thickness: sectionMillimetres(value, frame.units.get(factor.unit)), isJustShort };
}

function sectionMillimetres(value, unit) {
  return value.times(unit.size).over(SECTION_MILLIMETRE);
}

function sectionLayer(frame, decision, answer, number, hatch) {
  const agent = frame.agents.get(answer.agent);
  const places = frame.bundle.places ?? [];
  const place = places.findIndex((one) => one.id === (answer.place ?? agent.place));
  const words = [decision.label];
  if (place >= 0) words.push(sectionLowered(places[place].label));
  if (answer.coats !== undefined) words.push(answer.coats === 1 ? "1 coat" : `${answer.coats} coats`);
  const amount = answer.thickness ? sectionAmount(frame, answer.thickness) : { thickness: null, thicknessWords: "", drawnAt: "" };
  return { number, agent: agent.label, words, place: place >= 0 ? place : places.length - 1, ...amount, hatch };
}

/** A layer's thickness: what it is drawn at in mm, its words, and the former in words where the range leaves a choice. */
function sectionAmount(frame, mapping) {
  const keys = Object.keys(mapping);
  const { unit } = exactWritten(mapping[keys[0]], frame.units);
  const number = (key) => exactWritten(mapping[key], frame.units).value;
  const lowKey = keys.find((key) => key === "above" || key === "at_least" || key === "exactly");
  const highKey = keys.find((key) => key === "below" || key === "at_most" || key === "exactly");
  const [low, high] = [lowKey && number(lowKey), highKey && number(highKey)];
  const words = sectionAmountWords(low, lowKey, high, highKey, unit);
  const value = high ?? low;
  if (value.compare(new Exact(0n)) <= 0) return { thickness: null, thicknessWords: words, drawnAt: "" };
  const drawnAt = low && high && low.compare(high) === 0 ? "" : wordsNumber(value, unit);
  return { thickness: sectionMillimetres(value, unit), thicknessWords: words, drawnAt };
}

function sectionAmountWords(low, lowKey, high, highKey, unit) {
  if (lowKey === "exactly" || (low && high && low.compare(high) === 0)) return wordsNumber(low, unit);
  if (!high) return lowKey === "at_least" ? `${wordsNumber(low, unit)} or more` : `over ${wordsNumber(low, unit)}`;
  if (!low || (lowKey === "above" && low.compare(new Exact(0n)) === 0))
    return `${highKey === "at_most" ? "up to" : "under"} ${wordsNumber(high, unit)}`;
  if (lowKey === "at_least" && highKey === "at_most") return `${low.toDecimal()} to ${wordsNumber(high, unit)}`;
  const [first, last] = [lowKey === "at_least" ? "at least" : "more than", highKey === "at_most" ? "at most" : "less than"];
  return `${first} ${wordsNumber(low, unit)}, ${last} ${wordsNumber(high, unit)}`;
}

function sectionLowered(label) {
  const [first, second = ""] = label;
  return /^\p{Lowercase}$/u.test(second) ? first.toLowerCase() + label.slice(first.length) : label;
}

function sectionDescription({ ground, layers, top }) {
  const parts = [`From the pulp outwards. ${ground.label}: ${ground.words}.`];
  for (const layer of layers) {
    const amount = layer.thicknessWords ? `, ${layer.thicknessWords}` : ", thickness not stated";
    parts.push(`${layer.number}: ${layer.agent}, ${layer.words.join(", ")}${amount}.`);
  }
  if (!layers.length) parts.push("No layer is placed.");
  if (top[0]) parts.push(`On top: ${top[0]} (${top[1]}).`);
  return parts.join(" ");
}

// --- the drawing ------------------------------------------------------------------------------------------------------

class SectionDrawing {
  constructor(section, uid) {
    const { ground, layers } = section;
    this.section = section;
    this.uid = uid;
    const sizes = [...layers, ground].map((one) => one.thickness).filter((thickness) => thickness !== null);
    const total = sizes.reduce((sum, size) => sum.plus(size), new Exact(0n));
    this.scale = total.numerator === 0n ? new Exact(0n) : SECTION_ROOM.over(total);
    if (this.scale.compare(SECTION_MOST_SCALE) > 0) this.scale = SECTION_MOST_SCALE;
    this.ground = ground.thickness === null ? SECTION_UNKNOWN : this.drawn(ground.thickness);
    if (ground.isJustShort) this.ground = Math.max(this.ground, SECTION_JUST);
    const onWalls = layers.filter((layer) => this.isOnWalls(layer)).length;
    this.mostOnWall = onWalls ? Math.min(SECTION_WALL, Math.floor(SECTION_WALLS / onWalls)) : 0;
    const floor = [[0, 0], [SECTION_SPOT, 0], [SECTION_SPOT + SECTION_SLOPE, SECTION_DIP], [SECTION_HALF, SECTION_DIP]];
    const reaches = layers.filter((layer) => !this.isOnWalls(layer)).map((layer) => this.reach(layer));
    const ends = reaches.filter((reach) => reach < SECTION_HALF).flatMap((reach) => [reach - SECTION_SLOPE, reach]);
    const places = [...new Set([...floor.map(([u]) => u), ...ends])].sort((one, other) => one - other);
    this.surfaces = [places.map((u) => [u, sectionAt(floor, u)])];
    for (const layer of layers) this.surfaces.push(this.covered(this.surfaces.at(-1), layer));
    this.stack = Math.max(...this.surfaces.flat().map(([, height]) => height));
  }

  drawn(thickness) {
    return drawingHalfUp(thickness.times(this.scale));
  }

  height(layer) {
    return layer.thickness === null ? SECTION_PLAIN : Math.max(SECTION_FILM, this.drawn(layer.thickness));
  }

  isBroken(layer) {
    return layer.thickness === null || this.drawn(layer.thickness) < SECTION_FILM;
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
      return [...cut, [end, sectionAt(under, end)]].map(([u, h]) => [u, h + height]);
    }
    const reach = this.reach(layer);
    if (reach >= end) return under.map(([u, h]) => [u, h + height]);
    return under.map(([u, h]) => [u, h + sectionTapered(height, reach, u)]);
  }

  /** How far from the middle a layer on the floor reaches. */
  reach(layer) {
    const steps = this.section.places - 2;
    if (steps < 1 || layer.place < 0) return SECTION_HALF;
    return SECTION_LEAST + Math.floor(((SECTION_HALF - SECTION_LEAST) * layer.place) / steps);
  }

  figure() {
    const blocks = this.labels(0).map(sectionLines);
    const tall = blocks.reduce((sum, lines) => sum + lines.length * SECTION_LINE + SECTION_GAP, 0);
    const plain = SECTION_REST + this.stack + this.ground + SECTION_PULP;
    const more = Math.max(0, tall - SECTION_GAP - plain - SECTION_TOP + 100);
    this.base = SECTION_TOP + SECTION_REST + this.stack + more;
    this.bottom = this.base + this.ground + SECTION_PULP;
    const parts = [this.patterns(), this.tooth(), this.pulp(), this.fillings(), this.dimension()];
    parts.push(this.words(this.labels(this.base)), this.key());
    const title = "Cross-section of the prepared tooth";
    const description = sectionDescription(this.section);
    return drawingFrame("section", this.uid, SECTION_WIDTH, this.bottom + 380, title, description, parts.join(""));
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
    const [left, right] = [SECTION_CENTRE - SECTION_TOOTH, SECTION_CENTRE + SECTION_TOOTH];
    const [from, to] = [SECTION_CENTRE - SECTION_HALF, SECTION_CENTRE + SECTION_HALF];
    const [low, rim, cusp] = [t(SECTION_TOP + 110), t(SECTION_TOP), t(SECTION_TOP - 90)];
    const crown =
      `M${t(left)} ${t(this.bottom)}V${low}Q${t(left)} ${cusp} ${t(left + 110)} ${cusp}` +
      `Q${t(from - 40)} ${cusp} ${t(from)} ${rim}H${t(to)}Q${t(to + 40)} ${cusp} ${t(right - 110)} ${cusp}` +
      `Q${t(right)} ${cusp} ${t(right)} ${low}V${t(this.bottom)}`;
    return `<path d="${crown}Z" fill="url(#dentine-${this.uid})"/>${drawingStroke(crown, "1.6")}`;
  }

  pulp() {
    const t = drawingTenths;
    const [roof, floor, wide, flat] = [this.base + this.ground, this.bottom, 470, 300];
    const [left, right] = [SECTION_CENTRE - wide, SECTION_CENTRE + wide];
    const [from, to] = [SECTION_CENTRE - flat, SECTION_CENTRE + flat];
    const path =
      `M${t(left)} ${t(floor)}C${t(left)} ${t(roof + 120)} ${t(from - 130)} ${t(roof)} ${t(from)} ${t(roof)}H${t(to)}` +
      `C${t(to + 130)} ${t(roof)} ${t(right)} ${t(roof + 120)} ${t(right)} ${t(floor)}`;
    return `<path class="fig-wash" d="${path}Z" fill="${DRAWING_WASH}"/>${drawingStroke(path, "1.6")}`;
  }

  /** A surface as places in the picture, with the walls above it. */
  outlined(surface) {
    const right = surface.map(([u, h]) => [SECTION_CENTRE + u, this.base - h]);
    const left = surface.slice(1).reverse().map(([u, h]) => [SECTION_CENTRE - u, this.base - h]);
    const end = surface.at(-1)[0];
    return [[SECTION_CENTRE - end, SECTION_TOP], ...left, ...right, [SECTION_CENTRE + end, SECTION_TOP]];
  }

  /** The restoration in the whole cavity, then over it every layer down to the floor, the first placed last. */
  fillings() {
    const t = drawingTenths;
    const lines = this.surfaces.map((surface) => drawingRounded(this.outlined(surface), SECTION_ROUND));
    const floor = drawingCurve(lines[0]);
    const [middle, dip] = [t(SECTION_CENTRE), t(SECTION_TOP + 60)];
    const close = `Q${middle} ${dip} ${t(SECTION_CENTRE - SECTION_HALF)} ${t(SECTION_TOP)}Z`;
    const parts = [`<path class="fig-paper" d="M${floor}${close}" fill="${DRAWING_PAPER}"/>`];
    for (let n = this.section.layers.length; n > 0; n -= 1) {
      const name = `layer-${this.section.layers[n - 1].hatch}-${this.uid}`;
      parts.push(`<path d="M${floor}L${drawingCurve(lines[n], true)}Z" fill="url(#${name})"/>`);
      parts.push(drawingStroke(`M${drawingCurve(lines[n])}`, "1.2"));
    }
    const end = this.surfaces.at(-1).at(-1)[0];
    const [left, right] = [t(SECTION_CENTRE - end), t(SECTION_CENTRE + end)];
    const biting = `M${left} ${t(SECTION_TOP)}Q${middle} ${dip} ${right} ${t(SECTION_TOP)}`;
    return [...parts, drawingStroke(biting, "1.6"), drawingStroke(`M${floor}`, "2.2")].join("");
  }

  /** The dentine that is left, between the deepest spot and the pulp. */
  dimension() {
    if (this.section.ground.thickness === null || this.ground < 60) return "";
    const t = drawingTenths;
    const [top, end, middle] = [this.base + 14, this.base + this.ground - 8, t(SECTION_CENTRE)];
    const [left, right] = [t(SECTION_CENTRE - 35), t(SECTION_CENTRE + 35)];
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
    const aside = SECTION_CENTRE + SECTION_ASIDE;
    const said = top[1] ? [top[1]] : [];
    if (!layers.length) said.push("No layer is placed under it.");
    const rest = Math.floor((SECTION_TOP + 90 + base - tops.at(-1)) / 2);
    const head = top[0] || "What is placed on top";
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
      body: isKnown ? ground.words : `${ground.words}; not to scale`,
      number: 0,
      isBroken: !isKnown,
      x: isKnown ? SECTION_CENTRE : aside,
    });
    const pulp = base + this.ground + SECTION_PULP / 2;
    return [...found, { at: pulp, head: "Pulp", body: "", number: 0, isBroken: false, x: aside }];
  }

  body(layer, isBroken) {
    const words = layer.words.join(", ");
    const amount = layer.thicknessWords;
    if (!amount) return `${words}; thickness not stated, not to scale`;
    if (isBroken) return `${words}; not to scale: ${amount}`;
    let more = layer.drawnAt ? `; drawn at ${layer.drawnAt}` : "";
    if (this.isOnWalls(layer) && this.height(layer) > this.mostOnWall) more += "; on the walls not to scale";
    return `${words}, ${amount}${more}`;
  }

  words(labels) {
    const blocks = labels.map(sectionLines);
    const tops = [];
    let free = 40;
    labels.forEach((label, n) => {
      tops.push(Math.max(free, label.at - SECTION_LINE / 2));
      free = tops[n] + blocks[n].length * SECTION_LINE + SECTION_GAP;
    });
    let limit = this.bottom + 60;
    for (let n = labels.length - 1; n >= 0; n -= 1) {
      tops[n] = Math.min(tops[n], limit - blocks[n].length * SECTION_LINE);
      limit = tops[n] - SECTION_GAP;
    }
    const leaders = labels.map((label, n) => sectionLeader(label, tops[n] + SECTION_LINE / 2));
    const words = labels.map((label, n) => {
      const lines = blocks[n].map(([text, bold], row) =>
        drawingText(SECTION_TEXT_X, tops[n] + 130 + row * SECTION_LINE, text, { bold }),
      );
      return (label.number ? drawingNumber(SECTION_NUMBER_X, tops[n], label.number) : "") + lines.join("");
    });
    return leaders.join("") + words.join("");
  }

  key() {
    const t = drawingTenths;
    const y = this.bottom + 260;
    const found = sectionBreak(SECTION_TEXT_X + 20, y) + drawingText(SECTION_TEXT_X + 120, y + 45, "not to scale");
    if (this.scale.numerator === 0n) return found;
    const [size, words] = sectionBar(this.scale);
    const [x, top] = [SECTION_CENTRE - SECTION_TOOTH + 40, y - Math.floor(size / 2)];
    const bar = `M${t(x - 35)} ${t(top)}h7M${t(x)} ${t(top)}v${t(size)}m-3.5 0h7`;
    return found + drawingStroke(bar, "1.6") + drawingText(x + 90, y + 45, `${words} (heights only)`);
  }
}

function sectionLines(label) {
  const head = drawingWrap(label.head, true, SECTION_TEXT_WIDTH).map((line) => [line, true]);
  return [...head, ...drawingWrap(label.body, false, SECTION_TEXT_WIDTH).map((line) => [line, false])];
}

/** The height of a surface at a distance from the middle, to whole tenths. */
function sectionAt(points, u) {
  for (let n = 1; n < points.length; n += 1) {
    const [[before, low], [after, high]] = [points[n - 1], points[n]];
    if (before <= u && u <= after && before < after) return low + drawingOver((high - low) * (u - before), after - before);
  }
  return points.at(-1)[1];
}

/** The height that a layer adds at a distance from the middle: all of it, then a slope, then nothing. */
function sectionTapered(height, reach, u) {
  if (u <= reach - SECTION_SLOPE) return height;
  return u >= reach ? 0 : drawingOver(height * (reach - u), SECTION_SLOPE);
}

/** From what is named, level to the edge of the tooth, then to the words. */
function sectionLeader(label, y) {
  const t = drawingTenths;
  const [edge, end] = [SECTION_CENTRE + SECTION_TOOTH + 20, SECTION_NUMBER_X - 30];
  let data = `M${t(label.x)} ${t(label.at)}H${t(edge)}L${t(end)} ${t(y)}`;
  if (!label.number) data += `H${t(SECTION_TEXT_X - 40)}`;
  const line = drawingHaloed(data, "3.6", "1");
  if (label.isBroken) return line + sectionBreak(label.x, label.at);
  const dot = `cx="${t(label.x)}" cy="${t(label.at)}" r="3" fill="${DRAWING_INK}" stroke="${DRAWING_PAPER}"`;
  return `${line}<circle class="fig-ink fig-line-paper" ${dot} stroke-width="1.2"/>`;
}

/** The mark of what is not to scale: two strokes across. */
function sectionBreak(x, y) {
  const t = drawingTenths;
  const one = (left) => `M${t(left)} ${t(y + 60)}L${t(left + 50)} ${t(y - 60)}`;
  return drawingHaloed(one(x - 40) + one(x + 20), "4.6", "1.6");
}

/** The scale bar: its height in tenths, and what it stands for, the least of 0.01, 0.02, 0.05 ... mm that shows. */
function sectionBar(scale) {
  for (let power = new Exact(1n, 100n); ; power = power.times(new Exact(10n)))
    for (const step of [1n, 2n, 5n]) {
      const length = power.times(new Exact(step));
      const size = drawingHalfUp(scale.times(length));
      if (size >= 140) return [size, `${length.toDecimal()} mm`];
    }
}
