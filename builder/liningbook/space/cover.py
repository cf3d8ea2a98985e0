"""What a set of boxes leaves uncovered of another box, by dividing and subtracting.

A box is cut until each part is covered by one box or met by none. A cover that fills the part on every axis but one is
taken off that axis at once (the "simplify" step of T. M. Chan, Klee's Measure Problem Made Easy, FOCS 2013). Cost
follows what is found, never the product of the thresholds.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence

from liningbook.space.boxes import Box, bits
from liningbook.space.budget import OutOfTime, in_force

FREE_STEPS = 32
"""So many divisions are made however late it is: what is easy is always settled."""

WHOLE_ENOUGH = 81
"""Per cent of n^2: a cut that leaves more rules than this torn on both sides is not worth making."""

MOST_SAMPLED = 64
"""How many covers a cut is chosen by."""

FEW_MEMBERS = 5
"""With so few covers the choice of the cut is not worth its time."""

FEW_CELLS = 16
"""On an axis of at most so many cells sets of cells are tried for a cut, not only those up to a place."""

MOST_PARTS = 4
"""How many of the covers' parts of such an axis are tried."""

Member = tuple[Box, int]
"""A cover that meets a part, and the axes (a bit each) on which it does not fill the part."""

Part = tuple[Box, list[Member]]
"""A box still to be divided, and the covers that meet it, each of which leaves it open on two axes or more."""


def uncovered(box: Box, covers: Sequence[Box]) -> list[Box]:
    """Disjoint boxes that hold exactly the cases of `box` in none of `covers`. Raises OutOfTime."""
    return list(_uncovered(box, covers))


def is_covered(box: Box, covers: Sequence[Box]) -> bool:
    """Whether every case of `box` is in one of `covers`; stops at the first that is not. Raises OutOfTime."""
    return next(_uncovered(box, covers), None) is None


def _uncovered(box: Box, covers: Sequence[Box]) -> Iterator[Box]:
    first = whole_part(box, covers)
    stack = [] if first is None else [first]
    budget = in_force()
    budget.spend(len(covers))
    steps = 0
    while stack:
        part = stack.pop()
        if part[1]:
            stack += divided(part)
            budget.spend(cost_of(part))
            steps += 1
            if steps > FREE_STEPS and budget.is_spent:
                raise OutOfTime
        else:
            yield part[0]


# --- parts ----------------------------------------------------------------------------------------------------------


def whole_part(box: Box, covers: Iterable[Box]) -> Part | None:
    """The box as a part, less every cover that leaves it open on one axis only; nothing if that uses it up."""
    members: list[Member] = []
    sides = list(box)
    shrunk = set()
    for cover in covers:
        unfilled = 0
        last = 0
        for axis, mask in enumerate(box):
            other = cover[axis]
            if not mask & other:
                break
            if mask & ~other:
                unfilled |= 1 << axis
                last = axis
        else:
            if not unfilled:
                return None
            if unfilled & (unfilled - 1):
                members.append((cover, unfilled))
            else:
                sides[last] &= ~cover[last]
                shrunk.add(last)
    return _settled(sides, members, sorted(shrunk))


def cost_of(part: Part) -> int:
    """The steps that dividing a part takes: besides its covers a sample of them is looked at on every axis."""
    box, members = part
    return len(members) + len(box) * min(len(members), MOST_SAMPLED)


def divided(part: Part) -> list[Part]:
    """A part that covers meet, cut in two; halves that are used up are left out."""
    box, members = part
    axis, mask = _best_cut(box, members)
    halves = []
    for side in (box[axis] & ~mask, box[axis] & mask):
        half = _settled([*box[:axis], side, *box[axis + 1 :]], members, [axis])
        if half is not None:
            halves.append(half)
    return halves


def _settled(sides: list[int], members: list[Member], shrunk: list[int]) -> Part | None:
    """A part whose box has got smaller on some axes, less every cover that now leaves it open on one axis only."""
    while shrunk:
        axis = shrunk.pop()
        side = sides[axis]
        if not side:
            return None
        bit = 1 << axis
        kept: list[Member] = []
        for member in members:
            cover, unfilled = member
            mask = cover[axis]
            if not mask & side:
                continue
            if unfilled & bit and not side & ~mask:
                unfilled ^= bit
                if not unfilled & (unfilled - 1):
                    if not unfilled:
                        return None
                    last = unfilled.bit_length() - 1
                    sides[last] &= ~cover[last]
                    if last not in shrunk:
                        shrunk.append(last)
                    continue
                member = (cover, unfilled)
            kept.append(member)
        members = kept
    return tuple(sides), members


