// Words for numbers, ranges, values and what a case comes to. What depends on no number was worded by Python and stands
// in the page as JSON (`show/web/page_words.py`); the rest is worded here as `say/wording.py` and `show/terminal/reply.py` do.

import { Exact, exactSpan, exactUnits, exactWritten } from "./exact.mjs";

/** All that is needed to word a case: the bundle and Python's words, with everything to be found by its id. */
export function wordsFrame(bundle, words) {
  const byId = (list) => new Map((list ?? []).map((one) => [one.id, one]));
  const rules = (words?.rules ?? []).map(([id, grade, cites], place) => [
    id, { number: place + 1, anchor: `rule-${id}`, grade: words.grades[grade], cites },
  ]);
  return {
    bundle,
    words: { ...words, rules: Object.fromEntries(rules) },
    units: exactUnits(bundle.units),
    factors: byId(bundle.factors),
    decisions: byId(bundle.decisions),
    agents: byId(bundle.agents),
    irritants: byId(bundle.irritants),
    rules: byId(bundle.rules),
  };
}

/** The canonical JSON text (RFC 8785) of an answer: its names in order. It holds no numbers but whole ones. */
export function wordsKey(value) {
  if (Array.isArray(value)) return `[${value.map(wordsKey).join(",")}]`;
  if (value === null || typeof value !== "object") return JSON.stringify(value);
  const parts = Object.keys(value).sort();
  return `{${parts.map((name) => `${JSON.stringify(name)}:${wordsKey(value[name])}`).join(",")}}`;
}

/** `0.5 mm`, `15 years`, `1 year`, `5%`. */
export function wordsNumber(value, unit) {
  const number = value.toDecimal();
  const symbol = number === "1" ? unit.one || unit.symbol : unit.symbol;
  if (!symbol) return number;
  return symbol === "%" || symbol === "°" ? `${number}${symbol}` : `${number} ${symbol}`;
}

/** A quantity as the bundle holds it (`15 a`) as people read it. */
export function wordsQuantity(frame, text) {
  const { value, unit } = exactWritten(text, frame.units);
  return wordsNumber(value, unit);
}

/** `a`, `a or b`, `a, b or c`. */
export function wordsEither(list) {
  return list.length === 1 ? list[0] : `${list.slice(0, -1).join(", ")} or ${list.at(-1)}`;
}

/** `a`, `a and b`, `a, b and c`. */
export function wordsBoth(list) {
  return list.length === 1 ? list[0] : `${list.slice(0, -1).join(", ")} and ${list.at(-1)}`;
}

/** `1 question`, `3 questions`. */
export function wordsCount(number, one) {
  return `${number} ${one}${number === 1 ? "" : "s"}`;
}

/** A range of a quantity in the notation of the sources; an end that is left out is at a limit, and is not said. */
export function wordsRange(frame, factor, mapping) {
  const read = (text) => exactWritten(text, frame.units).value;
  const [first, last] = [read(factor.at_least), read(factor.at_most)];
  const span = exactSpan(mapping, read);
  const unit = frame.units.get(factor.unit);
  const [low, high] = [span.low ?? first, span.high ?? last];
  const [said, end] = [wordsNumber(low, unit), wordsNumber(high, unit)];
  if (low.compare(high) === 0) return `exactly ${said}`;
  const fromStart = low.compare(first) === 0 && span.lowIn;
  const toEnd = high.compare(last) === 0 && span.highIn;
  if (fromStart && toEnd) return "any value";
  if (fromStart) return span.highIn ? `${end} or less` : `less than ${end}`;
  if (toEnd) return span.lowIn ? `${said} or more` : `more than ${said}`;
  if (span.lowIn && span.highIn) return `${said} to ${end}`;
  return `${span.lowIn ? "at least" : "more than"} ${said}, ${span.highIn ? "at most" : "less than"} ${end}`;
}

/** One value of a factor: the label of a choice, `yes` or `no`, or number and unit. */
export function wordsValue(frame, factor, text) {
  if (factor.kind === "quantity") return wordsQuantity(frame, text);
  return factor.kind === "choice" ? factor.values.find((value) => value.id === text).label : text;
}

/** The value that counts in a case; one read off that stops short of a limit is said by the limit. */
export function wordsCounted(frame, factor, reply) {
  const text = reply.case[factor.id];
  const taken = reply.readings?.[factor.id];
  if (!taken) return wordsValue(frame, factor, text);
  if (!taken.stops_short_of_limit) return wordsQuantity(frame, taken.treated_as);
  const read = (quantity) => exactWritten(quantity, frame.units).value;
  const value = read(taken.treated_as);
  const isLow = value.minus(read(factor.at_least)).compare(read(factor.at_most).minus(value)) < 0;
  return `just ${isLow ? "above" : "below"} ${wordsQuantity(frame, isLow ? factor.at_least : factor.at_most)}`;
}

/**
 * What was entered for a factor: `{value, entered, warnings}`.
 *
 * `value` is what counts. `entered` tells a reading and what became of it, and is empty for a value given as it is.
 */
