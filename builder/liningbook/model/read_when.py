"""Nodes of the sources to conditions: what a `when` asks of each factor."""

from __future__ import annotations

from fractions import Fraction

from liningbook.model.building import Building
from liningbook.model.read_values import read_bounds, read_in_unit
from liningbook.model.rule import Condition, Conditions, Factor, Stretch, When
from liningbook.model.values import not_within
from liningbook.notation.interval import RangeSet
from liningbook.notation.quantity import NotAQuantity, Unit, parse_quantity
from liningbook.sources.node import Node, get, listed

MOST_ALTERNATIVES = 200
"""So many sets of conditions, or ranges, may stand in one list; who needs more has not found the pattern."""


def read_when(building: Building, node: Node | None) -> When:
    """A `when`: any of several sets of conditions; left out or empty means every case."""
    if node is None:
        return (Conditions({}),)
    if node.items is not None:
        few = _few(building, node, "too-many-conditions")
        return tuple(_conditions(building, child) for child in few) or (Conditions({}),)
    return (_conditions(building, node),)


def _few(building: Building, node: Node, what: str) -> list[Node]:
    """The items of a list; a finding (`schema`) and the first ones only if there are too many to be looked at."""
    items = listed(node)
    if len(items) > MOST_ALTERNATIVES:
        building.find("schema", node.place, what, count=len(items), most=MOST_ALTERNATIVES)
    return items[:MOST_ALTERNATIVES]


def _conditions(building: Building, node: Node) -> Conditions:
    found: dict[str, Condition] = {}
    for name, child in (node.fields or {}).items():
        if building.factors is None or not building.known_key(name, child, building.factors, "unknown-factor"):
            continue
        condition = _condition(building, building.factors[name], child)
        if condition is not None:
            found[name] = condition
    return Conditions(found, node.span)


def _condition(building: Building, factor: Factor, node: Node) -> Condition | None:
    if factor.kind == "quantity":
        stretches = _stretches(building, factor, node)
        if not stretches:
            return None
        numbers = RangeSet.of(s.range for s in stretches)
        return Condition(factor.id, node.span, node.place, numbers, tuple(stretches))
    values = _values(building, factor, node)
    return Condition(factor.id, node.span, node.place, values=values) if values else None


def _stretches(building: Building, factor: Factor, node: Node) -> list[Stretch]:
    unit, limits = factor.unit, factor.limits
    if unit is None or limits is None:
        return []
    found: list[Stretch] = []
    for item in _few(building, node, "too-many-ranges"):
        if item.fields is None:
            _no_range(building, factor, item, unit)
            continue
        for key, child in item.fields.items():
            if key == "not":
                building.find("schema", child.place, "not-of-quantity", label=factor.label)
        bounds = read_bounds(building, item, unit, unit)
        if bounds is None or not _named_within(building, factor, item):
            continue
        stretch = bounds[0].meet(limits)
        if stretch.is_empty or (factor.step is not None and not stretch.has_multiple(factor.step)):
            building.find("empty-range", item, "no-value-in-range", label=factor.label)
            continue
        found.append(Stretch(stretch, item.span))
    return found


def _no_range(building: Building, factor: Factor, node: Node, unit: Unit) -> None:
    """A finding (`schema`) for a text that stands where a range should."""
    from liningbook.notation.written_range import range_meant

    text = (node.text or "").strip()
    if meant := range_meant(text, unit):
        building.find("schema", node, "range-in-words", label=factor.label, **meant)
        return
    try:
        parse_quantity(text, unit)
    except NotAQuantity:
        text = f"0.5 {unit.code}"
    building.find("schema", node, "range-needed", label=factor.label, example=text)


def _named_within(building: Building, factor: Factor, node: Node) -> bool:
    """Whether every bound that a range names lies within the factor's limits and on its step."""
    before = len(building.findings)
    for child in (node.fields or {}).values():
        if factor.unit is not None and (value := read_in_unit(building, child, factor.unit)) is not None:
            check_value(building, factor, value, child)
    return len(building.findings) == before


def check_value(building: Building, factor: Factor, value: Fraction, place: Node) -> None:
    """A finding (`out-of-limits`) if a value does not lie within the factor's limits and on its step."""
    if outside := not_within(factor, value):
        building.find("out-of-limits", place, outside[0], **{**outside[1], "factor": factor.id})


def _values(building: Building, factor: Factor, node: Node) -> tuple[str, ...]:
    inner = get(node, "not")
    yes_no = factor.kind == "yes-no"
    if node.fields is not None and (inner is None or yes_no or len(node.fields) != 1):
        building.find("schema", node, "range-of-yes-no" if yes_no else "range-of-choice", label=factor.label)
        return ()
    if yes_no and node.items is not None:
        building.find("schema", node, "yes-no-list", label=factor.label)
        return ()
    named = [child for child in listed(inner or node) if child.fields is None and child.items is None]
    if len(named) != len(listed(inner or node)):
        building.find(
            "schema", node, "values-are-words", label=factor.label, example=next(iter(factor.values), "value")
        )
        return ()
    good = {child.text for child in named if building.known(child, factor.values, "unknown-value", of=factor.label)}
    if len(good) < len({child.text for child in named}):
        return ()
    values = tuple(v for v in factor.values if (v in good) != (inner is not None))
    if not values:
        building.find("empty-range", node, "no-value-left", label=factor.label)
    return values
