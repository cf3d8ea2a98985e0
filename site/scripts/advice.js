// The advice for one case as elements of the page: plain words first, the rules behind each answer when they are unfolded.

/**
 * What a reply comes to: `{tone, head, stops, judged, troubles, placed, left, others, idle}`.
 *
 * `head` is one line. The rest are decisions by what became of them: no further (`stops`), the dentist decides
 * (`judged`), no single answer (`troubles`), placed in this order (`placed`), no layer (`left`), any other answer
 * (`others`), not needed (`idle`); each is `{decision, outcome, told}` with Python's words of the answer in `told`.
 */
function adviceSum(frame, reply) {
  const found = { tone: "out", head: say("not-covered"), stops: [], judged: [], troubles: [] };
  Object.assign(found, { placed: [], left: [], others: [], idle: [] });
  if (!reply.in_scope) return found;
  for (const [id, outcome] of Object.entries(reply.advice)) {
    const decision = frame.decisions.get(id);
    const told = outcome.state === "answered" ? wordsAnswer(frame, decision, outcome.answer, reply.advice) : null;
    found[adviceKind(frame, decision, outcome, told)].push({ decision, outcome, told });
  }
  const order = ({ decision }) => reply.placing_order.indexOf(decision.id);
  found.placed.sort((one, other) => order(one) - order(other));
  return { ...found, ...adviceHead(found) };
}

function adviceKind(frame, decision, outcome, told) {
  if (outcome.state === "not-needed") return "idle";
  if (!told) return "troubles";
  if (told.kind === "judgement") return "judged";
  if (told.kind === "layer") return "placed";
  if (told.kind === "none") return "left";
  const { gate, goes_on: onward } = frame.words.decisions[decision.id];
  return gate && !onward.includes(outcome.answer) ? "stops" : "others";
}

function adviceHead({ stops, judged, troubles, placed, left, others }) {
  const parts = [];
  const labels = (list) => sayBoth(list.map(({ decision }) => decision.label));
  const answers = (list) => sayBoth(list.map(({ told }) => told.words));
  if (troubles.length) parts.push(say("no-single-answer", { decisions: labels(troubles) }));
  if (stops.length) parts.push(say("stop", { answers: answers(stops) }));
  if (judged.length) parts.push(say("dentist-decides", { text: labels(judged) }));
  if (placed.length) parts.push(say("place", { count: placed.length }));
  else if (left.length && !parts.length) parts.push(say("place-nothing"));
  if (!parts.length) parts.push(others.length ? answers(others) : say("nothing-asked-for"));
  const tones = [["fault", troubles], ["refer", stops], ["decide", judged], ["place", placed], ["nothing", left]];
  return { head: parts.join(". "), tone: tones.find(([, list]) => list.length)?.[0] ?? "place" };
}

/** The case in words: every factor with its value, a reading with what became of it. */
function adviceCase(frame, reply) {
  const list = nodesMake("dl", { class: "case-facts" });
  const notes = [];
  for (const factor of frame.factors.values()) {
    if (reply.missing.includes(factor.id)) continue;
    const { value, entered, warnings } = wordsEntered(frame, factor, reply);
    const counted = entered ? say("treated-as", { value }) : value;
    list.append(nodesMake("div", {}, adviceTerm(factor.label), nodesMake("dd", {}, nodesTied(counted))));
    if (entered) notes.push(nodesMake("p", { class: "case-entered" }, nodesMake("b", {}, nodesTied(entered))));
    notes.push(...warnings.map((text) => adviceSigned("stop", nodesMake("b", {}, text))));
  }
  const notAsked = wordsNotAsked(frame, reply);
  return [...notes, list, notAsked ? nodesMake("p", { class: "case-not-asked" }, notAsked) : ""].filter((one) => one !== "");
}

function adviceTerm(label) {
  return nodesMake("dt", {}, `${say("label", { label })} `);
}

