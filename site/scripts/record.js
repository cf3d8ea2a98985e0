// What is taken away from the look-up: a line for the notes, and a link that asks the same case again. Neither holds
// anything of the patient but the answers, and nothing is kept here.

const RECORD_CASE = "#case?";
/** No factor's name begins with a dot, so these cannot be taken for one. */
const RECORD_EDITION = ".edition";
const RECORD_DIGEST = ".digest";

/** The beginning of the digest, as it stands on the card too. */
function recordDigest(frame) {
  return frame.words.identity.digest.slice(0, 8);
}

/**
 * One line for the notes: protocol, edition and digest, the day, the case and how it was judged, the advice, and why
 * it was departed from.
 *
 * `typed` holds `judged` (how a thickness given as a value was judged), `judgedOf` (the id of its factor) and
 * `departure`; `sum` is from `adviceSum`.
 */
function recordLine(frame, reply, sum, typed, now) {
  const { title, practice, edition } = frame.words.identity;
  const asked = [...frame.factors.values()].filter((factor) => !reply.missing.includes(factor.id));
  const facts = asked.map((factor) => {
    const { noted } = wordsEntered(frame, factor, reply);
    const judged = factor.id === typed.judgedOf && recordTidy(typed.judged);
    return `${factor.label} ${judged ? say("with-note", { text: noted, note: judged }) : noted}`;
  });
  const departure = recordTidy(typed.departure);
  const parts = [
    say("noted-edition", { title, practice, edition, digest: recordDigest(frame), day: sayDay(now) }),
    say("noted-case", { facts: facts.join("; ") }),
    wordsNotAsked(frame, reply),
    say("noted-advice", { advice: recordAdvice(frame, reply, sum) }),
    departure ? say("noted-departure", { reason: departure }) : "",
  ];
  return parts.filter(Boolean).map(recordSentence).join(" ");
}

function recordAdvice(frame, reply, sum) {
  if (!reply.in_scope) return [say("noted-not-covered"), reply.because, reply.instead].filter(Boolean).join("; ");
  const labelled = (decision, text) => say("labelled", { label: decision.label, text });
  const parts = sum.troubles.map(({ decision, outcome }) => labelled(decision, wordsOutcome(frame, decision, outcome)));
  parts.push(...sum.stops.map(({ told }) => say("noted-stop", { answer: told.words })));
  parts.push(...sum.judged.map(({ decision, told }) => {
    const text = say("noted-dentist");
    return labelled(decision, told.why ? say("with-note", { text, note: recordTidy(told.why) }) : text);
  }));
  parts.push(...sum.others.map(({ decision, told }) => labelled(decision, told.words)));
  parts.push(...sum.placed.map(({ decision, told }, place) => `${place + 1}. ${labelled(decision, told.words)}`));
  parts.push(...sum.left.map(({ told }) => told.words));
  if (reply.borderline) parts.push(say("noted-borderline"));
  if (reply.near) parts.push(say("noted-near"));
  return parts.join("; ") || say("noted-nothing");
}

/** A typed text on one line. */
function recordTidy(text) {
  return text.replace(/\s+/g, " ").trim().replace(/\.$/, "");
}

function recordSentence(text) {
  return /[.!?]$/.test(text) ? text : `${text}.`;
}

/** The address that asks this case again. `place` is the address of the page. */
function recordLink(frame, given, place) {
  const told = { ...given, [RECORD_EDITION]: frame.words.identity.edition, [RECORD_DIGEST]: recordDigest(frame) };
  const pairs = Object.entries(told).map((pair) => pair.map(encodeURIComponent).join("="));
  return `${place.replace(/#.*$/s, "")}${RECORD_CASE}${pairs.join("&")}`;
}

/**
 * The case that an address asks: `{given, notes}`, or null where it asks none.
 *
 * `notes` say what cannot be taken from it: names that the protocol does not ask, names given twice, another edition.
 */
function recordAsked(frame, hash) {
  if (!hash.startsWith(RECORD_CASE)) return null;
  const given = {};
  const notes = [];
  const seen = new Set();
  const made = {};
  for (const [name, text] of new URLSearchParams(hash.slice(RECORD_CASE.length))) {
    if (name === RECORD_EDITION || name === RECORD_DIGEST) {
      made[name] = quantityShorten(text);
      continue;
    }
    const id = name.replace(/\.reading$/, "");
    const factor = frame.factors.get(id);
    if (!factor) notes.push(say("link-not-asked", { name: quantityShorten(name) }));
    else if (seen.has(id)) {
      notes.push(say("link-twice", { factor: factor.label }));
      delete given[id];
      delete given[`${id}.reading`];
    } else given[name] = text;
    seen.add(id);
  }
  const { edition } = frame.words.identity;
  const digest = recordDigest(frame);
  if (made[RECORD_EDITION] !== edition || made[RECORD_DIGEST] !== digest) {
    const told = { edition, digest, contact: wordsContact(frame), other: made[RECORD_EDITION] };
    const of = made[RECORD_DIGEST] ?? say("not-given");
    notes.unshift(say(told.other ? "link-other-edition" : "link-no-edition", { ...told, other_digest: of }));
  }
  return { given, notes };
}
