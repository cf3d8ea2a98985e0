// The order of the questions on the page: those that are answered, the one to ask next, and folded away those that may be
// asked after it and those that can change nothing now. What is asked in every case is never folded away. Questions over
// which one of the protocol's stop questions stands keep together. What is in use is never moved itself: the others are,
// around it.

const ARRANGE_GROUPS = ["given", "next", "rest", "always", "idle"];
const ARRANGE_FOLDED = ["rest", "idle"];

/** Makes the list of questions; `arrangeUpdate` puts it in order. */
function arrangeMake(frame, place, questions) {
  const heading = (name, ...children) => nodesMake("h3", { class: "ask-group", id: `look-group-${name}` }, ...children);
  const fold = (name) => nodesMake("button", { type: "button", id: `look-${name}`, "aria-expanded": "false" });
  const folds = Object.fromEntries(ARRANGE_FOLDED.map((name) => [name, fold(name)]));
  const arranged = {
    place,
    questions,
    units: arrangeUnits(frame, questions),
    answered: [],
    known: "",
    folds,
    heads: Object.fromEntries(
      ARRANGE_GROUPS.map((name) => [name, heading(name, folds[name] ?? say(`group-${name}`))]),
    ),
  };
  for (const button of Object.values(folds))
    button.addEventListener("click", () => {
      arrangeFold(button, button.getAttribute("aria-expanded") !== "true");
      arrangeHide(arranged);
    });
  return arranged;
}

/** The questions one by one, and those that a stop question stands over as one: `{element, members}`. */
function arrangeUnits(frame, questions) {
  const units = [];
  for (const question of questions) {
    const number = frame.words.sets.findIndex(({ factors }) => factors.includes(question.id));
    const known = units.find((unit) => unit.number === number);
    if (number >= 0 && known) known.members.push(question);
    else units.push({ number, members: [question], element: question.element });
  }
  for (const unit of units)
    if (unit.number >= 0) {
      const id = `look-set-${unit.number}`;
      const head = nodesMake("p", { class: "ask-over", id }, frame.words.sets[unit.number].asks);
      const inside = unit.members.map(({ element }) => element);
      unit.element = nodesMake("div", { class: "ask-set", role: "group", "aria-labelledby": id }, head, inside);
    }
  return units;
}

function arrangeFold(button, isOpen) {
  button.setAttribute("aria-expanded", String(isOpen));
}

/** Shows a question that may be folded away. */
function arrangeShow(arranged, { element }) {
  const fold = arranged.folds[element.dataset.group];
  if (fold) arrangeFold(fold, true);
  arrangeHide(arranged);
}

/** Folds everything again. */
function arrangeClear(arranged) {
  for (const fold of Object.values(arranged.folds)) arrangeFold(fold, false);
  arrangeHide(arranged);
}

/** Hides the questions that are folded away, but for one that is in use. */
function arrangeHide({ folds, units }) {
  const isShut = (name) => folds[name]?.getAttribute("aria-expanded") === "false";
  const inUse = (element) => element.contains(document.activeElement);
  for (const { element, members } of units) {
    for (const { element: one } of members) one.hidden = isShut(one.dataset.group) && !inUse(one);
    if (members.length > 1) element.hidden = members.every(({ element: one }) => one.hidden);
  }
}

/** The group of a question: `given`, `next`, `rest`, `always` or `idle`. */
function arrangeGroup(frame, reply, { id }, isGiven) {
  if (isGiven) return "given";
  if (id === reply.next) return "next";
  if (!reply.irrelevant.includes(id)) return reply.in_scope === false ? "idle" : frame.factors.get(id).always_ask ? "always" : "rest";
  return frame.factors.get(id).always_ask && reply.in_scope !== false ? "always" : "idle";
}

/** Where questions that keep together stand: where the first of them is asked. What was answered stays among them till then. */
function arrangeUnit({ members }) {
  const groups = members.map(({ element }) => element.dataset.group);
  return ["next", "always", "rest", "given"].find((name) => groups.includes(name)) ?? "idle";
}

/**
 * Puts the questions in order for a reply. `states` say what is answered, in the order of the questions; `used` is the
 * question that was changed, if any.
 */
function arrangeUpdate(frame, arranged, reply, states, used) {
  const { place, questions, units, heads, folds } = arranged;
  const inUse = place.contains(document.activeElement) ? document.activeElement : (used?.element ?? null);
  const top = inUse?.getBoundingClientRect().top;
  const isTouched = ({ kind }, id) => kind === "given" || (kind !== "empty" && id !== reply.next);
  const asked = new Map(questions.map((question, number) => [
    question, arrangeGroup(frame, reply, question, isTouched(states[number].state, question.id)),
  ]));
  const known = JSON.stringify([...asked.values()]);
  if (known === arranged.known) return;
  arranged.known = known;
  for (const [{ element }, group] of asked) element.dataset.group = group;
  const groups = Object.fromEntries(ARRANGE_GROUPS.map((name) => [name, []]));
  for (const unit of units) groups[arrangeUnit(unit)].push(unit);
  arranged.answered = arranged.answered.filter((unit) => groups.given.includes(unit));
  arranged.answered.push(...groups.given.filter((unit) => !arranged.answered.includes(unit)));
  groups.given = arranged.answered;
  for (const [name, list] of Object.entries(groups)) for (const { element, members } of list) if (members.length > 1) element.dataset.group = name;
  const those = (name) => [...asked].filter(([, group]) => group === name).map(([question]) => question);
  folds.rest.textContent = say("group-rest", { questions: sayBoth(those("rest").map(({ label }) => label)) });
  folds.idle.textContent = say(wordsBorderline("group-idle", reply), { factors: sayBoth(those("idle").map(({ label }) => label)) });
  const wanted = ARRANGE_GROUPS.flatMap((name) => {
    const isHeaded = groups[name].length || (name === "idle" && those(name).length);
    return isHeaded ? [heads[name], ...groups[name].map(({ element }) => element)] : [];
  });
  arrangePlace(place, wanted, wanted.find((one) => one.contains(inUse)));
  arrangeHide(arranged);
  // What is in use stays where it is on the screen, whatever came or went above it.
  if (inUse?.isConnected) scrollBy({ top: inUse.getBoundingClientRect().top - top, behavior: "instant" });
}

/** Puts elements in their order without moving the one that is `held`. */
function arrangePlace(place, wanted, held) {
  for (const one of [...place.children]) if (!wanted.includes(one)) one.remove();
  if (wanted.every((one, number) => place.children[number] === one)) return;
  const before = held ? wanted.slice(0, wanted.indexOf(held)) : [];
  for (const one of before) place.insertBefore(one, held);
  for (const one of wanted.slice(before.length)) if (one !== held) place.append(one);
}
