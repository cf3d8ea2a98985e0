"""A region as few, large, disjoint boxes.

Each piece is grown axis by axis as far as the region reaches: a slice may be added exactly when the pieces fill it,
which is counted in whole cells. Boxes so grown overlap; the largest keeps its cases, the others what is left of them.
The cost is about that of looking at each piece and its neighbours, which an index finds.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import prod

from liningbook.space.boxes import Box, bits, cell_count, hull, in_reading_order, inside, on_axis
from liningbook.space.budget import OutOfTime, in_force
from liningbook.space.cover import uncovered
from liningbook.space.overlap import Join

MOST_WORK = 1_000_000
"""How often a piece is looked at before the rest of a ragged region is left in smaller boxes."""

FREE_SEEDS = 32
"""So many boxes are grown however late it is."""


def few_large(pieces: Sequence[Box]) -> list[Box]:
    """The region of `pieces`, which must be disjoint, as few, large, disjoint boxes in reading order.

    The order of the pieces has no influence. Raises OutOfTime.
    """
    if len(pieces) < 2:
        return list(pieces)
    found: list[Box] = []
    left = list(pieces)
    grown: list[Box] = []
    work = 0
    while len(left) > 1 and work < MOST_WORK:
        left.sort(key=_largest_first)
        growth = Growth(left, MOST_WORK - work)
        grown = growth.boxes(grown)
        if grown == left:
            break
        grown.sort(key=_largest_first)
        taken = _apart(grown)
        left = _without(left, taken)
        grown = _not_meeting(grown, taken)
        found += taken
        work += growth.work
    return in_reading_order(found + _joined(left))


def _largest_first(box: Box) -> tuple[int, Box]:
    return (-cell_count(box), box)


class Growth:
    """A region from which boxes are grown; `pieces` are disjoint. `work` counts how often a piece was looked at."""

    def __init__(self, pieces: Sequence[Box], most_work: int) -> None:
        self.pieces = pieces
        self.work = 0
        self.most_work = most_work
        self.join = Join(hull(pieces), pieces)

    def boxes(self, grown: Sequence[Box] = ()) -> list[Box]:
        """Boxes that cannot grow: those `grown` before, and one from each piece not in another.

        They cover the region unless that is too much work.
        """
        budget = in_force()
        found: dict[Box, None] = dict.fromkeys(grown)
        held = 0
        for box in grown:
            held |= self._held_by(box)
        for row, piece in enumerate(self.pieces):
            if held >> row & 1:
                continue
            if self.work >= self.most_work:
                break
            if row > FREE_SEEDS and budget.is_spent:
                raise OutOfTime
            box = self.largest_from(piece)
            found[box] = None
            held |= self._held_by(box)
        return list(found)

    def _held_by(self, box: Box) -> int:
        """The pieces that lie inside a box, as a set."""
        return sum(1 << row for row in bits(self.join.meeting(box)) if inside(self.pieces[row], box))

    def largest_from(self, seed: Box) -> Box:
        """The larger of the boxes grown from a seed with the axes in order and in the opposite order."""
        axes = [
            axis
            for axis, across in enumerate(self._rows_across(seed))
            if across & (across - 1) and self._slices_beside(seed, axis, across)
        ]
        if not axes:
            return seed
        candidates = [self._grow(seed, axes)]
        if len(axes) > 1:
            candidates.append(self._grow(seed, axes[::-1]))
        return min(candidates, key=_largest_first)

    def _rows_across(self, box: Box) -> Iterator[int]:
        """For each axis the pieces that meet the box on all the others."""
        rows = [self.join.columns[axis][mask] for axis, mask in enumerate(box)]
        later = [self.join.all_rows] * (len(box) + 1)
        for axis in range(len(box) - 1, -1, -1):
            later[axis] = later[axis + 1] & rows[axis]
        earlier = self.join.all_rows
        for axis, own in enumerate(rows):
            yield earlier & later[axis + 1]
            earlier &= own

    def _grow(self, seed: Box, order: Sequence[int]) -> Box:
        box = seed
        for axis in order:
            across = self.join.all_rows
            for other, mask in enumerate(box):
                if other != axis:
                    across &= self.join.columns[other][mask]
            box = on_axis(box, axis, box[axis] | self._slices_beside(box, axis, across))
        return box

    def _slices_beside(self, box: Box, axis: int, across: int) -> int:
        """The cells that may be added to the box on an axis: there the pieces `across` it fill the whole slice."""
        need = prod(mask.bit_count() for other, mask in enumerate(box) if other != axis)
        parts: list[tuple[int, int]] = []
        reach = 0
        self.work += across.bit_count()
        in_force().spend(across.bit_count())
        for row in bits(across):
            piece = self.pieces[row]
            beyond = piece[axis] & ~box[axis]
            if beyond:
                cells = 1
                for other, mask in enumerate(box):
                    if other != axis:
                        cells *= (mask & piece[other]).bit_count()
                parts.append((beyond, cells))
                reach += cells
        return _cells_that_add_up(parts, need) if reach >= need else 0


def _cells_that_add_up(parts: Sequence[tuple[int, int]], need: int) -> int:
    """The cells for which the counts of the masks that hold them add up to `need`."""
    totals: dict[int, int] = {}
    for mask, count in parts:
        new = mask
        for known in [known for known in totals if known & mask]:
            total = totals.pop(known)
            if known & ~mask:
                totals[known & ~mask] = total
            totals[known & mask] = total + count
            new &= ~known
        if new:
            totals[new] = count
    return sum(mask for mask, total in totals.items() if total == need)


def _apart(boxes: Sequence[Box]) -> list[Box]:
    """Those of the boxes that meet none before them."""
    join = Join(hull(boxes), boxes)
    return [box for row, box in enumerate(boxes) if not join.meeting(box, (1 << row) - 1)]


def _not_meeting(boxes: Sequence[Box], taken: Sequence[Box]) -> list[Box]:
    """Those of the boxes that meet none of the boxes taken: in what is left they still cannot grow."""
    join = Join(hull([*boxes, *taken]), taken)
    return [box for box in boxes if not join.meeting(box)]


def _without(pieces: Sequence[Box], taken: Sequence[Box]) -> list[Box]:
    """What is left of the pieces outside the boxes taken."""
    join = Join(hull([*pieces, *taken]), taken)
    left: list[Box] = []
    for piece in pieces:
        rows = join.meeting(piece)
        left += uncovered(piece, [taken[row] for row in bits(rows)]) if rows else [piece]
    return left


def _joined(boxes: list[Box]) -> list[Box]:
    """The boxes of a region, any made one that are the same on all axes but one, as long as there are such."""
    axis = quiet = 0
    while len(boxes) > 1 and quiet < len(boxes[0]):
        alike: dict[Box, int] = {}
        for box in boxes:
            others = on_axis(box, axis, 0)
            alike[others] = alike.get(others, 0) | box[axis]
        quiet = quiet + 1 if len(alike) == len(boxes) else 0
        boxes = [on_axis(others, axis, mask) for others, mask in alike.items()]
        axis = (axis + 1) % len(boxes[0])
    return boxes
