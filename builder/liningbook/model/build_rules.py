"""A rule's front matter to a rule: conditions, answers, what it avoids, overrides and evidence."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, cast

from liningbook.evidence import grade, ocebm
from liningbook.finding import Span
from liningbook.model.build_materials import agent_fits
from liningbook.model.building import Building
from liningbook.model.context import Context
from liningbook.model.read_values import names_of, read_amount, read_date, read_quantity, whole_number
from liningbook.model.read_when import read_when
from liningbook.model.rule import Adjustment, Answer, Decision, Evidence, Name, Rule, WrittenDate
from liningbook.notation.quantity import UNITS
from liningbook.sources.documents import Document
from liningbook.sources.node import Node, fields_of, get, text_of
from liningbook.sources.text import one_line

GRADE_FIELDS = ("certainty", "strength", "lowered", "raised")
OCEBM_FIELDS = ("level", "question", "adjusted")

MOST_CIRCLES = 20
"""So many circles of overrides are reported; rules tangled worse than that are told by the first of them."""

MOST_NAMED = 8
"""So many links of one circle are shown."""


def build_rules(building: Building) -> dict[str, Any]:
    """The rules by their names, sorted."""
    rules = {}
    for name, document in sorted(building.folder.rules.items()):
        rule = _rule(building, name, document)
        if rule is not None:
            rules[name] = rule
    report_circles(building.context, rules)
    return {"rules": rules}


def _rule(building: Building, name: str, document: Document) -> Rule | None:
    """The rule of one file, or nothing where its fields could not be read."""
    root = document.root
    if root is None or root.fields is None:
        return None
    first = Span(document.file, 2, 1, 2, 2)
    title = get(root, "title")
    advise = {}
    for decision, child in _under(building, get(root, "advise")):
        answer = _answer(building, decision, child)
        if answer is not None:
            advise[decision.id] = answer
    valid = get(root, "valid")
    start, end = read_date(building.context, get(valid, "from")), read_date(building.context, get(valid, "until"))
    if start is not None and end is not None and start > end and valid is not None:
        building.context.find("empty-range", valid, "days-crossed")
    review = get(root, "review_by")
    day = read_date(building.context, review)
    return Rule(
        id=name,
        title=one_line(title.text or "") if title else name,
        span=title.span if title else first,
        when=read_when(building.context, get(root, "when")),
        evidence=_evidence(building, get(root, "evidence"), first),
        advise=advise,
        avoid=_avoided(building, get(root, "avoid")),
        never=_avoided(building, get(root, "never")),
        overrides=_overrides(building, get(root, "overrides")),
        valid_from=start,
        valid_until=end,
        valid_span=valid.span if valid else None,
        review_by=WrittenDate(day, review.span) if day and review else None,
        body=document.body,
        body_line=document.body_line,
    )


def _under(building: Building, node: Node | None) -> list[tuple[Decision, Node]]:
    found = []
    for name, child in fields_of(node).items():
        if building.context.known_key(name, child, building.decisions, "unknown-decision") and building.decisions:
            found.append((building.decisions[name], child))
    return found


def _overrides(building: Building, node: Node | None) -> tuple[Name, ...]:
    known = building.rules
    return tuple(n for n in names_of(node) if building.context.known(Node(n.id, n.span), known, "unknown-rule"))


def _avoided(building: Building, node: Node | None) -> dict[str, tuple[Name, ...]]:
    found = {}
    for decision, child in _under(building, node):
        names = []
        for name in names_of(child):
            item = Node(name.id, name.span)
            if decision.is_layer:
                good = agent_fits(building.context, item, decision, building.agents)
            else:
                good = building.context.known(item, decision.answers, "unknown-answer", of=decision.id)
            if good:
                names.append(name)
        found[decision.id] = tuple(names)
    return found


def _answer(building: Building, decision: Decision, node: Node) -> Answer | None:
    judgement = get(node, "judgement")
    if judgement is not None:
        why = one_line(judgement.text or "")
        return Answer("judgement", node.place, meaning=("judgement",), why=why)
    if node.fields is not None:
        if not decision.is_layer:
            building.context.find("schema", node, "no-layer", label=decision.label, answers=tuple(decision.answers))
            return None
        return _layer(building, decision, node)
    if node.text is None:
        return None
    text = node.text.strip()
    if not decision.is_layer:
        known = building.context.known(Node(text, node.span), decision.answers, "unknown-answer", of=decision.id)
        return Answer("choice", node.span, meaning=("choice", text), name=text) if known else None
    if text == "none":
        return Answer("none", node.span, meaning=("none",))
    if building.agents is not None and text in building.agents:
        building.context.find("schema", node, "bare-agent", agent=text)
    elif building.agents is not None:
        building.context.find("unknown-name", node, "no-such-answer", decision=decision.id, name=text)
    return None


def _layer(building: Building, decision: Decision, node: Node) -> Answer | None:
    context = building.context
    agent_node = get(node, "agent")
    if agent_node is None or not agent_fits(building.context, agent_node, decision, building.agents):
        return None
    name = (agent_node.text or "").strip()
    thickness = read_amount(building.context, get(node, "thickness"), UNITS["mm"])
    wait = read_quantity(building.context, get(node, "wait"), UNITS["min"])
    coats, place_node = whole_number(text_of(node, "coats")), get(node, "place")
    place = None
    if place_node is not None and place_node.text and context.known(place_node, building.places, "unknown-place"):
        place = place_node.text
    before, after = (_neighbour(building, decision, get(node, key)) for key in ("before", "after"))
    agent = building.agents.get(name) if building.agents else None
    effective = place or (agent.place if agent else None) or (list(building.places)[-1] if building.places else None)
    meaning = (
        "layer",
        name,
        thickness.base if thickness else None,
        coats,
        effective,
        wait.base if wait else None,
        before,
        after,
    )
    return Answer("layer", node.span, meaning, name, thickness, coats, place, wait, before, after)


def _neighbour(building: Building, decision: Decision, node: Node | None) -> str | None:
    if node is None or node.text is None or building.decisions is None:
        return None
    layers = [d.id for d in building.decisions.values() if d.is_layer and d.id != decision.id]
    return node.text if building.context.known(node, layers, "unknown-other-layer") else None


def _evidence(building: Building, node: Node | None, fallback: Span) -> Evidence:
    if node is None or node.fields is None:
        return Evidence("research", fallback)
    foreign = OCEBM_FIELDS if building.scheme == "grade" else GRADE_FIELDS
    for key in foreign if building.scheme else ():
        if (child := get(node, key)) is not None:
            other = "ocebm-2011" if building.scheme == "grade" else "grade"
            building.context.find("schema", child.place, "field-of-other-scheme", field=key, other=other,
                                  scheme=building.scheme)  # fmt: skip
    _check_design(building, get(node, "design"))
    adjusted_node = get(node, "adjusted")
    adjusted = None
    if adjusted_node is not None and (to := whole_number(text_of(adjusted_node, "to"))) is not None:
        adjusted = Adjustment(to, text_of(adjusted_node, "because"), adjusted_node.span)
    return Evidence(
        basis=cast(Any, text_of(node, "basis") or "research"),
        span=node.place,
        certainty=text_of(node, "certainty") or None,
        strength=text_of(node, "strength") or None,
        design=text_of(node, "design") or None,
        lowered=_counts(get(node, "lowered")),
        raised=_counts(get(node, "raised")),
        level=whole_number(text_of(node, "level")),
        question=text_of(node, "question") or None,
        adjusted=adjusted,
        note=text_of(node, "note"),
        cites=names_of(get(node, "cites")),
        places={key: child.span for key, child in node.fields.items()},
    )


def _check_design(building: Building, node: Node | None) -> None:
    """A finding (`schema`) for a study design that the protocol's evidence scheme does not know."""
    if node is None or node.text is None or building.scheme is None:
        return
    if building.scheme == "grade":
        known = node.text.strip() in grade.START
        names = list(grade.START)
    else:
        known = ocebm.canonical_design(node.text) is not None
        names = list(ocebm.DESIGNS)
    if not known:
        building.context.find("schema", node, "unknown-design", scheme=building.scheme, written=node.text,
                              known=tuple(names))  # fmt: skip


