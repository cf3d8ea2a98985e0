"""A chart as it is drawn: which way round, which rows are shared, and how each row is read along its layers."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from itertools import pairwise

from liningbook.say.cases import labelled
from liningbook.say.outputs.charts import read
from liningbook.show.views.view import Cell, Chart, Depth, Step

Slots = tuple[Step | None, ...]


@dataclass(frozen=True)
class GridRow:
    """A row: the names it stands for, and a cell for each column. `notes` are said small beneath the names.

    `band` is the place of the row's band, where the bands stand in the rows.
    """

    names: tuple[str, ...]
    cells: tuple[Cell, ...]
    notes: tuple[str, ...] = ()
    band: int = -1

    @property
    def layers(self) -> tuple[str, ...]:
        """The layers that any of the cells is about, in the order in which they are placed by default."""
        return tuple(self._layers.values())

    @property
    def _layers(self) -> dict[int, str]:
        found = {step.slot: step.layer for cell in self.cells if cell.is_layered for step in cell.steps}
        return dict(sorted(found.items()))

    def slots(self, cell: Cell) -> Slots:
        """What a cell says of each layer, nothing of one that is not placed; no slots if it is said in words as one."""
        return self._in_slots(cell.steps) if cell.is_layered else ()

    def slots_before(self, cell: Cell) -> Slots:
        """What a changed cell said of each layer before, if both can be said by layers."""
        before = Cell("", cell.was, "")
        shared = cell.is_layered and before.is_layered and {step.slot for step in cell.was} <= set(self._layers)
        return self._in_slots(cell.was) if cell.was and shared else ()

    def unplaced(self, cell: Cell, layers: tuple[str, ...]) -> tuple[str, ...]:
        """Of these layers those that a cell does not speak of; none if it is said in words as one."""
        said = {step.layer for step in cell.steps}
        return tuple(layer for layer in layers if layer not in said) if cell.is_layered else ()

    def _in_slots(self, steps: tuple[Step, ...]) -> Slots:
        said = {step.slot: step for step in steps}
        return tuple(said.get(slot) for slot in self._layers)


@dataclass(frozen=True)
class Grid:
    """A chart as it is drawn: the headings of its two sides, the names of its columns, its rows.

    `notes` are said small beneath the names of the columns; as many as columns, or none at all. `readings` are the
    columns on the other scale, under `reading_heading`. `depth` is drawn over the columns or, where the rows are bands,
    beside each name. `of_one` says that the rows need no name, since all is about one choice.
    """

    row_heading: str
    column_heading: str
    columns: tuple[tuple[str, ...], ...]
    rows: tuple[GridRow, ...]
    notes: tuple[tuple[str, ...], ...] = ()
    readings: tuple[str, ...] = ()
    reading_heading: str = ""
    depth: Depth | None = None
    bands_down: bool = False
    of_one: bool = False

    @property
    def has_names(self) -> bool:
        """Whether the rows bear names."""
        return not self.of_one or self.bands_down or not self.has_layers

    @property
    def is_run_on(self) -> bool:
        """Whether a cell has no other beside it: its layers are named in it, those that are not placed on one line."""
        return self.of_one and self.bands_down

    @property
    def has_layers(self) -> bool:
        """Whether the names of layers stand at the edge of the rows: there is more than one layer to tell apart."""
        return len(self.layers) > 1 and not self.is_run_on

    @property
    def layers(self) -> tuple[str, ...]:
        """All layers that any cell is about, in the order in which they are placed by default."""
        found = {step.slot: step.layer for row in self.rows for cell in row.cells for step in cell.steps if step.slot}
        return tuple(layer for _, layer in sorted(found.items()))

    @property
    def is_numbered(self) -> bool:
        """Whether any layer bears a number in the order of placing."""
        return any(step.number for row in self.rows for cell in row.cells for step in cell.steps)

    @property
    def has_dashes(self) -> bool:
        """Whether a dash says of any layer that it is not placed."""
        return any(row.unplaced(cell, row.layers) for row in self.rows for cell in row.cells)

    @property
    def is_changed(self) -> bool:
        """Whether any cell is marked as changed."""
        return any(cell.changed for row in self.rows for cell in row.cells)


def grid(chart: Chart, bands_down: bool = False, of_one: bool = False) -> Grid:
    """The chart with the choices in its rows, or with the bands in its rows.

    Choices with the same advice throughout share one row (or column) at the place of the first. `of_one` says that the
    only choice is named elsewhere.
    """
    groups: list[tuple[list[str], tuple[Cell, ...]]] = []
    for index, name in enumerate(chart.columns):
        cells = tuple(row[index] for row in chart.cells)
        same = next((names for names, others in groups if looks(others) == looks(cells)), None)
        if same is not None:
            same.append(name)
        else:
            groups.append(([name], cells))
    notes = [tuple(filter(None, (note,))) for note in chart.band_notes or [""] * len(chart.bands)]
    of_one = of_one and len(groups) == 1
    if bands_down:
        if chart.band_readings:
            say = read if of_one else partial(labelled, chart.reading_heading)
            readings = [say(words) if words else "" for words in chart.band_readings]
            notes = [tuple(filter(None, (words, *note))) for words, note in zip(readings, notes, strict=True)]
        return Grid(
            chart.band_heading,
            chart.column_heading,
            tuple(tuple(names) for names, _ in groups),
            tuple(
                GridRow((band,), tuple(cells[b] for _, cells in groups), notes[b], b)
                for b, band in enumerate(chart.bands)
            ),
            reading_heading=chart.reading_heading,
            depth=chart.depth,
            bands_down=True,
            of_one=of_one,
        )
    return Grid(
        chart.column_heading,
        chart.band_heading,
        tuple((band,) for band in chart.bands),
        tuple(GridRow(tuple(names), cells) for names, cells in groups),
        tuple(notes) if any(notes) else (),
        chart.band_readings,
        chart.reading_heading,
        chart.depth,
        of_one=of_one,
    )


def parted(drawn: Grid, parts: int) -> tuple[Grid, ...]:
    """A chart as several, each with all rows and about as many of the columns."""
    cuts = [len(drawn.columns) * part // parts for part in range(parts + 1)]
    return tuple(
        replace(
            drawn,
            columns=drawn.columns[start:end],
            rows=tuple(replace(row, cells=row.cells[start:end]) for row in drawn.rows),
            notes=drawn.notes[start:end],
            readings=drawn.readings[start:end],
            depth=_part(drawn.depth, start, end) if not drawn.bands_down else drawn.depth,
        )
        for start, end in pairwise(cuts)
    )


def _part(depth: Depth | None, start: int, end: int) -> Depth | None:
    return replace(depth, bands=depth.bands[start:end]) if depth else None


def looks(cells: tuple[Cell, ...]) -> list[object]:
    """What tells cells apart for the eye."""
    return [(cell.steps, cell.tone, cell.changed, cell.was) for cell in cells]
