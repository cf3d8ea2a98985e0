// Quantities (a number and its unit) as the bundle holds them and from what people write.
//
// Unit codes and sizes come from the bundle; they are those of UCUM (The Unified Code for Units of Measure).

/** Blanks as the builder of the bundle knows them, for use in patterns. */
const QUANTITY_BLANKS = "[\\t-\\r\\x1c- \\x85\\xa0\\u1680\\u2000-\\u200a\\u2028\\u2029\\u202f\\u205f\\u3000]*";
const QUANTITY_EDGES = new RegExp(`^${QUANTITY_BLANKS}|${QUANTITY_BLANKS}$`, "g");
const QUANTITY_THOUSANDS = /^[+-]?[1-9][0-9]{0,2}(?:,[0-9]{3})+(?:\.[0-9]*)?$/;
const QUANTITY_WHOLE = new RegExp(`^([+-]?[0-9.,]+)${QUANTITY_BLANKS}(.*)$`, "s");
const QUANTITY_NO_UNIT = /^(?:(?!1$)[0-9.,+/^*×–−-]|[eE][+-]?[0-9])/;
/** The micro sign and the Greek letter, which look alike: each is read as the `u` of UCUM. */
const QUANTITY_MICRO = /[\u00b5\u03bc]/g;
const QUANTITY_SIGN = new RegExp(`^(<=|>=|[<>≤≥])${QUANTITY_BLANKS}(\\S.*)$`, "s");
const QUANTITY_SIGNS = { "<": "below", "<=": "at_most", "≤": "at_most", ">": "above", ">=": "at_least", "≥": "at_least" };

/** No number of a case has more digits. */
const QUANTITY_MOST_DIGITS = 40;

/** Why a text is no quantity, in sentences: what is wrong, and what to do if there is anything to be said. */
class NotAQuantity extends Error {
  constructor(...sentences) {
    super(sentences.filter(Boolean).join(" "));
    this.name = "NotAQuantity";
  }
}

/**
 * The units of a bundle, as a map by their codes; each has its size as an exact number.
 *
 * @param {object[]} list the bundle's `units`
 */
function quantityUnits(list) {
  return new Map(
    list.map((unit) => [
      unit.code,
      {
        code: unit.code,
        symbol: unit.symbol ?? "",
        dimension: unit.dimension,
        size: Exact.parse(unit.size),
        alsoWritten: unit.also_written ?? [],
      },
    ]),
  );
}

/** A text without the blanks around it. */
function quantityTrim(text) {
  return text.replace(QUANTITY_EDGES, "");
}

/** A text short enough for a message. */
function quantityShorten(text, most = 40) {
  const letters = [...text];
  return letters.length <= most ? text : `${letters.slice(0, most - 1).join("")}…`;
}

