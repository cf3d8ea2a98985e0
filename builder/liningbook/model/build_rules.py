"""A rule's front matter to a rule: conditions, answers, what it avoids, overrides and evidence."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from liningbook.finding import Span
from liningbook.model.build_materials import agent_fits
from liningbook.model.building import Building
from liningbook.model.grading.read_evidence import read_evidence
from liningbook.model.read_values import (
    names_of,
    read_amount,
    read_date,
    read_quantity,
    read_written_date,
    whole_number,
)
from liningbook.model.read_when import read_when
from liningbook.model.rule import Answer, Decision, Dissent, Name, Rule
from liningbook.notation.quantity import UNITS
from liningbook.sources.documents import Document
from liningbook.sources.node import Node, fields_of, get, listed, text_of
from liningbook.sources.text import one_line

MOST_CIRCLES = 20
"""So many circles of overrides are reported; rules tangled worse than that are told by the first of them."""

MOST_NAMED = 8
"""So many links of one circle are shown."""


def build_rules(building: Building) -> dict[str, Any]:
    """The rules by their names, sorted."""
    made = ((name, _rule(building, name, document)) for name, document in sorted(building.folder.rules.items()))
    rules = {name: rule for name, rule in made if rule is not None}
    report_circles(building, rules)
    return {"rules": rules}


def _rule(building: Building, name: str, document: Document) -> Rule | None:
    """The rule of one file, or nothing where its fields could not be read."""
    root = document.root
    if root is None or root.fields is None:
        return None
    first = Span(document.file, 2, 1, 2, 2)
    title, valid = get(root, "title"), get(root, "valid")
    advise = {
        decision.id: answer
        for decision, child in _under(building, get(root, "advise"))
        if (answer := _answer(building, decision, child)) is not None
    }
    start, end = read_date(building, get(valid, "from")), read_date(building, get(valid, "until"))
    if start is not None and end is not None and start > end and valid is not None:
        building.find("empty-range", valid, "days-crossed")
    review_by = read_written_date(building, get(root, "review_by"))
    return Rule(
        id=name,
        title=one_line(title.text or "") if title else name,
        span=title.span if title else first,
        when=read_when(building, get(root, "when")),
        evidence=read_evidence(building, get(root, "evidence"), first),
        advise=advise,
        avoid=_avoided(building, root, "avoid"),
        never=_avoided(building, root, "never"),
        overrides=building.names(get(root, "overrides"), building.folder.rule_names, "unknown-rule"),
        valid_from=start,
        valid_until=end,
        valid_span=valid.span if valid else None,
        review_by=review_by,
        dissent=tuple(Dissent(text_of(node, "name"), text_of(node, "reason")) for node in listed(get(root, "dissent"))),
        body=document.body,
        body_line=document.body_line,
    )


def _under(building: Building, node: Node | None) -> Iterator[tuple[Decision, Node]]:
    """What a rule says under each decision that it names."""
    for name, child in fields_of(node).items():
        if building.known_key(name, child, building.decisions, "unknown-decision") and building.decisions:
            yield building.decisions[name], child


def _avoided(building: Building, root: Node, field: str) -> dict[str, tuple[Name, ...]]:
    def is_good(named: Node, decision: Decision) -> bool:
        if decision.is_layer:
            return agent_fits(building, named, decision)
        return building.known(named, decision.answers, "unknown-answer", of=decision.id)

    building.without_decision(get(root, field), field)
    return {
        decision.id: tuple(name for item in listed(child) if is_good(item, decision) for name in names_of(item))
        for decision, child in _under(building, get(root, field))
    }


def _answer(building: Building, decision: Decision, node: Node) -> Answer | None:
    judgement = get(node, "judgement")
    if judgement is not None:
        return Answer("judgement", node.place, meaning=("judgement",), why=one_line(judgement.text or ""))
    if node.fields is not None:
        if decision.is_layer:
            return _layer(building, decision, node)
        building.find("schema", node, "no-layer", label=decision.label, answers=tuple(decision.answers))
    if node.text is None:
        return None
    text = node.text.strip()
    if not decision.is_layer:
        known = building.known(Node(text, node.span), decision.answers, "unknown-answer", of=decision.id)
        return Answer("choice", node.span, meaning=("choice", text), name=text) if known else None
    if text == "none":
        return Answer("none", node.span, meaning=("none",))
    if building.agents is not None and text in building.agents:
        if agent_fits(building, Node(text, node.span), decision):
            building.find("schema", node, "bare-agent", agent=text)
    elif building.agents is not None:
        fitting = tuple(agent.id for agent in building.agents.values() if decision.layer in agent.classes)
        building.find("unknown-name", node, "no-such-answer", decision=decision.id, name=text, fitting=fitting)
    return None


def _layer(building: Building, decision: Decision, node: Node) -> Answer | None:
    agent = get(node, "agent")
    if agent is None or not agent_fits(building, agent, decision):
        return None
    name = (agent.text or "").strip()
    thickness = read_amount(building, get(node, "thickness"), UNITS["mm"])
    wait = read_quantity(building, get(node, "wait"), UNITS["min"])
    coats = whole_number(text_of(node, "coats"))
    place = building.name(get(node, "place"), building.places, "unknown-place") or None
    layers = [d.id for d in (building.decisions or {}).values() if d.is_layer and d.id != decision.id]
    before, after = (building.name(get(node, key), layers, "unknown-other-layer") for key in ("before", "after"))
    own_place = building.agents[name].place if building.agents and name in building.agents else None
    effective = place or own_place or next(reversed(building.places or {}), None)
    amounts = (thickness.base if thickness else None, coats, effective, wait.base if wait else None)
    meaning = ("layer", name, *amounts, before, after)
    return Answer("layer", node.span, meaning, name, thickness, coats, place, wait, before, after)


def report_circles(building: Building, rules: Mapping[str, Rule]) -> None:
    """A finding (`override-circle`) for each circle of overrides, on the link that closes it."""
    done: set[str] = set()
    found = 0
    for start in sorted(rules):
        # The rules on the way from the first one, each with its further links; and the links between them.
        way = {} if start in done else {start: iter(rules[start].overrides)}
        path: list[Name] = []
        while way:
            name = next(reversed(way))
            link = next(way[name], None)
            if link is None:
                done.add(name)
                del way[name], path[-1:]
            elif link.id in way:
                found += 1
                if found > MOST_CIRCLES:
                    return
                _report_circle(building, list(way), path, link)
            elif link.id in rules and link.id not in done:
                path.append(link)
                way[link.id] = iter(rules[link.id].overrides)


def _report_circle(building: Building, names: list[str], path: list[Name], closing: Name) -> None:
    begin = names.index(closing.id)
    links = path[begin : begin + MOST_NAMED]
    what = "override-circle" if len(names) - begin > 1 else "override-of-itself"
    building.find("override-circle", closing.span, what, tuple((link.span, "overrides") for link in links),
                  others=tuple(link.id for link in links), circle=(*names[begin:], closing.id))  # fmt: skip
