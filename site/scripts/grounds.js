// What stands behind the advice: the rules that give each answer with their grades and citations, and what rules say not
// to use in the case.

/** The rules behind a decision, folded: their numbers and grades, unfolded their titles, citations and where they stand. */
function groundsWhy(frame, decision, outcome) {
  const candidates = outcome.answers ?? [outcome];
  const ids = candidates.flatMap((one) => one.rules ?? []);
  const barring = (outcome.avoided_by ?? []).map(({ rule }) => rule);
  const rules = [...new Set([...ids, ...barring])];
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

/** What rules say not to use, as a list; nothing where nothing is barred. */
function groundsBarred(frame, compiled, given, reply) {
  const lines = new Map();
  const { bars, more } = groundsBars(frame, compiled, given, reply);
  for (const { decision, name, never, rule } of bars) {
    const label = wordsNamed(frame, decision, name);
    const key = JSON.stringify([label, never, rule.id]);
    if (!lines.has(key)) lines.set(key, { label, never, rule, under: [] });
    lines.get(key).under.push(decision.label);
  }
  if (!lines.size && !more) return "";
  const items = [...lines.values()]
    .sort((one, other) => Number(other.never) - Number(one.never))
    .map(({ label, never, rule, under }) => {
      const { number, anchor } = frame.words.rules[rule.id];
      const link = nodesMake("a", { href: `#${anchor}` }, say("the-rule", { number, title: rule.title }));
      return nodesMake(
        "li", {}, nodesSign(never ? "never" : "avoid"),
        nodesMake("span", {}, nodesSaid(never ? "never" : "avoid", { name: label, decisions: under.join(", "), rule: link })),
      );
    });
  return nodesMake(
    "section", { class: "barred", "aria-labelledby": "look-barred-head" },
    nodesMake("h4", { id: "look-barred-head" }, say("barred")),
    items.length ? nodesMake("ul", { class: "signed-list", role: "list" }, items) : "",
    more ? nodesMake("p", {}, say("barred-more")) : "",
  );
}
