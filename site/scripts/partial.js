// What can be said of a case of which some factors are not known: what is settled whatever they are, what is still open.
// All of it is exact, from the bundle's tables alone.
//
// A box holds a set of cells for every factor, or null for all of them; that of a case has null for each factor that is
// missing. A completion is a case of the box. Rows are told by their numbers in `compiled.rows`.

/** The reply to a case with `missing` factors, of which `cells` holds null: see `answer`. */
function partialAnswer(compiled, { values, cells, taken, judged, missing }) {
  const box = cells.map((cell) => (cell === null ? null : new Set([cell])));
  const look = partialLook(compiled, box);
  const advice = {};
  const silent = {};
  for (const [decision, rows] of look.settled) {
    advice[decision] = partialCommon(compiled, rows);
    const hushed = advice[decision].state === "not-needed" ? [] : partialSilent(compiled, box, decision);
    if (hushed.length) silent[decision] = hushed;
  }
  const order = partialOrder(compiled, box, look);
  const asking = nextAsked(compiled, box, look, missing);
  const each = (list, told) => Object.fromEntries([...list].map(([decision, item]) => [decision, told(item)]));
  const found = {
    case: values,
    in_scope: look.inScope,
    advice,
    silent,
    placing_order: order ?? [],
    missing,
    settled: each(look.settled, ([number]) => partialSaid(compiled, number)),
    open: each(look.open, (groups) => groups.map(([number]) => partialSaid(compiled, number))),
    ...asking,
  };
  if (look.inScope === false) Object.assign(found, partialOutside(compiled, box));
  else if (order) Object.assign(found, partialThreats(compiled, box, look, order));
  if (taken.size) doubtTold(compiled, taken, partialDoubt(compiled, box, doubtBands(taken), look), found);
  if (judged.size) doubtNear(compiled, judged, partialDoubt(compiled, box, judged, look), found);
  return found;
}

/** What every completion comes to: `settled`, rows by decision, `open`, the rows of each outcome by decision, and scope. */
function partialLook(compiled, box) {
  const groups = partialGroups(compiled, box);
  const out = bundleNumbers(compiled.excluded.meeting(box));
  const sizes = new Set([...groups.values()].map((own) => nextCount(compiled, box, [...own.values()].flat())));
  const inside = [...sizes][0];
  if (sizes.size !== 1 || (!inside && !out.length))
    throw new Error("The rule bundle has not exactly one row for this case in each of its tables.");
  const found = { inScope: inside ? (out.length ? "open" : true) : false, out, settled: new Map(), open: new Map() };
  for (const [decision, own] of inside ? groups : []) {
    const rows = [...own.values()];
    if (rows.length === 1) found.settled.set(decision, rows[0]);
    else found.open.set(decision, rows);
  }
  return found;
}

/**
 * The rows that hold some completion, by decision and then by what they say. Nothing hangs on how a table is cut into
 * boxes: of rows that say the same the one whose rules come first stands first, and so do those that say something else.
 */
function partialGroups(compiled, box) {
  const found = new Map([...compiled.decisions.keys()].map((decision) => [decision, new Map()]));
  for (const number of bundleNumbers(compiled.rows.meeting(box))) {
    const row = compiled.rows.owners[number];
    const own = found.get(row.decision);
    const meaning = doubtMeaning(compiled, row);
    if (!own.has(meaning)) own.set(meaning, []);
    own.get(meaning).push(number);
  }
  for (const [decision, own] of found) {
    for (const group of own.values()) group.sort((one, other) => partialEarlier(compiled, one, other));
    const sorted = [...own].sort(([, [one]], [, [other]]) => partialEarlier(compiled, one, other));
    found.set(decision, new Map(sorted));
  }
  return found;
}

/** Which of two rows stands first: by state, then by the rules of each candidate. */
function partialEarlier(compiled, one, other) {
  const [first, second] = [one, other].map((number) => {
    const { state, rules, answers } = compiled.rows.owners[number].outcome;
    return [[state], ...(answers?.map((candidate) => candidate.rules) ?? (rules ? [rules] : []))];
  });
  return partialCompare(first, second, (here, there) => partialCompare(here, there, (a, b) => (a < b ? -1 : a > b ? 1 : 0)));
}

