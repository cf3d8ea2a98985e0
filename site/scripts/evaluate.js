// The advice for one case, from a rule bundle alone: the very object that `liningbook case --format json` prints.
//
// A case is one cell of every factor (see factor.js); the bundle's tables, each row of which is a box of cells, say
// what it comes to. All numbers are exact.

const EVALUATE_READING = ".reading";

/**
 * Why a case cannot be answered: `factor` is the id of the factor that it is about. `kind` is one of `unknown-factor`,
 * `twice`, to which no question of the page leads, so that `message` only names the factor; or one of `unknown-name`,
 * `unit`, `out-of-limits`, `not-read`, for which it holds sentences for the reader.
 */
class BadCase extends Error {
  constructor(kind, factor, message) {
    super(message);
    this.name = "BadCase";
    this.kind = kind;
    this.factor = factor;
  }
}

/**
 * The case that texts describe: `values` by factor (as they are replied), the `cells` of all factors in order, those of
 * the `missing` ones null, `taken`, a map of what was read off (see `factorTake`), and `judged`, of the values within the
 * uncertainty of those judged by eye, where a threshold is among them. Throws BadCase.
 */
function evaluatePut(compiled, given) {
  const { factors } = compiled;
  for (const name of Object.keys(given)) {
    const id = name.endsWith(EVALUATE_READING) ? name.slice(0, -EVALUATE_READING.length) : name;
    if (!factors.has(id)) throw new BadCase("unknown-factor", id, quantityShorten(id));
    if (name !== id && Object.hasOwn(given, id)) throw new BadCase("twice", id, factors.get(id).label);
  }
  const found = { values: {}, cells: [], taken: new Map(), judged: new Map(), missing: [] };
  for (const factor of factors.values()) {
    const isRead = Object.hasOwn(given, factor.id + EVALUATE_READING);
    if (!isRead && !Object.hasOwn(given, factor.id)) {
      found.missing.push(factor.id);
      found.cells.push(null);
      continue;
    }
    const text = given[isRead ? factor.id + EVALUATE_READING : factor.id];
    if (typeof text !== "string") throw new TypeError(`the value of ${factor.id} is not a text`);
    const { cell, value, taken, judged } = (isRead ? evaluateRead : evaluateValue)(compiled, factor, text);
    found.values[factor.id] = value;
    found.cells.push(cell);
    if (taken) found.taken.set(factor.id, taken);
    if (judged && factorCellsIn(factor, judged).length > 1) found.judged.set(factor.id, judged);
  }
  return found;
}

function evaluateValue(compiled, factor, text) {
  if (factor.kind === "quantity") {
    const number = evaluateNumber(compiled, factor, text);
    const problem = factorProblem(factor, number);
    if (problem) throw new BadCase("out-of-limits", factor.id, problem);
    const judged = factorJudged(factor, number);
    return { cell: factorCellOf(factor, number), value: factorText(factor, number), judged };
  }
  const value = quantityTrim(text);
  const cell = factor.values.indexOf(value);
  if (cell < 0) {
    const told = { value: quantityShorten(value), factor: factor.label, values: factor.values.join(", ") };
    throw new BadCase("unknown-name", factor.id, say("no-such-value", told));
  }
  return { cell, value };
}

function evaluateRead(compiled, factor, text) {
  const isQuantity = factor.kind === "quantity";
  const number = isQuantity ? evaluateNumber(compiled, factor, text) : null;
  const problem = factorUnread(factor);
  if (problem) throw new BadCase("not-read", factor.id, problem);
  const taken = factorTake(factor, number);
  return { cell: taken.cell, value: factorText(factor, taken.value), taken };
}

function evaluateNumber(compiled, factor, text) {
  try {
    return parseQuantity(text, factor.unit, compiled.units);
  } catch (problem) {
    if (problem instanceof NotAQuantity) throw new BadCase("unit", factor.id, problem.message);
    throw problem;
  }
}

// --- advice -----------------------------------------------------------------------------------------------------------

/**
 * What the tables say in a case of one cell a factor: `outcomes`, a map of rows by decision, each with its `outcome` as
 * it is replied; none where an entry of `excluded` applies, which is then given.
 */