function adviceSigned(sign, ...children) {
  return nodesMake("p", { class: "signed" }, nodesSign(sign), nodesMake("span", {}, ...children));
}

/**
 * Everything that is said of a case, in the order in which it is read.
 *
 * `figures` holds the drawings (SVG texts) `section` and `reading`, each empty where there is nothing to draw.
 */
function adviceShow(frame, compiled, given, reply, sum, figures) {
  const unclear = sum.troubles.length + sum.judged.length + (reply.in_scope ? 0 : 1) > 0;
  return [
    adviceSummary(reply, sum),
    ...(reply.in_scope ? [] : adviceOutside(reply)),
    ...sum.troubles.map((one) => adviceTrouble(frame, one, reply)),
    ...sum.stops.map((one) => adviceRest(frame, one)),
    ...sum.judged.map((one) => adviceJudged(frame, one)),
    unclear ? adviceWhom(frame) : "",
    ...sum.others.map((one) => adviceRest(frame, one)),
    adviceLayers(frame, sum, figures.section),
    ...sum.left.map((one) => adviceRest(frame, one)),
    adviceIdle(sum),
    adviceBorderline(frame, reply),
    groundsBarred(frame, compiled, given, reply),
    adviceThreats(frame, reply),
    adviceReading(reply, figures.reading),
  ].filter((one) => one !== "");
}

function adviceSummary(reply, sum) {
  return nodesMake(
    "div",
    { class: `say-head tone tone-${sum.tone}` },
    nodesMake("p", { class: "say-line" }, nodesTied(sum.head)),
    reply.borderline
      ? nodesMake("p", {}, say("borderline"), " ", nodesMake("a", { href: "#look-borderline" }, say("see-what-else")))
      : "",
  );
}

function adviceOutside(reply) {
  const { because, instead } = reply;
  return [
    because ? nodesMake("p", {}, nodesTied(because)) : "",
    instead ? nodesMake("p", {}, nodesSaid("instead", { text: instead })) : "",
  ];
}

function adviceWhom(frame) {
  return nodesMake("p", { class: "whom" }, nodesSaid("where-to-turn", { contact: wordsContact(frame) }));
}

function adviceTrouble(frame, { decision, outcome }, { advice }) {
  return nodesMake(
    "div", { class: "say tone tone-fault" },
    nodesMake("p", {}, nodesSaid("labelled-bold", { label: decision.label, text: wordsOutcome(frame, decision, outcome) }), "."),
    nodesMake("ul", {}, wordsTrouble(frame, decision, outcome, advice).map((line) => nodesMake("li", {}, nodesTied(line)))),
    groundsWhy(frame, decision, outcome),
  );
}

function adviceJudged(frame, { decision, outcome, told }) {
  return nodesMake(
    "div", { class: "say tone tone-decide" },
    nodesMake("p", { class: "under" }, decision.label),
    nodesMake("p", {}, nodesMake("b", {}, nodesTied(say("dentist-decides", { text: told.why || decision.label })))),
    groundsWhy(frame, decision, outcome),
  );
}

function adviceLayers(frame, { placed }, section) {
  if (!placed.length && !section) return "";
  const items = placed.map(({ decision, outcome, told }, place) =>
    nodesMake(
      "li", {},
      nodesMake("span", { class: "number" }, String(place + 1)),
      nodesMake(
        "div", {},
        nodesMake("p", { class: "under" }, decision.label),
        nodesMake("p", { class: "agent" }, told.agent),
        adviceFacts(told.facts),
        groundsWhy(frame, decision, outcome),
      ),
    ),
  );
  return nodesMake(
    "div", { class: "layers" },
    items.length ? nodesMake("ol", { class: "layer-list", role: "list" }, items) : "",
    section ? nodesMake("figure", { class: "layer-figure" }, nodesDrawing(section)) : "",
  );
}

