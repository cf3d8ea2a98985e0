"""A rule's front matter to a rule: conditions, answers, what it avoids, overrides and evidence."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, cast

from liningbook.evidence import grade, ocebm
from liningbook.finding import Label, Span
from liningbook.model.build_materials import agent_fits
from liningbook.model.build_values import (
    Context,
    get,
    names_of,
    read_amount,
    read_date,
    read_quantity,
    read_when,
    shorten,
    text_of,
    whole_number,
)
from liningbook.model.protocol import (
    Adjustment,
    Agent,
    Answer,
    Dated,
    Decision,
    Evidence,
    Name,
    Rule,
    Scheme,
)
from liningbook.notation.quantity import UNITS
from liningbook.sources.documents import Document
from liningbook.sources.yaml_nodes import Node, one_line

GRADE_FIELDS = ("certainty", "strength", "lowered", "raised")
OCEBM_FIELDS = ("level", "question", "adjusted")

MOST_CIRCLES = 20
"""So many circles of overrides are reported; rules tangled worse than that are told by the first of them."""

MOST_NAMED = 8
"""So many rules of one circle are named."""


@dataclass(frozen=True)
class Tables:
    """The names that rules may use; `None` where a table could not be read."""

    decisions: Mapping[str, Decision] | None
    agents: Mapping[str, Agent] | None
    places: Mapping[str, str] | None
    rules: frozenset[str]
    scheme: Scheme | None


def read_rule(context: Context, tables: Tables, name: str, document: Document) -> Rule | None:
    """The rule of one file, or nothing where its fields could not be read."""
    root = document.root
    if root is None or root.fields is None:
        return None
    first = Span(document.file, 2, 1, 2, 2)
    title = get(root, "title")
    advise = {}
    for decision, child in _under(context, tables, get(root, "advise")):
        answer = _answer(context, tables, decision, child)
        if answer is not None:
            advise[decision.id] = answer
    valid = get(root, "valid")
    start, end = read_date(context, get(valid, "from")), read_date(context, get(valid, "until"))
    if start is not None and end is not None and start > end and valid is not None:
        context.find("empty-range", valid, "the rule ends before it begins", "write the earlier day in `from`")
    review = get(root, "review_by")
    day = read_date(context, review)
    return Rule(
        id=name,
        title=one_line(title.text or "") if title else name,
        span=title.span if title else first,
        when=read_when(context, get(root, "when")),
        evidence=_evidence(context, tables, get(root, "evidence"), first),
        advise=advise,
        avoid=_avoided(context, tables, get(root, "avoid")),
        never=_avoided(context, tables, get(root, "never")),
        overrides=_overrides(context, tables, get(root, "overrides")),
        valid_from=start,
        valid_until=end,
        valid_span=valid.span if valid else None,
        review_by=Dated(day, review.span) if day and review else None,
        body=document.body,
        body_line=document.body_line,
    )


def _under(context: Context, tables: Tables, node: Node | None) -> list[tuple[Decision, Node]]:
    found = []
    for name, child in ((node.fields or {}) if node is not None else {}).items():
        if context.known_key(name, child, tables.decisions, "decision") and tables.decisions:
            found.append((tables.decisions[name], child))
    return found


def _overrides(context: Context, tables: Tables, node: Node | None) -> tuple[Name, ...]:
    return tuple(n for n in names_of(node) if context.known(Node(n.id, n.span), tables.rules, "rule"))


def _avoided(context: Context, tables: Tables, node: Node | None) -> dict[str, tuple[Name, ...]]:
    found = {}
    for decision, child in _under(context, tables, node):
        names = []
        for name in names_of(child):
            item = Node(name.id, name.span)
            if decision.is_layer:
                good = agent_fits(context, item, decision, tables.agents)
            else:
                good = context.known(item, decision.answers, f"answer to {decision.id}")
            if good:
                names.append(name)
        found[decision.id] = tuple(names)
    return found


def _answer(context: Context, tables: Tables, decision: Decision, node: Node) -> Answer | None:
    judgement = get(node, "judgement")
    if judgement is not None:
        why = one_line(judgement.text or "")
        return Answer("judgement", node.key_span or node.span, meaning=("judgement",), why=why)
    if node.fields is not None:
        if not decision.is_layer:
            context.find("schema", node, f"{decision.label} is no layer, so no agent is named here",
                         f"write one of {', '.join(decision.answers)}, or `{{judgement: why}}`")  # fmt: skip
            return None
        return _layer(context, tables, decision, node)
    if node.text is None:
        return None
    text = node.text.strip()
    if not decision.is_layer:
        known = context.known(Node(text, node.span), decision.answers, f"answer to {decision.id}")
        return Answer("choice", node.span, meaning=("choice", text), name=text) if known else None
    if text == "none":
        return Answer("none", node.span, meaning=("none",))
    if tables.agents is not None and text in tables.agents:
        context.find("schema", node, "an agent is named as a field of the answer", f"write `{{agent: {text}}}`")
    elif tables.agents is not None:
        context.find("unknown-name", node, f"there is no answer to {decision.id} called '{shorten(text)}'",
                     "write `none`, or `{agent: …}` with an agent of materials.yaml")  # fmt: skip
    return None


def _layer(context: Context, tables: Tables, decision: Decision, node: Node) -> Answer | None:
    agent_node = get(node, "agent")
    if agent_node is None or not agent_fits(context, agent_node, decision, tables.agents):
        return None
    name = (agent_node.text or "").strip()
    thickness = read_amount(context, get(node, "thickness"), UNITS["mm"])
    wait = read_quantity(context, get(node, "wait"), UNITS["min"])
    coats, place_node = whole_number(text_of(node, "coats")), get(node, "place")
    place = None
    if place_node is not None and place_node.text and context.known(place_node, tables.places, "place"):
        place = place_node.text
    before, after = (_neighbour(context, tables, decision, get(node, key)) for key in ("before", "after"))
    agent = tables.agents.get(name) if tables.agents else None
    effective = place or (agent.place if agent else None) or (list(tables.places)[-1] if tables.places else None)
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


def _neighbour(context: Context, tables: Tables, decision: Decision, node: Node | None) -> str | None:
    if node is None or node.text is None or tables.decisions is None:
        return None
    layers = [d.id for d in tables.decisions.values() if d.is_layer and d.id != decision.id]
    return node.text if context.known(node, layers, "other layer decision") else None


def _evidence(context: Context, tables: Tables, node: Node | None, fallback: Span) -> Evidence:
    if node is None or node.fields is None:
        return Evidence("research", fallback)
    foreign = OCEBM_FIELDS if tables.scheme == "grade" else GRADE_FIELDS
    for key in foreign if tables.scheme else ():
        if (child := get(node, key)) is not None:
            other = "ocebm-2011" if tables.scheme == "grade" else "grade"
            context.find("schema", child.key_span or child, f"`{key}` belongs to the evidence scheme {other}, and this "
                         f"protocol grades by {tables.scheme}", "take it out, or change `evidence_scheme` in "
                         "protocol.yaml")  # fmt: skip
    _check_design(context, tables, get(node, "design"))
    adjusted_node = get(node, "adjusted")
    adjusted = None
    if adjusted_node is not None and (to := whole_number(text_of(adjusted_node, "to"))) is not None:
        adjusted = Adjustment(to, text_of(adjusted_node, "because"), adjusted_node.span)
    return Evidence(
        basis=cast(Any, text_of(node, "basis") or "research"),
        span=node.key_span or node.span,
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


def _check_design(context: Context, tables: Tables, node: Node | None) -> None:
    """A finding (`schema`) for a study design that the protocol's evidence scheme does not know."""
    if node is None or node.text is None or tables.scheme is None:
        return
    if tables.scheme == "grade":
        known = node.text.strip() in grade.START
        names = list(grade.START)
    else:
        known = ocebm.canonical_design(node.text) is not None
        names = list(ocebm.DESIGNS)
    if not known:
        context.find("schema", node, f"the evidence scheme {tables.scheme} knows no design '{shorten(node.text)}'",
                     f"write one of {', '.join(names)}")  # fmt: skip


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
    circle = [*names[begin:], closing.id]
    labels = tuple(Label(n.span, f"overrides {n.id}") for n in path[begin : begin + MOST_NAMED])
    message = "a rule overrides itself" if len(circle) == 2 else "these rules override one another in a circle"
    if len(circle) > MOST_NAMED:
        circle = [*circle[: MOST_NAMED - 1], "…", closing.id]
    context.find("override-circle", closing.span, f"{message}: {' → '.join(circle)}",
                 "take out one of these overrides", label=f"overrides {closing.id}", related=labels)  # fmt: skip