function evaluateDecide(compiled, cells) {
  const [excluded] = compiled.excluded.at(cells);
  if (excluded) return { excluded, outcomes: new Map() };
  const rows = compiled.rows.at(cells);
  const outcomes = new Map(rows.map((row) => [row.decision, row]));
  if (outcomes.size !== compiled.decisions.size || rows.length !== outcomes.size)
    throw new Error("The rule bundle has not exactly one row for this case in each of its tables.");
  return { excluded: null, outcomes };
}

/**
 * What `liningbook case --format json` prints for a case. Parts of the result belong to the bundle: do not change them.
 * Throws BadCase where the case cannot be answered.
 *
 * @param {object} compiled from `readBundle`
 * Where factors are missing, `in_scope` may be `"open"`; `settled` holds what every completion in scope comes to, `open`
 * what is still possible, `next` the factor to ask for, and `irrelevant` those that can change nothing any more.
 *
 * @param {Record<string, string>} given texts by factor: `{rdt: "0.4 mm"}`, or `{"rdt.reading": "0.6 mm"}` for what was
 *   read off and is to be corrected
 * @param {string} day on which it is asked, as YEAR-MONTH-DAY
 */
function answer(compiled, given, day) {
  const put = evaluatePut(compiled, given);
  const state = { edition_state: evaluateState(compiled.bundle.protocol, day) };
  return { ...state, ...(put.missing.length ? partialAnswer(compiled, put) : evaluateWhole(compiled, put)) };
}

/** Where the edition stands on a day: whether its advice is the one to follow. */
function evaluateState({ status, held_as: held, review_by: last, in_force_from: first }, day) {
  if (held || status !== "in-force") return held || status;
  if (day > last) return "expired";
  return first && day < first ? "not-yet-in-force" : status;
}

/** The reply to a case of which nothing is missing. */
function evaluateWhole(compiled, put) {
  const { values, cells, taken, judged } = put;
  const advice = evaluateDecide(compiled, cells);
  const order = evaluateOrder(advice.outcomes);
  const found = {
    case: values,
    in_scope: advice.excluded === null,
    advice: Object.fromEntries([...advice.outcomes].map(([decision, row]) => [decision, row.outcome])),
    silent: evaluateSilent(compiled, cells, advice.outcomes),
    placing_order: order,
    missing: [],
    settled: {},
    open: {},
    next: null,
    irrelevant: [],
  };
  if (advice.excluded) {
    found.because = advice.excluded.because ?? "";
    found.instead = advice.excluded.instead ?? "";
  } else found.irritants = pulpThreats(compiled, cells, advice.outcomes, order);
  if (taken.size) doubtTold(compiled, taken, doubtOf(compiled, cells, doubtBands(taken), advice), found);
  if (judged.size) doubtNear(compiled, judged, doubtOf(compiled, cells, judged, advice), found);
  return found;
}

/** The one answer of an outcome if it places a layer. */
function evaluateLayer({ outcome }) {
  return typeof outcome.answer === "object" && Object.hasOwn(outcome.answer, "agent") ? outcome.answer : null;
}

/** The rules that another rule silences, by decision, where the decision is needed. */
function evaluateSilent(compiled, cells, outcomes) {
  const holding = compiled.rules.at(cells);
  const found = {};
  for (const [decision, row] of outcomes) {
    if (row.outcome.state === "not-needed") continue;
    const speaking = holding.filter((rule) => rule.advise && Object.hasOwn(rule.advise, decision));
    const overridden = new Set(speaking.flatMap((rule) => rule.overrides ?? []));
    const silent = speaking.map((rule) => rule.id).filter((id) => overridden.has(id));
    if (silent.length) found[decision] = silent;
  }
  return found;
}

/** The layers that are placed, in order: that of the decisions, each moved only where its own answer says so. */
function evaluateOrder(outcomes) {
  const placed = [...outcomes].filter(([, row]) => evaluateLayer(row));
  const order = placed.map(([name]) => name);
  const wishes = placed.flatMap(([name, row]) => {
    const { before, after } = evaluateLayer(row);
    return [[name, before, 0], [name, after, 1]].filter(([, other]) => order.includes(other));
  });
  for (let turn = 0; turn < wishes.length; turn += 1)
    for (const [name, other, side] of wishes) {
      if (order.indexOf(name) < order.indexOf(other) !== Boolean(side)) continue;
      order.splice(order.indexOf(name), 1);
      order.splice(order.indexOf(other) + side, 0, name);
    }
  return order;
}
