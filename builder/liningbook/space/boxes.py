"""Boxes of cases: one bitmask a factor, one bit a cell. A region is a list of disjoint boxes.

Everything is `&`, `|` and `~` on whole numbers. A boundary value is a cell like any other, so it needs no special case.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import reduce
from math import prod
from operator import or_

Box = tuple[int, ...]
"""A set of cells on every axis; the cases whose cell lies in it on each. Empty if any mask is 0."""


def bits(mask: int) -> Iterator[int]:
    """The positions of the ones, lowest first."""
    while mask:
        low = mask & -mask
        yield low.bit_length() - 1
        mask ^= low


def nth_bit(mask: int, number: int) -> int:
    """The position of a one, counted from 0 at the lowest; there must be so many."""
    low, high = 0, mask.bit_length()
    while high - low > 1:
        middle = (low + high) // 2
        below = (mask & ((1 << middle) - 1)).bit_count()
        low, high = (low, middle) if number < below else (middle, high)
    return low


def runs(mask: int) -> Iterator[tuple[int, int]]:
    """The longest stretches of neighbouring ones, as first and last position."""
    position = 0
    while mask:
        zeros = (mask & -mask).bit_length() - 1
        mask >>= zeros
        ones = (~mask & (mask + 1)).bit_length() - 1
        position += zeros
        yield position, position + ones - 1
        mask >>= ones
        position += ones


def meet(first: Box, second: Box) -> Box | None:
    """The cases in both boxes, or nothing."""
    common = tuple(a & b for a, b in zip(first, second, strict=True))
    return common if all(common) else None


def meets(first: Box, second: Box) -> bool:
    """Whether the boxes have a case in common."""
    return all(a & b for a, b in zip(first, second, strict=True))


def inside(inner: Box, outer: Box) -> bool:
    """Whether every case of the first box is in the second."""
    return all(not a & ~b for a, b in zip(inner, outer, strict=True))


def cell_count(box: Box) -> int:
    """How many combinations of cells the box holds."""
    return prod(mask.bit_count() for mask in box)


def hull(boxes: Iterable[Box]) -> Box:
    """The least box that holds all the boxes, of which there must be one at least."""
    return tuple(reduce(or_, masks) for masks in zip(*boxes, strict=True))


def on_axis(box: Box, axis: int, mask: int) -> Box:
    """The box with other cells on one axis."""
    return (*box[:axis], mask, *box[axis + 1 :])


def in_reading_order(boxes: Iterable[Box]) -> list[Box]:
    """Sorted as a reader would list them: by the first axis, then the next, low cells first, wide before narrow."""
    return sorted(boxes, key=reading_order)


def reading_order(box: Box) -> list[tuple[int, int, int]]:
    """Where a box stands among others, for sorting."""
    return [((mask & -mask), -mask.bit_count(), mask) for mask in box]
