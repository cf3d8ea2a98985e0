// What else the advice could be within the uncertainty of what was read off.

/** Adds to a reply how readings were taken, and what else the advice could be within their uncertainty. */
function doubtAdd(compiled, cells, taken, advice, found) {
  const options = [...compiled.factors].map(([name, factor], number) =>
    taken.has(name) ? factorCellsIn(factor, taken.get(name).band) : [cells[number]],
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
  const told = Object.fromEntries(otherwise.map(([name, rows]) => [name, rows.map((row) => row.outcome)]));
  doubtTold(compiled, taken, told, [...notCovered], found);
}

/** Adds how readings were taken, and what else could be: outcomes by decision, and exclusions. */
function doubtTold(compiled, taken, otherwise, notCovered, found) {
  const each = (say) => Object.fromEntries([...taken].map(([name, item]) => [name, say(name, item)]));
  found.readings = each((name, item) => factorTaken(compiled.factors.get(name), item));
  if (!Object.keys(otherwise).length && !notCovered.length) return;
  found.borderline = each((name, { band }) => factorNotation(compiled.factors.get(name), band));
  found.otherwise = otherwise;
  if (notCovered.length) found.otherwise_not_covered = notCovered.map((entry) => entry.because ?? entry.instead ?? "");
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
