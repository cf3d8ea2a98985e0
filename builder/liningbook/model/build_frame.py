"""`protocol.yaml` to factors, decisions, exclusions and acceptances."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from fractions import Fraction
from typing import Any, cast

from liningbook.model.build_values import (
    STATES,
    Context,
    check_value,
    get,
    listed,
    names_of,
    read_date,
    read_digits,
    read_in_unit,
    read_unit,
    read_when,
    shorten,
    text_of,
)
from liningbook.model.protocol import (
    Acceptance,
    Agent,
    Approval,
    Decision,
    Exclusion,
    Factor,
    Person,
    Reading,
    Scheme,
)
from liningbook.notation.interval import Lower, Range, Upper
from liningbook.notation.quantity import Unit
from liningbook.resources import ENGLISH, languages
from liningbook.sources.suggest import did_you_mean
from liningbook.sources.yaml_nodes import Node, one_line


def read_factors(context: Context, root: Node | None) -> dict[str, Factor] | None:
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
    span = node.key_span or node.span
    if kind == "quantity":
        return _quantity_factor(context, name, label, node)
    if kind == "yes-no":
        return Factor(name, label, "yes-no", span, {"yes": "yes", "no": "no"})
    values = get(node, "values")
    if kind != "choice" or values is None or not values.fields:
        return None
    labels = {value: one_line(child.text or "") or value for value, child in values.fields.items()}
    return Factor(name, label, "choice", span, labels)


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
        context.find(
            "empty-range", upper_node, f"{label} ends before it begins", "write the smaller limit in `at_least`"
        )
        return None
    limits = Range(Lower(low, True), Upper(high, True))
    step_node = get(node, "step")
    step = read_in_unit(context, step_node, unit)
    if step is not None and step <= 0 and step_node is not None:
        context.find("out-of-limits", step_node, "a step is more than nothing", f"write for example `0.1 {unit.code}`")
        step = None
    factor = Factor(name, label, "quantity", node.key_span or node.span, unit=unit, limits=limits, step=step)
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
        context.find("out-of-limits", scale_node, "the scale of a reading is more than 0", "write for example `1`")
    offset = read_in_unit(context, get(node, "offset"), unit)
    uncertainty_node = get(node, "uncertainty")
    uncertainty = read_in_unit(context, uncertainty_node, unit)
    if uncertainty is not None and uncertainty < 0 and uncertainty_node is not None:
        context.find("out-of-limits", uncertainty_node, "an uncertainty is not less than nothing", "write 0 or more")
    guard = read_digits(context, get(node, "guard_band"), Fraction(0))
    cautious = text_of(node, "cautious")
    return Reading(
        method=text_of(node, "method"),
        scale=Fraction(1) if scale is None else scale,
        offset=offset or Fraction(0),
        uncertainty=uncertainty or Fraction(0),
        guard_band=Fraction(1) if guard is None else guard,
        cautious=cast(Any, cautious) if cautious in ("below", "above") else None,
        span=node.key_span or node.span,
    )


def read_decisions(
    context: Context, root: Node | None, agents: Mapping[str, Agent] | None
) -> dict[str, Decision] | None:
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
    span = node.key_span or node.span
    label = text_of(node, "label") or name
    layer = text_of(node, "layer") or None
    answers_node = get(node, "answers")
    answers = {}
    if answers_node is not None and answers_node.fields is not None:
        answers = {key: one_line(child.text or "") or key for key, child in answers_node.fields.items()}
        for key, child in answers_node.fields.items():
            context.taken(child, key, (*STATES, "judgement"))
    decision = Decision(name, label, span, layer, answers)
    needed = get(node, "needed_when")
    if needed is None or needed.fields is None or len(needed.fields) != 1:
        return decision
    on, values = next(iter(needed.fields.items()))
    if on not in earlier:
        order = list(everything)
        place = values.key_span or values.span
        if on not in order:
            context.unknown(place, on, earlier, "earlier decision")
        elif on == name:
            context.find("unknown-name", place, f"{label} cannot depend on its own answer",
                         "name a decision that is listed before it")  # fmt: skip
        elif order.index(on) > order.index(name):
            context.find("unknown-name", place, f"'{on}' is not decided before {label}", f"list {on} above {name}")
        return decision
    known = answers_to(earlier[on], agents)
    wanted = tuple(n.id for n in names_of(values) if context.known(Node(n.id, n.span), known, f"answer to {on}"))
    return Decision(name, label, span, layer, answers, (on, wanted))


def answers_to(decision: Decision, agents: Mapping[str, Agent] | None) -> list[str] | None:
    """The words by which an answer to a decision can be named; `None` where the agents could not be read."""
    if not decision.is_layer:
        return list(decision.answers)
    if agents is None:
        return None
    return ["none", *(a.id for a in agents.values() if decision.layer in a.classes)]


def read_people(context: Context, root: Node | None) -> tuple[tuple[Person, ...], tuple[Approval, ...]]:
    """The authors, and who approved the edition."""
    authors = tuple(
        Person(text_of(node, "name"), text_of(node, "role"), text_of(node, "interests"))
        for node in listed(get(root, "authors"))
    )
    approved = []
    for node in listed(get(root, "approved")):
        day = read_date(context, get(node, "on"))
        if day is not None:
            approved.append(Approval(text_of(node, "name"), text_of(node, "role"), day))
    return authors, tuple(approved)


def read_exclusions(context: Context, root: Node | None) -> tuple[Exclusion, ...]:
    """The cases that cannot occur or are out of scope."""
    return tuple(
        Exclusion(read_when(context, get(node, "when")), text_of(node, "because"), text_of(node, "instead"), node.span)
        for node in listed(get(root, "excluded"))
        if node.fields is not None
    )


def read_acceptances(
    context: Context, root: Node | None, names: Mapping[str, Collection[str] | None]
) -> tuple[Acceptance, ...]:
    """The warnings that the practice has looked at and accepts; `names` has what is known of each kind of thing."""
    found = []
    for node in listed(get(root, "accepted")):
        if node.fields is None:
            continue
        narrowed: dict[str, object] = {}
        for key in ("decision", "irritant", "agent", "factor", "entry"):
            for name in names_of(get(node, key)):
                if context.known(Node(name.id, name.span), names.get(key), key):
                    narrowed[key] = name.id
        rules = names_of(get(node, "rules")) or names_of(get(node, "rule"))
        if rules:
            known = [name for name in rules if context.known(Node(name.id, name.span), names.get("rule"), "rule")]
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


def read_language(context: Context, root: Node | None) -> str:
    """The tag of the language of what is printed and shown; a finding (`schema`) for one without a catalogue."""
    node, known = get(root, "language"), languages()
    if node is None or node.text is None:
        return ENGLISH
    if node.text not in known:
        context.find("schema", node, f"there is no language '{shorten(node.text)}' here",
                     did_you_mean(node.text, known), f"write one of {', '.join(known)}")  # fmt: skip
    return node.text


def read_scheme(root: Node | None) -> Scheme | None:
    """The evidence scheme, if it is one."""
    text = text_of(root, "evidence_scheme")
    return cast(Any, text) if text in ("grade", "ocebm-2011") else None
