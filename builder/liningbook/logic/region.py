"""Sets of cases as disjoint boxes, with their algebra."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from liningbook.logic.boxes import Box, few_large, meet, meets
from liningbook.logic.cover import is_covered, uncovered


@dataclass(frozen=True)
class Region:
    """A set of cases. `boxes` are disjoint and none is empty; their number and order carry no meaning."""

    boxes: tuple[Box, ...] = ()

    @classmethod
    def any_of(cls, boxes: Iterable[Box]) -> Region:
        """The cases in any of the boxes, which may overlap."""
        done: list[Box] = []
        found: list[Box] = []
        for box in boxes:
            found += uncovered(box, [other for other in done if meets(box, other)])
            done.append(box)
        return cls(tuple(found))

    def __bool__(self) -> bool:
        return bool(self.boxes)

    def __iter__(self) -> Iterator[Box]:
        return iter(self.boxes)

    def __and__(self, other: Region) -> Region:
        common = (meet(mine, theirs) for mine in self.boxes for theirs in other.boxes)
        return Region(tuple(box for box in common if box is not None))

    def __or__(self, other: Region) -> Region:
        return Region((*self.boxes, *other.minus(self.boxes).boxes))

    def minus(self, boxes: Sequence[Box]) -> Region:
        """The cases in none of the boxes, which may overlap."""
        if not boxes:
            return self
        return Region(tuple(piece for box in self.boxes for piece in uncovered(box, boxes)))

    def is_within(self, boxes: Sequence[Box]) -> bool:
        """Whether every case is in one of the boxes."""
        return all(is_covered(box, boxes) for box in self.boxes)

    def few_large(self) -> Region:
        """The same cases as few, large boxes in reading order."""
        return Region(tuple(few_large(self.boxes)))
