// The look-up: asks a case, says what is still to be answered, and when all is answered what the protocol advises.
//
// Nothing is preset, nothing is kept and nothing is sent. An answer that is taken back takes the advice with it.

import { adviceCase, adviceShow, adviceSum } from "./advice.mjs";
import { askingMake } from "./asking.mjs";
import { answer, readBundle } from "./evaluate.mjs";
import { nodesMake } from "./nodes.mjs";
import { readingChart } from "./reading.mjs";
import { recordAsked, recordDay, recordLine, recordLink } from "./record.mjs";
import { crossSection } from "./section.mjs";
import { wordsContact, wordsCount, wordsFrame } from "./words.mjs";

/** Milliseconds after the last change before a reader of the screen is told what became of it. */
const LOOKUP_PAUSE = 700;

const LOOKUP_STRANGE = "Check the number and the unit: it does not go so far in this protocol.";

function lookupPart(name) {
  return document.getElementById(`look-${name}`);
}

function lookupJson(id) {
  return JSON.parse(document.getElementById(id).textContent);
}

/** Makes the look-up work. `coverReason()` says why the advice must not be used, or nothing. */
export function lookupStart(coverReason) {
  const bundle = lookupJson("bundle");
  const compiled = readBundle(bundle);
  const frame = wordsFrame(bundle, lookupJson("words"));
  const questions = bundle.factors.map((factor) => askingMake(frame, compiled, factor, () => changed()));
  let shown = null;
  let revealed = false;
  let timer = 0;

  function update() {
    const states = questions.map((question) => ({ question, state: question.state() }));
    const open = states.filter(({ state }) => state.kind !== "given");
    const reason = coverReason();
    const isCovered = reason !== "" && !(revealed && lookupIsDraft(bundle, reason));
    lookupBar(questions.length, open, isCovered);
    lookupPart("cover").hidden = reason === "";
    lookupPart("cover-text").textContent = reason;
    lookupPart("reveal").hidden = !isCovered || !lookupIsDraft(bundle, reason);
    lookupPart("open").hidden = isCovered || !open.length;
    lookupPart("result").hidden = isCovered || open.length > 0;
    if (!shown) lookupPart("right").scrollTop = 0;
    shown = isCovered || open.length ? null : lookupAnswer(frame, compiled, states);
    lookupPart("record").hidden = !shown || reason !== "";
    if (open.length) lookupOpen(frame, open);
    for (const { id, warn } of questions) warn(shown?.reply.readings?.[id]?.outside_limits ? LOOKUP_STRANGE : "");
    if (shown) lookupShow(frame, compiled, shown);
    if (shown && !reason) lookupRecord();
    lookupPart("told").dataset.next = isCovered ? reason : lookupTold(open, shown);
  }

  function changed() {
    lookupPart("link-row").hidden = true;
    if (location.hash.startsWith("#case?")) history.replaceState(null, "", "#look-up");
    lookupPart("departure").value = ""; // a reason belongs to the advice that it was written for
    update();
    clearTimeout(timer);
    timer = setTimeout(() => {
      const line = lookupPart("told");
      if (line.textContent !== line.dataset.next) line.textContent = line.dataset.next;
    }, LOOKUP_PAUSE);
  }

  function lookupRecord() {
    const judgedOf = lookupJudged(frame, shown.given);
    lookupPart("judged-row").hidden = !judgedOf;
    if (judgedOf) lookupPart("judged-label").textContent = `How was this judged: ${judgedOf.label}?`;
    const typed = {
      judged: lookupPart("judged").value,
      judgedOf: judgedOf?.id ?? "",
      departure: lookupPart("departure").value,
    };
    lookupPart("line").value = recordLine(frame, shown.reply, shown.sum, typed, new Date());
    lookupPart("copied").textContent = "";
  }

  function clear() {
    for (const question of questions) question.clear();
    for (const name of ["judged", "departure", "line", "link"]) lookupPart(name).value = "";
    lookupNotice([]);
    revealed = false;
    changed();
  }

  function open() {
    const asked = recordAsked(frame, location.hash);
    if (!asked) return;
    const { hash } = location;
    clear();
    const notes = [...asked.notes];
    for (const [name, text] of Object.entries(asked.given)) {
      const question = questions.find((one) => one.id === name.replace(/\.reading$/, ""));
      const wrong = question.fill(name, text);
      if (wrong) notes.push(`${question.label}: what the link says cannot be taken. ${wrong}`);
    }
    lookupNotice(notes);
    changed();
    history.replaceState(null, "", hash);
    lookupPart("notice").dataset.opened = hash;
    document.getElementById("look-up").scrollIntoView();
  }

  lookupPart("questions").append(...questions.map((question) => question.element));
  for (const name of ["judged", "departure"]) lookupPart(name).addEventListener("input", lookupRecord);
  lookupPart("form").addEventListener("submit", (event) => event.preventDefault());
  for (const button of document.querySelectorAll("[data-look-new]"))
    button.addEventListener("click", () => {
      clear();
      document.getElementById("look-up").scrollIntoView();
      questions[0]?.focus();
    });
  lookupPart("reveal").addEventListener("click", () => {
    revealed = true;
    update();
    lookupPart("advice-head").focus();
  });
  lookupPart("copy").addEventListener("click", () => lookupCopy(lookupPart("line"), "The line"));
  lookupPart("make-link").addEventListener("click", () => {
    lookupPart("link").value = recordLink(frame, shown.given, location.href);
    lookupPart("link-row").hidden = false;
    lookupCopy(lookupPart("link"), "The link");
  });
  lookupPart("print").addEventListener("click", () => lookupPrint());
  document.addEventListener("coverchange", update);
  addEventListener("hashchange", open);
  lookupPart("whom").textContent = wordsContact(frame);
  lookupPart("lookup").hidden = false;
  update();
  open();
}

