"""Which boxes meet a box: one lookup an axis and an `&`, instead of looking at pairs.

A set of rows is a whole number, one bit a row. For each axis the rows that start at or before a cell and those that end
at or after it are kept as such sets, as in bit-vector packet classification (T. V. Lakshman and D. Stiliadis, SIGCOMM
1998); rows that meet cells a to b are those that start by b and end from a on.
"""

from __future__ import annotations

from collections.abc import Sequence

from liningbook.logic.boxes import Box, bits, runs


class Join:
    """An index over a list of boxes."""

    def __init__(self, full: Box, boxes: Sequence[Box]) -> None:
        self._full = full
        self._all = (1 << len(boxes)) - 1
        self._cache: list[dict[int, int]] = [{mask: self._all} for mask in full]
        self._columns = [_Column(mask.bit_length(), [box[axis] for box in boxes]) for axis, mask in enumerate(full)]

    def meeting(self, box: Box, among: int = -1) -> int:
        """The rows whose box has a case in common with `box`, as a set; `among` limits the answer."""
        found = self._all & among
        for axis, mask in enumerate(box):
            if not found:
                break
            cache = self._cache[axis]
            rows = cache.get(mask)
            if rows is None:
                rows = cache[mask] = self._columns[axis].meeting(mask)
            found &= rows
        return found


class _Column:
    """One axis of the index."""

    def __init__(self, cells: int, masks: Sequence[int]) -> None:
        self.from_start = [0] * cells
        self.to_end = [0] * cells
        self.scattered: list[tuple[int, int]] = []
        by_mask: dict[int, int] = {}
        for row, mask in enumerate(masks):
            by_mask[mask] = by_mask.get(mask, 0) | 1 << row
        for mask, rows in by_mask.items():
            first, last = (mask & -mask).bit_length() - 1, mask.bit_length() - 1
            if mask.bit_count() == last - first + 1:
                self.from_start[first] |= rows
                self.to_end[last] |= rows
            else:
                self.scattered.append((mask, rows))
        for cell in range(1, cells):
            self.from_start[cell] |= self.from_start[cell - 1]
        for cell in range(cells - 2, -1, -1):
            self.to_end[cell] |= self.to_end[cell + 1]

    def meeting(self, mask: int) -> int:
        found = 0
        for first, last in runs(mask):
            found |= self.from_start[last] & self.to_end[first]
        for other, rows in self.scattered:
            if other & mask:
                found |= rows
        return found


def members(rows: int) -> list[int]:
    """The rows of a set, lowest first."""
    return list(bits(rows))
