"""How few rows a table could have at the least: a proof by cases that no two of which fit into one row."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import islice, product

from liningbook.space.boxes import Box, bits, hull
from liningbook.space.cover import is_covered
from liningbook.space.region import Region

MOST_CASES = 24
"""How many cases of a box are tried for the proof."""


def fewest_rows(region: Region) -> int:
    """A lower bound on the number of boxes that cover a region.

    Cases are gathered of which no two lie in a common box within the region; each needs a box of its own.
    """
    apart: list[Box] = []
    for box in region:
        for case in islice(_cases(box), MOST_CASES):
            if all(not is_covered(hull((case, other)), region.boxes) for other in apart):
                apart.append(case)
                break
    return len(apart)


def _cases(box: Box) -> Iterator[Box]:
    return (tuple(1 << cell for cell in cells) for cells in product(*(list(bits(mask)) for mask in box)))
