// The advice for one case, from a rule bundle alone: the very object that `liningbook case --format json` prints.
//
// A case is one cell of every factor (see factor.mjs); the bundle's tables, each row of which is a box of cells, say
// what it comes to. All numbers are exact.

import { NotAQuantity, exactIsWithin, exactShorten, exactSpan, exactTrim } from "./exact.mjs";
import { exactUnits, exactWritten, parseQuantity } from "./exact.mjs";
import { factorCellOf, factorCells, factorCellsIn, factorNotation, factorOf, factorProblem } from "./factor.mjs";
import { factorTake, factorTaken, factorText, factorUnread } from "./factor.mjs";

const EVALUATE_READING = ".reading";

/**
 * Why a case cannot be answered: `message` is a sentence for the user and `factor` the id of the factor that it is
 * about. `kind` is one of `unknown-factor`, `twice`, `missing`, `unknown-name`, `unit`, `out-of-limits`, `not-read`.
 */
export class BadCase extends Error {
  constructor(kind, factor, message) {
    super(message);
    this.name = "BadCase";
    this.kind = kind;
    this.factor = factor;
  }
}

// --- reading a bundle -----------------------------------------------------------------------------------------------

/** Boxes of cells, each with an owner, laid out so that the owners of those that hold a case are found at once. */
class EvaluateIndex {
  /**
   * @param {number[]} counts how many cells each factor has
   * @param {{cells: (Set<number> | null)[], owner: object}[]} boxes a set of cells a factor; null is every cell
   */
  constructor(counts, boxes) {
    this.owners = boxes.map((box) => box.owner);
    this.words = Math.ceil(boxes.length / 32);
    this.holding = counts.map((count, factor) =>
      Array.from({ length: count }, (_, cell) => {
        const bits = new Int32Array(this.words);
        boxes.forEach((box, number) => {
          if (box.cells[factor] === null || box.cells[factor].has(cell)) bits[number >> 5] |= 1 << (number & 31);
        });
        return bits;
      }),
    );
  }

  /** The owners, each once, of all boxes that hold a case of one cell a factor, in the order of the boxes. */
  at(cells) {
    const found = new Set();
    const rows = cells.map((cell, factor) => this.holding[factor][cell]);
    for (let word = 0; word < this.words; word += 1) {
      let bits = rows.length ? -1 : 0;
      for (let factor = 0; factor < rows.length && bits; factor += 1) bits &= rows[factor][word];
      while (bits) {
        found.add(this.owners[word * 32 + 31 - Math.clz32(bits & -bits)]);
        bits &= bits - 1;
      }
    }
    return [...found];
  }
}

/**
 * A bundle made ready for questions. Throws Error where the bundle is none, or is of a version that is not known.
 *
 * The result has the `bundle` itself, maps of `units` (by code), `factors` (see `factorOf`), `decisions` and `agents`
 * (by id), the ids of `places`, and indices of all that depends on the case.
 *
 * @param {object} bundle what `bundle.json` holds
 */
export function readBundle(bundle) {
  if (bundle?.format !== "liningbook-bundle") throw new Error("This is not a rule bundle of Liningbook.");
  if (bundle.version !== 1) throw new Error(`This page cannot read version ${bundle.version} of the rule bundle.`);
  if (!bundle.units) throw new Error("This rule bundle is older than this page: build it again from its protocol.");
  const units = exactUnits(bundle.units);
  const factors = bundle.factors.map((factor) => factorOf(factor, units));
  const counts = factors.map((factor) => factor.count);
  const index = (entries, owner = (entry) => entry) => {
    const boxes = entries.flatMap((entry, number) => {
      const own = owner(entry, number);
      return entry.when.map((box) => ({ cells: factors.map((factor) => factorCells(factor, box)), owner: own }));
    });
    return new EvaluateIndex(counts, boxes);
  };
  const numbered = (entry, number) => ({ entry, number });
  const rows = bundle.tables.flatMap(({ decision, rows: own }) =>
    own.map(({ when, ...outcome }) => ({ decision, when: [when], outcome, meaning: "" })),
  );
  const byId = (list) => new Map(list.map((entry) => [entry.id, entry]));
  return {
    bundle,
    units,
    factors: byId(factors),
    decisions: byId(bundle.decisions),
    agents: byId(bundle.agents),
    places: (bundle.places ?? []).map((place) => place.id),
    rows: index(rows),
    excluded: index(bundle.excluded ?? []),
    rules: index(bundle.rules),
    sources: index(bundle.sources ?? [], numbered),
    barriers: index(bundle.barriers ?? [], numbered),
  };
}

// --- from texts to a case -------------------------------------------------------------------------------------------

