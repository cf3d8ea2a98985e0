"""A chart as it is drawn: which way round, and which rows are shared."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

from liningbook.show.views.view import Cell, Chart


@dataclass(frozen=True)
class GridRow:
    """A row: the names it stands for, and a cell for each column. `notes` are said small beneath the names."""

    names: tuple[str, ...]
    cells: tuple[Cell, ...]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Grid:
    """A chart as it is drawn: the headings of its two sides, the names of its columns, its rows."""

    row_heading: str
    column_heading: str
    columns: tuple[tuple[str, ...], ...]
    rows: tuple[GridRow, ...]
    notes: tuple[tuple[str, ...], ...] = ()
    """Said small beneath the names of each column; as many as columns, or none at all."""


def grid(chart: Chart, bands_down: bool = False, gathered: bool = False, brief: bool = False) -> Grid:
    """The chart with the choices in its rows, or with the bands in its rows; these in few words if `brief`.

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
    bands = (brief and chart.brief_bands) or chart.bands
    readings = (brief and chart.brief_readings) or chart.band_readings
    sorts = [words for words in (readings, chart.band_notes) if words]
    notes = tuple(tuple(words[b] for words in sorts if words[b]) for b, _ in enumerate(chart.bands))
    if bands_down:
        return Grid(
            chart.band_heading,
            chart.column_heading,
            tuple(tuple(names) for names, _ in groups),
            tuple(GridRow((band,), tuple(cells[b] for _, cells in groups), notes[b]) for b, band in enumerate(bands)),
        )
    return Grid(
        chart.column_heading,
        chart.band_heading,
        tuple((band,) for band in bands),
        tuple(GridRow(tuple(names), cells) for names, cells in groups),
        notes,
    )


def parted(drawn: Grid, parts: int) -> tuple[Grid, ...]:
    """A chart as several, each with all rows and about as many of the columns."""
    cuts = [len(drawn.columns) * part // parts for part in range(parts + 1)]
    return tuple(
        Grid(
            drawn.row_heading,
            drawn.column_heading,
            drawn.columns[start:end],
            tuple(replace(row, cells=row.cells[start:end]) for row in drawn.rows),
            drawn.notes[start:end],
        )
        for start, end in pairwise(cuts)
    )


def _looks(cells: tuple[Cell, ...]) -> list[object]:
    return [(cell.steps, cell.tone) for cell in cells]
