// One factor of a bundle: the cells that it is cut into at its thresholds, so that every boundary value is a cell of its
// own; and what a number or a reading comes to. Readings are taken as in JCGM 106:2012 (the role of measurement
// uncertainty in conformity assessment): a reading r is corrected to scale r + offset, U is the expanded uncertainty
// (k = 2), and a guard band, some multiple of U, moves what counts to the cautious side.

const FACTOR_NONE = new Exact(0n);

/**
 * A factor made ready for questions.
 *
 * A quantity has its `unit` (a code), exact `low`, `high` and `step` (or null), `reading` and `judged` (or null), its
 * `cells`, which
 * are ranges from the lowest to the highest, and `places`, the cell of each threshold by its text. Any other factor has
 * `values`. `count` says how many cells there are.
 */
function factorOf(factor, units) {
  const { id, label, kind, always_ask: alwaysAsk = false } = factor;
  if (kind !== "quantity") {
    const values = kind === "yes-no" ? ["yes", "no"] : factor.values.map((value) => value.id);
    return { id, label, kind, alwaysAsk, values, count: values.length, reading: null, judged: null };
  }
  const number = (text) => quantityWritten(text, units).value;
  const step = factor.step ? number(factor.step) : null;
  const points = factor.thresholds.map(number);
  const cells = [];
  const places = new Map();
  points.forEach((point, n) => {
    places.set(factor.thresholds[n], cells.length);
    cells.push({ low: point, lowIn: true, high: point, highIn: true });
    if (n + 1 === points.length) return;
    const between = { low: point, lowIn: false, high: points[n + 1], highIn: false };
    if (step === null || exactHoldsMultiple(between, step)) cells.push(between);
  });
  const [low, high] = [number(factor.at_least), number(factor.at_most)];
  const reading = factor.reading ? factorReading(factor.reading, number) : null;
  const judged = factor.judged ? { ...factor.judged, uncertainty: number(factor.judged.uncertainty) } : null;
  const { unit } = factor;
  return { id, label, kind, alwaysAsk, unit, low, high, step, reading, judged, cells, places, count: cells.length };
}

function factorReading(how, number) {
  const uncertainty = number(how.uncertainty);
  return {
    method: how.method ?? "",
    scale: Exact.parse(how.scale),
    offset: number(how.offset),
    uncertainty,
    guard: Exact.parse(how.guard_band).times(uncertainty),
    cautious: how.cautious ?? "",
  };
}

/** The cells (a set of numbers) in which a box's condition on the factor holds; null if they all are. */
function factorCells(factor, box) {
  if (!Object.hasOwn(box, factor.id)) return null;
  const items = Array.isArray(box[factor.id]) ? box[factor.id] : [box[factor.id]];
  const place = (text) => {
    const found = factor.kind === "quantity" ? (factor.places.get(text) ?? -1) : factor.values.indexOf(text);
    if (found < 0) throw new Error(`The rule bundle speaks of a value that ${factor.label} does not have.`);
    return found;
  };
  if (factor.kind !== "quantity") return new Set(items.map(place));
  const cells = new Set();
  for (const item of items) {
    const { low, lowIn, high, highIn } = exactSpan(item, place);
    const first = low === null ? 0 : low + (lowIn ? 0 : 1);
    const last = high === null ? factor.count - 1 : high - (highIn ? 0 : 1);
    for (let cell = first; cell <= last; cell += 1) cells.add(cell);
  }
  return cells;
}

/** A number of the factor as the sources write it. */
function factorText(factor, number) {
  return `${number.toDecimal()} ${factor.unit}`;
}

/** What keeps a number from being a value of the factor; empty if nothing does. */
function factorProblem(factor, number) {
  const { low, high, step, label } = factor;
  const said = (value) => sayDecimal(factorText(factor, value));
  if (number.compare(low) < 0 || number.compare(high) > 0)
    return say("beyond-limits", { number: said(number), factor: label, low: said(low), high: said(high) });
  if (step !== null && number.over(step).denominator !== 1n)
    return say("not-on-step", { number: said(number), factor: label, step: said(step) });
  return "";
}

/** The cell that holds a number within the limits. */
function factorCellOf(factor, number) {
  let [from, to] = [0, factor.count - 1];
  while (from < to) {
    const middle = (from + to) >> 1;
    const { high, highIn } = factor.cells[middle];
    const order = number.compare(high);
    if (order < 0 || (order === 0 && highIn)) to = middle;
    else from = middle + 1;
  }
  return from;
}

// --- readings -------------------------------------------------------------------------------------------------------

/** Why the factor cannot be read off; empty if it can. */
function factorUnread({ kind, label, reading, step }) {
  if (kind !== "quantity") return say("never-read", { factor: label });
  if (!reading) return say("not-read", { factor: label });
  if (!reading.cautious && (reading.guard.compare(FACTOR_NONE) !== 0 || step !== null))
    return say("no-cautious-side", { factor: label });
  return "";
}