/**
 * The case that texts describe: `values` by factor (as they are replied), the `cells` of all factors in order, and
 * `taken`, a map of what was read off (see `factorTake`). Throws BadCase.
 */
export function evaluatePut(compiled, given) {
  const { factors } = compiled;
  for (const name of Object.keys(given)) {
    const id = name.endsWith(EVALUATE_READING) ? name.slice(0, -EVALUATE_READING.length) : name;
    if (!factors.has(id)) throw new BadCase("unknown-factor", id, `there is no factor called '${exactShorten(id)}'`);
    if (name !== id && Object.hasOwn(given, id))
      throw new BadCase("twice", id, `${factors.get(id).label} is given both as a value and as a reading`);
  }
  for (const { id, label } of factors.values())
    if (!Object.hasOwn(given, id) && !Object.hasOwn(given, id + EVALUATE_READING))
      throw new BadCase("missing", id, `the case needs a value for ${label}`);
  const found = { values: {}, cells: [], taken: new Map() };
  for (const factor of factors.values()) {
    const isRead = !Object.hasOwn(given, factor.id);
    const text = given[isRead ? factor.id + EVALUATE_READING : factor.id];
    if (typeof text !== "string") throw new TypeError(`the value of ${factor.id} is not a text`);
    const { cell, value, taken } = (isRead ? evaluateRead : evaluateValue)(compiled, factor, text);
    found.values[factor.id] = value;
    found.cells.push(cell);
    if (taken) found.taken.set(factor.id, taken);
  }
  return found;
}

