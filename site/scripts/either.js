// What is too close to call: within the uncertainty of what was read off, or judged by eye, it could be one or the other.

/**
 * Both answers side by side, for what was read off and for what was judged by eye; nothing where neither is close.
 * `head` is what the values that count come to, where the case is finished.
 */
function eitherShow(frame, reply, head = "") {
  const shown = [];
  if (reply.borderline) {
    const lead = nodesMake(
      "p", {},
      nodesTied(`${say("too-close-lead", { bands: wordsBand(frame, reply) })} `),
      nodesSaid("or-ask", { contact: wordsContact(frame) }),
    );
    shown.push(["look-borderline", [lead], Object.keys(reply.borderline), reply]);
  }
  if (reply.near) {
    const leads = Object.entries(reply.near).map(([id, found]) => eitherNear(frame, reply, id, found));
    leads.push(nodesMake("p", {}, say("near-otherwise")));
    shown.push(["look-near", leads, Object.keys(reply.near), Object.values(reply.near)[0]]);
  }
  return shown.map(([id, leads, factors, doubt], place) => {
    const values = eitherCounted(frame, reply, factors);
    const isLast = place === shown.length - 1;
    return nodesMake(
      "section", { class: "say-head borderline tone tone-doubt", id },
      place === 0 ? nodesMake("p", { class: "say-line" }, nodesTied(eitherHead(frame, reply))) : "",
      leads,
      eitherRows(frame, reply, doubt, values),
      head && isLast ? nodesMake("p", { class: "say-then" }, nodesSaid("counted-as", { values, head })) : "",
    );
  });
}

/** `Too close to call: Liner. Look again.`; nothing where the advice is the same either way. */
function eitherHead(frame, reply) {
  const doubts = [reply.borderline ? reply : {}, ...Object.values(reply.near ?? {})];
  if (!reply.borderline && !reply.near) return "";
  const ids = new Set(doubts.flatMap(({ otherwise = {} }) => Object.keys(otherwise)));
  const what = [...ids].map((id) => frame.decisions.get(id).label);
  return say("too-close", { what: sayBoth(what.length ? what : [say("covered-or-not")]) });
}

/** That a value judged by eye is near a threshold, and which way to lean. */
function eitherNear(frame, reply, id, { uncertainty, cautious }) {
  const factor = frame.factors.get(id);
  const value = wordsValue(frame, factor, reply.case[id]);
  const values = { factor: factor.label, value, within: wordsQuantity(frame, uncertainty) };
  return nodesMake("p", {}, nodesTied(say(cautious === "below" ? "near-below" : "near-above", values)));
}

/** Decision by decision what it is as the values count, and what it could be; and the cases that are not covered. */
function eitherRows(frame, reply, { otherwise = {}, otherwise_not_covered: notCovered = [] }, values) {
  const rows = Object.entries(otherwise).map(([id, outcomes]) => {
    const decision = frame.decisions.get(id);
    const own = reply.advice[id];
    const said = own ? wordsPossible(frame, decision, own, reply.advice) : say("not-covered");
    const others = outcomes.map((outcome) =>
      nodesMake("dd", { class: "or-else" }, nodesMake("span", {}, say("either-or")), " ",
        nodesMake("b", {}, nodesTied(wordsPossible(frame, decision, outcome)))),
    );
    return nodesMake(
      "div", {},
      nodesMake("dt", {}, decision.label),
      nodesMake("dd", {}, nodesMake("span", {}, nodesTied(say("either-as", { values }))), " ", nodesMake("b", {}, nodesTied(said))),
      others,
    );
  });
  const outside = notCovered.map((text) => nodesMake("p", {}, nodesSaid("case-not-covered", { text })));
  return [rows.length ? nodesMake("dl", { class: "either" }, rows) : "", ...outside].filter((one) => one !== "");
}

/** What the values count as that are doubtful: `Remaining dentine thickness 0.44 mm`. */
function eitherCounted(frame, reply, ids) {
  const factors = ids.map((id) => frame.factors.get(id));
  const [only, ...others] = factors;
  if (!others.length) return wordsCounted(frame, only, reply);
  return sayBoth(factors.map((factor) => `${factor.label} ${wordsCounted(frame, factor, reply)}`));
}
