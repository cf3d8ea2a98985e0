// Exact numbers, ranges of them, and quantities (a number and its unit) from what people write.
//
// Every number is a fraction of two whole numbers of any size. No binary fraction occurs: 0.1 + 0.2 is 0.3 here.
// Unit codes and sizes come from the bundle; they are those of UCUM (The Unified Code for Units of Measure).

/** Blanks as the builder of the bundle knows them, for use in patterns. */
const EXACT_BLANKS = "[\\t-\\r\\x1c- \\x85\\xa0\\u1680\\u2000-\\u200a\\u2028\\u2029\\u202f\\u205f\\u3000]*";
const EXACT_EDGES = new RegExp(`^${EXACT_BLANKS}|${EXACT_BLANKS}$`, "g");
const EXACT_DECIMAL = /^[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)$/;
const EXACT_FRACTION = /^-?[0-9]+\/0*[1-9][0-9]*$/;
const EXACT_THOUSANDS = /^[+-]?[1-9][0-9]{0,2}(?:,[0-9]{3})+(?:\.[0-9]*)?$/;
const EXACT_QUANTITY = new RegExp(`^([+-]?[0-9.,]+)${EXACT_BLANKS}(.*)$`, "s");
const EXACT_NO_UNIT = /^(?:(?!1$)[0-9.,+/^*×–−-]|[eE][+-]?[0-9])/;
const EXACT_SIGN = new RegExp(`^(<=|>=|[<>≤≥])${EXACT_BLANKS}(\\S.*)$`, "s");
const EXACT_SIGNS = { "<": "below", "<=": "at_most", "≤": "at_most", ">": "above", ">=": "at_least", "≥": "at_least" };

/** No number of a case has more digits. */
const EXACT_MOST_DIGITS = 40;
const EXACT_TOO_LONG = `the number has more than ${EXACT_MOST_DIGITS} digits`;