/** Number and unit of a text that the builder of the bundle wrote, such as `0.5 mm`. */
function quantityWritten(text, units) {
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
 * @param {Map<string, object> | object[]} units from `quantityUnits`, or the bundle's own list
 * @returns {Exact}
 */
function parseQuantity(text, unit, units) {
  const known = units instanceof Map ? units : quantityUnits(units);
  const wanted = known.get(unit);
  const { value, given } = quantityRead(quantityTrim(text), wanted, known);
  if (quantityIsTooLong(value)) throw new NotAQuantity(quantityTooLong(), say("measurable"));
  const found = value.times(given.size).over(wanted.size);
  if (!found.hasDecimal())
    throw new NotAQuantity(say("no-exact-decimal", { text: quantityShown(text), unit }), say("give-in", { unit }));
  return found;
}

function quantityRead(text, wanted, known) {
  const match = QUANTITY_WHOLE.exec(text);
  if (!match || QUANTITY_NO_UNIT.test(match[2])) throw quantityNone(text, wanted.code);
  const [number, code] = [match[1], match[2].replace(QUANTITY_MICRO, "u")];
  if (!EXACT_DECIMAL.test(number)) {
    const isComma = EXACT_DECIMAL.test(number.replaceAll(",", ".")) || QUANTITY_THOUSANDS.test(number);
    if (number.includes(",") && isComma) throw quantityComma(number, code || wanted.code);
    const example = say("write-example", { quantity: quantitySaid("0.5", wanted.code) });
    throw new NotAQuantity(say("not-decimal", { text: quantityShown(number) }), example);
  }
  if (number.length > 2 * QUANTITY_MOST_DIGITS) throw new NotAQuantity(quantityTooLong(), say("measurable"));
  if (!code) {
    const meant = say("write-if-meant", { quantity: quantitySaid(number, wanted.code), unit: wanted.code });
    throw new NotAQuantity(say("no-unit"), meant);
  }
  const given = known.get(code);
  const kinds = say("write-unit", { units: quantitySameKind(wanted, known) });
  if (!given) {
    const meant = quantityUnitMeant(code, known);
    const instead = meant ? say("write", { quantity: quantitySaid(number, meant) }) : kinds;
    throw new NotAQuantity(say("unknown-unit", { unit: quantityShorten(code) }), instead);
  }
  if (given.dimension !== wanted.dimension)
    throw new NotAQuantity(say("other-kind", { unit: code, wanted: wanted.code }), kinds);
  return { value: Exact.parse(number), given };
}

/** What is wrong with a sign that may mark thousands or decimals; which of them is never guessed. */
function quantityComma(number, code) {
  const point = number.replaceAll(",", ".");
  const plain = quantitySaid(number.replaceAll(",", ""), code);
  const key = SAY.decimal === "," ? "point" : "comma";
  if (!QUANTITY_THOUSANDS.test(number))
    return new NotAQuantity(say(`decimal-${key}`), say("write", { quantity: quantitySaid(point, code) }));
  if (!EXACT_DECIMAL.test(point)) return new NotAQuantity(say(`several-${key}`), say("write", { quantity: plain }));
  const either = say("write-either", { quantity: plain, other: quantitySaid(point, code) });
  return new NotAQuantity(say(`one-${key}`), either);
}

/** What is wrong with a text that is not one number with, perhaps, a unit. */
function quantityNone(text, code) {
  const sign = QUANTITY_SIGN.exec(text);
  if (sign) {
    const range = `{${QUANTITY_SIGNS[sign[1]]}: ${quantityShown(sign[2])}}`;
    return new NotAQuantity(say("sign", { sign: sign[1] }), say("write-range", { range }));
  }
  if (text.startsWith("−"))
    return new NotAQuantity(say("minus"), say("write", { quantity: `-${quantityShown(text.slice(1))}` }));
  if (/^[+-]?[0-9.]+[eE][+-]?[0-9]+/.test(text)) return new NotAQuantity(say("exponent"), say("write-in-full"));
  const instead = say("write-quantity", { quantity: quantitySaid("0.5", code) });
  return new NotAQuantity(say("not-one-number", { text: quantityShown(text) }), instead);
}

function quantityTooLong() {
  return say("too-long", { digits: QUANTITY_MOST_DIGITS });
}

/** What was written, short enough for a message, with the signs of the language. */
function quantityShown(text) {
  return quantityShorten(sayTurned(text));
}

/** A quantity to be written instead. */
function quantitySaid(number, code) {
  return `${sayTurned(number)} ${code}`;
}

/** The code of the unit that was probably meant, if any. */
function quantityUnitMeant(code, known) {
  const bare = code.replace(/\.+$/, "");
  const ways = [bare, bare.toLowerCase()];
  for (const way of ways) for (const unit of known.values()) if (unit.alsoWritten.includes(way)) return unit.code;
  return ways.find((way) => known.has(way)) ?? "";
}

/** The codes of the units that will do, the one that is wanted first. */
function quantitySameKind(wanted, known) {
  const same = [...known.values()].filter((unit) => unit.dimension === wanted.dimension && unit !== wanted);
  return sayEither([wanted.code, ...same.map((unit) => unit.code)]);
}

/** Whether a number that has a decimal form has too many digits to be measured. */
function quantityIsTooLong(value) {
  return value.toDecimal().replace(/[-.]/g, "").length > QUANTITY_MOST_DIGITS;
}
