"""Which boxes meet a box: one lookup an axis and an `&`, instead of looking at pairs.

A set of rows is a whole number, one bit a row. For each axis the rows that start at or before a cell and those that end
at or after it are kept as such sets, as in bit-vector packet classification (T. V. Lakshman and D. Stiliadis, SIGCOMM
1998); rows that meet cells a to b are those that start by b and end from a on.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import accumulate
from operator import or_

from liningbook.space.boxes import Box, bits, runs

FEW_MASKS = 12
"""Up to so many different masks are looked at one by one."""

FEW_CELLS = 16
"""Up to so many cells of an axis are looked at one by one."""


class Join:
    """An index over a list of boxes, all of which lie in `full`. `all_rows` is the set of them all."""

    def __init__(self, full: Box, boxes: Sequence[Box]) -> None:
        self.all_rows = (1 << len(boxes)) - 1
        rows = [1 << row for row in range(len(boxes))]
        self.columns = [Column(mask, [box[axis] for box in boxes], rows) for axis, mask in enumerate(full)]
        """For each axis the rows by mask: `columns[axis][mask]` are those whose box has a cell of the mask there."""

    def meeting(self, box: Box, among: int = -1) -> int:
        """The rows whose box has a case in common with `box`, as a set; `among` limits the answer."""
        found = self.all_rows & among
        for column, mask in zip(self.columns, box, strict=True):
            found &= column[mask]
        return found


class Column(dict[int, int]):
    """One axis of the index: for a mask the rows that have a cell of it, worked out when it is first asked for.

    Where there are few cells, the rows that hold each of them are kept; else the rows that start at or before a cell,
    and those that end at or after it. Masks of several stretches are then looked at one by one.
    """

    def __init__(self, full: int, masks: Sequence[int], rows: Sequence[int]) -> None:
        super().__init__({full: (1 << len(rows)) - 1})
        by_mask: dict[int, int] = {}
        for mask, row in zip(masks, rows, strict=True):
            by_mask[mask] = by_mask.get(mask, 0) | row
        self._holding: list[int] = []
        self._scattered: list[tuple[int, int]] = []
        self._from_start: list[int] = []
        self._to_end: list[int] = []
        if len(by_mask) <= FEW_MASKS:
            self._scattered += by_mask.items()
        elif full.bit_length() <= FEW_CELLS:
            self._sort_by_cells(full.bit_length(), by_mask)
        else:
            self._sort_by_ends(full.bit_length(), by_mask)

    def _sort_by_cells(self, cells: int, by_mask: Mapping[int, int]) -> None:
        self._holding = [0] * cells
        for mask, rows in by_mask.items():
            for cell in bits(mask):
                self._holding[cell] |= rows

    def _sort_by_ends(self, cells: int, by_mask: Mapping[int, int]) -> None:
        starting = [0] * cells
        ending = [0] * cells
        stretches: list[tuple[int, int, int]] = []
        for mask, rows in by_mask.items():
            first, last = (mask & -mask).bit_length() - 1, mask.bit_length() - 1
            if mask.bit_count() == last - first + 1:
                starting[first] |= rows
                ending[last] |= rows
                stretches.append((mask, first, last))
            else:
                self._scattered.append((mask, rows))
        self._from_start = list(accumulate(starting, or_))
        self._to_end = list(accumulate(reversed(ending), or_))[::-1]
        if not self._scattered:
            for mask, first, last in stretches:
                self[mask] = self._from_start[last] & self._to_end[first]

    def __missing__(self, mask: int) -> int:
        found = 0
        if self._holding:
            for cell in bits(mask):
                found |= self._holding[cell]
        for other, rows in self._scattered:
            if other & mask:
                found |= rows
        if self._from_start:
            for first, last in runs(mask):
                found |= self._from_start[last] & self._to_end[first]
        self[mask] = found
        return found


class OwnerIndex:
    """An index over the boxes of several owners, numbered from 0; sets of owners are whole numbers too."""

    def __init__(self, full: Box, boxes_of: Sequence[Sequence[Box]]) -> None:
        self.owners = [(owner, number) for owner, boxes in enumerate(boxes_of) for number in range(len(boxes))]
        """The owner of each row, and the number of the box among the owner's."""
        self.join = Join(full, [box for boxes in boxes_of for box in boxes])
        self._one_each = len(self.owners) == len(boxes_of)

    def owners_meeting(self, box: Box, among: int) -> int:
        """Those of a set of owners that have a box that meets `box`."""
        if self._one_each:
            return self.join.meeting(box, among)
        found = 0
        for row in bits(self.join.meeting(box)):
            found |= 1 << self.owners[row][0]
        return found & among

    def across(self, box: Box, axis: int, among: int) -> Iterator[tuple[int, int]]:
        """Owner and number of the boxes of a set of owners that meet `box` on all axes but perhaps one."""
        rows = self.join.all_rows
        for other, mask in enumerate(box):
            if other != axis:
                rows &= self.join.columns[other][mask]
        for row in bits(rows):
            if among >> self.owners[row][0] & 1:
                yield self.owners[row]
