// The order of the questions on the page: those that are answered, the one to ask next, those that may still matter, and
// folded away those that can change nothing now. What is in use is never moved itself: the others are, around it.

/** Makes the list of questions; `arrangeUpdate` puts it in order. */
function arrangeMake(place, questions) {
  const heading = (name) => nodesMake("h3", { class: "ask-group", id: `look-group-${name}` }, say(`group-${name}`));
  const fold = nodesMake("button", { type: "button", id: "look-idle", "aria-expanded": "false" });
  const arranged = {
    place,
    questions,
    answered: [],
    known: "",
    heads: Object.fromEntries(["given", "next", "rest", "always"].map((name) => [name, heading(name)])),
    fold,
    idle: nodesMake("h3", { class: "ask-group" }, fold),
  };
  fold.addEventListener("click", () => arrangeFold(arranged, fold.getAttribute("aria-expanded") !== "true"));
  return arranged;
}

function arrangeFold(arranged, isOpen) {
  arranged.fold.setAttribute("aria-expanded", String(isOpen));
  arrangeHide(arranged);
}

/** Hides the questions that are folded away, but for one that is in use. */
function arrangeHide({ fold, place, questions }) {
  const isOpen = fold.getAttribute("aria-expanded") === "true";
  for (const { element } of questions) {
    const isIdle = element.dataset.group === "idle";
    element.hidden = isIdle && !isOpen && !element.contains(document.activeElement);
  }
  place.dataset.unfolded = String(isOpen);
}

/** The group of a question: `given`, `next`, `rest`, `always` or `idle`. */
function arrangeGroup(frame, reply, { id }, isGiven) {
  if (isGiven) return "given";
  if (id === reply.next) return "next";
  if (!reply.irrelevant.includes(id)) return reply.in_scope === false ? "idle" : "rest";
  return frame.factors.get(id).always_ask && reply.in_scope !== false ? "always" : "idle";
}

/**
 * Puts the questions in order for a reply. `states` say what is answered, in the order of the questions; `used` is the
 * question that was changed, if any.
 */
function arrangeUpdate(frame, arranged, reply, states, used) {
  const { place, questions, heads, idle, fold } = arranged;
  const isTouched = ({ kind }, id) => kind === "given" || (kind !== "empty" && id !== reply.next);
  const touched = questions.filter(({ id }, number) => isTouched(states[number].state, id));
  arranged.answered = arranged.answered.filter((question) => touched.includes(question));
  arranged.answered.push(...touched.filter((question) => !arranged.answered.includes(question)));
  const groups = { given: arranged.answered, next: [], rest: [], always: [], idle: [] };
  for (const question of questions) {
    const group = arrangeGroup(frame, reply, question, touched.includes(question));
    if (group !== "given") groups[group].push(question);
  }
  const known = JSON.stringify(Object.values(groups).map((group) => group.map(({ id }) => id)));
  if (known === arranged.known) return;
  arranged.known = known;
  const inUse = place.contains(document.activeElement) ? document.activeElement : (used?.element ?? null);
  const top = inUse?.getBoundingClientRect().top;
  for (const [name, group] of Object.entries(groups)) for (const { element } of group) element.dataset.group = name;
  fold.textContent = say(wordsBorderline("group-idle", reply), { factors: sayBoth(groups.idle.map(({ label }) => label)) });
  const wanted = Object.entries(groups).flatMap(([name, list]) =>
    list.length ? [name === "idle" ? idle : heads[name], ...list.map(({ element }) => element)] : [],
  );
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