export function wordsEntered(frame, factor, reply) {
  const value = wordsCounted(frame, factor, reply);
  const taken = reply.readings?.[factor.id];
  if (!taken) return { value, entered: "", warnings: [] };
  const read = frame.words.factors[factor.id].read;
  const method = factor.reading.method ? ` (${factor.reading.method})` : "";
  const [reading, corrected] = [wordsQuantity(frame, taken.reading), wordsQuantity(frame, taken.corrected)];
  const warnings = [];
  if (taken.outside_limits)
    warnings.push(`Check the number and the unit: ${factor.label} does not go so far in this protocol.`);
  if (taken.stops_short_of_limit)
    warnings.push(`A reading never stands for a limit of ${factor.label} itself; look for that in another way.`);
  const start = `You entered a ${read} of ${reading}${method}`;
  const entered = `${start}, corrected to ${corrected} and treated as ${value}.`;
  return { value, entered: reading === corrected && corrected === value ? `${start}.` : entered, warnings };
}

/** Python's words for an answer to a decision: `{kind, words, …}`. */
export function wordsAnswer(frame, decision, answer) {
  return frame.words.decisions[decision.id].answers[wordsKey(answer)];
}

/** The label of an agent, or of an answer, that is named under a decision. */
export function wordsNamed(frame, decision, name) {
  return decision.layer ? frame.agents.get(name).label : decision.answers.find((one) => one.id === name).label;
}

/** What a decision comes to, in one line: an answer's words, or why there is none. */
export function wordsOutcome(frame, decision, outcome) {
  if (outcome.state !== "answered") return frame.words.states[outcome.state];
  const { words, why } = wordsAnswer(frame, decision, outcome.answer);
  return why ? `${words}: ${why}` : words;
}

/** The lines that say how a decision that has no single answer comes to that: who says what, what is barred and why. */
export function wordsTrouble(frame, decision, outcome) {
  const titles = (ids) => ids.map((id) => frame.rules.get(id).title).join(", ");
  const candidates = outcome.answers ?? (outcome.answer === undefined ? [] : [outcome]);
  return [
    ...candidates.map((one) => `${wordsAnswer(frame, decision, one.answer).words}: by ${titles(one.rules)}`),
    ...(outcome.avoided_by ?? []).map(
      ({ agent, rule }) => `avoid ${wordsNamed(frame, decision, agent)}: by ${titles([rule])}`,
    ),
    ...(outcome.entries ?? []).map((entry) => {
      const because = frame.bundle.together[entry].because;
      return because ? `${frame.words.together[entry]}. ${because}` : frame.words.together[entry];
    }),
  ];
}

/** An irritant that is present and what stops it by this protocol's table; never more than that is said. */
export function wordsThreat(frame, threat) {
  const layers = (ids) => wordsBoth(ids.map((id) => frame.decisions.get(id).label));
  if (threat.stopped_by_dentine.length) return "stopped by the dentine, by this protocol's table";
  const parts = [];
  if (threat.from_sources.length) {
    const by = threat.stopped_by_layers;
    parts.push(by.length ? `stopped by ${layers(by)}` : "stopped by nothing placed here");
  }
  for (const [layer, stoppers] of Object.entries(threat.given_off_by)) {
    const given = `what ${layers([layer])} gives off is stopped by `;
    parts.push(given + (stoppers.length ? layers(stoppers) : "nothing placed before it"));
  }
  return `${parts.join("; ")}, by this protocol's table`;
}

/** Whom to ask, in words. */
export function wordsContact(frame) {
  return frame.words.identity.contact || "the authors of the protocol";
}

/** Within what a borderline case may lie: `Remaining dentine thickness could be more than 0 mm, at most 0.84 mm`. */
export function wordsBand(frame, reply) {
  const bands = Object.entries(reply.borderline).map(([id, mapping]) => {
    const factor = frame.factors.get(id);
    return `${factor.label} could be ${wordsRange(frame, factor, mapping)}`;
  });
  return wordsBoth(bands);
}

/** The places of a slider: from `low`, `count` steps of `step`, all exact; the ends of a reading are those of its value. */
export function wordsScale(frame, factor, isReading) {
  const read = (text) => exactWritten(text, frame.units).value;
  let [low, high] = [read(factor.at_least), read(factor.at_most)];
  if (isReading) {
    const scale = Exact.parse(factor.reading.scale ?? "1");
    const offset = factor.reading.offset ? read(factor.reading.offset) : new Exact(0n);
    [low, high] = [low, high].map((value) => value.minus(offset).over(scale));
    if (low.compare(high) > 0) [low, high] = [high, low];
    if (low.compare(new Exact(0n)) < 0) low = new Exact(0n);
  }
  const step = factor.step && !isReading ? read(factor.step) : wordsStep(high.minus(low));
  const first = new Exact(low.over(step).floor()).times(step);
  return { low: first, step, count: Number(high.minus(first).over(step).ceiling()) };
}

/** A step of 1, 2 or 5 of a decimal place, of which 50 or a few more make the length. */
function wordsStep(length) {
  const most = length.over(new Exact(50n));
  let power = new Exact(1n);
  const ten = new Exact(10n);
  while (power.compare(most) > 0) power = power.over(ten);
  while (power.times(ten).compare(most) <= 0) power = power.times(ten);
  const found = [5n, 2n, 1n].map((times) => power.times(new Exact(times)));
  return found.find((step) => step.compare(most) <= 0);
}
