// The words of the page. Every one of them stands by its key in the JSON that the page carries, in the language of the
// protocol (`say/look_up/`); here they are only filled in and put together as that language wants it (Unicode CLDR).

let SAY = null;

/** Takes the words: `lang` (BCP 47), `decimal` (its sign) and `say`, in which a message is a text or its plural forms. */
function sayStart(words) {
  SAY = words;
}

/** A message with its `{names}` still to be filled in; of plural forms the one for `count`. */
function sayMessage(key, count) {
  const found = SAY.say[key];
  if (found === undefined) throw new Error(`there are no words for ${key}`);
  return typeof found === "string" ? found : (found[new Intl.PluralRules(SAY.lang).select(count)] ?? found.other);
}

/** A message filled in. */
function say(key, values = {}) {
  return sayFilled(sayMessage(key, values.count), values);
}

/** A text with its `{names}` filled in. */
function sayFilled(text, values) {
  return text.replace(/\{(\w+)\}/g, (_, name) => values[name]);
}

/** `a`, `a or b`, `a, b or c`. */
function sayEither(list) {
  return new Intl.ListFormat(SAY.lang, { type: "disjunction" }).format(list);
}

/** `a`, `a and b`, `a, b and c`. */
function sayBoth(list) {
  return new Intl.ListFormat(SAY.lang, { type: "conjunction" }).format(list);
}

/** An exact decimal text with the sign of the language. */
function sayDecimal(text) {
  return text.replace(".", SAY.decimal);
}

/** A day, by the clock of the device: `1 October 2026`. */
function sayDay(now) {
  return new Intl.DateTimeFormat(SAY.lang, { day: "numeric", month: "long", year: "numeric" }).format(now);
}

/**
 * Numbers with a decimal point as the language writes them, and the other way round: where it has a decimal comma, point
 * and comma beside a digit change places.
 */
function sayTurned(text) {
  if (SAY.decimal !== ",") return text;
  return text.replace(/(?<=[0-9])[.,]|[.,](?=[0-9])/g, (sign) => (sign === "." ? "," : "."));
}
