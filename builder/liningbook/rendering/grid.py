"""A chart as it is drawn: which way round, which rows are shared, how wide the columns are."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from liningbook.rendering.view import Cell, Chart


@dataclass(frozen=True)
class GridRow:
    """A row: the names it stands for, and a cell for each column."""

    names: tuple[str, ...]
    cells: tuple[Cell, ...]


@dataclass(frozen=True)
class Grid:
    """A chart as it is drawn: the headings of its two sides, the names of its columns, its rows."""

    row_heading: str
    column_heading: str
    columns: tuple[tuple[str, ...], ...]
    rows: tuple[GridRow, ...]


def grid(chart: Chart, bands_down: bool = False, gathered: bool = False) -> Grid:
    """The chart with the choices in its rows, or with the bands in its rows.

    Neighbouring choices with the same advice throughout share one row (or column); if `gathered`, all such choices do,
    at the place of the first.
    """
    groups: list[tuple[list[str], tuple[Cell, ...]]] = []
    for index, name in enumerate(chart.columns):
        cells = tuple(row[index] for row in chart.cells)
        partners = groups if gathered else groups[-1:]
        same = next((names for names, others in partners if _looks(others) == _looks(cells)), None)
        if same is not None:
            same.append(name)
        else:
            groups.append(([name], cells))
    if bands_down:
        return Grid(
            chart.band_heading,
            chart.column_heading,
            tuple(tuple(names) for names, _ in groups),
            tuple(GridRow((band,), tuple(cells[b] for _, cells in groups)) for b, band in enumerate(chart.bands)),
        )
    return Grid(
        chart.column_heading,
        chart.band_heading,
        tuple((band,) for band in chart.bands),
        tuple(GridRow(tuple(names), cells) for names, cells in groups),
    )


def _looks(cells: tuple[Cell, ...]) -> list[object]:
    return [(cell.steps, cell.tone) for cell in cells]


_LETTER = 2.1
"""Millimetres that a letter of a cell takes on an average, at 13 points; only the shares of the widths rest on it."""
_EDGES = 6.4
"""Millimetres at the edges of a cell; the number of a step takes as much again."""


def widths(drawn: Grid, total: int) -> tuple[int, ...]:
    """Widths in millimetres of the column of names and of the others, together `total`, that keep the rows low.

    Found by moving a few millimetres at a time from column to column while the rows get lower. A row is taken to be as
    high as its longest text is for the width of its column. No column gets narrower than its longest word.
    """
    count = len(drawn.columns) + 1
    rows = [[0.0] + [_area(names, 1.6) for names in drawn.columns]]
    rows += [
        [_area(row.names, 1.1), *(sum(_area((step.text,), 1) for step in cell.steps) for cell in row.cells)]
        for row in drawn.rows
    ]
    edges = [_EDGES / 2] + [
        _EDGES * (2 if any(step.number for row in drawn.rows for step in row.cells[c].steps) else 1)
        for c in range(count - 1)
    ]
    words = [_longest(name for row in drawn.rows for name in row.names)] + [
        _longest(step.text for row in drawn.rows for step in row.cells[c].steps) for c in range(count - 1)
    ]
    least = [max(edge + 1.25 * _LETTER * word, 0.6 * total / count) for edge, word in zip(edges, words, strict=True)]
    found = [total // count + (index < total % count) for index in range(count)]

    def height(shares: list[int]) -> float:
        tall = sum(
            max(area / max(share - edge, 1) for area, share, edge in zip(row, shares, edges, strict=True)) for row in rows
        )
        return tall + 1000 * sum(max(0.0, low - share) for low, share in zip(least, shares, strict=True))

    best = height(found)
    while True:
        moves = []
        for giver in range(count):
            for taker in range(count):
                for step in (1, 4, 12):
                    if giver != taker and found[giver] - step > 2 * _EDGES:
                        moved = list(found)
                        moved[giver] -= step
                        moved[taker] += step
                        moves.append((height(moved), moved))
        if not moves or min(moves)[0] >= best:
            return tuple(found)
        best, found = min(moves)


def _area(texts: Iterable[str], size: float) -> float:
    return sum((len(text) + 6) * _LETTER * size * size for text in texts)


def _longest(texts: Iterable[str]) -> int:
    return max((len(word) for text in texts for word in re.split(r"[\s-]+", text)), default=0)
