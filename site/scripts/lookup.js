// The look-up: asks a case, says what is still to be answered, and when all is answered what the protocol advises.
//
// Nothing is preset, nothing is kept and nothing is sent. An answer that is taken back takes the advice with it.

/** Milliseconds after the last change before a reader of the screen is told what became of it. */
const LOOKUP_PAUSE = 700;

function lookupPart(name) {
  return document.getElementById(`look-${name}`);
}

function lookupJson(id) {
  return JSON.parse(document.getElementById(id).textContent);
}

/** Makes the look-up work. `coverReason()` says why the advice must not be used, or nothing. */
function lookupStart(words, coverReason) {
  const bundle = lookupJson("bundle");
  const compiled = readBundle(bundle);
  const frame = wordsFrame(bundle, words);
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
    for (const { id, warn } of questions) warn(shown?.reply.readings?.[id]?.outside_limits ? say("check-number") : "");
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
    if (judgedOf) lookupPart("judged-label").textContent = say("how-judged", { factor: judgedOf.label });
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
      if (wrong) notes.push(say("link-not-taken", { question: question.label, reason: wrong }));
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
  lookupPart("copy").addEventListener("click", () => lookupCopy(lookupPart("line"), "line"));
  lookupPart("make-link").addEventListener("click", () => {
    lookupPart("link").value = recordLink(frame, shown.given, location.href);
    lookupPart("link-row").hidden = false;
    lookupCopy(lookupPart("link"), "link");
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
  const drawn = { section: crossSection(frame, reply, "case"), reading: readingChart(compiled, frame, reply, "case") };
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
  const told = say(next ? "answered" : "all-answered", { done: count, total });
  lookupPart("count").textContent = total ? told : say("nothing-asked");
  const link = lookupPart("next");
  link.href = next ? `#ask-${next.question.id}` : "#look-advice-head";
  link.textContent = next ? say("next", { question: next.question.label }) : say(isCovered ? "not-to-be-used" : "to-the-advice");
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
  const key = open.length === total ? "still-to-answer" : "some-to-answer";
  lookupPart("open-count").textContent = say(key, { open: open.length, count: total });
  const items = open.map(({ question, state }) => {
    const link = nodesMake("a", { href: `#ask-${question.id}` }, question.label);
    link.addEventListener("click", (event) => lookupGo(event, question));
    return nodesMake("li", {}, state.kind === "wrong" ? nodesSaid("number-not-taken", { question: link }) : link);
  });
  lookupPart("open-list").replaceChildren(...items);
}

/** What a reader of the screen is told after a change. */
function lookupTold(open, shown) {
  if (shown) {
    const layers = shown.sum.placed.map(({ told }, place) => say("labelled", { label: place + 1, text: told.agent }));
    return say("told-advice", { advice: [shown.sum.head, layers.join("; ")].filter(Boolean).join(". ") });
  }
  const wrong = open.filter(({ state }) => state.kind === "wrong");
  const said = wrong.map(({ question, state }) => `${say("labelled", { label: question.label, text: state.message })} `);
  return `${said.join("")}${say("still-to-answer", { count: open.length })}.`;
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
    told.textContent = say(`${what}-copied`);
  } catch {
    field.focus();
    field.select();
    told.textContent = say(`${what}-selected`);
  }
}

/** Prints the case and its advice alone. */
function lookupPrint() {
  const root = document.documentElement;
  lookupPart("printed-on").textContent = sayDay(new Date());
  root.classList.add("print-case");
  addEventListener("afterprint", () => root.classList.remove("print-case"), { once: true });
  window.print();
}
