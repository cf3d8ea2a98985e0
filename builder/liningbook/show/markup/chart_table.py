"""How a chart is set: columns of equal width, names no wider than their words need, and slots of one height in a row.

The slots of a layer stand at one height in all cells of a row because each gets the height of the tallest. The texts
are wrapped here for that; kerning only makes a line shorter, so no slot comes out taller than it is told to be.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from math import ceil

from liningbook.say.catalogue import language
from liningbook.show.figures.depth import depth_axis, depth_bands
from liningbook.show.markup.grid import Grid, GridRow
from liningbook.show.markup.wrapping import POINT, TextBlock
from liningbook.show.views.view import Cell, Step

_NUMBER = 1.45
"""Ems that the number of a step takes."""
_MOST_LINES = 4
"""Lines that a heading may take."""
_ROUNDED = 0.01
SLOT_EDGE = 0.4
"""Millimetres of the gap between two slots that lie within the lower one: a line and the air beneath it."""
CHANGE_BAR = 1.3
"""Millimetres that the bar of a changed cell is wider than the line it stands for."""
_BORDER = 0.35
"""Millimetres by which the lines at the two edges of a chart reach beyond its columns."""
_WIDEST_NAMES = 0.3
"""The part of the whole that the names of the rows may take."""
_MOST_NAMES, _MOST_LABELS = 0.45, 0.35
"""The parts that they and the labels of layers take at most, however wide a word: what is left is for the cells."""


@dataclass(frozen=True)
class ChartSizes:
    """Type in points: of agents, of the `details` beneath them, of the names of rows, of columns, of layers and notes.

    In millimetres: what a cell, a name and the label of a layer lose to their edges, the gap between slots, and what is
    above and below the text of a row. `stacked` says that details stand on lines of their own. `drawing` and `strip`
    are the heights of the depth axis and of its pulp; none is drawn where it is 0. In ems, `leading` is the height of
    a line.
    """

    cell: float
    details: float
    name: float
    column: float
    label: float
    note: float
    cell_edges: float
    name_edges: float
    slot_gap: float
    row_edges: float
    stacked: bool = True
    drawing: float = 0
    strip: float = 0
    leading: float = 1.13


@dataclass(frozen=True)
class Setting:
    """A chart as it is set, in millimetres: the widths of names, of labels of layers, of a column, and more.

    `slots[r]` are those of the row `r`. `height` is that of all texts, `excess` by how much words are too wide, `lines`
    the most lines that a heading takes.
    """

    names: float
    labels: float
    column: float
    slots: tuple[tuple[float, ...], ...]
    height: float
    excess: float
    lines: int

    @property
    def is_crowded(self) -> bool:
        """Whether a word is too wide, or a heading takes too many lines."""
        return self.excess > _ROUNDED or self.lines > _MOST_LINES


def setting(drawn: Grid, total: float, sizes: ChartSizes) -> Setting:
    """The widths with which a chart is lowest: names as narrow as may be, all other columns of one width."""
    return _setting(drawn, total, sizes, language())


@lru_cache(maxsize=128)
def _setting(drawn: Grid, total: float, sizes: ChartSizes, _spoken: str) -> Setting:
    if drawn.is_changed:
        sizes = replace(sizes, cell_edges=sizes.cell_edges + CHANGE_BAR)
    total -= _BORDER
    labels = min(_labels_width(drawn, sizes), float(int(total * _MOST_LABELS)))
    if not drawn.has_names:
        return _set(drawn, total, sizes, 0.0, labels)
    blocks = [_name(row, sizes) for row in drawn.rows]
    corner = max((block.least() for block in _corners(drawn, sizes)), default=0.0)
    least = max(ceil(corner - labels), *(ceil(block.least()) for block in blocks))
    least = min(least, int(total * _MOST_NAMES))
    most = max(least, int(total * _WIDEST_NAMES))
    widths = range(least, most + 1)
    return min((_set(drawn, total, sizes, float(width), labels) for width in widths), key=_worth)


def _worth(one: Setting) -> tuple[float, float]:
    return one.excess * 50 + one.height + 6 * max(0, one.lines - _MOST_LINES), one.names


def _labels_width(drawn: Grid, sizes: ChartSizes) -> float:
    if not drawn.has_layers:
        return 0.0
    layers = {layer for row in drawn.rows for layer in row.layers}
    return float(ceil(max((_label(layer, sizes).least() for layer in layers), default=0)))


def _set(drawn: Grid, total: float, sizes: ChartSizes, names: float, labels: float) -> Setting:
    column = (total - names - labels) / len(drawn.columns)
    height, excess, slots = 0.0, 0.0, []
    for row in drawn.rows:
        heights, over = ((), 0.0) if drawn.is_run_on else _slots(row, drawn.has_layers, sizes, column, labels)
        slots.append(heights)
        tall = sum(heights) + sizes.slot_gap * max(0, len(heights) - 1)
        for cell in row.cells:
            if drawn.is_run_on or not row.slots(cell):
                block = _words(cell, sizes, row.unplaced(cell, drawn.layers))
                tall, over = max(tall, block.height(column, sizes.leading)), over + block.excess(column)
        if drawn.has_names:
            block = _name(row, sizes)
            tall, over = max(tall, block.height(names, sizes.leading)), over + block.excess(names)
        height, excess = height + tall + sizes.row_edges, excess + over
    heads = [_heading(drawn, index, sizes) for index in range(len(drawn.columns))]
    corners = _corners(drawn, sizes)
    tallest = [*(block.height(column, 1.1) for block in heads), *(c.height(names + labels, 1.1) for c in corners[:1])]
    height += max(tallest) + (sizes.drawing if drawn.depth else 0.0)
    excess += sum(block.excess(column) for block in heads) + sum(c.excess(names + labels) for c in corners)
    if drawn.readings:
        blocks = [TextBlock([[(words, True)]], sizes.note, sizes.cell_edges) for words in drawn.readings]
        height += max(block.height(column, 1.1) for block in blocks)
        excess += sum(block.excess(column) for block in blocks)
    lines = max(block.lines(column) for block in heads)
    return Setting(names, labels, column, tuple(slots), height, excess, lines)


def _slots(
    row: GridRow, labelled: bool, sizes: ChartSizes, column: float, labels: float
) -> tuple[tuple[float, ...], float]:
    """The height of each slot of a row, and by how much words in them are too wide."""
    found, over = [], 0.0
    for number, layer in enumerate(row.layers):
        tall = 0.0
        if labelled:
            block = _label(layer, sizes)
            tall = block.lines(labels) * sizes.cell * sizes.leading * POINT
            over += block.excess(labels)
        for cell in row.cells:
            slots = row.slots(cell)
            if slots:
                step = slots[number]
                before = row.slots_before(cell)
                blocks = [
                    _step(step, sizes),
                    *([_step(before[number], sizes)] if before and before[number] != step else ()),
                ]
                tall = max(tall, sum(block.height(column, sizes.leading) for block in blocks))
                over += sum(block.excess(column) for block in blocks)
        found.append(tall)
    return tuple(found), over


def _step(step: Step | None, sizes: ChartSizes) -> TextBlock:
    if step is None:
        return TextBlock([[("–", False)]], sizes.cell, sizes.cell_edges)
    indent = _NUMBER if step.number else 0
    if not step.rest or not sizes.stacked:
        return TextBlock([[(step.head, True), (step.tail, False)]], sizes.cell, sizes.cell_edges, indent)
    edges = sizes.cell_edges + indent * sizes.cell * POINT
    details = TextBlock([[(step.rest, False)]], sizes.details, edges)
    return TextBlock([[(step.head, True)]], sizes.cell, sizes.cell_edges, indent, details)


def _words(cell: Cell, sizes: ChartSizes, unplaced: Sequence[str]) -> TextBlock:
    """A cell that is said as one, with the layers that are not placed on a line of their own."""
    steps = [*cell.steps, *cell.was]
    indent = _NUMBER if any(step.number for step in steps) else 0
    said = [[(text, bold) for text, bold in _said(step)] for step in steps]
    said += [[(f"– {', '.join(unplaced)}", False)]] if unplaced else []
    return TextBlock(said, sizes.cell, sizes.cell_edges, indent)


def _said(step: Step) -> Iterator[tuple[str, bool]]:
    if step.slot:
        yield f"{step.layer} ", False
    yield step.head, True
    yield step.tail, False


def _name(row: GridRow, sizes: ChartSizes) -> TextBlock:
    notes = TextBlock([[(text, False)] for text in row.notes], sizes.note, sizes.name_edges) if row.notes else None
    return TextBlock([[(name, True)] for name in row.names], sizes.name, sizes.name_edges, notes=notes)


def _label(layer: str, sizes: ChartSizes) -> TextBlock:
    return TextBlock([[(layer, False)]], sizes.label, sizes.name_edges)


def _corners(drawn: Grid, sizes: ChartSizes) -> list[TextBlock]:
    """The headings at the edge, where they do not stand over the whole chart: of the bands, and of the other scale."""
    if drawn.of_one:
        return []
    texts = [(drawn.row_heading if drawn.bands_down else drawn.column_heading, True)]
    texts += [(drawn.reading_heading, False)] if drawn.readings else []
    return [TextBlock([[text]], sizes.label, sizes.name_edges) for text in texts]


def _heading(drawn: Grid, index: int, sizes: ChartSizes) -> TextBlock:
    texts = drawn.notes[index] if drawn.notes else ()
    notes = TextBlock([[(text, False)] for text in texts], sizes.note, sizes.cell_edges) if texts else None
    return TextBlock([[(", ".join(drawn.columns[index]), True)]], sizes.column, sizes.cell_edges, notes=notes)


@dataclass(frozen=True)
class Drawings:
    """The depth axis of a chart (SVG): over its columns with the scale beside it, or a piece beside each row's name."""

    axis: str = ""
    bands: str = ""
    rows: tuple[str, ...] = ()