/**
 * What a reading in the factor's unit comes to: `corrected`; the `value` that counts, in its `cell`; the `band` of
 * values within the uncertainty; whether it `stopsShort` of a limit; whether it `isWrong`, being farther outside the
 * limits than the uncertainty reaches. No reading reaches a limit: what would, counts as lying just short of it.
 */
function factorTake(factor, reading) {
  const { reading: how, low, high } = factor;
  const corrected = how.scale.times(reading).plus(how.offset);
  const middle = factorWithin(factor, factorOnStep(factor, corrected));
  const isAbove = how.cautious === "above";
  const counted = factorOnStep(factor, isAbove ? middle.plus(how.guard) : middle.minus(how.guard));
  const isWrong =
    corrected.compare(low.minus(how.uncertainty)) < 0 ||
    corrected.compare(high.plus(how.uncertainty)) > 0 ||
    reading.compare(FACTOR_NONE) < 0;
  return {
    reading,
    corrected,
    ...factorInside(factor, counted),
    band: factorShortOf(factor, middle.minus(how.uncertainty), middle.plus(how.uncertainty)),
    stopsShort: counted.compare(low) <= 0 || counted.compare(high) >= 0,
    isWrong,
  };
}

/** The value brought back to a limit if it lies beyond; with a step, to the last multiple short of it. */
function factorWithin({ low, high, step }, value) {
  const isStepped = step !== null && low.plus(step).compare(high) < 0;
  const [least, most] = isStepped ? [low.plus(step), high.minus(step)] : [low, high];
  const raised = value.compare(least) < 0 ? least : value;
  return raised.compare(most) > 0 ? most : raised;
}

/** The next whole multiple of the step on the cautious side, if the factor has a step. */
function factorOnStep({ step, reading }, value) {
  if (step === null) return value;
  const count = value.over(step);
  return new Exact(reading.cautious === "above" ? count.ceiling() : count.floor()).times(step);
}

/** The cell of a value, and the value; one at or beyond a limit is taken just short of it. */
function factorInside(factor, value) {
  const { low, high, count, step, cells } = factor;
  if (count === 1) return { cell: 0, value };
  if (value.compare(low) > 0 && value.compare(high) < 0) return { cell: factorCellOf(factor, value), value };
  const isLow = value.compare(low) <= 0;
  const cell = count === 2 ? Number(!isLow) : isLow ? 1 : count - 2;
  const stretch = cells[cell];
  if (stretch.lowIn) return { cell, value: stretch.low };
  if (step === null) return { cell, value: exactShortBetween(stretch.low, stretch.high) };
  const whole = isLow ? stretch.low.over(step).floor() + 1n : stretch.high.over(step).ceiling() - 1n;
  return { cell, value: new Exact(whole).times(step) };
}

/** The values between two that do not reach the limits; with a step, from multiple to multiple. */
function factorShortOf({ low, high, step }, from, to) {
  const [least, most] =
    step === null
      ? [from, to]
      : [new Exact(from.over(step).ceiling()).times(step), new Exact(to.over(step).floor()).times(step)];
  const [lowIn, highIn] = [least.compare(low) > 0, most.compare(high) < 0];
  return { low: lowIn ? least : low, lowIn, high: highIn ? most : high, highIn };
}

/**
 * The values within the uncertainty of one judged by eye, itself included; null where none is stated. As with readings
 * they stop short of a limit, unless that is what was judged.
 */
function factorJudged(factor, value) {
  if (!factor.judged) return null;
  const { uncertainty } = factor.judged;
  const band = factorShortOf(factor, value.minus(uncertainty), value.plus(uncertainty));
  return {
    ...band,
    lowIn: band.lowIn || value.compare(factor.low) === 0,
    highIn: band.highIn || value.compare(factor.high) === 0,
  };
}

/** The cells in which a value of a range can lie, from the lowest. */
function factorCellsIn({ cells, step }, span) {
  return cells.flatMap((cell, number) => {
    const common = exactMeet(cell, span);
    return exactIsEmpty(common) || (step !== null && !exactHoldsMultiple(common, step)) ? [] : [number];
  });
}

/** A range with two ends as the sources write it. */
function factorNotation(factor, { low, lowIn, high, highIn }) {
  if (low.compare(high) === 0) return { exactly: factorText(factor, low) };
  return {
    [lowIn ? "at_least" : "above"]: factorText(factor, low),
    [highIn ? "at_most" : "below"]: factorText(factor, high),
  };
}

/** How a reading was taken, as it is replied. */
function factorTaken(factor, { reading, corrected, value, stopsShort, isWrong }) {
  return {
    reading: factorText(factor, reading),
    corrected: factorText(factor, corrected),
    treated_as: factorText(factor, value),
    stops_short_of_limit: stopsShort,
    outside_limits: isWrong,
  };
}
