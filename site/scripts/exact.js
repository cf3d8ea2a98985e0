// Exact numbers, and ranges of them.
//
// Every number is a fraction of two whole numbers of any size. No binary fraction occurs: 0.1 + 0.2 is 0.3 here.

const EXACT_DECIMAL = /^[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)$/;
const EXACT_FRACTION = /^-?[0-9]+\/0*[1-9][0-9]*$/;

/** An exact number: a whole numerator over a whole denominator above 0, in lowest terms. */
class Exact {
  /**
   * @param {bigint} numerator
   * @param {bigint} denominator not 0
   */
  constructor(numerator, denominator = 1n) {
    if (denominator === 0n) throw new RangeError("nothing can be divided by 0");
    let [larger, smaller] = [numerator < 0n ? -numerator : numerator, denominator < 0n ? -denominator : denominator];
    while (smaller) [larger, smaller] = [smaller, larger % smaller];
    const common = denominator < 0n ? -larger : larger;
    this.numerator = numerator / common;
    this.denominator = denominator / common;
    Object.freeze(this);
  }

  /** The number that a text stands for: `0.30`, `-5`, `.5`, or a fraction such as `1/1000`. Throws SyntaxError. */
  static parse(text) {
    if (EXACT_FRACTION.test(text)) {
      const [over, under] = text.split("/");
      return new Exact(BigInt(over), BigInt(under));
    }
    if (!EXACT_DECIMAL.test(text)) throw new SyntaxError(`'${text}' is not a decimal number`);
    const [whole, part = ""] = text.replace(/^[+-]/, "").split(".");
    const digits = BigInt(`${whole}${part}`);
    return new Exact(text.startsWith("-") ? -digits : digits, 10n ** BigInt(part.length));
  }

  plus(other) {
    const { numerator, denominator } = other;
    return new Exact(
      this.numerator * denominator + numerator * this.denominator,
      this.denominator * denominator,
    );
  }

  minus(other) {
    return this.plus(new Exact(-other.numerator, other.denominator));
  }

  times(other) {
    return new Exact(this.numerator * other.numerator, this.denominator * other.denominator);
  }

  over(other) {
    return new Exact(this.numerator * other.denominator, this.denominator * other.numerator);
  }

  /** Below 0 if this number is less than the other, 0 if they are the same, above 0 if it is more. */
  compare(other) {
    const left = this.numerator * other.denominator;
    const right = other.numerator * this.denominator;
    return left < right ? -1 : left > right ? 1 : 0;
  }

  /** The largest whole number (a bigint) that is not more than this one. */
  floor() {
    const cut = this.numerator / this.denominator;
    return this.numerator < 0n && cut * this.denominator !== this.numerator ? cut - 1n : cut;
  }

  /** The smallest whole number (a bigint) that is not less than this one. */
  ceiling() {
    return -new Exact(-this.numerator, this.denominator).floor();
  }

  /** The nearest whole number (a bigint); of two that are equally near, the even one. */
  round() {
    const low = this.floor();
    const side = this.minus(new Exact(low)).compare(new Exact(1n, 2n));
    return side < 0 || (side === 0 && low % 2n === 0n) ? low : low + 1n;
  }

  /** Whether the number can be written exactly as a decimal number. */
  hasDecimal() {
    let rest = this.denominator;
    for (const prime of [2n, 5n]) while (rest % prime === 0n) rest /= prime;
    return rest === 1n;
  }

  /** The shortest exact decimal text: `0.5`, `2`, `-0.0021`. Throws RangeError where there is none (1/3). */
  toDecimal() {
    if (!this.hasDecimal()) throw new RangeError(`${this.numerator}/${this.denominator} has no exact decimal form`);
    let digits = 0;
    let scaled = this.numerator < 0n ? -this.numerator : this.numerator;
    while (scaled % this.denominator !== 0n) {
      scaled *= 10n;
      digits += 1;
    }
    const text = String(scaled / this.denominator).padStart(digits + 1, "0");
    const point = text.length - digits;
    const sign = this.numerator < 0n ? "-" : "";
    return digits ? `${sign}${text.slice(0, point)}.${text.slice(point)}` : sign + text;
  }
}

// --- ranges: {low, lowIn, high, highIn}; an end that is null is none, and counts as included ------------------------

/** The range of a mapping such as `{above: …, at_most: …}`; `read` makes a number of each text. */
function exactSpan(mapping, read) {
  const found = { low: null, lowIn: true, high: null, highIn: true };
  for (const [key, text] of Object.entries(mapping)) {
    const value = read(text);
    if (["above", "at_least", "exactly"].includes(key)) [found.low, found.lowIn] = [value, key !== "above"];
    if (["below", "at_most", "exactly"].includes(key)) [found.high, found.highIn] = [value, key !== "below"];
  }
  return found;
}

/** Below 0 if the first range starts before the second one, 0 if they start together, above 0 if it starts later. */
function exactCompareLow(first, second) {
  if (first.low === null || second.low === null) return (second.low === null ? 1 : 0) - (first.low === null ? 1 : 0);
  return first.low.compare(second.low) || Number(second.lowIn) - Number(first.lowIn);
}

/** Below 0 if the first range ends before the second one, 0 if they end together, above 0 if it ends later. */
function exactCompareHigh(first, second) {
  if (first.high === null || second.high === null)
    return (first.high === null ? 1 : 0) - (second.high === null ? 1 : 0);
  return first.high.compare(second.high) || Number(first.highIn) - Number(second.highIn);
}

/** The numbers in both ranges, perhaps none. */
function exactMeet(first, second) {
  const { low, lowIn } = exactCompareLow(first, second) < 0 ? second : first;
  const { high, highIn } = exactCompareHigh(first, second) < 0 ? first : second;
  return { low, lowIn, high, highIn };
}

/** Whether no number at all lies in a range with two ends. */
function exactIsEmpty(span) {
  const order = span.low.compare(span.high);
  return order > 0 || (order === 0 && !(span.lowIn && span.highIn));
}

/** Whether every number of the inner range lies in the outer one. */
function exactIsWithin(inner, outer) {
  return exactCompareLow(outer, inner) <= 0 && exactCompareHigh(inner, outer) <= 0;
}

/** Whether a whole multiple of `step` lies in a range with two ends. */
function exactHoldsMultiple(span, step) {
  let first = new Exact(span.low.over(step).ceiling()).times(step);
  if (first.compare(span.low) === 0 && !span.lowIn) first = first.plus(step);
  const order = first.compare(span.high);
  return order < 0 || (order === 0 && span.highIn);
}

/** A decimal number with as few digits as can be, strictly between two numbers: the one nearest their middle. */
function exactShortBetween(low, high) {
  const middle = low.plus(high).over(new Exact(2n));
  for (let scale = 1n; ; scale *= 10n) {
    const nearest = new Exact(middle.times(new Exact(scale)).round(), scale);
    if (low.compare(nearest) < 0 && nearest.compare(high) < 0) return nearest;
  }
}
