// What else the advice could be within the uncertainty of what was read off, or judged by eye.

/** The values within the uncertainty of what was read off, by factor. */
function doubtBands(taken) {
  return new Map([...taken].map(([name, { band }]) => [name, band]));
}

/** What else the advice could be for the values within bands of some factors: outcomes by decision, and exclusions. */
function doubtOf(compiled, cells, bands, advice) {
  const options = [...compiled.factors].map(([name, factor], number) =>
    bands.has(name) ? factorCellsIn(factor, bands.get(name)) : [cells[number]],
  );
  const seen = new Map([...advice.outcomes].map(([decision, row]) => [decision, [row]]));
  const notCovered = new Set();
  for (const other of doubtProduct(options)) {
    const { excluded, outcomes } = evaluateDecide(compiled, other);
    if (excluded && !advice.excluded) notCovered.add(excluded);
    for (const [decision, row] of outcomes) {
      if (!seen.has(decision)) seen.set(decision, []);
      const known = seen.get(decision);
      if (!known.some((one) => doubtMeaning(compiled, one) === doubtMeaning(compiled, row))) known.push(row);
    }
  }
  const others = [...seen].map(([decision, rows]) => [decision, rows.slice(advice.excluded ? 0 : 1)]);
  const otherwise = others.filter(([, rows]) => rows.length);
  const told = otherwise.map(([name, rows]) => [name, rows.map((row) => row.outcome)]);
  return { otherwise: Object.fromEntries(told), notCovered: [...notCovered] };
}

/** Adds how readings were taken, and what else could be. */
function doubtTold(compiled, taken, doubt, found) {
  const each = (say) => Object.fromEntries([...taken].map(([name, item]) => [name, say(name, item)]));
  found.readings = each((name, item) => factorTaken(compiled.factors.get(name), item));
  if (!doubtIsAny(doubt)) return;
  found.borderline = each((name, { band }) => factorNotation(compiled.factors.get(name), band));
  Object.assign(found, doubtOtherwise(doubt));
}

/** Adds which values judged by eye are near a threshold, each with what else could be within all their ranges. */
function doubtNear(compiled, judged, doubt, found) {
  if (!doubtIsAny(doubt)) return;
  const told = [...judged].map(([name, band]) => {
    const factor = compiled.factors.get(name);
    const { uncertainty, cautious } = factor.judged;
    const range = factorNotation(factor, band);
    return [name, { range, uncertainty: factorText(factor, uncertainty), cautious, ...doubtOtherwise(doubt) }];
  });
  found.near = Object.fromEntries(told);
}

function doubtIsAny({ otherwise, notCovered }) {
  return Object.keys(otherwise).length > 0 || notCovered.length > 0;
}

function doubtOtherwise({ otherwise, notCovered }) {
  if (!notCovered.length) return { otherwise };
  return { otherwise, otherwise_not_covered: notCovered.map((entry) => entry.because ?? entry.instead ?? "") };
}

/** Every choice of one item from each list. */
function* doubtProduct([first, ...rest]) {
  if (!first) yield [];
  else for (const item of first) for (const others of doubtProduct(rest)) yield [item, ...others];
}

/** What an outcome advises, as a text that is the same for any two that advise the same, whichever rules do. */
function doubtMeaning(compiled, row) {
  if (!row.meaning) {
    const { state, answer: only, answers } = row.outcome;
    const all = answers?.map((item) => item.answer) ?? (only === undefined ? [] : [only]);
    row.meaning = JSON.stringify([state, all.map((item) => doubtAnswer(compiled, item)).sort()]);
  }
  return row.meaning;
}

/** The same for one answer: quantities by value, a place left out is the agent's own, any two judgements are equal. */
function doubtAnswer(compiled, item) {
  if (typeof item === "string") return `"${item}"`;
  if (!Object.hasOwn(item, "agent")) return "judgement";
  const base = (text) => bundleBase(compiled, text);
  const exact = (number) => number && `${number.numerator}/${number.denominator}`;
  const span = item.thickness && exactSpan(item.thickness, base);
  const thickness = span && [exact(span.low), span.lowIn, exact(span.high), span.highIn];
  const wait = item.wait && exact(base(item.wait));
  return JSON.stringify([
    item.agent,
    thickness,
    item.coats,
    bundlePlace(compiled, item),
    wait,
    item.before,
    item.after,
  ]);
}
