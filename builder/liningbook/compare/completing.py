"""Cases of which a part is not known, filled in with every value that it could have."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping, Sequence
from itertools import product
from math import prod

from liningbook.space.boxes import Box, bits

MOST_COMPLETED = 4_096
"""So many ways to fill in a case are looked at."""


def completed(full: Sequence[int], absent: set[int], given: tuple[Box, Box]) -> Iterator[tuple[Box, Box]]:
    """A case, as either of two versions takes it, with each value of what it does not give.

    `full` are the whole axes, `absent` those of which `given` knows nothing; of others it may hold every cell.
    """
    known = zip(*given, strict=True)
    options = []
    for number, mask in enumerate(full):
        both = (mask, mask) if number in absent else next(known)
        is_open = number in absent or both[0].bit_count() > 1
        options.append([(1 << cell, 1 << cell) for cell in bits(both[0])] if is_open else [both])
    for chosen in product(*options):
        yield tuple(old for old, _ in chosen), tuple(new for _, new in chosen)


def is_too_open(case: Box) -> bool:
    """Whether a case has too many cells to look at each."""
    return prod(mask.bit_count() for mask in case) > MOST_COMPLETED


def hangs_on(found: Mapping[Box, Hashable]) -> list[int]:
    """The axes along which two cases lie that come to different things and differ in nothing else."""
    mattering = []
    for number in range(len(next(iter(found), ()))):
        seen: dict[Box, Hashable] = {}
        if any(seen.setdefault(case[:number] + case[number + 1 :], what) != what for case, what in found.items()):
            mattering.append(number)
    return mattering