function adviceFacts(facts) {
  if (!facts.length) return "";
  const rows = facts.map(([label, text]) =>
    nodesMake("div", {}, nodesMake("dt", {}, label), nodesMake("dd", {}, nodesTied(text))),
  );
  return nodesMake("dl", { class: "layer-facts" }, rows);
}

/** An answer that needs no more than its words: a layer that is not placed, or that the layers follow. */
function adviceRest(frame, { decision, outcome, told }) {
  return nodesMake(
    "div", { class: "rest" },
    nodesMake("p", {}, told.kind === "none" ? nodesTied(told.words) : nodesSaid("labelled-bold", { label: decision.label, text: told.words })),
    groundsWhy(frame, decision, outcome),
  );
}

function adviceIdle({ idle }) {
  if (!idle.length) return "";
  const decisions = sayBoth(idle.map(({ decision }) => decision.label));
  return nodesMake("div", { class: "rest" }, nodesMake("p", {}, say("not-needed", { decisions })));
}

/** What else it could be within the uncertainty of what was read. */
function adviceBorderline(frame, reply) {
  if (!reply.borderline) return "";
  const lines = Object.entries(reply.otherwise ?? {}).flatMap(([id, outcomes]) => {
    const decision = frame.decisions.get(id);
    return outcomes.map((outcome) =>
      nodesMake("li", {}, nodesSaid("labelled-bold", { label: decision.label, text: wordsPossible(frame, decision, outcome) })),
    );
  });
  const outside = (reply.otherwise_not_covered ?? []).map((text) =>
    nodesMake("li", {}, nodesSaid("case-not-covered", { text })),
  );
  return nodesMake(
    "section", { class: "borderline", id: "look-borderline", "aria-labelledby": "look-borderline-head", tabindex: "-1" },
    nodesMake("h4", { id: "look-borderline-head" }, say("borderline-head")),
    nodesMake("p", {}, nodesTied(say("borderline-lead", { bands: wordsBand(frame, reply) }))),
    nodesMake("ul", {}, lines, outside),
    nodesMake("p", {}, nodesSaid("borderline-end", { values: adviceCounted(frame, reply), contact: wordsContact(frame) })),
  );
}

/** What the readings count as: `Remaining dentine thickness 0.44 mm`. */
function adviceCounted(frame, reply) {
  const factors = Object.keys(reply.readings).map((id) => frame.factors.get(id));
  return sayBoth(factors.map((factor) => `${factor.label} ${wordsCounted(frame, factor, reply)}`));
}

/** What brings an irritant to the pulp here and what stops it, by the protocol's table and no more. */
function adviceThreats(frame, reply) {
  const isLayer = Object.keys(reply.advice).some((id) => frame.decisions.get(id).layer && reply.advice[id].state !== "not-needed");
  if (reply.in_scope && !reply.irritants && isLayer) return nodesMake("p", { class: "say-more" }, nodesSaid("threats-unknown"));
  const threats = reply.irritants ?? [];
  if (!threats.length) return "";
  const open = threats.filter((threat) => !threat.stopped);
  const label = (threat) => frame.irritants.get(threat.irritant).label;
  const said = open.length
    ? nodesSaid("threats-open", { irritants: sayBoth(open.map(label)) })
    : nodesSaid("threats-stopped", { count: threats.length });
  const rows = threats.map((threat) =>
    nodesMake("div", {}, adviceTerm(label(threat)), nodesMake("dd", {}, wordsThreat(frame, threat))),
  );
  return nodesMake(
    "details", { class: "say-more" },
    nodesMake("summary", {}, said),
    nodesMake("dl", { class: "threats" }, rows),
  );
}

function adviceReading(reply, drawing) {
  if (!drawing) return "";
  return nodesMake(
    "details", { class: "say-more" },
    nodesMake("summary", {}, nodesSaid("readings-drawn", { count: Object.keys(reply.readings).length })),
    nodesMake("figure", { class: "reading-figure" }, nodesDrawing(drawing)),
  );
}
