"""A chart as it is drawn: which way round, which rows are shared, how wide the columns are."""

from __future__ import annotations

from dataclasses import dataclass

from liningbook.rendering.view import Cell, Chart

_UNITS = 60
"""Widths are whole parts of this many."""


@dataclass(frozen=True)
class GridRow:
    """A row: the names it stands for, and a cell for each column."""

    names: tuple[str, ...]
    cells: tuple[Cell, ...]


@dataclass(frozen=True)
class Grid:
    """A chart as it is drawn. `widths` are the columns' shares in per cent, the column of names left out."""

    row_heading: str
    column_heading: str
    columns: tuple[tuple[str, ...], ...]
    rows: tuple[GridRow, ...]

    @property
    def widths(self) -> tuple[float, ...]:
        """Shares that keep the rows low: a column with long texts is wider."""
        return _widths(self)


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


def _widths(drawn: Grid) -> tuple[float, ...]:
    """Shares found by moving one unit at a time from column to column while the rows get lower.

    A row is taken to be as high as its longest text is for the width of its column; a share is never less than
    six tenths of an equal one.
    """
    count = len(drawn.columns)
    lengths = [[2 * sum(len(name) for name in names) for names in drawn.columns]]
    lengths += [[sum(len(step.text) + 12 for step in cell.steps) for cell in row.cells] for row in drawn.rows]
    least = _UNITS * 6 // (10 * count)
    shares = [_UNITS // count + (index < _UNITS % count) for index in range(count)]

    def height(widths: list[int]) -> float:
        return sum(max(length / width for length, width in zip(row, widths, strict=True)) for row in lengths)

    best = height(shares)
    while True:
        moves = []
        for giver in range(count):
            for taker in range(count):
                if giver != taker and shares[giver] > least:
                    moved = list(shares)
                    moved[giver] -= 1
                    moved[taker] += 1
                    moves.append((height(moved), moved))
        if not moves or min(moves)[0] >= best:
            return tuple(round(100 * share / _UNITS, 3) for share in shares)
        best, shares = min(moves)
