"""`protocol.yaml` to factors, decisions, exclusions and acceptances."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction
from typing import Any, cast

from liningbook.evidence.reporting.stated import Stated
from liningbook.finding import Span
from liningbook.model.building import Building
from liningbook.model.protocol import Acceptance, Approval, Exclusion, Person, StopQuestion
from liningbook.model.read_values import names_of, read_date, read_digits, read_in_unit, read_unit, read_written_date
from liningbook.model.read_when import check_value, read_when
from liningbook.model.rule import Decision, Factor, Judged, Reading
from liningbook.model.values import STATES
from liningbook.notation.interval import Lower, Range, Upper
from liningbook.notation.quantity import Unit
from liningbook.resources import ENGLISH, languages
from liningbook.sources.citations.identifiers import bare_orcid
from liningbook.sources.node import Node, fields_of, get, labels_of, listed, text_of, texts_of
from liningbook.sources.text import near, one_line

PLACED = (
    "title", "edition", "status", "in_force_from", "stop_questions", "authors", "scope", "contact", "site_address",
)  # fmt: skip
"""Fields of which it may be said where they stand."""

PLAIN_TEXTS = ("title", "practice", "edition", "status", "scope", "contact", "site_address")


def define_frame(building: Building) -> None:
    """Factors, decisions and the evidence scheme."""
    root = building.folder.root("protocol")
    scheme = text_of(root, "evidence_scheme")
    building.scheme = cast(Any, scheme) if scheme in ("grade", "ocebm-2011") else None
    building.factors = _factors(building, get(root, "factors"))
    _define_decisions(building, get(root, "decisions"))
    building.told_apart(fields_of(root, "factors"), "factors")
    building.told_apart(fields_of(root, "decisions"), "decisions")
    for key, part, what in (("factors", "values", "values"), ("decisions", "answers", "answers")):
        for name, node in fields_of(root, key).items():
            building.told_apart(fields_of(node, part), what, of=text_of(node, "label") or name)


def build_frame(building: Building) -> dict[str, Any]:
    """What stands in `protocol.yaml`."""
    root = building.folder.root("protocol")
    return {
        **{name: text_of(root, name) for name in PLAIN_TEXTS},
        "cautions": texts_of(root, "cautions"),
        "scheme": building.scheme,
        "rating_up": text_of(root, "rating_up") or "current",
        "review_by": read_written_date(building, get(root, "review_by")),
        "span": Span("protocol.yaml", 1, 1, 1, 2),
        "factors": building.factors or {},
        "decisions": building.decisions or {},
        "authors": tuple(
            Person(
                text_of(node, "name"),
                text_of(node, "role"),
                text_of(node, "interests"),
                bare_orcid(text_of(node, "orcid")),
                orcid.span if (orcid := get(node, "orcid")) else None,
            )
            for node in listed(get(root, "authors"))
        ),
        "approved": tuple(
            approval for node in listed(get(root, "approved")) if (approval := _approval(building, node)) is not None
        ),
        "in_force_from": read_date(building, get(root, "in_force_from")),
        "stop_questions": tuple(_stop_question(building, node) for node in listed(get(root, "stop_questions"))),
        "written": {name: node.span for name in PLACED if (node := get(root, name)) is not None},
        "reporting": _reporting(get(root, "reporting")),
        "language": _language(building, get(root, "language")),
        "excluded": tuple(
            Exclusion(
                read_when(building, get(node, "when")), text_of(node, "because"), text_of(node, "instead"), node.span
            )
            for node in listed(get(root, "excluded"))
            if node.fields is not None
        ),
        "accepted": tuple(
            _acceptance(building, node) for node in listed(get(root, "accepted")) if node.fields is not None
        ),
    }


def _factors(building: Building, node: Node | None) -> dict[str, Factor] | None:
    """The factors by id; `None` where the field itself cannot be read."""
    if node is None or node.fields is None:
        return None
    found = {}
    for name, child in node.fields.items():
        factor = _factor(building, name, child)
        if factor is not None:
            found[name] = replace(factor, always_ask=text_of(child, "always_ask") == "yes")
        else:
            building.broken.add(name)
    return found


def _factor(building: Building, name: str, node: Node) -> Factor | None:
    kind = text_of(node, "kind")
    label = text_of(node, "label") or name
    if kind == "quantity":
        return _quantity_factor(building, name, label, node)
    if kind == "yes-no":
        return Factor(name, label, "yes-no", node.place, {"yes": "yes", "no": "no"})
    values = labels_of(node, "values")
    return Factor(name, label, "choice", node.place, values) if kind == "choice" and values else None


def _quantity_factor(building: Building, name: str, label: str, node: Node) -> Factor | None:
    unit = read_unit(building, get(node, "unit"))
    if unit is None:
        return None
    lowest, highest = get(node, "at_least"), get(node, "at_most")
    low, high = read_in_unit(building, lowest, unit), read_in_unit(building, highest, unit)
    if low is None or high is None:
        return None
    if low > high:
        building.find("empty-range", highest or node, "limits-crossed", label=label)
        return None
    step = read_in_unit(building, get(node, "step"), unit)
    if step is not None and step <= 0:
        building.find("out-of-limits", get(node, "step") or node, "no-step", unit=unit.code)
        step = None
    limits = Range(Lower(low, True), Upper(high, True))
    factor = Factor(name, label, "quantity", node.place, unit=unit, limits=limits, step=step)
    check_value(building, factor, low, lowest or node)
    check_value(building, factor, high, highest or node)
    judged = _judged(building, get(node, "judged"), unit)
    return replace(factor, reading=_reading(building, get(node, "reading"), unit), judged=judged)


def _reading(building: Building, node: Node | None, unit: Unit) -> Reading | None:
    if node is None or node.fields is None:
        return None
    scale = read_digits(building, get(node, "scale"))
    if scale is not None and scale <= 0:
        building.find("out-of-limits", get(node, "scale") or node, "no-scale")
    offset = read_in_unit(building, get(node, "offset"), unit)
    uncertainty = read_in_unit(building, get(node, "uncertainty"), unit)
    if uncertainty is not None and uncertainty < 0:
        building.find("out-of-limits", get(node, "uncertainty") or node, "negative-uncertainty")
    guard = read_digits(building, get(node, "guard_band"), Fraction(0))
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


def _judged(building: Building, node: Node | None, unit: Unit) -> Judged | None:
    cautious = text_of(node, "cautious")
    uncertainty = read_in_unit(building, get(node, "uncertainty"), unit)
    if node is None or uncertainty is None or cautious not in ("below", "above"):
        return None  # its shape was found wrong
    if uncertainty <= 0:
        building.find("out-of-limits", get(node, "uncertainty") or node, "judged-surely", unit=unit.code)
        return None
    return Judged(uncertainty, cast(Any, cautious), node.place)


def _define_decisions(building: Building, node: Node | None) -> None:
    """The decisions by id, in their order; none at all where the field itself cannot be read."""
    if node is None or node.fields is None:
        return
    building.decisions = {}
    for name, child in node.fields.items():
        if child.fields is None:
            building.broken.add(name)
            continue
        for answer, said in fields_of(child, "answers").items():
            building.taken(said, answer, (*STATES, "judgement"))
        label, layer = text_of(child, "label") or name, text_of(child, "layer") or None
        needed = _needed_when(building, name, label, get(child, "needed_when"), list(node.fields))
        building.decisions[name] = Decision(name, label, child.place, layer, labels_of(child, "answers"), needed)


def _needed_when(
    building: Building, name: str, label: str, node: Node | None, order: list[str]
) -> tuple[str, tuple[str, ...]] | None:
    """The earlier decision, and the answers to it, under which a decision is needed."""
    building.without_decision(node, "needed_when")
    if node is None or node.fields is None or len(node.fields) != 1:
        return None
    on, values = next(iter(node.fields.items()))
    earlier = building.decisions or {}
    if on in earlier:
        wanted = building.names(values, answers_to(building, earlier[on]), "unknown-answer", of=on)
        return on, tuple(answer.id for answer in wanted)
    if on not in order:
        building.unknown(values.place, on, earlier, "unknown-earlier-decision")
    elif on == name:
        building.find("unknown-name", values.place, "depends-on-itself", label=label)
    elif order.index(on) > order.index(name):
        building.find("unknown-name", values.place, "decided-later", on=on, label=label, name=name)
    return None


def answers_to(building: Building, decision: Decision) -> list[str] | None:
    """The words by which an answer to a decision can be named; `None` where the agents could not be read."""
    if not decision.is_layer:
        return list(decision.answers)
    if building.agents is None:
        return None
    return ["none", *(agent.id for agent in building.agents.values() if decision.layer in agent.classes)]


def _approval(building: Building, node: Node) -> Approval | None:
    day, digest = read_written_date(building, get(node, "on")), get(node, "digest")
    if day is None:
        return None
    place = digest.span if digest is not None else None
    return Approval(
        text_of(node, "name"), text_of(node, "role"), day.on, day.span, text_of(node, "digest").lower(), place
    )


def _stop_question(building: Building, node: Node) -> StopQuestion:
    """A plain text, or a mapping of the question and the cases that it screens."""
    if node.text is not None:
        return StopQuestion(one_line(node.text), span=node.span)
    screens = get(node, "screens")
    when = None if screens is None else read_when(building, screens)
    return StopQuestion(text_of(node, "ask"), when, node.place if screens is None else screens.place)


def _acceptance(building: Building, node: Node) -> Acceptance:
    """A warning that the practice has looked at and accepts; entries, which it may name, are numbers."""
    tables: Mapping[str, Any] = {
        "decision": building.decisions,
        "irritant": building.irritants,
        "agent": building.agents,
        "factor": building.factors,
        "entry": None,
        "reference": None,
        "table": None,
        "outcome": None,
    }
    narrowed: dict[str, object] = {}
    for key, table in tables.items():
        for name in building.names(get(node, key), table, f"unknown-{key}"):
            narrowed[key] = name.id
    rules = next((rules for key in ("rules", "rule") if names_of(rules := get(node, key))), None)
    if rules is not None:
        known = building.names(rules, building.folder.rule_names, "unknown-rule")
        narrowed["rules"] = tuple(name.id for name in known)
    if file := text_of(node, "file"):
        narrowed["file"] = file
    return Acceptance(
        kind=text_of(node, "kind"),
        narrowed=narrowed,
        when=read_when(building, get(node, "when")),
        because=text_of(node, "because"),
        by=text_of(node, "by"),
        until=read_date(building, get(node, "until")),
        span=node.span,
    )


def _reporting(node: Node | None) -> dict[str, Stated]:
    """What is said of how the protocol was made, in the order of the sources."""
    found = {}
    for topic, child in fields_of(node).items():
        text = "" if child.text is None else one_line(child.text)
        found[topic] = Stated(text, text_of(child, "not_applicable"), child.place)
    return found


def _language(building: Building, node: Node | None) -> str:
    """The tag of the language of what is printed and shown; a finding (`schema`) for one without a catalogue."""
    known = languages()
    if node is None or not node.text:
        return ENGLISH
    if node.text not in known:
        building.find("schema", node, "unknown-language", written=node.text, near=near(node.text, known), known=known)
    return node.text
