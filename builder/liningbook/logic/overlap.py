"""Which boxes meet a box: one lookup an axis and an `&`, instead of looking at pairs.

A set of rows is a whole number, one bit a row. For each axis the rows that start at or before a cell and those that end
at or after it are kept as such sets, as in bit-vector packet classification (T. V. Lakshman and D. Stiliadis, SIGCOMM
1998); rows that meet cells a to b are those that start by b and end from a on.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import accumulate
from operator import or_

from liningbook.logic.boxes import Box, bits, runs

FEW_MASKS = 12
"""Up to so many different masks are looked at one by one."""

FEW_CELLS = 16
"""Up to so many cells of an axis are looked at one by one."""


class Join:
    """An index over a list of boxes, all of which lie in `full`. `all_rows` is the set of them all."""

    def __init__(self, full: Box, boxes: Sequence[Box]) -> None:
        self.all_rows = (1 << len(boxes)) - 1
        self._found: list[dict[int, int]] = [{mask: self.all_rows} for mask in full]
        self._columns = [_Column(mask.bit_length(), [box[axis] for box in boxes]) for axis, mask in enumerate(full)]

    def meeting(self, box: Box, among: int = -1) -> int:
        """The rows whose box has a case in common with `box`, as a set; `among` limits the answer."""
        found = self.all_rows & among
        axis = 0
        for known, mask in zip(self._found, box, strict=True):
            rows = known.get(mask)
            if rows is None:
                rows = known[mask] = self._columns[axis].meeting(mask)
            found &= rows
            if not found:
                break
            axis += 1
        return found

    def rows(self, axis: int, mask: int) -> int:
        """The rows whose box has a cell of the mask on an axis."""
        found = self._found[axis]
        rows = found.get(mask)
        if rows is None:
            rows = found[mask] = self._columns[axis].meeting(mask)
        return rows


class Rows:
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
                rows &= self.join.rows(other, mask)
        for row in bits(rows):
            if among >> self.owners[row][0] & 1:
                yield self.owners[row]


class _Column:
    """One axis of the index.

    Where there are few cells, the rows that hold each of them; else the rows that start at or before a cell, and those
    that end at or after it. Masks of several stretches are then looked at one by one.
    """

    def __init__(self, cells: int, masks: Sequence[int]) -> None:
        rows_of: dict[int, list[int]] = {}
        for row, mask in enumerate(masks):
            rows_of.setdefault(mask, []).append(row)
        by_mask = {mask: set_of(rows) for mask, rows in rows_of.items()}
        self.holding: list[int] = []
        self.scattered: list[tuple[int, int]] = []
        self.from_start: list[int] = []
        self.to_end: list[int] = []
        if len(by_mask) <= FEW_MASKS:
            self.scattered += by_mask.items()
        elif cells <= FEW_CELLS:
            self._sort_by_cells(cells, by_mask)
        else:
            self._sort_by_ends(cells, by_mask)

    def _sort_by_cells(self, cells: int, by_mask: dict[int, int]) -> None:
        self.holding = [0] * cells
        for mask, rows in by_mask.items():
            for cell in bits(mask):
                self.holding[cell] |= rows

    def _sort_by_ends(self, cells: int, by_mask: dict[int, int]) -> None:
        self.from_start = [0] * cells
        self.to_end = [0] * cells
        for mask, rows in by_mask.items():
            first, last = (mask & -mask).bit_length() - 1, mask.bit_length() - 1
            if mask.bit_count() == last - first + 1:
                self.from_start[first] |= rows
                self.to_end[last] |= rows
            else:
                self.scattered.append((mask, rows))
        self.from_start = list(accumulate(self.from_start, or_))
        self.to_end = list(accumulate(reversed(self.to_end), or_))[::-1]

    def meeting(self, mask: int) -> int:
        found = 0
        if self.holding:
            for cell in bits(mask):
                found |= self.holding[cell]
            return found
        for other, rows in self.scattered:
            if other & mask:
                found |= rows
        if self.from_start:
            first, end = (mask & -mask).bit_length() - 1, mask.bit_length()
            if mask.bit_count() == end - first:
                return found | self.from_start[end - 1] & self.to_end[first]
            for first, last in runs(mask):
                found |= self.from_start[last] & self.to_end[first]
        return found


def set_of(rows: Sequence[int]) -> int:
    """The set of some rows, given in rising order."""
    if len(rows) == 1:
        return 1 << rows[0]
    places = bytearray((rows[-1] >> 3) + 1)
    for row in rows:
        places[row >> 3] |= 1 << (row & 7)
    return int.from_bytes(places, "little")


def members(rows: int) -> list[int]:
    """The rows of a set, lowest first."""
    return list(bits(rows))
