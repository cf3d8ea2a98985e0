// What stands behind the advice: the rules that give each answer with their grades and citations, and what rules say not
// to use in the case.

/** The rules behind a decision: those that give its answers, and those that bar one. */
function groundsRules(outcome) {
  const candidates = outcome.answers ?? [outcome];
  const ids = candidates.flatMap((one) => one.rules ?? []);
  return [...new Set([...ids, ...(outcome.avoided_by ?? []).map(({ rule }) => rule)])];
}

/** The rules behind a decision, folded: their numbers and grades, unfolded their titles, citations and where they stand. */
function groundsWhy(frame, decision, outcome) {
  const rules = groundsRules(outcome);
  if (!rules.length) return "";
  const numbers = sayBoth(rules.map((id) => String(frame.words.rules[id].number)));
  const { grade } = frame.words.rules[rules[0]];
  const label = nodesMake("span", { class: "hidden" }, `, ${decision.label}`);
  return nodesMake(
    "details", { class: "say-why" },
    nodesMake("summary", {}, nodesSaid(rules.length === 1 ? "why-rule" : "why-rules", { numbers, grade }), label),
    rules.map((id) => groundsRule(frame, id)),
  );
}

/** The rules behind all of the advice, decision by decision, and those that say what not to use. */
function groundsAll(frame, compiled, given, reply) {
  const parts = Object.entries(reply.advice).flatMap(([id, outcome]) => {
    const rules = groundsRules(outcome);
    return rules.length ? [nodesMake("p", { class: "under" }, frame.decisions.get(id).label), ...rules.map((rule) => groundsRule(frame, rule))] : [];
  });
  const bars = groundsLines(frame, groundsBars(frame, compiled, given, reply).bars).map(({ label, never, rule, under }) => {
    const { number, anchor } = frame.words.rules[rule.id];
    const link = nodesMake("a", { href: `#${anchor}` }, say("the-rule", { number, title: rule.title }));
    return nodesMake("li", {}, nodesSign(never ? "never" : "avoid"),
      nodesMake("span", {}, nodesSaid("barred-by", { name: label, decisions: under.join(", "), rule: link })));
  });
  const barred = bars.length ? [nodesMake("p", { class: "under" }, say("barred")), nodesMake("ul", { class: "signed-list", role: "list" }, bars)] : [];
  return [...parts, ...barred];
}

function groundsRule(frame, id) {
  const rule = frame.rules.get(id);
  const { number, anchor, grade, cites } = frame.words.rules[id];
  const meaning = frame.words.certainties[rule.evidence.certainty];
  const sources = cites.flatMap((cited, place) => [
    place ? "; " : "",
    nodesMake("a", { href: `#reference-${cited}` }, `${frame.words.references[cited]} [${cited}]`),
  ]);
  return nodesMake(
    "div", { class: "say-rule" },
    nodesMake("p", {}, nodesMake("b", {}, nodesMake("a", { href: `#${anchor}` }, say("rule-titled", { number, title: rule.title })))),
    nodesMake("p", {}, say(rule.evidence.basis === "research" ? "how-sure" : "rests-on", {
      grade: meaning ? say("with-note", { text: grade, note: meaning }) : grade,
    })),
    sources.length ? nodesMake("p", {}, nodesSaid("references", { sources })) : "",
  );
}

/**
 * What rules say not to use in this case, where the decision is needed: `bars`, a list of `{decision, name, never, rule}`,
 * and whether there could be `more` by what was not asked.
 *
 * An `avoid` that another rule which holds and says something under the decision overrides does not count; a `never` does.
 */
function groundsBars(frame, compiled, given, reply) {
  const bars = [];
  let more = false;
  if (!reply.in_scope) return { bars, more };
  const { possible, sure } = groundsHolding(compiled, evaluatePut(compiled, given).cells);
  for (const [id, outcome] of Object.entries(reply.advice)) {
    if (outcome.state === "not-needed") continue;
    const says = (rule) => ["advise", "avoid", "never"].some((key) => Object.hasOwn(rule[key] ?? {}, id));
    const overriding = (rules) => new Set(rules.filter(says).flatMap((rule) => rule.overrides ?? []));
    const [perhaps, surely] = [overriding(possible), overriding([...sure])];
    for (const rule of possible)
      for (const [name, never] of [...(rule.never?.[id] ?? []).map((one) => [one, true]), ...(rule.avoid?.[id] ?? []).map((one) => [one, false])]) {
        if (!never && surely.has(rule.id)) continue;
        if (sure.has(rule) && (never || !perhaps.has(rule.id))) bars.push({ decision: frame.decisions.get(id), name, never, rule });
        else more = true;
      }
  }
  return { bars, more };
}

/** The rules that hold whatever is missing (`sure`, a set), and all that may hold. */
function groundsHolding(compiled, cells) {
  if (!cells.includes(null)) {
    const possible = compiled.rules.at(cells);
    return { possible, sure: new Set(possible) };
  }
  const box = cells.map((cell) => (cell === null ? null : new Set([cell])));
  const possible = partialOwners(compiled.rules, box).filter((rule) => !partialIsNever(compiled, box, compiled.rules.of(rule)));
  return { possible, sure: new Set(possible.filter((rule) => partialIsAlways(compiled, box, compiled.rules.of(rule)))) };
}

/** What is barred, each agent once for each rule that says so, `never` first. */
function groundsLines(frame, bars) {
  const lines = new Map();
  for (const { decision, name, never, rule } of bars) {
    const label = wordsNamed(frame, decision, name);
    const key = JSON.stringify([label, never, rule.id]);
    if (!lines.has(key)) lines.set(key, { label, never, rule, under: [] });
    lines.get(key).under.push(decision.label);
  }
  return [...lines.values()].sort((one, other) => Number(other.never) - Number(one.never));
}

/** What rules say not to use, in one line for never and one for avoid; nothing where nothing is barred. */
function groundsBarred(frame, compiled, given, reply) {
  const { bars, more } = groundsBars(frame, compiled, given, reply);
  const names = { never: new Map(), avoid: new Map() };
  for (const { decision, name, never } of bars) {
    const known = names[never ? "never" : "avoid"];
    const label = wordsNamed(frame, decision, name);
    known.set(label, new Set([...(known.get(label) ?? []), decision.label]));
  }
  const lines = Object.entries(names)
    .filter(([, known]) => known.size)
    .map(([key, known]) => {
      const said = [...known].map(([name, under]) => say("barred-in", { name, decisions: [...under].join(", ") }));
      return nodesMake("p", { class: "signed barred" }, nodesSign(key), nodesMake("span", {}, nodesSaid(key, { names: said.join("; ") })));
    });
  return more ? [...lines, nodesMake("p", { class: "barred-more" }, say("barred-more"))] : lines;
}
