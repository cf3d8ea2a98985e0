"""What a set of boxes leaves uncovered of another box, by dividing and subtracting.

A box is cut until each part is covered by one box or met by none. A cover that fills the part on every axis but one is
taken off that axis at once (the "simplify" step of T. M. Chan, Klee's Measure Problem Made Easy, FOCS 2013). Cost
follows what is found, never the product of the thresholds.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from liningbook.logic.boxes import Box, bits, meets

WHOLE_ENOUGH = 81
"""Per cent of n^2: a cut that leaves more rules than this torn on both sides is not worth making."""

MOST_CUTS = 64


def uncovered(box: Box, covers: Sequence[Box]) -> list[Box]:
    """Disjoint boxes that hold exactly the cases of `box` in none of `covers`."""
    return list(_uncovered(box, covers))


def is_covered(box: Box, covers: Sequence[Box]) -> bool:
    """Whether every case of `box` is in one of `covers`; stops at the first that is not."""
    return next(_uncovered(box, covers), None) is None


def _uncovered(box: Box, covers: Sequence[Box]) -> Iterator[Box]:
    stack: list[tuple[Box, list[Box]]] = [(box, [cover for cover in covers if meets(box, cover)])]
    while stack:
        part, met = stack.pop()
        simplified = _take_off_slabs(part, met)
        if simplified is None:
            continue
        part, met, nearest = simplified
        if not met:
            yield part
            continue
        axis, mask = choose_cut(part, met, nearest)
        for side in (part[axis] & ~mask, part[axis] & mask):
            half = (*part[:axis], side, *part[axis + 1 :])
            stack.append((half, [cover for cover in met if cover[axis] & side]))


def _take_off_slabs(box: Box, covers: list[Box]) -> tuple[Box, list[Box], list[Box]] | None:
    """The box less every cover that misses it on one axis only; the covers left, and of those the nearest to whole.

    Nothing if the box is used up.
    """
    rest = list(box)
    while True:
        partial: list[Box] = []
        nearest: list[Box] = []
        fewest = len(rest) + 1
        shrunk = False
        for cover in covers:
            open_axes = 0
            last = -1
            for axis, mask in enumerate(rest):
                other = cover[axis]
                if not mask & other:
                    open_axes = -1
                    break
                if mask & ~other:
                    open_axes += 1
                    last = axis
            if open_axes < 0:
                continue
            if open_axes == 0:
                return None
            if open_axes == 1:
                rest[last] &= ~cover[last]
                shrunk = True
                continue
            partial.append(cover)
            if open_axes < fewest:
                fewest, nearest = open_axes, [cover]
            elif open_axes == fewest:
                nearest.append(cover)
        covers = partial
        if not shrunk or not covers:
            return tuple(rest), covers, nearest


def choose_cut(box: Box, covers: Sequence[Box], nearest: Sequence[Box]) -> tuple[int, int]:
    """The axis and the mask on which to divide the box.

    The cut that tears the fewest covers, if it leaves enough of them whole (best for tables); else along the cover
    nearest to filling the box, as solvers branch on the shortest clause (best for unstructured rules).
    """
    best = _balanced_cut(box, covers)
    if best is not None and best[0] * 100 <= WHOLE_ENOUGH * len(covers) ** 2:
        return best[1], best[2]

    def share(cover: Box) -> float:
        part = 1.0
        for mask, other in zip(box, cover, strict=True):
            part *= (mask & other).bit_count() / mask.bit_count()
        return part

    target = max(nearest or covers, key=share)
    axis = min(
        (axis for axis, mask in enumerate(box) if mask & ~target[axis]),
        key=lambda axis: (box[axis] & target[axis]).bit_count() / box[axis].bit_count(),
    )
    return axis, target[axis]


def _balanced_cut(box: Box, covers: Sequence[Box]) -> tuple[int, int, int] | None:
    """Cost (covers met on each side, squared and added), axis and mask of the best plain cut."""
    best: tuple[int, int, int] | None = None
    for axis, mask in enumerate(box):
        if not mask & (mask - 1):
            continue
        parts: dict[int, int] = {}
        for cover in covers:
            part = mask & cover[axis]
            parts[part] = parts.get(part, 0) + 1
        if len(parts) == 1 and mask in parts:
            continue
        for cut in _cuts(mask, parts):
            inside = sum(count for part, count in parts.items() if part & cut)
            outside = sum(count for part, count in parts.items() if part & ~cut)
            cost = inside * inside + outside * outside
            if best is None or cost < best[0]:
                best = (cost, axis, cut)
    return best


def _cuts(mask: int, parts: dict[int, int]) -> list[int]:
    """Masks worth cutting along: below each start and end of the covers' parts, and the parts themselves."""
    edges = set()
    for part in parts:
        edges.add((part & -part).bit_length() - 1)
        edges.add(part.bit_length())
    low, high = (mask & -mask).bit_length() - 1, mask.bit_length()
    ordered = sorted(edge for edge in edges if low < edge < high)
    if len(ordered) > MOST_CUTS:
        ordered = [ordered[index * len(ordered) // MOST_CUTS] for index in range(MOST_CUTS)]
    cuts = [mask & ((1 << edge) - 1) for edge in ordered]
    cuts += [part for part in list(parts)[:MOST_CUTS] if part != mask]
    if mask.bit_count() <= 8:
        cuts += [1 << cell for cell in bits(mask)]
    return [cut for cut in dict.fromkeys(cuts) if cut and mask & ~cut]
