"""How wide the columns of the card's exceptions are: the widths with which its rows are lowest.

Texts are wrapped here as the typesetter will wrap them, with the advance widths of the font (OpenType `hmtx`; kerning
is left out, it only makes lines shorter). The result sets widths only: what fits is measured on the finished layout.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import ceil, hypot
from operator import ge

from liningbook.say.catalogue import language
from liningbook.show.markup.grid import Grid
from liningbook.show.markup.wrapping import TextBlock
from liningbook.show.views.view import Step

_NUMBER = 1.62
"""Ems that the number of a step takes."""
_STEPS = (1, 2, 4, 8, 16)
_TOO_WIDE = 50
"""Millimetres of height that a millimetre counts by which a word is too wide."""
_UNLIKE = 0.2
"""What the heights of a row's cells, as the root of their squares, count beside the highest."""
_LEAST = 8
"""Millimetres that no column is narrower than."""
_MOST_LINES, _TALL = 3, 6.0
"""Lines that a heading may take, and what each further one counts, in millimetres of height."""


@dataclass(frozen=True)
class Sizes:
    """Type sizes in points of cells, and of the names of rows and of columns.

    `cell_edges` and `name_edges` are the millimetres at both edges of a cell and of a name, with the lines between.
    """

    cell: float
    name: float
    heading: float
    cell_edges: float = 7.0
    name_edges: float = 3.4


def widths(drawn: Grid, total: int, sizes: Sizes) -> tuple[int, ...]:
    """Widths in millimetres of the column of names and of the others, together `total`, that keep the rows low.

    Found by moving millimetres from column to column while the chart gets lower. A word wider than its column counts
    heavily.
    """
    return _set(drawn, total, sizes, language())[0]


def table_height(drawn: Grid, total: int, sizes: Sizes) -> tuple[float, float]:
    """The height of a table's texts with the best widths, and how much its words are too wide, in millimetres."""
    found, table = _set(drawn, total, sizes, language())
    rows = [list(zip(row, found, strict=True)) for row in zip(*table.columns, strict=True)]
    height = sum(max(block.height(width) for block, width in row) for row in rows)
    return height, sum(block.excess(width) for row in rows for block, width in row)


@lru_cache(maxsize=64)
def _set(drawn: Grid, total: int, sizes: Sizes, _spoken: str) -> tuple[tuple[int, ...], _Table]:
    """The widths with which a table is lowest, and its texts. No word is broken while another column has room."""
    table = _Table(drawn, sizes)
    count = len(table.columns)
    least = table.least()
    even = [total // count + (index < total % count) for index in range(count)]
    if sum(least) > total:
        return _lowest(table, tuple(even), [_LEAST] * count)[1], table
    left = total - sum(least)
    spread = [width + left // count + (index < left % count) for index, width in enumerate(least)]
    widest = [width + (left if width == max(least) else 0) for width in least]
    starts = [start for start in (even, spread, widest) if sum(start) == total]
    starts = [start for start in starts if all(map(ge, start, least))]
    return min(_lowest(table, tuple(start), least) for start in starts)[1], table


def _lowest(table: _Table, found: tuple[int, ...], least: Sequence[int]) -> tuple[float, tuple[int, ...]]:
    """The height that is reached by moving millimetres from column to column, and the widths."""
    best = table.height(found)
    columns = range(len(found))
    while True:
        moves = []
        for giver in columns:
            for taker in columns:
                for step in _STEPS:
                    if giver != taker and found[giver] - step >= least[giver]:
                        moved = list(found)
                        moved[giver] -= step
                        moved[taker] += step
                        moves.append((table.height(tuple(moved)), tuple(moved)))
        if not moves or min(moves)[0] >= best:
            return best, found
        best, found = min(moves)


def column_css(table: str, drawn: Grid, total: int, sizes: Sizes) -> str:
    """Style rules with the widths of the columns of a table (a selector), as shares of `total` millimetres."""
    found = widths(drawn, total, sizes)
    return "\n".join(
        f"{table} col:nth-child({index}) {{ width: {100 * width / total:.4f}%; }}"
        for index, width in enumerate(found, 1)
    )


class _Table:
    """The texts of a chart, wrapped once for every width that is asked for."""

    def __init__(self, drawn: Grid, sizes: Sizes) -> None:
        self.columns = [
            [
                _name(("",), sizes.heading, sizes.name_edges),
                *(_name(row.names, sizes.name, sizes.name_edges) for row in drawn.rows),
            ],
            *(
                [
                    _name((", ".join(names),), sizes.heading, sizes.cell_edges),
                    *(_cell(row.cells[index].steps, sizes) for row in drawn.rows),
                ]
                for index, names in enumerate(drawn.columns)
            ),
        ]
        self.heights: list[dict[int, list[float]]] = [{} for _ in self.columns]

    def least(self) -> list[int]:
        """The widths with which no word is broken, in whole millimetres."""
        return [max(_LEAST, ceil(max(block.least() for block in column))) for column in self.columns]

    def height(self, found: tuple[int, ...]) -> float:
        """The height of the chart in millimetres, a little more for what nearly wraps, much more for a broken word.

        Of two as high that one counts as less in which the cells of a row are more alike. A heading of many lines
        cannot be read at a glance: it counts for more than it is high.
        """
        cells = [self._column(index, width) for index, width in enumerate(found)]
        rows: float = sum(max(row) + _UNLIKE * hypot(*row) for row in zip(*cells, strict=True))
        heads = (column[0].lines(width) for column, width in zip(self.columns[1:], found[1:], strict=True))
        return rows + _TALL * sum(max(0, n - _MOST_LINES) for n in heads)

    def _column(self, index: int, width: int) -> list[float]:
        known = self.heights[index]
        if width not in known:
            known[width] = [block.height(width) + _TOO_WIDE * block.excess(width) for block in self.columns[index]]
        return known[width]


def _name(names: Sequence[str], points: float, edges: float) -> TextBlock:
    return TextBlock([[(name, True)] for name in names], points, edges)


def _cell(steps: Sequence[Step], sizes: Sizes) -> TextBlock:
    indent = _NUMBER if any(step.number for step in steps) else 0
    return TextBlock([[(step.head, True), (step.tail, False)] for step in steps], sizes.cell, sizes.cell_edges, indent)