/** Below 0 if the first list comes before the second, by the first item in which they differ; a beginning comes first. */
function partialCompare(first, second, compare) {
  for (let place = 0; place < Math.min(first.length, second.length); place += 1) {
    const order = compare(first[place], second[place]);
    if (order) return order;
  }
  return first.length - second.length;
}

/** What a row says, whichever rules do: state and answers. */
function partialSaid(compiled, number) {
  const { state, answer: only, answers } = compiled.rows.owners[number].outcome;
  if (answers) return { state, answers: answers.map((one) => ({ answer: one.answer })) };
  return only === undefined ? { state } : { state, answer: only };
}

/** The outcome of rows that say the same, with the rules, warnings and entries that all of them have. */
function partialCommon(compiled, rows) {
  const [first, ...others] = rows.map((number) => compiled.rows.owners[number].outcome);
  const key = (item) => JSON.stringify(item);
  const shared = (list, listOf) =>
    list.filter((item) => others.every((other) => (listOf(other) ?? []).some((one) => key(one) === key(item))));
  const found = { ...first };
  if (first.rules) found.rules = shared(first.rules, (other) => other.rules);
  if (first.answers)
    found.answers = first.answers.map((one) => {
      const meaning = doubtAnswer(compiled, one.answer);
      const rulesOf = (other) => other.answers.find((item) => doubtAnswer(compiled, item.answer) === meaning).rules;
      return { ...one, rules: shared(one.rules, rulesOf) };
    });
  for (const name of ["avoided_by", "entries"]) {
    if (!first[name]) continue;
    found[name] = shared(first[name], (other) => other[name]);
    if (!found[name].length) delete found[name];
  }
  return found;
}

/** Why no completion is covered: by the exclusion that holds them all, or by those that do so together. */
function partialOutside(compiled, box) {
  const met = partialOwners(compiled.excluded, box);
  const alone = met.find((entry) => partialIsCovered(compiled, box, compiled.excluded.of(entry)));
  const told = (name) => [...new Set((alone ? [alone] : met).map((entry) => entry[name] ?? "").filter(Boolean))];
  return { because: told("because").join(" "), instead: told("instead").join(" ") };
}

/** The rules that another one silences under a decision in every completion in scope. */
function partialSilent(compiled, box, decision) {
  const speaking = compiled.bundle.rules.filter((rule) => rule.advise && Object.hasOwn(rule.advise, decision));
  const isSilent = (rule) => {
    const over = speaking.filter((other) => other.overrides?.includes(rule.id));
    const both = compiled.rules.of(rule).flatMap((own) =>
      over.flatMap((other) => compiled.rules.of(other).map((cells) => partialMeet(own, cells)).filter(Boolean)),
    );
    return both.length > 0 && partialIsAlways(compiled, box, both);
  };
  return speaking.filter(isSilent).map((rule) => rule.id);
}

/** The layers that are settled and placed, in order; null where the completions do not order them alike. */
function partialOrder(compiled, box, { settled, open }) {
  const first = new Map([...settled].map(([decision, [number]]) => [decision, compiled.rows.owners[number]]));
  const placed = [...first].filter(([, row]) => evaluateLayer(row)).map(([decision]) => decision);
  const rows = [...settled.values(), ...[...open.values()].flat()].flat().map((number) => compiled.rows.owners[number]);
  // No other layer can change how these lie to one another.
  const named = new Set();
  for (const row of rows) {
    const others = [evaluateLayer(row)?.before, evaluateLayer(row)?.after].filter((other) => other !== undefined);
    for (const one of others.length ? [row.decision, ...others] : []) named.add(one);
  }
  let ways = [{ rows: first, boxes: [box] }];
  for (const [decision, groups] of open) if (named.has(decision)) ways = partialWays(compiled, ways, decision, groups);
  const orders = new Set(
    ways.map((way) => {
      const known = [...compiled.decisions.keys()].filter((decision) => way.rows.has(decision));
      const order = evaluateOrder(new Map(known.map((decision) => [decision, way.rows.get(decision)])));
      return JSON.stringify(order.filter((decision) => placed.includes(decision)));
    }),
  );
  return orders.size === 1 ? JSON.parse([...orders][0]) : null;
}

