"""`protocol.yaml` to factors, decisions, exclusions and acceptances."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from fractions import Fraction
from typing import Any, cast

from liningbook.finding import Span
from liningbook.model.building import Building
from liningbook.model.context import Context
from liningbook.model.protocol import Acceptance, Agent, Approval, Exclusion, Person
from liningbook.model.read_values import names_of, read_date, read_digits, read_in_unit, read_unit
from liningbook.model.read_when import check_value, read_when
from liningbook.model.rule import Decision, Factor, Reading, WrittenDate
from liningbook.model.values import STATES
from liningbook.notation.interval import Lower, Range, Upper
from liningbook.notation.quantity import Unit
from liningbook.resources import ENGLISH, languages
from liningbook.sources.node import Node, fields_of, get, labels_of, listed, text_of, texts_of
from liningbook.sources.suggest import near


def define_frame(building: Building) -> None:
    """Factors, decisions and the evidence scheme."""
    root = building.folder.root("protocol")
    scheme = text_of(root, "evidence_scheme")
    building.scheme = cast(Any, scheme) if scheme in ("grade", "ocebm-2011") else None
    building.context.factors = _factors(building.context, root)
    building.decisions = _decisions(building.context, root, building.agents)


def build_frame(building: Building) -> dict[str, Any]:
    """What stands in `protocol.yaml`."""
    context, root = building.context, building.folder.root("protocol")
    review = get(root, "review_by")
    review_by = read_date(context, review)
    return {
        "title": text_of(root, "title"),
        "practice": text_of(root, "practice"),
        "edition": text_of(root, "edition"),
        "status": text_of(root, "status"),
        "scope": text_of(root, "scope"),
        "cautions": texts_of(root, "cautions"),
        "scheme": building.scheme,
        "review_by": WrittenDate(review_by, review.span) if review_by is not None and review is not None else None,
        "span": Span("protocol.yaml", 1, 1, 1, 2),
        "factors": context.factors or {},
        "decisions": building.decisions or {},
        "authors": tuple(
            Person(text_of(node, "name"), text_of(node, "role"), text_of(node, "interests"))
            for node in listed(get(root, "authors"))
        ),
        "approved": tuple(
            Approval(text_of(node, "name"), text_of(node, "role"), day)
            for node in listed(get(root, "approved"))
            if (day := read_date(context, get(node, "on"))) is not None
        ),
        "in_force_from": read_date(context, get(root, "in_force_from")),
        "contact": text_of(root, "contact"),
        "stop_questions": texts_of(root, "stop_questions"),
        "site_address": text_of(root, "site_address"),
        "language": _language(context, root),
        "excluded": _exclusions(context, root),
        "accepted": _acceptances(building, root),
    }


def _factors(context: Context, root: Node | None) -> dict[str, Factor] | None:
    """The factors by id; `None` where the field itself cannot be read."""
    node = get(root, "factors")
    if node is None or node.fields is None:
        return None
    found = {}
    for name, child in node.fields.items():
        factor = _factor(context, name, child)
        if factor is not None:
            found[name] = factor
        else:
            context.broken.add(name)
    return found


def _factor(context: Context, name: str, node: Node) -> Factor | None:
    kind = text_of(node, "kind")
    label = text_of(node, "label") or name
    if kind == "quantity":
        return _quantity_factor(context, name, label, node)
    if kind == "yes-no":
        return Factor(name, label, "yes-no", node.place, {"yes": "yes", "no": "no"})
    values = labels_of(node, "values")
    return Factor(name, label, "choice", node.place, values) if kind == "choice" and values else None


def _quantity_factor(context: Context, name: str, label: str, node: Node) -> Factor | None:
    unit = read_unit(context, get(node, "unit"))
    if unit is None:
        return None
    low = read_in_unit(context, get(node, "at_least"), unit)
    high = read_in_unit(context, get(node, "at_most"), unit)
    if low is None or high is None:
        return None
    upper_node = get(node, "at_most")
    if low > high and upper_node is not None:
        context.find("empty-range", upper_node, "limits-crossed", label=label)
        return None
    limits = Range(Lower(low, True), Upper(high, True))
    step_node = get(node, "step")
    step = read_in_unit(context, step_node, unit)
    if step is not None and step <= 0 and step_node is not None:
        context.find("out-of-limits", step_node, "no-step", unit=unit.code)
        step = None
    factor = Factor(name, label, "quantity", node.place, unit=unit, limits=limits, step=step)
    for key, value in (("at_least", low), ("at_most", high)):
        limit = get(node, key)
        if limit is not None and step is not None:
            check_value(context, factor, value, limit)
    reading = _reading(context, get(node, "reading"), unit)
    return Factor(name, label, "quantity", factor.span, unit=unit, limits=limits, step=step, reading=reading)


def _reading(context: Context, node: Node | None, unit: Unit) -> Reading | None:
    if node is None or node.fields is None:
        return None
    scale_node = get(node, "scale")
    scale = read_digits(context, scale_node)
    if scale is not None and scale <= 0 and scale_node is not None:
        context.find("out-of-limits", scale_node, "no-scale")
    offset = read_in_unit(context, get(node, "offset"), unit)
    uncertainty_node = get(node, "uncertainty")
    uncertainty = read_in_unit(context, uncertainty_node, unit)
    if uncertainty is not None and uncertainty < 0 and uncertainty_node is not None:
        context.find("out-of-limits", uncertainty_node, "negative-uncertainty")
    guard = read_digits(context, get(node, "guard_band"), Fraction(0))
    cautious = text_of(node, "cautious")
    return Reading(
        method=text_of(node, "method"),
        scale=Fraction(1) if scale is None else scale,
        offset=offset or Fraction(0),
        uncertainty=uncertainty or Fraction(0),
        guard_band=Fraction(1) if guard is None else guard,
        cautious=cast(Any, cautious) if cautious in ("below", "above") else None,
        span=node.place,
    )


def _decisions(context: Context, root: Node | None, agents: Mapping[str, Agent] | None) -> dict[str, Decision] | None:
    """The decisions by id, in their order; `None` where the field itself cannot be read."""
    node = get(root, "decisions")
    if node is None or node.fields is None:
        return None
    found: dict[str, Decision] = {}
    for name, child in node.fields.items():
        decision = _decision(context, name, child, found, node.fields, agents)
        if decision is not None:
            found[name] = decision
        else:
            context.broken.add(name)
    return found


def _decision(
    context: Context,
    name: str,
    node: Node,
    earlier: dict[str, Decision],
    everything: Mapping[str, Node],
    agents: Mapping[str, Agent] | None,
) -> Decision | None:
    if node.fields is None:
        return None
    label = text_of(node, "label") or name
    layer = text_of(node, "layer") or None
    answers = labels_of(node, "answers")
    for key, child in fields_of(node, "answers").items():
        context.taken(child, key, (*STATES, "judgement"))
    decision = Decision(name, label, node.place, layer, answers)
    needed = get(node, "needed_when")
    if needed is None or needed.fields is None or len(needed.fields) != 1:
        return decision
    on, values = next(iter(needed.fields.items()))
    if on not in earlier:
        order = list(everything)
        if on not in order:
            context.unknown(values.place, on, earlier, "unknown-earlier-decision")
        elif on == name:
            context.find("unknown-name", values.place, "depends-on-itself", label=label)
        elif order.index(on) > order.index(name):
            context.find("unknown-name", values.place, "decided-later", on=on, label=label, name=name)
        return decision
    known = answers_to(earlier[on], agents)
    wanted = tuple(n.id for n in names_of(values) if context.known(Node(n.id, n.span), known, "unknown-answer", of=on))
    return Decision(name, label, node.place, layer, answers, (on, wanted))


def answers_to(decision: Decision, agents: Mapping[str, Agent] | None) -> list[str] | None:
    """The words by which an answer to a decision can be named; `None` where the agents could not be read."""
    if not decision.is_layer:
        return list(decision.answers)
    if agents is None:
        return None
    return ["none", *(a.id for a in agents.values() if decision.layer in a.classes)]


def _exclusions(context: Context, root: Node | None) -> tuple[Exclusion, ...]:
    """The cases that cannot occur or are out of scope."""
    return tuple(
        Exclusion(read_when(context, get(node, "when")), text_of(node, "because"), text_of(node, "instead"), node.span)
        for node in listed(get(root, "excluded"))
        if node.fields is not None
    )


NARROWED = {
    "decision": "unknown-decision",
    "irritant": "unknown-irritant",
    "agent": "unknown-agent",
    "factor": "unknown-factor",
    "entry": "",
}
"""The fields that narrow an acceptance, each with the fault of a name there that is not known (entries have none)."""


def _acceptances(building: Building, root: Node | None) -> tuple[Acceptance, ...]:
    """The warnings that the practice has looked at and accepts."""
    context = building.context
    names: Mapping[str, Collection[str] | None] = {
        "decision": building.decisions,
        "irritant": building.irritants,
        "agent": building.agents,
        "factor": context.factors,
    }
    found = []
    for node in listed(get(root, "accepted")):
        if node.fields is None:
            continue
        narrowed: dict[str, object] = {}
        for key, what in NARROWED.items():
            for name in names_of(get(node, key)):
                if not what or context.known(Node(name.id, name.span), names.get(key), what):
                    narrowed[key] = name.id
        rules = names_of(get(node, "rules")) or names_of(get(node, "rule"))
        if rules:
            known = [name for name in rules if context.known(Node(name.id, name.span), building.rules, "unknown-rule")]
            narrowed["rules"] = tuple(name.id for name in known)
        found.append(
            Acceptance(
                kind=text_of(node, "kind"),
                narrowed=narrowed,
                when=read_when(context, get(node, "when")),
                because=text_of(node, "because"),
                by=text_of(node, "by"),
                until=read_date(context, get(node, "until")),
                span=node.span,
            )
        )
    return tuple(found)


def _language(context: Context, root: Node | None) -> str:
    """The tag of the language of what is printed and shown; a finding (`schema`) for one without a catalogue."""
    node, known = get(root, "language"), languages()
    if node is None or node.text is None:
        return ENGLISH
    if node.text not in known:
        context.find("schema", node, "unknown-language", written=node.text, near=near(node.text, known), known=known)
    return node.text
