"""Where a change holds, by what sets its cases apart from all others in which the question arises.

A decision is to be made in some cases and not in others. Of the former a change takes a part, and what parts it from
the rest of them is what a reader must be told: a few wide boxes, which hold exactly the cases of the change and else
none but those in which the question does not arise.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from liningbook.meaning.meaning import Meaning
from liningbook.space.boxes import Box, cell_count, in_reading_order, meet, on_axis
from liningbook.space.cells import Space
from liningbook.space.region import Region

MOST_PAIRS = 100_000
"""So many pairs of boxes are compared before a ragged region is told as it is."""


def cases_told(old: Meaning, new: Meaning, decision: str, region: Region, last: Sequence[int] = ()) -> tuple[Box, ...]:
    """The boxes of a change: among the cases in which its decision is to be made in either version.

    A change to or from cases that are not covered is set apart from all there are: one that neither version covers is
    in none of its boxes.
    """
    among = Region.union(one.needed(decision) for one in (old, new) if decision in one.protocol.decisions)
    if any(region.minus(cases.boxes) for cases in (among, old.scope, new.scope)):
        among = Region((new.space.full,))
    return set_apart(region, among, new.space, last)


def set_apart(region: Region, among: Region, space: Space, last: Sequence[int] = ()) -> tuple[Box, ...]:
    """Boxes, within `among` together exactly the region, which must lie in it; each names as few factors as it can.

    `last` are axes that are left open only where nothing else can be.
    """
    whole = space.full
    others = among.minus(region.boxes).few_large().boxes
    if not others:
        return (whole,) if region else ()
    if len(region.boxes) * len(others) > MOST_PAIRS:
        return tuple(region.few_large())
    orders = list(_orders(len(whole), last))
    found: list[Box] = []
    left = region.few_large()
    while left:
        seed = max(left, key=lambda box: (cell_count(box), box))
        grown = [_narrowed(_grown(seed, others, whole, order), space, region) for order in orders]
        best = max(grown, key=lambda box: (_held(box, left), -_named(box, whole), box))
        found.append(best)
        left = left.minus([best])
    return tuple(in_reading_order(_needed(found, region)))


def _orders(count: int, last: Sequence[int]) -> Iterator[list[int]]:
    """The order in which axes are left open, and that with the others the other way round."""
    first = [axis for axis in range(count) if axis not in last]
    yield [*first, *last]
    yield [*first[::-1], *last]


def _grown(seed: Box, others: Sequence[Box], whole: Box, order: Sequence[int]) -> Box:
    """The box grown as far as it meets none of the others: first whole axes, then cells."""
    box = seed
    for whole_only in (True, False):
        for axis in order:
            open_to = on_axis(box, axis, whole[axis])
            barred = 0
            for other in others:
                if (common := meet(open_to, other)) is not None:
                    barred |= common[axis]
            free = whole[axis] & ~barred
            if not barred or not whole_only:
                box = on_axis(box, axis, free)
    return box


def _narrowed(box: Box, space: Space, region: Region) -> Box:
    """The box with no more cells of a factor that it names than occur in the region.

    A quantity is left open towards a limit that the box reaches, which reads better (`up to 2 mm`).
    """
    used = [0] * len(box)
    for other in region:
        if (part := meet(other, box)) is not None:
            used = [held | cells for held, cells in zip(used, part, strict=True)]
    return tuple(
        mask if mask == axis.full else _to_limits(mask, cells, axis.full) if axis.factor.kind == "quantity" else cells
        for mask, cells, axis in zip(box, used, space.axes, strict=True)
    )


def _to_limits(mask: int, cells: int, whole: int) -> int:
    """The cells, and those of the mask between them and an end of the axis that the mask reaches without a break."""
    low, high = (cells & -cells) - 1, whole + 1 - (1 << cells.bit_length())
    return cells | (low if low & mask == low else 0) | (high if high & mask == high else 0)


def _held(box: Box, region: Region) -> int:
    return sum(cell_count(part) for other in region if (part := meet(box, other)) is not None)


def _named(box: Box, whole: Box) -> int:
    return sum(mask != every for mask, every in zip(box, whole, strict=True))


def _needed(boxes: Sequence[Box], region: Region) -> list[Box]:
    """The boxes without those of which the others hold every case of the region."""
    kept = list(boxes)
    for box in boxes:
        rest = [other for other in kept if other is not box]
        held = Region((box,)) & region
        if rest and held.is_within(rest):
            kept = rest
    return kept
