"""What stops what, as one table or, where there are many irritants, as the fewest tables in which no word is broken."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

from liningbook.show.markup.wrapping import POINT, TextBlock
from liningbook.show.views.pieces import StopsTable

_POINTS = 8.5
"""The size of type of the cells, as in `protocol.css`."""
_HEADINGS = 9.0
_EDGES = 3.0
"""Millimetres at both sides of a cell together, with its line."""
_CASES = 38.0
"""Millimetres that the cases have at least."""
_IRRITANT = 22.0
"""Millimetres that an irritant has at least."""
_SIGN = 1.5
"""Ems that the sign of a cell takes before its first word."""


def stops_parts(table: StopsTable, width: float) -> tuple[StopsTable, ...]:
    """The table in as few parts of some of its irritants each as `width` millimetres hold; one each if none fit."""
    count = len(table.irritants)
    for parts in range(1, count):
        found = _parted(table, parts)
        if all(_least(part) <= width for part in found):
            return found
    return _parted(table, count)


def _parted(table: StopsTable, parts: int) -> tuple[StopsTable, ...]:
    cuts = [len(table.irritants) * part // parts for part in range(parts + 1)]
    return tuple(
        replace(
            table,
            irritants=table.irritants[start:end],
            rows=tuple(replace(row, cells=row.cells[start:end]) for row in table.rows),
        )
        for start, end in pairwise(cuts)
    )


def _least(table: StopsTable) -> float:
    """The width in which no word of a table is broken and each column can be read."""
    cases = TextBlock([[(text, True)] for row in table.rows for text in (row.choices, row.band)], _HEADINGS, _EDGES)
    width = max(_CASES, cases.least())
    for number, irritant in enumerate(table.irritants):
        words = [[(irritant, True)], *([(row.cells[number].words, True)] for row in table.rows)]
        width += max(_IRRITANT, TextBlock(words, _POINTS, _EDGES + _SIGN * _POINTS * POINT).least())
    return width
