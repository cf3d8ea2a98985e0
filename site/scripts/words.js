// Words for numbers, ranges, values and what a case comes to. What depends on no number was worded by Python and stands
// in the page as JSON (`show/web/page_words.py`); the rest is filled in here as `say/` and `show/terminal/reply.py` do.

/** All that is needed to word a case: the bundle and Python's words, with everything to be found by its id. */
function wordsFrame(bundle, words) {
  const byId = (list) => new Map((list ?? []).map((one) => [one.id, one]));
  const rules = (words?.rules ?? []).map(([id, grade, cites], place) => [
    id, { number: place + 1, anchor: `rule-${id}`, grade: words.grades[grade], cites },
  ]);
  return {
    bundle,
    words: { ...words, rules: Object.fromEntries(rules) },
    units: quantityUnits(bundle.units),
    factors: byId(bundle.factors),
    decisions: byId(bundle.decisions),
    agents: byId(bundle.agents),
    irritants: byId(bundle.irritants),
    rules: byId(bundle.rules),
  };
}

/** The canonical JSON text (RFC 8785) of an answer: its names in order. It holds no numbers but whole ones. */
function wordsKey(value) {
  if (Array.isArray(value)) return `[${value.map(wordsKey).join(",")}]`;
  if (value === null || typeof value !== "object") return JSON.stringify(value);
  const parts = Object.keys(value).sort();
  return `{${parts.map((name) => `${JSON.stringify(name)}:${wordsKey(value[name])}`).join(",")}}`;
}

/** A factor as a question. */
function wordsAsks(frame, id) {
  return frame.words.factors[id].asks;
}

/** `0.5 mm`, `15 years`, `1 year`, `5%`. */
function wordsNumber(value, unit) {
  const [plain, number] = [value.toDecimal(), sayDecimal(value.toDecimal())];
  const isOne = new Intl.PluralRules(SAY.lang).select(Number(plain)) === "one";
  const symbol = SAY.units[unit.code]?.[isOne ? 0 : 1] ?? unit.symbol;
  if (!symbol) return number;
  if (symbol === "%") return say("per-cent", { number });
  return symbol === "°" ? `${number}${symbol}` : `${number} ${symbol}`;
}

/** A quantity as the bundle holds it (`15 a`) as people read it. */
function wordsQuantity(frame, text) {
  const { value, unit } = quantityWritten(text, frame.units);
  return wordsNumber(value, unit);
}

/** A range of a quantity in the notation of the sources; an end that is left out is at a limit, and is not said. */
function wordsRange(frame, factor, mapping) {
  const read = (text) => quantityWritten(text, frame.units).value;
  const [first, last] = [read(factor.at_least), read(factor.at_most)];
  const span = exactSpan(mapping, read);
  const unit = frame.units.get(factor.unit);
  const [from, to] = [span.low ?? first, span.high ?? last];
  const [low, high] = [wordsNumber(from, unit), wordsNumber(to, unit)];
  if (from.compare(to) === 0) return say("exactly", { value: low });
  const isFromStart = from.compare(first) === 0 && span.lowIn;
  const isToEnd = to.compare(last) === 0 && span.highIn;
  if (isFromStart && isToEnd) return say("any");
  if (isFromStart) return say(span.highIn ? "at-most" : "below", { value: high });
  if (isToEnd) return say(span.lowIn ? "at-least" : "above", { value: low });
  return say(`${span.lowIn ? "from" : "after"}-${span.highIn ? "to" : "before"}`, { low, high });
}

/** One value of a factor: the label of a choice, `yes` or `no`, or number and unit. */
function wordsValue(frame, factor, text) {
  if (factor.kind === "quantity") return wordsQuantity(frame, text);
  return factor.kind === "choice" ? factor.values.find((value) => value.id === text).label : say(text);
}

