"""Ranges in the notation of the sources (format, section 3) to exact ranges and back, as plain values ready for JSON.

A range is a mapping of bounds, `{above: 0.5 mm, at_most: 2 mm}` or `{exactly: 0.5 mm}`; several ranges are a list of
such mappings. A bound that is left out is the end of the whole in which the range lies.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction
from typing import Any

from liningbook.notation.interval import EVERYTHING, Lower, Range, RangeSet, Upper
from liningbook.notation.quantity import Quantity, Unit, parse_quantity

STARTS = {"above": False, "at_least": True, "exactly": True}
"""Each bound at which a range starts, with whether the number itself lies in the range."""

ENDS = {"below": False, "at_most": True, "exactly": True}
"""Each bound at which a range ends, with whether the number itself lies in the range."""

BOUNDS = ("above", "at_least", "below", "at_most", "exactly")


def range_of(bounds: Mapping[str, Fraction], whole: Range = EVERYTHING) -> Range:
    """The range with these bounds (perhaps an empty one)."""
    lower, upper = whole.lower, whole.upper
    for name, value in bounds.items():
        if name in STARTS:
            lower = Lower(value, STARTS[name])
        if name in ENDS:
            upper = Upper(value, ENDS[name])
    return Range(lower, upper)


def range_notation(stretch: Range, unit: Unit, whole: Range = EVERYTHING) -> dict[str, str]:
    """A range as the sources write it; an end that is the end of the whole is left out."""
    lower, upper = stretch.lower, stretch.upper
    if lower.value == upper.value:
        return {"exactly": str(Quantity(lower.value, unit))}
    found = {}
    if lower != whole.lower:
        found["at_least" if lower.closed else "above"] = str(Quantity(lower.value, unit))
    if upper != whole.upper:
        found["at_most" if upper.closed else "below"] = str(Quantity(upper.value, unit))
    return found


def ranges_notation(stretches: Iterable[Range], unit: Unit, whole: Range) -> dict[str, str] | list[dict[str, str]]:
    """Ranges as the sources write them: a single one without a list."""
    found = [range_notation(stretch, unit, whole) for stretch in stretches]
    return found[0] if len(found) == 1 else found


def ranges_from_notation(value: Mapping[str, str] | Sequence[Any], unit: Unit, whole: Range) -> RangeSet:
    """What `ranges_notation` wrote as exact ranges in `unit`. Raises NotAQuantity."""
    items = [value] if isinstance(value, Mapping) else value
    return RangeSet.of(
        range_of({name: parse_quantity(text, unit).in_unit(unit) for name, text in item.items()}, whole)
        for item in items
    )