def _counts(node: Node | None) -> dict[str, int]:
    fields = (node.fields or {}) if node is not None else {}
    counts = {key: whole_number(child.text) for key, child in fields.items()}
    return {key: count for key, count in counts.items() if count is not None}


def report_circles(context: Context, rules: Mapping[str, Rule]) -> None:
    """A finding (`override-circle`) for each circle of overrides, on the link that closes it."""
    state: dict[str, int] = {}
    found = 0
    for start in sorted(rules):
        path: list[Name] = []
        stack = [(start, iter(rules[start].overrides))]
        if state.get(start):
            continue
        state[start] = 1
        while stack:
            name, rest = stack[-1]
            link = next(rest, None)
            if link is None:
                state[name] = 2
                stack.pop()
                if path:
                    path.pop()
            elif link.id in rules and state.get(link.id, 0) == 0:
                state[link.id] = 1
                path.append(link)
                stack.append((link.id, iter(rules[link.id].overrides)))
            elif state.get(link.id) == 1:
                found += 1
                if found > MOST_CIRCLES:
                    return
                _report_circle(context, [n for n, _ in stack], path, link)


def _report_circle(context: Context, names: list[str], path: list[Name], closing: Name) -> None:
    begin = names.index(closing.id)
    links = path[begin : begin + MOST_NAMED]
    what = "override-circle" if len(names) - begin > 1 else "override-of-itself"
    context.find("override-circle", closing.span, what, tuple((link.span, "overrides") for link in links),
                 others=tuple(link.id for link in links), circle=(*names[begin:], closing.id))  # fmt: skip
