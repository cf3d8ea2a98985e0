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
  const questions = bundle.factors.map((factor) => askingMake(frame, compiled, factor, () => changed(factor.id)));
  const arranged = arrangeMake(frame, lookupPart("questions"), questions);
  let shown = null;
  let revealed = false;
  let timer = 0;

  function update(used) {
    const states = questions.map((question) => ({ question, state: question.state() }));
    const now = lookupNow(frame, compiled, states);
    const { isFinished, given, reply } = now;
    const reason = coverReason();
    const isCovered = reason !== "" && !(revealed && lookupIsDraft(bundle, reason));
    const next = questions.find(({ id }) => id === (now.unread[0] ?? reply.next));
    lookupBar(frame, now, next, isCovered, go);
    lookupPart("cover").hidden = reason === "";
    lookupPart("cover-text").textContent = reason;
    lookupPart("reveal").hidden = !isCovered || !lookupIsDraft(bundle, reason);
    lookupPart("open").hidden = isCovered || isFinished;
    lookupPart("part").hidden = isCovered || isFinished || !Object.keys(given).length;
    lookupPart("result").hidden = isCovered || !isFinished;
    shown = isCovered || !isFinished ? null : lookupAnswer(frame, compiled, now);
    lookupPart("record").hidden = !shown || reason !== "";
    lookupPart("share").hidden = isCovered || reason !== "" || !Object.keys(given).length;
    for (const name of ["copy", "print"]) lookupPart(name).hidden = !shown;
    if (!isFinished) lookupOpen(frame, now, states, next, go);
    lookupPart("part").replaceChildren(...(isFinished ? [] : pendingShow(frame, reply)));
    for (const { id, warn } of questions) warn(reply.readings?.[id]?.outside_limits && !isCovered ? say("check-number") : "");
    if (shown) lookupShow(frame, compiled, shown);
    else for (const name of ["advice", "behind"]) lookupPart(name).replaceChildren();
    const isTold = !isCovered && Object.keys(given).length > 0;
    lookupPart("case-fold").hidden = !isTold;
    lookupPart("case").replaceChildren(...(isTold ? adviceCase(frame, reply, isFinished) : []));
    if (shown && !reason) lookupRecord();
    lookupPart("told").dataset.next = isCovered ? reason : lookupTold(frame, now, states, shown);
    arrangeUpdate(frame, arranged, reply, states, used);
  }

  function changed(id) {
    lookupPart("link-row").hidden = true;
    if (location.hash.startsWith("#case?")) history.replaceState(null, "", "#look-up");
    lookupPart("departure").value = ""; // a reason belongs to the advice that it was written for
    update(questions.find((question) => question.id === id));
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
    arrangeClear(arranged);
    for (const name of ["judged", "departure", "line", "link"]) lookupPart(name).value = "";
    for (const fold of document.querySelectorAll(".look-right details")) fold.open = false;
    lookupNotice([]);
    revealed = false;
    changed();
  }

  /** Goes to a question, or to the advice. */
  function go(event, question) {
    event.preventDefault();
    if (question) arrangeShow(arranged, question);
    const target = question?.element ?? lookupPart("advice-head");
    target.scrollIntoView({ block: question ? "center" : "start" });
    (question ?? target).focus({ preventScroll: true });
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

  for (const name of ["judged", "departure"]) lookupPart(name).addEventListener("input", lookupRecord);
  lookupPart("form").addEventListener("submit", (event) => event.preventDefault());
  for (const button of document.querySelectorAll("[data-look-new]"))
    button.addEventListener("click", () => {
      clear();
      document.getElementById("look-up").scrollIntoView();
      questions.find(({ element }) => element.dataset.group === "next")?.focus();
    });
  lookupPart("reveal").addEventListener("click", () => {
    revealed = true;
    update();
    lookupPart("advice-head").focus();
  });
  lookupPart("copy").addEventListener("click", () => lookupCopy(lookupPart("line"), "line"));
  lookupPart("make-link").addEventListener("click", () => {
    lookupPart("link").value = recordLink(frame, lookupGiven(questions), location.href);
    lookupPart("link-row").hidden = false;
    lookupCopy(lookupPart("link"), "link");
  });
  lookupPart("print").addEventListener("click", () => window.print());
  addEventListener("beforeprint", () => {
    lookupPart("printed-on").textContent = sayDay(new Date());
  });
  document.addEventListener("coverchange", () => update());
  addEventListener("hashchange", open);
  lookupPart("first").hidden = words.ask_first.length === 0;
  lookupPart("first-list").replaceChildren(...words.ask_first.map((text) => nodesMake("li", {}, nodesTied(text))));
  lookupPart("printed-on").textContent = sayDay(new Date());
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

/** The texts of what is answered, by factor or by its reading. */
function lookupGiven(questions) {
  const states = questions.map((question) => question.state()).filter(({ kind }) => kind === "given");
  return Object.fromEntries(states.map(({ name, text }) => [name, text]));
}

/**
 * What can be said now: `given`, the `reply` to it, and the ids of what was entered but cannot be taken (`unread`). It
 * `isFinished` where nothing more is to be asked and nothing entered is left out.
 */
function lookupNow(frame, compiled, states) {
  const given = lookupGiven(states.map(({ question }) => question));
  const reply = answer(compiled, given, shellDay(new Date()));
  const unread = states.filter(({ state }) => ["wrong", "typing"].includes(state.kind)).map(({ question }) => question.id);
  return { given, reply, unread, isFinished: reply.next === null && !unread.length };
}

function lookupAnswer(frame, compiled, { given, reply }) {
  const drawn = { section: crossSection(frame, reply, "case"), reading: readingChart(compiled, frame, reply, "case") };
  return { given, reply, sum: adviceSum(frame, reply), drawn };
}

function lookupShow(frame, compiled, { given, reply, sum, drawn }) {
  lookupPart("advice").replaceChildren(...adviceShow(frame, compiled, given, reply, sum));
  const open = [...lookupPart("behind").children].map((fold) => fold.open);
  lookupPart("behind").replaceChildren(...adviceBehind(frame, compiled, given, reply, drawn));
  [...lookupPart("behind").children].forEach((fold, number) => {
    if (open[number]) fold.open = true;
  });
}

/** Whether the case is finished, and the way to what comes next. */
function lookupBar(frame, now, next, isCovered, go) {
  const { reply, isFinished } = now;
  const [left, done] = [reply.missing.length, frame.factors.size - reply.missing.length];
  const finished = left ? say(wordsBorderline("finished", reply), { done, left }) : say("all-answered", { total: done });
  const told = isFinished ? finished : say("unfinished", { what: pendingCounted(frame, now) });
  lookupPart("count").textContent = frame.factors.size ? told : say("nothing-asked");
  const link = lookupPart("next");
  link.href = next ? `#ask-${next.id}` : "#look-advice-head";
  link.textContent = next ? say("next", { question: next.asks }) : say(isCovered ? "not-to-be-used" : "to-the-advice");
  link.onclick = (event) => go(event, next);
}

/** How much is still to be answered: the question to ask next, and numbers that cannot be taken. */
function lookupOpen(frame, now, states, next, go) {
  const { given, unread } = now;
  const key = Object.keys(given).length ? "part-settled" : "nothing-settled";
  lookupPart("open-head").replaceChildren(...nodesSaid(key, { what: pendingCounted(frame, now) }));
  const items = states.filter(({ question }) => question === next || unread.includes(question.id)).map(({ question, state }) => {
    const link = nodesMake("a", { href: `#ask-${question.id}` }, question.asks);
    link.addEventListener("click", (event) => go(event, question));
    return nodesMake("li", {}, nodesSaid(state.kind === "wrong" ? "number-not-taken" : "next-bold", { question: link }));
  });
  lookupPart("open-list").replaceChildren(...items);
}

/** What a reader of the screen is told after a change. */
function lookupTold(frame, now, states, shown) {
  if (shown) {
    const layers = shown.sum.placed.map(({ told }, place) => say("labelled", { label: place + 1, text: told.agent }));
    return say("told-advice", { advice: [eitherHead(frame, shown.reply).replace(/\.$/, ""), shown.sum.head, layers.join("; ")].filter(Boolean).join(". ") });
  }
  const wrong = states.filter(({ state }) => state.kind === "wrong");
  const said = wrong.map(({ question, state }) => `${say("labelled", { label: question.label, text: state.message })} `);
  return `${said.join("")}${pendingTold(frame, now)}`;
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
    if (field.closest("details")) field.closest("details").open = true;
    field.focus();
    field.select();
    told.textContent = say(`${what}-selected`);
  }
}
