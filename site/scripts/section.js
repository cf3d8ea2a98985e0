// What the cross-section of a case shows: dentine left, the layers in placing order, and what is placed on them.

/**
 * The figure for a reply of `answer`; the empty text where the advice is not one full set of layers.
 *
 * @param {object} frame from `wordsFrame`
 * @param {object} reply from `answer`
 * @param {string} uid ends every identifier in the figure
 */
function crossSection(frame, reply, uid) {
  const section = sectionOf(frame, reply);
  return section ? new ToothDrawing(section, uid).figure() : "";
}

/**
 * What is shown: `ground`, the tissue left under the layers; `layers`; how many `places` there are; and what lies on `top`
 * (its label and the name of its factor). A thickness is an exact number of millimetres, or null.
 *
 * That is nothing out of scope, where any decision is left open, where the dentist decides on a layer, and where no layer
 * is to be decided on.
 */
function sectionOf(frame, reply) {
  const { bundle } = frame;
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
  const placed = reply.placing_order.map((name, n) =>
    sectionLayer(frame, frame.decisions.get(name), reply.advice[name].answer, n + 1, layers.indexOf(name)),
  );
  const column = bundle.chart && frame.factors.get(bundle.chart.columns);
  const isAsked = column && Object.hasOwn(reply.case, column.id);
  const top = isAsked ? [column.values.find((value) => value.id === reply.case[column.id]).label, column.label] : ["", ""];
  return { ground: sectionGround(frame, reply), layers: placed, places: (bundle.places ?? []).length, top };
}

/** The tissue that is left; a value that `isJustShort` of a limit is drawn at the limit. */
function sectionGround(frame, reply) {
  const factor = frame.bundle.chart && frame.factors.get(frame.bundle.chart.bands);
  if (!factor || !Object.hasOwn(reply.case, factor.id) || frame.units.get(factor.unit).dimension !== "length")
    return { label: say("dentine"), words: say("not-asked-for"), thickness: null, isJustShort: false };
  const words = wordsCounted(frame, factor, reply);
  const read = (text) => quantityWritten(text, frame.units).value;
  const isJustShort = Boolean(reply.readings?.[factor.id]?.stops_short_of_limit);
  let value = read(reply.case[factor.id]);
  if (isJustShort) {
    const [low, high] = [read(factor.at_least), read(factor.at_most)];
    value = value.minus(low).compare(high.minus(value)) < 0 ? low : high;
  }
  if (value.compare(new Exact(0n)) < 0) return { label: factor.label, words, thickness: null, isJustShort: false };
  const { size } = frame.units.get(factor.unit);
  return { label: factor.label, words, thickness: value.times(size).times(new Exact(1000n)), isJustShort };
}

/** A layer: its `number` in the placing order, the `hatch` of its decision, and how Python words its answer. */
function sectionLayer(frame, decision, answer, number, hatch) {
  const places = frame.bundle.places ?? [];
  const place = places.findIndex((one) => one.id === (answer.place ?? frame.agents.get(answer.agent).place));
  const { agent, drawn } = wordsAnswer(frame, decision, answer);
  const thickness = drawn.thickness === undefined ? null : Exact.parse(drawn.thickness);
  return { number, agent, place: place >= 0 ? place : places.length - 1, hatch, ...drawn, thickness };
}

/** The figure in words: the text alternative. */
function sectionDescription({ ground, layers, top }) {
  const parts = [say("from-the-pulp", { ground: ground.label, value: ground.words })];
  for (const { number, agent, words, amount } of layers)
    parts.push(say(amount ? "layer-said" : "layer-unstated", { number, agent, words, amount }));
  if (!layers.length) parts.push(say("no-layer"));
  if (top[0]) parts.push(say("on-top", { material: top[0], factor: top[1] }));
  return parts.join(" ");
}
