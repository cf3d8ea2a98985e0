"""Every case that can be told apart, one cell each: a plain numbering, and sets of cells as the bits of an int.

A quantity's axis holds each threshold, both limits, and one number inside each open stretch between neighbours. With a
step only multiples are held; a stretch without one does not exist.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from fractions import Fraction
from itertools import pairwise
from typing import Any

from tests.oracle.notation import limits_of, mappings, meets, step_of, thresholds, values_of


def axis_of(name: str, factor: Mapping[str, Any], whens: Sequence[Any], more: Iterable[Fraction] = ()) -> list[Any]:
    """The values of a factor that are looked at. `more` are further thresholds."""
    if factor["kind"] != "quantity":
        return list(values_of(factor))
    low, high = limits_of(factor)
    points = sorted({low, high, *thresholds(name, factor["unit"], whens), *more})
    assert low <= points[0], f"{name} starts before its limit"
    assert points[-1] <= high, f"{name} ends after its limit"
    step = step_of(factor)
    values = [low]
    for left, right in pairwise(points):
        if step is None:
            values.append((left + right) / 2)
        elif right - left > step:
            values.append(left + step)
        values.append(right)
    if step is not None:
        assert all((value / step).denominator == 1 for value in values), f"{name} is off its step"
    return values


class Grid:
    """All cells of a protocol. A set of cells is an int, one bit a cell."""

    def __init__(
        self, factors: Mapping[str, Any], whens: Sequence[Any], more: Mapping[str, Iterable[Fraction]] | None = None
    ) -> None:
        self.factors = factors
        self.axes = {name: axis_of(name, f, whens, (more or {}).get(name, ())) for name, f in factors.items()}
        self.count = 1
        self.strides: dict[str, int] = {}
        for name, values in self.axes.items():
            self.strides[name] = self.count
            self.count *= len(values)
        self.full = (1 << self.count) - 1

    def cells(self, when: Any) -> int:
        """The cells in which a `when`, or a list of boxes, holds."""
        found = 0
        for mapping in mappings(when):
            found |= self.box(mapping)
        return found

    def box(self, mapping: Mapping[str, Any]) -> int:
        """The cells in which every condition of one mapping is met."""
        found = 1
        for name, values in self.axes.items():
            kept = range(len(values))
            if name in mapping:
                kept = [n for n in kept if meets(self.factors[name], mapping[name], values[n])]
            found = sum(found << n * self.strides[name] for n in kept)
        return found

    def case(self, cell: int) -> dict[str, Any]:
        """The values of one cell."""
        case = {}
        for name, values in self.axes.items():
            cell, n = divmod(cell, len(values))
            case[name] = values[n]
        return case

    def cases(self, cells: int) -> Iterator[dict[str, Any]]:
        """The values of every cell of a set."""
        while cells:
            lowest = cells & -cells
            yield self.case(lowest.bit_length() - 1)
            cells ^= lowest
