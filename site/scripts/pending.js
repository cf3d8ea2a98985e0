// What is said of a case that is not finished: what is settled whatever the rest may be, what is still possible, and what
// is to be asked.

/** What is settled and what is open, as elements. */
function pendingShow(frame, reply) {
  return [...pendingSettled(frame, reply), ...pendingOpen(frame, reply)];
}

function pendingSettled(frame, reply) {
  const settled = Object.entries(reply.advice).map(([id, outcome]) => ({ decision: frame.decisions.get(id), outcome }));
  if (!settled.length) return [];
  const lines = settled
    .filter(({ outcome }) => outcome.state !== "not-needed")
    .map(({ decision, outcome }) =>
      nodesMake(
        "div", { class: "rest" },
        nodesMake("p", {}, nodesSaid("labelled-bold", { label: decision.label, text: wordsOutcome(frame, decision, outcome, reply.advice) })),
        groundsWhy(frame, decision, outcome),
      ),
    );
  const labels = sayBoth(reply.missing.map((id) => frame.factors.get(id).label));
  return [
    ...eitherShow(frame, reply),
    nodesMake("h4", { id: "look-settled-head" }, say(reply.in_scope === "open" ? "settled-if-covered" : "settled")),
    ...lines,
    ...adviceIdle(frame, adviceSum(frame, { ...reply, in_scope: true })),
    nodesMake("p", { class: "no-longer" }, say(wordsBorderline("no-longer", reply), { factors: labels })),
  ].filter((one) => one !== "");
}

function pendingOpen(frame, reply) {
  const open = Object.entries(reply.open);
  const isScopeOpen = reply.in_scope === "open";
  if (!open.length && !isScopeOpen) return [];
  const rows = open.map(([id, outcomes]) => {
    const decision = frame.decisions.get(id);
    const told = outcomes.map((outcome) => nodesMake("dd", {}, nodesTied(wordsPossible(frame, decision, outcome))));
    return nodesMake("div", {}, nodesMake("dt", {}, decision.label), told);
  });
  return [
    nodesMake("h4", { id: "look-possible-head" }, say("still-open")),
    isScopeOpen ? nodesMake("p", {}, say("scope-open")) : "",
    rows.length ? nodesMake("dl", { class: "possible" }, rows) : "",
  ].filter((one) => one !== "");
}

/** How many questions are left, in words: at most so many, or those alone that are always asked. */
function pendingCounted(frame, { reply, unread }) {
  const left = new Set([...unread, ...reply.missing.filter((id) => !reply.irrelevant.includes(id))]);
  const always = reply.missing.filter((id) => frame.factors.get(id).always_ask && !left.has(id));
  return say(left.size ? "may-matter" : "always-asked", { count: left.size + always.length });
}

/** What is told of it aloud. */
function pendingTold(frame, { reply }) {
  const settled = Object.entries(reply.advice)
    .filter(([, outcome]) => outcome.state !== "not-needed")
    .map(([id, outcome]) => {
      const decision = frame.decisions.get(id);
      return say("labelled", { label: decision.label, text: wordsOutcome(frame, decision, outcome, reply.advice) });
    });
  const next = frame.factors.get(reply.next);
  return [
    settled.length ? say("told-settled", { settled: settled.join("; ") }) : "",
    next ? say("told-next", { question: wordsAsks(frame, next.id) }) : say("told-unfinished"),
  ].filter(Boolean).join(" ");
}