def drawings(drawn: Grid, total: float, sizes: ChartSizes) -> Drawings | None:
    """The depth axis as it stands on a chart; none where there is none, or no room for it."""
    if drawn.depth is None or not sizes.drawing or drawn.is_run_on:
        return None
    if drawn.bands_down:
        side = min(9.0, sizes.drawing)
        pieces = [replace(drawn.depth, bands=(band,)) for band in drawn.depth.bands]
        return Drawings(rows=tuple(depth_bands(piece, side, side, side / 4, 1.6) for piece in pieces))
    found = setting(drawn, total, sizes)
    return Drawings(
        depth_axis(drawn.depth, found.names + found.labels, sizes.drawing, sizes.strip, sizes.label),
        depth_bands(drawn.depth, found.column * len(drawn.columns), sizes.drawing, sizes.strip),
    )


def chart_css(table: str, drawn: Grid, total: float, sizes: ChartSizes) -> str:
    """Style rules for a chart (a selector): the widths of its columns in millimetres, the heights of its slots."""
    found = setting(drawn, total, sizes)
    stub = [f"{table} col.names {{ width: {found.names:.3f}mm; }}"] if drawn.has_names else []
    stub += [f"{table} col.layers {{ width: {found.labels:.3f}mm; }}"] if drawn.has_layers else []
    heights = [
        f"{table} .row-{r} .slot-{s} {{ min-height: {height + (SLOT_EDGE if s else 0):.3f}mm; }}"
        for r, row in enumerate(found.slots)
        for s, height in enumerate(row)
    ]
    return "\n".join([*stub, f"{table} col.of {{ width: {found.column:.3f}mm; }}", *heights])


