"""Which part of all combinations some cases are.

A quantity counts by its length within the limits (with a `step` by the number of its multiples), everything else by the
number of its values. A share speaks of combinations in a table, not of patients.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from itertools import accumulate
from math import lcm, prod

from liningbook.space.boxes import Box, runs
from liningbook.space.cells import Axis, Space

PLACES = 4
"""Decimals of a share in an output."""


class Weights:
    """The size of every box of a space, as a whole number (of units that are the same for all its boxes)."""

    def __init__(self, space: Space) -> None:
        self._sums = [[0, *accumulate(_cell_weights(axis))] for axis in space.axes]
        self._known: list[dict[int, int]] = [{} for _ in space.axes]

    def of(self, box: Box) -> int:
        """The weight of a box; a single value of a quantity without `step` has none."""
        return prod([self.of_mask(axis, mask) for axis, mask in enumerate(box)])

    def of_all(self, boxes: Iterable[Box]) -> int:
        """The weight of disjoint boxes together."""
        return sum(self.of(box) for box in boxes)

    def of_mask(self, axis: int, mask: int) -> int:
        """The weight of some cells of one axis."""
        known = self._known[axis]
        weight = known.get(mask)
        if weight is None:
            sums = self._sums[axis]
            weight = known[mask] = sum(sums[last + 1] - sums[first] for first, last in runs(mask))
        return weight


def _cell_weights(axis: Axis) -> list[int]:
    """The weights of the cells of an axis, brought to whole numbers."""
    if axis.factor.kind != "quantity":
        return [1] * axis.count
    step = axis.factor.step
    if step is not None:
        return [
            -(-cell.upper.value // step) - 1 - cell.lower.value // step if cell.lower.value < cell.upper.value else 1
            for cell in axis.cells
        ]
    lengths = [cell.upper.value - cell.lower.value for cell in axis.cells]
    if not any(lengths):
        return [1] * axis.count
    unit = lcm(*(length.denominator for length in lengths))
    return [int(length * unit) for length in lengths]


def share_text(share: Fraction, upwards: bool) -> str:
    """A share with four decimals, rounded upwards or downwards."""
    scaled = share * 10**PLACES
    number = -(-scaled.numerator // scaled.denominator) if upwards else scaled.numerator // scaled.denominator
    return f"{number // 10**PLACES}.{number % 10**PLACES:0{PLACES}}"