# --- where to cut ---------------------------------------------------------------------------------------------------


def choose_cut(box: Box, covers: Iterable[Box]) -> tuple[int, int]:
    """The axis and the mask on which to divide a box that the covers meet and none of them fills."""
    members = [
        (cover, sum(1 << axis for axis, (mask, other) in enumerate(zip(box, cover, strict=True)) if mask & ~other))
        for cover in covers
    ]
    return _best_cut(box, members)


def _best_cut(box: Box, members: Sequence[Member]) -> tuple[int, int]:
    """The cut that tears the fewest covers, if it leaves enough of them whole (best for tables).

    Else, or if there are only few covers, along the one nearest to filling the box, as solvers branch on the shortest
    clause (best for unstructured rules).
    """
    if len(members) <= FEW_MEMBERS:
        return _along_nearest(box, members)
    sample = members[:: -(-len(members) // MOST_SAMPLED)]
    best: tuple[int, int, int] | None = None
    for axis, mask in enumerate(box):
        bit = 1 << axis
        parts = [mask & cover[axis] for cover, unfilled in sample if unfilled & bit]
        if parts:
            cost, cut = _best_cut_of_axis(mask, parts, len(sample) - len(parts))
            if best is None or cost < best[0]:
                best = (cost, axis, cut)
    if best is not None and best[0] * 100 <= WHOLE_ENOUGH * len(sample) ** 2:
        return best[1], best[2]
    return _along_nearest(box, members)


def _along_nearest(box: Box, members: Sequence[Member]) -> tuple[int, int]:
    def share_filled(cover: Box) -> float:
        part = 1.0
        for mask, other in zip(box, cover, strict=True):
            part *= (mask & other).bit_count() / mask.bit_count()
        return part

    fewest = min(unfilled.bit_count() for _, unfilled in members)
    near = [cover for cover, unfilled in members if unfilled.bit_count() == fewest]
    nearest = max(near[:MOST_SAMPLED], key=share_filled)
    axis = min(
        (axis for axis, mask in enumerate(box) if mask & ~nearest[axis]),
        key=lambda axis: (box[axis] & nearest[axis]).bit_count() / box[axis].bit_count(),
    )
    return axis, nearest[axis]


def _best_cut_of_axis(mask: int, parts: Sequence[int], whole: int) -> tuple[int, int]:
    """The cost of the best cut of an axis (covers met on each side, squared and added) and its cells on one side.

    `parts` are the parts of the axis that covers take which do not fill it, `whole` is the number of those that do.
    """
    best = _best_place(mask, parts, whole)
    if mask.bit_count() <= FEW_CELLS:
        best = min(best, _best_cells(mask, parts, whole))
    return best


def _best_place(mask: int, parts: Sequence[int], whole: int) -> tuple[int, int]:
    """The best of the cuts below the places at which parts start and end."""
    starts = sorted([(part & -part).bit_length() - 1 for part in parts])
    ends = sorted([part.bit_length() for part in parts])
    low, high = (mask & -mask).bit_length() - 1, mask.bit_length()
    count = len(parts)
    best_cost, best_place = 2 * (whole + count) ** 2, low
    for place in sorted({*starts, *ends}):
        if low < place < high:
            below = whole + bisect_left(starts, place)
            above = whole + count - bisect_right(ends, place)
            cost = below * below + above * above
            if cost < best_cost:
                best_cost, best_place = cost, place
    return best_cost, mask & ((1 << best_place) - 1)


def _best_cells(mask: int, parts: Sequence[int], whole: int) -> tuple[int, int]:
    """The best of the cuts around the most frequent parts and around single cells."""
    counts = Counter(parts).most_common()
    best_cost, best_cut = 2 * (whole + len(parts)) ** 2, 0
    for cut in dict.fromkeys([part for part, _ in counts[:MOST_PARTS]] + [1 << cell for cell in bits(mask)]):
        rest = ~cut
        inside = outside = whole
        for part, count in counts:
            if part & cut:
                inside += count
            if part & rest:
                outside += count
        cost = inside * inside + outside * outside
        if cost < best_cost:
            best_cost, best_cut = cost, cut
    return best_cost, best_cut