def sizes_css(sizes: ChartSizes) -> str:
    """The sizes of type and the edges as custom properties, for `chart.css`."""
    values = {
        "cell": f"{sizes.cell:g}pt",
        "details": f"{sizes.details:g}pt",
        "name": f"{sizes.name:g}pt",
        "column": f"{sizes.column:g}pt",
        "label": f"{sizes.label:g}pt",
        "note": f"{sizes.note:g}pt",
        "leading": f"{sizes.leading:g}",
    }
    return ":root { " + " ".join(f"--chart-{name}: {value};" for name, value in values.items()) + " }"


SCREEN = 225.0
"""The width of the chart on a screen, in units of which one is a quarter of a pixel high; it stretches across."""
SCREEN_SIZES = ChartSizes(
    12, 11, 12, 14.4, 11.2, 11.2, cell_edges=4.6, name_edges=5.0, slot_gap=2, row_edges=4, drawing=24, strip=5.5
)


def screen_css(drawn: Grid) -> str:
    """Style rules for the chart on a screen: its columns, and how many lines its rows share."""
    found = setting(drawn, SCREEN, SCREEN_SIZES)
    stub = [width * 4 / 16 for width in (found.names, found.labels) if width]
    edge = " ".join(f"{width:.2f}rem" for width in stub)
    counts = sorted({len(row.layers) for row in drawn.rows})
    lines = "".join(f".of-{count} {{ --lines: {max(1, count) + 1}; }}" for count in counts)
    return f".chart {{ --edge: {edge}; --columns: {len(drawn.columns)}; --stub: {len(stub) + 1}; }} {lines}"
