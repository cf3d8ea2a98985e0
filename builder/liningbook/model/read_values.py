"""Nodes of the sources to names, dates, numbers, units and thicknesses.

What is wrong becomes a finding on the smallest wrong text and the value is left out; what the schema has already
reported (a value of the wrong type) is passed over.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from datetime import date
from fractions import Fraction
from typing import TypeVar

from liningbook.model.building import Building
from liningbook.model.rule import Amount, Name, WrittenDate
from liningbook.notation.codec import BOUNDS, range_of
from liningbook.notation.interval import UNBOUNDED, Range
from liningbook.notation.quantity import (
    MAX_DIGITS,
    ONE_NUMBER,
    NotAQuantity,
    Quantity,
    Unit,
    has_finite_decimal,
    is_too_long,
    not_too_long,
    parse_number,
    parse_short_quantity,
    parse_unit,
)
from liningbook.sources.node import Node, listed

T = TypeVar("T")


def whole_number(text: str | None) -> int | None:
    """The number that a few plain digits stand for, or nothing."""
    return int(text) if text is not None and re.fullmatch("[0-9]{1,4}", text) else None


def names_of(node: Node | None) -> tuple[Name, ...]:
    """The names in a list, or a single one."""
    return tuple(Name(child.text, child.span) for child in listed(node) if child.text is not None)


def read_date(building: Building, node: Node | None) -> date | None:
    """A calendar date; a finding (`schema`) if there is no such day."""
    if node is None or node.text is None:
        return None
    try:
        return date.fromisoformat(node.text.strip())
    except ValueError:
        building.find("schema", node, "no-such-day", written=node.text)
        return None


def read_written_date(building: Building, node: Node | None) -> WrittenDate | None:
    """A calendar date with its place."""
    day = read_date(building, node)
    return WrittenDate(day, node.span) if day is not None and node is not None else None


def read_digits(building: Building, node: Node | None, least: Fraction | None = None) -> Fraction | None:
    """A plain number; a finding (`schema`, `out-of-limits`) if it is none or below `least`."""
    number = _parsed(building, node, "schema", lambda text: not_too_long(parse_number(text.strip())))
    if node is None or number is None or least is None or number >= least:
        return number
    building.find("out-of-limits", node, "too-small", written=node.text, least=least)
    return None


def read_quantity(building: Building, node: Node | None, like: Unit) -> Quantity | None:
    """A number with a unit; a finding (`unit`) if it is none."""
    return _parsed(building, node, "unit", lambda text: parse_short_quantity(text, like))


def read_unit(building: Building, node: Node | None) -> Unit | None:
    """A unit code; a finding (`unit`) if it is not known."""
    return _parsed(building, node, "unit", parse_unit)


def _parsed(building: Building, node: Node | None, kind: str, parse: Callable[[str], T]) -> T | None:
    if node is None or node.text is None:
        return None
    try:
        return parse(node.text)
    except NotAQuantity as no:
        building.find(kind, node, no.what, **no.given)
        return None


def read_in_unit(building: Building, node: Node | None, unit: Unit) -> Fraction | None:
    """A quantity as a number of `unit`; a finding (`unit`) if it cannot be written exactly in it."""
    quantity = read_quantity(building, node, unit)
    return None if quantity is None or node is None else _exactly(building, node, quantity, unit)


def _exactly(building: Building, node: Node, quantity: Quantity, unit: Unit) -> Fraction | None:
    value = quantity.in_unit(unit)
    if not has_finite_decimal(value):
        building.find("unit", node, "inexact-in-unit", quantity=quantity, unit=unit.code)
    elif is_too_long(value):
        building.find("unit", node, "too-long-in-unit", unit=unit.code, most=MAX_DIGITS)
    elif abs(value) >= UNBOUNDED:
        building.find("unit", node, "too-large")
    else:
        return value
    return None


def read_bounds(building: Building, node: Node, unit: Unit | None, like: Unit) -> tuple[Range, Unit] | None:
    """A range mapping as a range in `unit`, or else in its first quantity's; a missing bound is UNBOUNDED away."""
    fields = node.fields
    if not fields:
        if fields is not None:
            building.find("empty-range", node, "no-bound")
        return None
    bounds: dict[str, Fraction] = {}
    for key, child in fields.items():
        if key in BOUNDS and not ONE_NUMBER.fullmatch(child.text or ""):
            _report_range(building, fields, key, like)
        quantity = read_quantity(building, child, like) if key in BOUNDS else None
        if quantity is not None:
            unit = unit or quantity.unit
        value = None if quantity is None or unit is None else _exactly(building, child, quantity, unit)
        if value is not None:
            bounds[key] = value
    return (range_of(bounds), unit) if unit and len(bounds) == len(fields) else None


def _report_range(building: Building, fields: Mapping[str, Node], key: str, like: Unit) -> None:
    """A finding (`unit`) if a whole range stands where one end of it should, with the range that is meant."""
    from liningbook.notation.written_range import range_meant

    if meant := range_meant(fields[key].text or "", like):
        ends = [meant["range"][1:-1] if name == key else f"{name}: {node.text}" for name, node in fields.items()]
        whole = "{" + ", ".join(ends) + "}" if meant["range"] else ""
        building.find("unit", fields[key], "range-for-bound", key=key, **{**meant, "range": whole})


def read_amount(building: Building, node: Node | None, like: Unit) -> Amount | None:
    """A layer's thickness as written; a finding if it holds nothing or reaches below zero."""
    if node is None or node.fields is None:
        return None
    bounds = read_bounds(building, node, None, like)
    if bounds is None:
        return None
    found, unit = bounds
    if found.is_empty:
        building.find("empty-range", node, "nothing-between")
        return None
    if any(-UNBOUNDED < value < 0 for value in (found.lower.value, found.upper.value)):
        building.find("out-of-limits", node, "negative-thickness")
        return None
    if found.upper.value <= 0:
        building.find("empty-range", node, "no-thickness")
        return None
    return Amount(found, unit)
