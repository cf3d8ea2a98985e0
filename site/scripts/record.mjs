// What is taken away from the look-up: a line for the notes, and a link that asks the same case again. Neither holds
// anything of the patient but the answers, and nothing is kept here.

import { exactShorten } from "./exact.mjs";
import { wordsContact, wordsEntered, wordsOutcome } from "./words.mjs";

const RECORD_CASE = "#case?";
/** No factor's name begins with a dot, so these cannot be taken for one. */
const RECORD_EDITION = ".edition";
const RECORD_DIGEST = ".digest";

/** A day in words, by the clock of the device: `1 October 2026`. */
export function recordDay(now) {
  return new Intl.DateTimeFormat("en-GB", { day: "numeric", month: "long", year: "numeric" }).format(now);
}

/** The beginning of the digest, as it stands on the card too. */
export function recordDigest(frame) {
  return frame.words.identity.digest.slice(0, 8);
}

/**
 * One line for the notes: protocol, edition and digest, the day, the case and how it was judged, the advice, and why
 * it was departed from.
 *
 * `typed` holds `judged` (how a thickness given as a value was judged), `judgedOf` (the id of its factor) and
 * `departure`; `sum` is from `adviceSum`.
 */
export function recordLine(frame, reply, sum, typed, now) {
  const { title, practice, edition } = frame.words.identity;
  const facts = [...frame.factors.values()].map((factor) => {
    const { value, entered } = wordsEntered(frame, factor, reply);
    const judged = factor.id === typed.judgedOf && recordTidy(typed.judged);
    const counted = entered ? recordRead(frame, factor, reply, value) : value;
    return `${factor.label} ${counted}${judged ? ` (${judged})` : ""}`;
  });
  const departure = recordTidy(typed.departure);
  const parts = [
    `${title}, ${practice}, edition ${edition} (digest ${recordDigest(frame)}), looked up on ${recordDay(now)}`,
    `Case: ${facts.join("; ")}`,
    `Advice: ${recordAdvice(frame, reply, sum)}`,
    departure ? `Departed from because: ${departure}` : "",
  ];
  return parts.filter(Boolean).map(recordSentence).join(" ");
}

function recordRead(frame, factor, reply, value) {
  const { entered } = wordsEntered(frame, factor, reply);
  const start = entered.replace(/^You entered a /, "").replace(/\.$/, "");
  const told = start.includes("treated as") ? `by a ${start}` : `${value}, by a ${start}`;
  return reply.readings?.[factor.id]?.outside_limits ? `${told}, CHECK THE NUMBER AND THE UNIT` : told;
}

function recordAdvice(frame, reply, sum) {
  if (!reply.in_scope) return ["not covered", reply.because, reply.instead].filter(Boolean).join("; ");
  const parts = sum.troubles.map(({ decision, outcome }) => `${decision.label}: ${wordsOutcome(frame, decision, outcome)}`);
  parts.push(...sum.stops.map(({ told }) => `stop: ${told.words}`));
  parts.push(...sum.judged.map(({ decision, told }) => `${decision.label}: the dentist decides${told.why ? ` (${recordTidy(told.why)})` : ""}`));
  parts.push(...sum.others.map(({ decision, told }) => `${decision.label}: ${told.words}`));
  parts.push(...sum.placed.map(({ decision, told }, place) => `${place + 1}. ${decision.label}: ${told.words}`));
  parts.push(...sum.left.map(({ told }) => told.words));
  if (reply.borderline) parts.push("borderline within the uncertainty of the reading");
  return parts.join("; ") || "nothing is asked for";
}

/** A typed text on one line. */
function recordTidy(text) {
  return text.replace(/\s+/g, " ").trim().replace(/\.$/, "");
}

function recordSentence(text) {
  return /[.!?]$/.test(text) ? text : `${text}.`;
}

/** The address that asks this case again. `place` is the address of the page. */
export function recordLink(frame, given, place) {
  const told = { ...given, [RECORD_EDITION]: frame.words.identity.edition, [RECORD_DIGEST]: recordDigest(frame) };
  const pairs = Object.entries(told).map((pair) => pair.map(encodeURIComponent).join("="));
  return `${place.replace(/#.*$/s, "")}${RECORD_CASE}${pairs.join("&")}`;
}

/**
 * The case that an address asks: `{given, notes}`, or null where it asks none.
 *
 * `notes` say what cannot be taken from it: names that the protocol does not ask, names given twice, another edition.
 */
export function recordAsked(frame, hash) {
  if (!hash.startsWith(RECORD_CASE)) return null;
  const given = {};
  const notes = [];
  const seen = new Set();
  const made = {};
  for (const [name, text] of new URLSearchParams(hash.slice(RECORD_CASE.length))) {
    if (name === RECORD_EDITION || name === RECORD_DIGEST) {
      made[name] = exactShorten(text);
      continue;
    }
    const id = name.replace(/\.reading$/, "");
    const factor = frame.factors.get(id);
    if (!factor) notes.push(`The link gives a value for “${exactShorten(name)}”, which this protocol does not ask. It was left out.`);
    else if (seen.has(id)) {
      notes.push(`The link answers ${factor.label} more than once. It was left open: answer it here.`);
      delete given[id];
      delete given[`${id}.reading`];
    } else given[name] = text;
    seen.add(id);
  }
  const { edition } = frame.words.identity;
  const digest = recordDigest(frame);
  if (made[RECORD_EDITION] !== edition || made[RECORD_DIGEST] !== digest) {
    const other = made[RECORD_EDITION]
      ? `for edition ${made[RECORD_EDITION]} (digest ${made[RECORD_DIGEST] ?? "not given"})`
      : "without saying for which edition";
    notes.unshift(
      `This link was made ${other}. This page is edition ${edition} (digest ${digest}): its advice may differ. ` +
        `In doubt ask ${wordsContact(frame)}.`,
    );
  }
  return { given, notes };
}