/** Ways in which layers can be decided on, each with the boxes in which they are, split by a further decision. */
function partialWays(compiled, ways, decision, groups) {
  return ways.flatMap((way) =>
    groups.flatMap((group) => {
      const boxes = group.flatMap((number) => way.boxes.map((box) => partialMeet(box, compiled.rows.boxes[number])));
      const met = boxes.filter(Boolean);
      return met.length ? [{ rows: new Map([...way.rows, [decision, compiled.rows.owners[group[0]]]]), boxes: met }] : [];
    }),
  );
}

/** The irritants and what stops them, where that is the same in every completion in scope; else nothing. */
function partialThreats(compiled, box, { settled, open }, order) {
  if ([...open.keys()].some((decision) => compiled.decisions.get(decision).layer !== undefined)) return {};
  for (const index of [compiled.sources, compiled.barriers])
    for (const entry of partialOwners(index, box)) {
      const own = index.of(entry);
      if (!partialIsAlways(compiled, box, own) && !partialIsNever(compiled, box, own)) return {};
    }
  const rows = new Map([...settled].map(([decision, [number]]) => [decision, compiled.rows.owners[number]]));
  const [some] = bundleNumbers(compiled.rows.meeting(box));
  const inScope = partialMeet(box, compiled.rows.boxes[some]).map((cells) => (cells ? [...cells][0] : 0));
  return { irritants: pulpThreats(compiled, inScope, rows, order) };
}

/** What else is possible, for the values within bands of some factors, of that which is said to be settled. */
function partialDoubt(compiled, box, bands, { inScope, settled }) {
  const band = [...compiled.factors].map(([id, factor], number) =>
    bands.has(id) ? new Set(factorCellsIn(factor, bands.get(id))) : box[number],
  );
  const said = (decision) => {
    const rows = settled.get(decision);
    return rows ? doubtMeaning(compiled, compiled.rows.owners[rows[0]]) : "";
  };
  const otherwise = [...partialGroups(compiled, band)]
    .filter(([decision]) => inScope === false || settled.has(decision))
    .map(([decision, own]) => [decision, [...own].filter(([meaning]) => meaning !== said(decision))])
    .filter(([, groups]) => groups.length)
    .map(([decision, groups]) => [decision, groups.map(([, [number]]) => partialSaid(compiled, number))]);
  const notCovered = inScope === true ? partialOwners(compiled.excluded, band) : [];
  return { otherwise: Object.fromEntries(otherwise), notCovered };
}

// --- boxes ------------------------------------------------------------------------------------------------------------

/** The owners of the boxes that hold some case of a box, in the order of the boxes. */
function partialOwners(index, box) {
  return [...new Set(bundleNumbers(index.meeting(box)).map((number) => index.owners[number]))];
}

/** The cases in both boxes; null if there is none. */
function partialMeet(box, other) {
  const both = box.map((cells, factor) => {
    const own = other[factor];
    return cells && own ? new Set([...cells].filter((cell) => own.has(cell))) : (cells ?? own);
  });
  return both.some((cells) => cells?.size === 0) ? null : both;
}

/** Whether the boxes `own` hold every completion that is in scope. */
function partialIsAlways(compiled, box, own) {
  return partialIsCovered(compiled, box, [...own, ...compiled.excluded.boxes]);
}

/** Whether the boxes `own` hold no completion that is in scope. */
function partialIsNever(compiled, box, own) {
  const met = own.map((cells) => partialMeet(box, cells)).filter(Boolean);
  return met.every((cells) => partialIsCovered(compiled, cells, compiled.excluded.boxes));
}

/** Whether every case of a box lies in one of the others. */
function partialIsCovered(compiled, box, others) {
  const { counts } = compiled.rows;
  const all = (factor) => box[factor] ?? new Set(Array.from({ length: counts[factor] }, (_, cell) => cell));
  const met = others.filter((other) => partialMeet(box, other));
  let least = null;
  for (const other of met) {
    const torn = box.flatMap((_, factor) => (other[factor] && [...all(factor)].some((cell) => !other[factor].has(cell)) ? [factor] : []));
    if (!torn.length) return true;
    if (!least || torn.length < least.torn.length) least = { other, torn };
  }
  if (!least) return false;
  const [factor] = least.torn;
  const split = (isIn) => new Set([...all(factor)].filter((cell) => least.other[factor].has(cell) === isIn));
  return [false, true].every((isIn) => {
    const side = box.map((cells, number) => (number === factor ? split(isIn) : cells));
    return partialIsCovered(compiled, side, met);
  });
}