/** The value that counts in a case; one read off that comes near a limit is said by the limit. */
function wordsCounted(frame, factor, reply) {
  const taken = reply.readings?.[factor.id];
  if (!taken) return wordsValue(frame, factor, reply.case[factor.id]);
  const read = (quantity) => quantityWritten(quantity, frame.units).value;
  const [value, text] = [read(taken.treated_as), readingToPlace(frame, factor, taken, taken.treated_as)];
  const isInside = read(text).compare(read(factor.at_least)) > 0 && read(text).compare(read(factor.at_most)) < 0;
  if (!taken.stops_short_of_limit && isInside) return wordsQuantity(frame, text);
  const isLow = value.minus(read(factor.at_least)).compare(read(factor.at_most).minus(value)) < 0;
  return say(isLow ? "just-above" : "just-below", { value: wordsQuantity(frame, isLow ? factor.at_least : factor.at_most) });
}

/**
 * What was entered for a factor: `{value, entered, noted, warnings}`.
 *
 * `value` is what counts. `entered` tells the reader of a reading and what became of it, and is empty for a value given
 * as it is; `noted` tells the notes what counts and by what reading.
 */
function wordsEntered(frame, factor, reply) {
  const value = wordsCounted(frame, factor, reply);
  const taken = reply.readings?.[factor.id];
  if (!taken) return { value, entered: "", noted: value, warnings: [] };
  const told = frame.words.factors[factor.id].reading;
  const { method } = factor.reading;
  const [read, corrected] = [wordsQuantity(frame, taken.reading), wordsQuantity(frame, readingToPlace(frame, factor, taken, taken.corrected))];
  const reading = method ? say("with-note", { text: read, note: method }) : read;
  const way = read === corrected && corrected === value ? "" : "_corrected";
  const values = { reading, corrected, value };
  const noted = sayFilled(told[`noted${way}`], values);
  const warnings = [];
  if (taken.outside_limits) warnings.push(say("check-number-of", { factor: factor.label }));
  if (taken.stops_short_of_limit) warnings.push(say("never-a-limit", { factor: factor.label }));
  return {
    value,
    entered: sayFilled(told[`entered${way}`], values),
    noted: taken.outside_limits ? say("noted-check-number", { reading: noted }) : noted,
    warnings,
  };
}

/**
 * The message to say of what can change nothing. In a borderline case, or near a threshold, that holds of the advice
 * alone: what else it could be may still hang on what was not asked.
 */
function wordsBorderline(key, reply) {
  return reply.borderline || reply.near ? `${key}-borderline` : key;
}

/** Which factors were not asked since they could change nothing; nothing where all were. */
function wordsNotAsked(frame, reply) {
  const labels = reply.missing.map((id) => frame.factors.get(id).label);
  return labels.length ? say(wordsBorderline("not-asked", reply), { factors: sayBoth(labels) }) : "";
}

/**
 * Python's words for an answer to a decision: `{kind, words, …}`.
 *
 * With the advice for the whole case nothing is said of an order beside a layer that is not placed in it.
 */
function wordsAnswer(frame, decision, answer, advice = {}) {
  const told = frame.words.decisions[decision.id].answers[wordsKey(answer)];
  const kept = (told.order ?? []).filter(([layer]) => !wordsUnplaced(advice[layer]));
  if (!kept.length) return told;
  const words = [told.words, ...kept.map(([, , text]) => text)].join(", ");
  return { ...told, words, facts: [...told.facts, ...kept.map(([, label, text]) => [label, text])] };
}

/** The decision among `those` on which a decision hangs that is not needed, if it hangs on one of them. */
function wordsGate(frame, id, those) {
  const [gate] = Object.keys(frame.decisions.get(id).needed_when ?? {});
  if (!gate) return "";
  return those.includes(gate) ? gate : wordsGate(frame, gate, those);
}

/** Whether surely no layer is placed: it is not needed, or every answer is that none is. */
function wordsUnplaced(outcome) {
  if (!outcome) return false;
  const answers = outcome.answers?.map(({ answer }) => answer) ?? [outcome.answer];
  return outcome.state === "not-needed" || answers.every((answer) => answer === "none");
}

/** The label of an agent, or of an answer, that is named under a decision. */
function wordsNamed(frame, decision, name) {
  return decision.layer ? frame.agents.get(name).label : decision.answers.find((one) => one.id === name).label;
}

