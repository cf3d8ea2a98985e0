"""For many cases: which of the stated conditions hold in each, and what was worked out, kept for the next time."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from functools import partial
from typing import Generic, TypeVar

from liningbook.space.boxes import Box
from liningbook.space.cells import Space

K = TypeVar("K", bound=Hashable)
V = TypeVar("V")

MOST_KEPT = 1 << 16
LONGEST_KEPT = 60
"""Longer texts are read anew each time, so that those kept stay small."""


class Kept(dict[K, V], Generic[K, V]):
    """What a function gave, for the next time that it is asked; emptied when full."""

    def __init__(self, make: Callable[[K], V]) -> None:
        super().__init__()
        self.make = make

    def __missing__(self, key: K) -> V:
        value = self.make(key)
        self.keep(key, value)
        return value

    def keep(self, key: K, value: V) -> None:
        """Keeps a value as if it had been asked for."""
        if not isinstance(key, str) or len(key) <= LONGEST_KEPT:
            if len(self) >= MOST_KEPT:
                self.clear()
            self[key] = value


class Holding:
    """Which of some boxes hold in a case: `&` of the numbers of its cells. Bit 0 is always set, bit n + 1 is box n."""

    def __init__(self, space: Space, boxes: Sequence[Box]) -> None:
        self.size = len(boxes) + 1
        self._boxes = boxes
        self._of: list[Kept[int, int]] = [Kept(partial(self._look, number)) for number in range(len(space.axes))]

    def _look(self, axis: int, cell: int) -> int:
        return 1 | sum(2 << number for number, box in enumerate(self._boxes) if box[axis] & cell)

    def on(self, axis: int, cell: int) -> int:
        """The boxes that a cell, a mask of one bit, leaves open on its axis."""
        return self._of[axis][cell]

    def of(self, case: Box) -> int:
        """The boxes that hold in a case of one cell on every axis."""
        found = -1
        for known, cell in zip(self._of, case, strict=True):
            found &= known[cell]
        return found