/** Whether an edition that is covered is a draft, which its authors may look at all the same. */
function lookupIsDraft(bundle, reason) {
  const isDraft = bundle.draft || bundle.protocol.status === "draft";
  return reason !== "" && isDraft && bundle.protocol.status !== "withdrawn";
}

function lookupAnswer(frame, compiled, states) {
  const given = Object.fromEntries(states.map(({ state }) => [state.name, state.text]));
  const reply = answer(compiled, given);
  const drawn = { section: crossSection(compiled, reply, "case"), reading: readingChart(compiled, reply) };
  return { given, reply, sum: adviceSum(frame, reply), drawn };
}

function lookupShow(frame, compiled, { given, reply, sum, drawn }) {
  lookupPart("case").replaceChildren(...adviceCase(frame, reply));
  lookupPart("advice").replaceChildren(...adviceShow(frame, compiled, given, reply, sum, drawn));
}

/** How far the questions are answered, and the way to what comes next. */
function lookupBar(total, open, isCovered) {
  const [next] = open;
  const count = total - open.length;
  const told = next ? `${count} of ${total} answered` : `All ${total} answered`;
  lookupPart("count").textContent = total ? told : "Nothing is asked";
  const link = lookupPart("next");
  link.href = next ? `#ask-${next.question.id}` : "#look-advice-head";
  link.textContent = next ? `Next: ${next.question.label}` : isCovered ? "Not to be used" : "To the advice";
  link.onclick = (event) => lookupGo(event, next?.question);
}

function lookupGo(event, question) {
  event.preventDefault();
  const target = question?.element ?? lookupPart("advice-head");
  target.scrollIntoView({ block: question ? "center" : "start" });
  (question ?? target).focus({ preventScroll: true });
}

/** What is still to be answered, with links to the questions. */
function lookupOpen(frame, open) {
  const total = frame.factors.size;
  const count = open.length === total ? wordsCount(total, "question") : `${open.length} of ${wordsCount(total, "question")}`;
  lookupPart("open-count").textContent = `${count} still to answer`;
  const items = open.map(({ question, state }) => {
    const link = nodesMake("a", { href: `#ask-${question.id}` }, question.label);
    link.addEventListener("click", (event) => lookupGo(event, question));
    return nodesMake("li", {}, link, state.kind === "wrong" ? ": the number cannot be taken" : "");
  });
  lookupPart("open-list").replaceChildren(...items);
}

/** What a reader of the screen is told after a change. */
function lookupTold(open, shown) {
  if (shown) {
    const layers = shown.sum.placed.map(({ told }, place) => `${place + 1}: ${told.agent}`);
    return `All answered. ${shown.sum.head}${layers.length ? `. ${layers.join("; ")}` : ""}.`;
  }
  const wrong = open.filter(({ state }) => state.kind === "wrong");
  const said = wrong.map(({ question, state }) => `${question.label}: ${state.message} `).join("");
  return `${said}${wordsCount(open.length, "question")} still to answer.`;
}

/** The quantity given as a value of which the notes should say how it was judged, if there is one. */
function lookupJudged(frame, given) {
  const asked = [...frame.factors.values()].filter(({ id }) => Object.hasOwn(given, id));
  return asked.find(({ kind, reading, unit }) => kind === "quantity" && (reading || frame.units.get(unit).dimension === "length"));
}

function lookupNotice(notes) {
  lookupPart("notice-list").replaceChildren(...notes.map((note) => nodesMake("li", {}, note)));
  lookupPart("notice").hidden = notes.length === 0;
}

/** Copies the text of a field; where the browser does not let it, the text is selected for the reader to copy. */
async function lookupCopy(field, what) {
  const told = lookupPart("copied");
  try {
    await navigator.clipboard.writeText(field.value);
    told.textContent = `${what} was copied.`;
  } catch {
    field.focus();
    field.select();
    told.textContent = `${what} is selected: copy it with Ctrl and C, or with Copy on a phone.`;
  }
}

/** Prints the case and its advice alone. */
function lookupPrint() {
  const root = document.documentElement;
  lookupPart("printed-on").textContent = recordDay(new Date());
  root.classList.add("print-case");
  addEventListener("afterprint", () => root.classList.remove("print-case"), { once: true });
  window.print();
}