/** What a decision comes to, in one line: an answer's words, or why there is none. */
function wordsOutcome(frame, decision, outcome, advice) {
  if (outcome.state !== "answered") return wordsState(frame, decision, outcome);
  const { words, why } = wordsAnswer(frame, decision, outcome.answer, advice);
  return why ? say("labelled", { label: words, text: why }) : words;
}

/** One of several things that a decision could come to: with why an answer will not do, the answer too. */
function wordsPossible(frame, decision, outcome, advice) {
  const said = wordsOutcome(frame, decision, outcome, advice);
  if (outcome.state === "answered" || outcome.answer === undefined) return said;
  return say("labelled", { label: wordsAnswer(frame, decision, outcome.answer).words, text: said });
}

/** Why a decision has no answer. Not every rule that bars it need be known; what could be either is said to be. */
function wordsState(frame, decision, outcome) {
  const { states } = frame.words;
  if (outcome.state !== "contraindicated") return states[outcome.state];
  const name = outcome.answer.agent ?? outcome.answer;
  const bars = (key) => [...frame.rules.values()].some((rule) => rule[key]?.[decision.id]?.includes(name));
  const isKnown = (outcome.avoided_by ?? []).some(({ agent, rule }) => wordsForbids(frame, decision, agent, rule));
  if (bars("never") && bars("avoid") && !isKnown) return states[outcome.state];
  return states[bars("never") ? "never" : "avoid"];
}

/** Whether a rule says never to use something, not only to avoid it. */
function wordsForbids(frame, decision, name, rule) {
  return Boolean(frame.rules.get(rule).never?.[decision.id]?.includes(name));
}

/** The lines that say how a decision that has no single answer comes to that: who says what, what is barred and why. */
function wordsTrouble(frame, decision, outcome, advice) {
  const titles = (ids) => ids.map((id) => frame.rules.get(id).title).join(", ");
  const candidates = outcome.answers ?? (outcome.answer === undefined ? [] : [outcome]);
  return [
    ...candidates.map((one) =>
      say("answer-by", { answer: wordsAnswer(frame, decision, one.answer, advice).words, rules: titles(one.rules) }),
    ),
    ...(outcome.avoided_by ?? []).map(({ agent, rule }) =>
      say(wordsForbids(frame, decision, agent, rule) ? "forbidden-by" : "avoided-by", { name: wordsNamed(frame, decision, agent), rule: titles([rule]) }),
    ),
    ...(outcome.entries ?? []).map((entry) =>
      [frame.words.together[entry], frame.bundle.together[entry].because].filter(Boolean).join(". "),
    ),
  ];
}

/** An irritant that is present and what stops it by this protocol's table; never more than that is said. */
function wordsThreat(frame, threat) {
  const layers = (ids) => sayBoth(ids.map((id) => frame.decisions.get(id).label));
  if (threat.stopped_by_dentine.length) return say("stopped-by-dentine");
  const parts = [];
  if (threat.from_sources.length) {
    const by = threat.stopped_by_layers;
    parts.push(by.length ? say("stopped-by", { layers: layers(by) }) : say("not-stopped"));
  }
  for (const [layer, stoppers] of Object.entries(threat.given_off_by)) {
    const key = stoppers.length ? "given-off-stopped-by" : "given-off-not-stopped";
    parts.push(say(key, { layer: layers([layer]), layers: stoppers.length ? layers(stoppers) : "" }));
  }
  return say("by-the-table", { text: parts.join("; ") });
}

/** Whom to ask, in words. */
function wordsContact(frame) {
  return frame.words.identity.contact || say("authors");
}

/** Within what a borderline case may lie: `Remaining dentine thickness could be more than 0 mm, at most 0.84 mm`. */
function wordsBand(frame, reply) {
  const bands = Object.entries(reply.borderline).map(([id, mapping]) => {
    const factor = frame.factors.get(id);
    const range = readingBand(frame, factor, reply.readings[id], mapping);
    return say("could-be", { factor: factor.label, range });
  });
  return sayBoth(bands);
}

/** The places of a slider: from `low`, `count` steps of `step`, all exact; the ends of a reading are those of its value. */
function wordsScale(frame, factor, isReading) {
  const read = (text) => quantityWritten(text, frame.units).value;
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