function evaluateValue(compiled, factor, text) {
  if (factor.kind === "quantity") {
    const number = evaluateNumber(compiled, factor, text);
    const problem = factorProblem(factor, number);
    if (problem) throw new BadCase("out-of-limits", factor.id, problem);
    return { cell: factorCellOf(factor, number), value: factorText(factor, number) };
  }
  const value = exactTrim(text);
  const cell = factor.values.indexOf(value);
  const wrong = `'${exactShorten(value)}' is not a value of ${factor.label}; one of ${factor.values.join(", ")}`;
  if (cell < 0) throw new BadCase("unknown-name", factor.id, wrong);
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

// --- advice ---------------------------------------------------------------------------------------------------------

/**
 * What the tables say in a case of one cell a factor: `outcomes`, a map of rows by decision, each with its `outcome` as
 * it is replied; none where an entry of `excluded` applies, which is then given.
 */
export function evaluateDecide(compiled, cells) {
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
 * @param {Record<string, string>} given a text for every factor: `{rdt: "0.4 mm"}`, or `{"rdt.reading": "0.6 mm"}` for
 *   what was read off and is to be corrected
 */
export function answer(compiled, given) {
  const { values, cells, taken } = evaluatePut(compiled, given);
  const advice = evaluateDecide(compiled, cells);
  const order = evaluateOrder(advice.outcomes);
  const found = {
    case: values,
    in_scope: advice.excluded === null,
    advice: Object.fromEntries([...advice.outcomes].map(([decision, row]) => [decision, row.outcome])),
    silent: evaluateSilent(compiled, cells, advice.outcomes),
    placing_order: order,
  };
  if (advice.excluded) {
    found.because = advice.excluded.because ?? "";
    found.instead = advice.excluded.instead ?? "";
  } else found.irritants = evaluateThreats(compiled, cells, advice.outcomes, order);
  if (taken.size) evaluateDoubt(compiled, cells, taken, advice, found);
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

// --- what reaches the pulp ------------------------------------------------------------------------------------------

/** Every irritant that is present, what brings it and what stops it, where a layer decision is needed. */
function evaluateThreats(compiled, cells, outcomes, order) {
  const isLayer = (decision) => compiled.decisions.get(decision).layer !== undefined;
  if (![...outcomes].some(([decision, row]) => row.outcome.state !== "not-needed" && isLayer(decision))) return [];
  const [sources, barriers] = [compiled.sources.at(cells), compiled.barriers.at(cells)];
  const answers = order.map((layer) => evaluateLayer(outcomes.get(layer)));
  const found = [];
  for (const irritant of compiled.bundle.irritants ?? []) {
    const listing = (entries) =>
      entries.filter(({ entry }) => entry.irritants.includes(irritant.id)).map(({ number }) => number);
    const stops = answers.map((layer) => evaluateStops(compiled, layer, irritant));
    const emits = answers.map((layer) => compiled.agents.get(layer.agent).emits?.includes(irritant.id));
    const stoppers = (count) => order.filter((_, place) => place < count && stops[place]);
    const given = order.map((layer, place) => [layer, stoppers(place)]).filter((_, place) => emits[place]);
    const from = listing(sources);
    if (!from.length && !given.length) continue;
    const [dentine, layers] = [listing(barriers), stoppers(order.length)];
    const isStopped = (layers.length > 0 || !from.length) && given.every(([, by]) => by.length > 0);
    found.push({
      irritant: irritant.id,
      live: !dentine.length,
      stopped: dentine.length > 0 || isStopped,
      from_sources: from,
      stopped_by_dentine: dentine,
      stopped_by_layers: layers,
      given_off_by: Object.fromEntries(given),
    });
  }
  return found;
}

/** Whether a layer stops an irritant: it lies where the irritant acts, and is as thick as its agent needs to be. */
function evaluateStops(compiled, layer, irritant) {
  const rank = (place) => compiled.places.indexOf(place);
  if (irritant.acts_on !== undefined && rank(evaluateLies(compiled, layer)) < rank(irritant.acts_on)) return false;
  const span = (amount) => exactSpan(amount, (text) => evaluateBase(compiled, text));
  return (compiled.agents.get(layer.agent).blocks ?? []).some((block) => {
    if (block.irritant !== irritant.id) return false;
    if (!block.thickness) return true;
    return Boolean(layer.thickness) && exactIsWithin(span(layer.thickness), span(block.thickness));
  });
}

/** The place that a layer covers: the one that its answer names, else its agent's own, else the largest. */
function evaluateLies(compiled, layer) {
  return layer.place ?? compiled.agents.get(layer.agent).place ?? compiled.places.at(-1);
}

/** A quantity of the bundle as a number of the first unit of its kind. */
function evaluateBase(compiled, text) {
  const { value, unit } = exactWritten(text, compiled.units);
  return value.times(unit.size);
}

// --- what else it could be ------------------------------------------------------------------------------------------

/** Adds to a reply how readings were taken, and what else the advice could be within their uncertainty. */
function evaluateDoubt(compiled, cells, taken, advice, found) {
  const options = [...compiled.factors].map(([name, factor], number) =>
    taken.has(name) ? factorCellsIn(factor, taken.get(name).band) : [cells[number]],
  );
  const seen = new Map([...advice.outcomes].map(([decision, row]) => [decision, [row]]));
  const notCovered = new Set();
  for (const other of evaluateProduct(options)) {
    const { excluded, outcomes } = evaluateDecide(compiled, other);
    if (excluded && !advice.excluded) notCovered.add(excluded);
    for (const [decision, row] of outcomes) {
      if (!seen.has(decision)) seen.set(decision, []);
      const known = seen.get(decision);
      if (!known.some((one) => evaluateMeaning(compiled, one) === evaluateMeaning(compiled, row))) known.push(row);
    }
  }
  const others = [...seen].map(([decision, rows]) => [decision, rows.slice(advice.excluded ? 0 : 1)]);
  const otherwise = others.filter(([, rows]) => rows.length);
  const each = (say) => Object.fromEntries([...taken].map(([name, item]) => [name, say(name, item)]));
  found.readings = each((name, item) => factorTaken(compiled.factors.get(name), item));
  if (!otherwise.length && !notCovered.size) return;
  found.borderline = each((name, { band }) => factorNotation(compiled.factors.get(name), band));
  found.otherwise = Object.fromEntries(otherwise.map(([name, rows]) => [name, rows.map((row) => row.outcome)]));
  if (notCovered.size) found.otherwise_not_covered = [...notCovered].map((entry) => entry.because ?? entry.instead);
}

/** Every choice of one item from each list. */
function* evaluateProduct([first, ...rest]) {
  if (!first) yield [];
  else for (const item of first) for (const others of evaluateProduct(rest)) yield [item, ...others];
}

/** What an outcome advises, as a text that is the same for any two that advise the same, whichever rules do. */
function evaluateMeaning(compiled, row) {
  if (!row.meaning) {
    const { state, answer: only, answers } = row.outcome;
    const all = answers?.map((item) => item.answer) ?? (only === undefined ? [] : [only]);
    row.meaning = JSON.stringify([state, all.map((item) => evaluateAnswer(compiled, item)).sort()]);
  }
  return row.meaning;
}

/** The same for one answer: quantities by value, a place left out is the agent's own, any two judgements are equal. */
function evaluateAnswer(compiled, item) {
  if (typeof item === "string") return `"${item}"`;
  if (!Object.hasOwn(item, "agent")) return "judgement";
  const base = (text) => evaluateBase(compiled, text);
  const exact = (number) => number && `${number.numerator}/${number.denominator}`;
  const span = item.thickness && exactSpan(item.thickness, base);
  const thickness = span && [exact(span.low), span.lowIn, exact(span.high), span.highIn];
  const wait = item.wait && exact(base(item.wait));
  return JSON.stringify([
    item.agent,
    thickness,
    item.coats,
    evaluateLies(compiled, item),
    wait,
    item.before,
    item.after,
  ]);
}