/** An exact number: a whole numerator over a whole denominator above 0, in lowest terms. */
export class Exact {
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
export function exactSpan(mapping, read) {
  const found = { low: null, lowIn: true, high: null, highIn: true };
  for (const [key, text] of Object.entries(mapping)) {
    const value = read(text);
    if (["above", "at_least", "exactly"].includes(key)) [found.low, found.lowIn] = [value, key !== "above"];
    if (["below", "at_most", "exactly"].includes(key)) [found.high, found.highIn] = [value, key !== "below"];
  }
  return found;
}

/** Below 0 if the first range starts before the second one, 0 if they start together, above 0 if it starts later. */
export function exactCompareLow(first, second) {
  if (first.low === null || second.low === null) return (second.low === null ? 1 : 0) - (first.low === null ? 1 : 0);
  return first.low.compare(second.low) || Number(second.lowIn) - Number(first.lowIn);
}

/** Below 0 if the first range ends before the second one, 0 if they end together, above 0 if it ends later. */
export function exactCompareHigh(first, second) {
  if (first.high === null || second.high === null)
    return (first.high === null ? 1 : 0) - (second.high === null ? 1 : 0);
  return first.high.compare(second.high) || Number(first.highIn) - Number(second.highIn);
}

/** The numbers in both ranges, perhaps none. */
export function exactMeet(first, second) {
  const { low, lowIn } = exactCompareLow(first, second) < 0 ? second : first;
  const { high, highIn } = exactCompareHigh(first, second) < 0 ? first : second;
  return { low, lowIn, high, highIn };
}

/** Whether no number at all lies in a range with two ends. */
export function exactIsEmpty(span) {
  const order = span.low.compare(span.high);
  return order > 0 || (order === 0 && !(span.lowIn && span.highIn));
}

/** Whether every number of the inner range lies in the outer one. */
export function exactIsWithin(inner, outer) {
  return exactCompareLow(outer, inner) <= 0 && exactCompareHigh(inner, outer) <= 0;
}

/** Whether a whole multiple of `step` lies in a range with two ends. */
export function exactHoldsMultiple(span, step) {
  let first = new Exact(span.low.over(step).ceiling()).times(step);
  if (first.compare(span.low) === 0 && !span.lowIn) first = first.plus(step);
  const order = first.compare(span.high);
  return order < 0 || (order === 0 && span.highIn);
}

/** A decimal number with as few digits as can be, strictly between two numbers: the one nearest their middle. */
export function exactShortBetween(low, high) {
  const middle = low.plus(high).over(new Exact(2n));
  for (let scale = 1n; ; scale *= 10n) {
    const nearest = new Exact(middle.times(new Exact(scale)).round(), scale);
    if (low.compare(nearest) < 0 && nearest.compare(high) < 0) return nearest;
  }
}

// --- quantities -----------------------------------------------------------------------------------------------------

/** Why a text is no quantity: `reason` says what is wrong, `instead` what to do, if there is anything to be said. */
export class NotAQuantity extends Error {
  constructor(reason, instead = "") {
    super(instead ? `${reason}; ${instead}` : reason);
    this.name = "NotAQuantity";
    this.reason = reason;
    this.instead = instead;
  }
}

/**
 * The units of a bundle, as a map by their codes; each has its size as an exact number.
 *
 * @param {object[]} list the bundle's `units`
 */
export function exactUnits(list) {
  return new Map(
    list.map((unit) => [
      unit.code,
      {
        code: unit.code,
        symbol: unit.symbol ?? "",
        one: unit.one ?? "",
        dimension: unit.dimension,
        size: Exact.parse(unit.size),
        alsoWritten: unit.also_written ?? [],
      },
    ]),
  );
}

/** A text without the blanks around it. */
export function exactTrim(text) {
  return text.replace(EXACT_EDGES, "");
}

/** A text short enough for a message. */
export function exactShorten(text, most = 40) {
  const letters = [...text];
  return letters.length <= most ? text : `${letters.slice(0, most - 1).join("")}…`;
}

/** Number and unit of a text that the builder of the bundle wrote, such as `0.5 mm`. */
export function exactWritten(text, units) {
  const [number, code] = text.split(" ");
  if (!units.has(code)) throw new Error(`the bundle does not say what the unit of '${text}' is`);
  return { value: Exact.parse(number), unit: units.get(code) };
}

/**
 * What a person wrote, as an exact number of a unit. Throws NotAQuantity: a bare number, a decimal comma and an unknown
 * unit are never guessed at.
 *
 * @param {string} text for example `0.5 mm` or `500 um`
 * @param {string} unit the code of the unit that the number is wanted in
 * @param {Map<string, object> | object[]} units from `exactUnits`, or the bundle's own list
 * @returns {Exact}
 */
export function parseQuantity(text, unit, units) {
  const known = units instanceof Map ? units : exactUnits(units);
  const wanted = known.get(unit);
  const { value, given } = exactRead(exactTrim(text), wanted, known);
  if (exactIsTooLong(value)) throw new NotAQuantity(EXACT_TOO_LONG, "write a number that can be measured");
  const found = value.times(given.size).over(wanted.size);
  if (!found.hasDecimal())
    throw new NotAQuantity(`'${exactShorten(text)}' is no exact decimal number of ${unit}`, `give it in ${unit}`);
  return found;
}

function exactRead(text, wanted, known) {
  const match = EXACT_QUANTITY.exec(text);
  if (!match || EXACT_NO_UNIT.test(match[2])) throw exactNoQuantity(text, wanted.code);
  const [number, code] = [match[1], match[2]];
  if (!EXACT_DECIMAL.test(number)) {
    const isComma = EXACT_DECIMAL.test(number.replaceAll(",", ".")) || EXACT_THOUSANDS.test(number);
    if (number.includes(",") && isComma) throw exactComma(number, code || wanted.code);
    const example = `write for example \`0.5 ${wanted.code}\``;
    throw new NotAQuantity(`'${exactShorten(number)}' is not a decimal number`, example);
  }
  if (number.length > 2 * EXACT_MOST_DIGITS) throw new NotAQuantity(EXACT_TOO_LONG);
  const example = `write \`${number} ${wanted.code}\`, if ${wanted.code} is meant`;
  if (!code) throw new NotAQuantity("the number has no unit", example);
  const given = known.get(code);
  const kinds = `write the unit as ${exactSameKind(wanted, known)}`;
  if (!given) {
    const meant = exactUnitMeant(code, known);
    throw new NotAQuantity(
      `'${exactShorten(code)}' is not one of the units that will do here`,
      meant ? `write \`${number} ${meant}\`` : kinds,
    );
  }
  if (given.dimension !== wanted.dimension)
    throw new NotAQuantity(`'${code}' measures another kind of thing than '${wanted.code}'`, kinds);
  return { value: Exact.parse(number), given };
}

/** What is wrong with a comma. Whether it marks thousands or decimals is never guessed. */
function exactComma(number, code) {
  const point = number.replaceAll(",", ".");
  const plain = number.replaceAll(",", "");
  if (!EXACT_THOUSANDS.test(number))
    return new NotAQuantity("the number has a decimal comma", `write \`${point} ${code}\``);
  if (!EXACT_DECIMAL.test(point)) return new NotAQuantity("the number has commas", `write \`${plain} ${code}\``);
  const either = `write \`${plain} ${code}\` or \`${point} ${code}\`, whichever is meant`;
  return new NotAQuantity("the number has a comma", either);
}

/** What is wrong with a text that is not one number with, perhaps, a unit. */
function exactNoQuantity(text, code) {
  const sign = EXACT_SIGN.exec(text);
  if (sign) {
    const meant = `\`{${EXACT_SIGNS[sign[1]]}: ${exactShorten(sign[2])}}\``;
    return new NotAQuantity(`the sign ${sign[1]} is not used in numbers here`, `write a range, such as ${meant}`);
  }
  if (text.startsWith("−")) {
    const meant = `write \`-${exactShorten(text.slice(1))}\``;
    return new NotAQuantity("the minus before the number is not the hyphen of the keyboard", meant);
  }
  if (/^[+-]?[0-9.]+[eE][+-]?[0-9]+/.test(text))
    return new NotAQuantity("the number is written with an exponent", "write it in full, as a decimal number");
  const instead = `write a decimal number and a unit, for example \`0.5 ${code}\``;
  return new NotAQuantity(`'${exactShorten(text)}' is not one number with its unit`, instead);
}

/** The code of the unit that was probably meant, if any. */
function exactUnitMeant(code, known) {
  const bare = code.replace(/\.+$/, "");
  const ways = [bare, bare.toLowerCase()];
  for (const way of ways) for (const unit of known.values()) if (unit.alsoWritten.includes(way)) return unit.code;
  return ways.find((way) => known.has(way)) ?? "";
}

/** The codes of the units that will do, the one that is wanted first. */
function exactSameKind(wanted, known) {
  const same = [...known.values()].filter((unit) => unit.dimension === wanted.dimension && unit !== wanted);
  const codes = [wanted.code, ...same.map((unit) => unit.code)];
  return codes.length === 1 ? codes[0] : `${codes.slice(0, -1).join(", ")} or ${codes.at(-1)}`;
}

/** Whether a number that has a decimal form has too many digits to be measured. */
function exactIsTooLong(value) {
  return value.toDecimal().replace(/[-.]/g, "").length > EXACT_MOST_DIGITS;
}
