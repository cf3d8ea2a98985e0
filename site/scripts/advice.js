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

/** The case in words: every factor that is known with its value; where it is finished, what was not asked too. */
function adviceCase(frame, reply, isFinished) {
  const list = nodesMake("dl", { class: "case-facts" });
  for (const factor of frame.factors.values()) {
    if (reply.missing.includes(factor.id)) continue;
    const { value, entered } = wordsEntered(frame, factor, reply);
    const counted = entered ? say("treated-as", { value }) : value;
    list.append(nodesMake("div", {}, adviceTerm(factor.label), nodesMake("dd", {}, nodesTied(counted))));
  }
  const notAsked = isFinished ? wordsNotAsked(frame, reply) : "";
  return [list, notAsked ? nodesMake("p", { class: "case-not-asked" }, notAsked) : ""].filter((one) => one !== "");
}

function adviceTerm(label) {
  return nodesMake("dt", {}, `${say("label", { label })} `);
}

function adviceSigned(sign, ...children) {
  return nodesMake("p", { class: "signed" }, nodesSign(sign), nodesMake("span", {}, ...children));
}

/** What became of each reading, and what is strange about it. */
function adviceEntered(frame, reply) {
  return [...frame.factors.values()].filter(({ id }) => reply.readings?.[id]).flatMap((factor) => {
    const { entered, warnings } = wordsEntered(frame, factor, reply);
    return [
      entered ? nodesMake("p", { class: "case-entered" }, nodesTied(entered)) : "",
      ...warnings.map((text) => adviceSigned("stop", nodesMake("b", {}, text))),
    ];
  });
}

/** What is said of a case at a glance, in the order in which it is read: what must not be used before any layer. */
function adviceShow(frame, compiled, given, reply, sum) {
  const unclear = sum.troubles.length + sum.judged.length + (reply.in_scope ? 0 : 1) > 0;
  return [
    ...adviceVerdict(frame, reply, sum),
    ...adviceEntered(frame, reply),
    ...(reply.in_scope ? [] : adviceOutside(reply)),
    ...sum.troubles.map((one) => adviceTrouble(frame, one, reply)),
    ...sum.judged.map((one) => adviceJudged(one)),
    unclear ? adviceWhom(frame) : "",
    ...adviceIdle(frame, sum),
    ...sum.others.map((one) => adviceRest(one)),
    ...groundsBarred(frame, compiled, given, reply),
    adviceLayers(sum),
    ...sum.left.map(({ told }) => adviceLine(nodesTied(told.words))),
  ].filter((one) => one !== "");
}

/** What stands behind it, folded: the drawing, why, what reaches the pulp, the reading. */
function adviceBehind(frame, compiled, given, reply, figures) {
  return [
    adviceFold("drawn", {}, figures.section && nodesMake("figure", { class: "layer-figure" }, nodesDrawing(figures.section))),
    adviceFold("why", {}, groundsAll(frame, compiled, given, reply)),
    adviceThreats(frame, reply),
    figures.reading
      ? adviceFold("readings-drawn", { count: Object.keys(reply.readings).length },
        nodesMake("figure", { class: "reading-figure" }, nodesDrawing(figures.reading)))
      : "",
  ].filter((one) => one !== "");
}

function adviceFold(key, values, content) {
  if (!content || content.length === 0) return "";
  return nodesMake("details", { class: "say-more" }, nodesMake("summary", {}, nodesSaid(key, values)), content);
}

/** The one line that the advice comes to; where that is too close to call, both answers instead. */
function adviceVerdict(frame, reply, sum) {
  const close = eitherShow(frame, reply, sum.head);
  if (close.length) return close;
  return [
    nodesMake(
      "div", { class: `say-head tone tone-${sum.tone}` },
      nodesMake("p", { class: "say-line" }, nodesTied(sum.head)),
    ),
  ];
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
  );
}

function adviceJudged({ decision, told }) {
  return nodesMake(
    "div", { class: "say tone tone-decide" },
    nodesMake("p", { class: "under" }, decision.label),
    nodesMake("p", {}, nodesMake("b", {}, nodesTied(say("dentist-decides", { text: told.why || decision.label })))),
  );
}

/** One line a layer, in the order of placing: its number, its agent, and small beneath what layer it is and how much. */
function adviceLayers({ placed }) {
  if (!placed.length) return "";
  const items = placed.map(({ decision, told }, place) =>
    nodesMake(
      "li", {},
      nodesMake("span", { class: "number" }, String(place + 1)),
      nodesMake(
        "div", {},
        nodesMake("p", { class: "agent" }, told.agent),
        nodesMake("p", { class: "under" }, adviceFacts(decision, told.facts)),
      ),
    ),
  );
  return nodesMake("ol", { class: "layer-list", role: "list" }, items);
}

/** `Liner · Where: **Deepest spot** · …` */
function adviceFacts(decision, facts) {
  const parts = facts.map(([label, text]) =>
    nodesMake("span", { class: "layer-fact" }, `${say("label", { label })} `, nodesMake("b", {}, nodesTied(text))),
  );
  return [nodesMake("span", { class: "layer-fact" }, decision.label), ...parts].flatMap((one) => [" ", one]).slice(1);
}

function adviceLine(...children) {
  return nodesMake("p", { class: "rest" }, ...children);
}

/** An answer that needs no more than its words. */
function adviceRest({ decision, told }) {
  return adviceLine(nodesSaid("labelled-bold", { label: decision.label, text: told.words }));
}

/** What is not needed; where that is since something else must be done or decided first, that no layer is placed before. */
function adviceIdle(frame, { idle, stops, judged, troubles }) {
  const first = new Map([...stops, ...judged, ...troubles].map((one) => [one.decision.id, one]));
  const gate = ({ decision }) => (decision.layer ? wordsGate(frame, decision.id, [...first.keys()]) : "");
  const lines = [...new Set(idle.map(gate).filter(Boolean))].map((id) => {
    const { decision, told } = first.get(id);
    const isDone = told && told.kind !== "judgement";
    const key = isDone ? "place-nothing-until" : "place-nothing-until-decided";
    return nodesMake("p", { class: "until" }, nodesSaid(key, { what: isDone ? told.words : decision.label }));
  });
  const rest = idle.filter((one) => !gate(one)).map(({ decision }) => decision.label);
  return [...lines, rest.length ? adviceLine(say("not-needed", { decisions: sayBoth(rest) })) : ""];
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
