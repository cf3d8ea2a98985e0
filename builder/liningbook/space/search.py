"""A search for uncovered cases that may be broken off, and what is then known.

First depth-first, so that a witness is found soon; then always the largest part, so that the bounds draw together fast.
What is left undecided when the time is up is known exactly: it is no more than the parts still waiting.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from heapq import heappop, heappush
from math import prod

from liningbook.space.boxes import Box, bits, cell_count, hull, in_reading_order, inside, meets
from liningbook.space.budget import Budget, OutOfTime
from liningbook.space.cover import FREE_STEPS, Member, Part, cost_of, divided, whole_part
from liningbook.space.growth import few_large
from liningbook.space.overlap import Join
from liningbook.space.region import Region
from liningbook.space.share import Weights

MOST_PIECES = 20_000
"""How many pieces of what is uncovered are kept; of more, the largest."""

MOST_SHOWN = 20
"""How many boxes are grown where there are too many to show them all."""


MOST_WAITING = 400_000
"""How many undecided parts are kept; a search that has more is broken off."""

BOUNDING = 0.2
"""The share of the time that is left for the bounds of what is undecided."""

MOST_MEMBERS = 1_000_000
"""How many covers are kept with the parts that wait; the rest is looked up again."""

Waiting = tuple[int, int, Box, list[Member] | None]
"""A part that waits: its weight and its number of cells (both negative), its box and its covers."""


@dataclass(frozen=True)
class Remainder:
    """Disjoint boxes in none of the covers, whether they are all there is, and bounds on the weight of all there is.

    The bounds mean something only where it is not complete.
    """

    boxes: tuple[Box, ...]
    is_complete: bool
    least: int = 0
    most: int = 0

    @property
    def region(self) -> Region:
        """The boxes as a region."""
        return Region(self.boxes, is_few_large=True)


class Search:
    """What boxes, which must be disjoint, hold outside all covers."""

    def __init__(self, boxes: Sequence[Box], covers: Sequence[Box], weights: Weights) -> None:
        self.boxes = boxes
        self.covers = covers
        self.weights = weights
        self.found: list[Box] = []
        self._found_weight = 0
        self._dropped = False
        self._stack: list[Part] = [part for box in boxes if (part := whole_part(box, covers)) is not None]
        self._heap: list[Waiting] = []
        self._members = 0

    def run(self, budget: Budget) -> Remainder:
        """Searches until all is decided or the budget is spent; the boxes are few and large if they are all."""
        searching = budget.part(1 - BOUNDING)
        self._depth_first(searching)
        self._largest_first(searching)
        least, most = self._bounds(budget)
        boxes, complete = self.found, not self._heap and not self._dropped
        if complete:
            try:
                with budget:
                    boxes = few_large(boxes)
            except OutOfTime:
                complete = False
        if not complete:
            boxes = in_reading_order(self._largest())
            least = max(least, self.weights.of_all(boxes))
        return Remainder(tuple(boxes), complete, least, most)

    def _depth_first(self, budget: Budget) -> None:
        """Until a piece is found and a quarter of the time has gone, or half of it."""
        quarter, half = budget.part(0.25), budget.part(0.5)
        steps = 0
        while self._stack:
            part = self._stack.pop()
            if part[1]:
                self._stack += divided(part)
                budget.spend(cost_of(part))
                steps += 1
                if steps > FREE_STEPS and (half.is_spent or (self.found and quarter.is_spent)):
                    return
            else:
                self._keep(part[0])

    def _largest_first(self, budget: Budget) -> None:
        for part in self._stack:
            self._sort_in(part)
        self._stack = []
        while self._heap and len(self._heap) < MOST_WAITING and not budget.is_spent:
            part = self._part_of(heappop(self._heap))
            budget.spend(cost_of(part))
            for half in divided(part):
                self._sort_in(half)

    def _sort_in(self, part: Part) -> None:
        """A part that no cover meets is a piece of what is sought; any other waits."""
        if part[1]:
            self._wait(part)
        else:
            self._keep(part[0])

    def _wait(self, part: Part) -> None:
        """Puts a part among those that wait, with its covers while there is room for them."""
        box, members = part
        self._members += len(members)
        kept = members if self._members <= MOST_MEMBERS else None
        if kept is None:
            self._members -= len(members)
        heappush(self._heap, (*self._rank(box), kept))

    def _part_of(self, waiting: Waiting) -> Part:
        _, _, box, members = waiting
        if members is None:
            part = whole_part(box, [self.covers[row] for row in bits(self._index.meeting(box))])
            assert part is not None, "what is used up does not wait"
            return part
        self._members -= len(members)
        return box, members

    def _rank(self, box: Box) -> tuple[int, int, Box]:
        """Sorts boxes by weight, the largest first."""
        return (-self.weights.of(box), -cell_count(box), box)

    def _keep(self, box: Box) -> None:
        self._found_weight += self.weights.of(box)
        self.found.append(box)
        if len(self.found) >= 2 * MOST_PIECES:
            self.found = sorted(self.found, key=self._rank)[:MOST_PIECES]
            self._dropped = True

    def _bounds(self, budget: Budget) -> tuple[int, int]:
        """Least and most weight of all that is uncovered.

        Of a part still waiting no more is covered than the sum of what each cover holds of it, and no less than the
        most that one of them holds; that is worked out for the largest parts, as far as the time goes.
        """
        least = most = self._found_weight
        for waiting in sorted(self._heap):
            size = -waiting[0]
            most += size
            if size and not budget.is_spent:
                box, members = self._part_of(waiting)
                budget.spend(len(members) * len(box))
                covered = [self._weight_within(box, cover, unfilled) for cover, unfilled in members]
                least += max(0, size - sum(covered))
                most -= max(covered)
        return least, most

    def _weight_within(self, box: Box, cover: Box, unfilled: int) -> int:
        """The weight of what a cover holds of a box that it fills on all axes but some."""
        of_mask = self.weights.of_mask
        return prod(
            [of_mask(axis, mask & cover[axis] if unfilled >> axis & 1 else mask) for axis, mask in enumerate(box)]
        )

    def _largest(self) -> list[Box]:
        """Disjoint boxes grown from the largest pieces found, as far as no cover is met."""
        taken: list[Box] = []
        for seed in sorted(self.found, key=self._rank)[: 8 * MOST_SHOWN]:
            if len(taken) < MOST_SHOWN and not any(meets(seed, box) for box in taken):
                frame = next(box for box in self.boxes if inside(seed, box))
                axes = range(len(seed))
                grown = (self._grown(seed, frame, taken, order) for order in (axes, axes[::-1]))
                taken.append(min(grown, key=self._rank))
        return taken

    def _grown(self, seed: Box, frame: Box, taken: Sequence[Box], order: Iterable[int]) -> Box:
        join = self._index
        box = list(seed)
        for axis in order:
            across = join.all_rows
            for other, mask in enumerate(box):
                if other != axis:
                    across &= join.columns[other][mask]
            blocked = 0
            for row in bits(across):
                blocked |= self.covers[row][axis]
            for one in taken:
                if all(mask & one[other] for other, mask in enumerate(box) if other != axis):
                    blocked |= one[axis]
            box[axis] = frame[axis] & ~blocked
        return tuple(box)

    @cached_property
    def _index(self) -> Join:
        return Join(hull([*self.covers, *self.boxes]), self.covers)
