"""Sets of cases as disjoint boxes, with their algebra."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import islice, product

from liningbook.space.boxes import Box, bits, cell_count, hull, meet
from liningbook.space.cover import is_covered, uncovered
from liningbook.space.growth import few_large
from liningbook.space.overlap import Join

FEW = 24
"""Up to so many boxes are looked at one by one; for more of them an index pays."""


MOST_CASES = 24
"""How many cases of a box are tried for the proof."""


@dataclass(frozen=True, eq=False)
class Region:
    """A set of cases. `boxes` are disjoint and none is empty; their number and order carry no meaning.

    So regions are equal if they hold the same cases, however these are boxed. Whatever subtracts may raise OutOfTime,
    if a budget is in force.
    """

    boxes: tuple[Box, ...] = ()
    is_few_large: bool = field(default=False, repr=False)
    """Whether the boxes are known to be few and large, so that the work is not done twice."""

    @classmethod
    def any_of(cls, boxes: Iterable[Box]) -> Region:
        """The cases in any of the boxes, which may overlap."""
        given = list(boxes)
        if len(given) < 2:
            return cls(tuple(given))
        near = _Nearby(given)
        pieces = (piece for row, box in enumerate(given) for piece in uncovered(box, near.to(box, row)))
        return cls(tuple(pieces))

    def __bool__(self) -> bool:
        return bool(self.boxes)

    def __iter__(self) -> Iterator[Box]:
        return iter(self.boxes)

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Region):
            return NotImplemented
        count = self._cell_count
        return count == other._cell_count and (self.boxes == other.boxes or (self & other)._cell_count == count)

    def __hash__(self) -> int:
        return hash(self._cell_count)

    @property
    def _cell_count(self) -> int:
        return sum(cell_count(box) for box in self.boxes)

    @classmethod
    def union(cls, regions: Iterable[Region]) -> Region:
        """The cases in any of the regions."""
        found = cls()
        for region in regions:
            found = found | region
        return found

    def __and__(self, other: Region) -> Region:
        if len(self.boxes) < len(other.boxes):
            return other & self
        if not other.boxes:
            return other
        near = _Nearby(self.boxes)
        common = (meet(mine, theirs) for theirs in other.boxes for mine in near.to(theirs))
        return Region(tuple(box for box in common if box is not None))

    def __or__(self, other: Region) -> Region:
        if not self.boxes or not other.boxes:
            return self if self.boxes else other
        return Region((*self.boxes, *other.minus(self.boxes).boxes))

    def minus(self, boxes: Sequence[Box]) -> Region:
        """The cases in none of the boxes, which may overlap."""
        if not boxes or not self.boxes:
            return self
        near = _Nearby(boxes)
        return Region(tuple(piece for box in self.boxes for piece in uncovered(box, near.to(box))))

    def is_within(self, boxes: Sequence[Box]) -> bool:
        """Whether every case is in one of the boxes."""
        return all(is_covered(box, boxes) for box in self.boxes)

    def few_large(self) -> Region:
        """These cases as few, large boxes in reading order."""
        return self if self.is_few_large else Region(tuple(few_large(self.boxes)), True)


class _Nearby:
    """Boxes, of which those are wanted that meet a given one (and perhaps some others)."""

    def __init__(self, boxes: Sequence[Box]) -> None:
        self.boxes = boxes
        self.whole = hull(boxes) if len(boxes) > FEW else ()
        self.join = Join(self.whole, boxes) if self.whole else None

    def to(self, box: Box, before: int | None = None) -> Sequence[Box]:
        """The boxes near a box; `before` counts only so many from the start."""
        if self.join is None:
            return self.boxes[:before]
        inside = meet(box, self.whole)
        if inside is None:
            return ()
        rows = self.join.meeting(inside, -1 if before is None else (1 << before) - 1)
        return [self.boxes[row] for row in bits(rows)]


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
