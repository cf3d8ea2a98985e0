"""How tall the sides of a card become, by arithmetic: the texts wrapped with the advance widths of the font.

It tells which of the ways to set a card are worth laying out. The millimetres around the texts are those of `card.css`;
what does not change from one way to another (the head, the foot, the box of questions) is left out.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import accumulate

from liningbook.show.figures.card_figures import code_side
from liningbook.show.markup.chart_table import ChartSizes, setting
from liningbook.show.markup.columns import Sizes, table_height
from liningbook.show.markup.grid import Grid, grid
from liningbook.show.markup.wrapping import text_height
from liningbook.show.paper import back, card_sheet
from liningbook.show.paper.card_sheet import SAFE, SHEETS, CardStyle
from liningbook.show.views.view import CardView

_POINT = 25.4 / 72


@dataclass(frozen=True)
class _Edges:
    """Millimetres that stand around texts.

    They stand around a `line` of the exceptions, below an `entry` of the lists and above a
    `block` of them; `gutter` stands between the columns of lists, `box` at both edges of a box. In ems, `leading` is
    the height of a line of the back, `heading` that of a line of a heading, and `headed` the size of its type.
    """

    line: float
    entry: float
    block: float
    gutter: float
    box: float
    leading: float
    heading: float
    headed: float


_EDGES: Mapping[str, _Edges] = {
    "A4": _Edges(1.1, 0.5, 2.9, 6, 6.8, 1.16, 1.4, 1.25),
    "A5": _Edges(0.85, 0.3, 1.5, 4, 5.0, 1.16, 1.13, 1.05),
    "A6": _Edges(0.55, 0.2, 0.35, 0, 3.6, 1.1, 0, 1),
}


def chart_table(view: CardView, style: CardStyle) -> tuple[Grid, ChartSizes]:
    """The chart as it is drawn, and the sizes in which it is set, as in `chart.css`."""
    sheet = SHEETS[view.size]
    drawn = grid(view.chart, style.bands_down, of_one=bool(view.subject))
    band = card_sheet.band_size(sheet, style)
    names, heads = (band, sheet.column) if style.bands_down else (style.front, band)
    is_small = sheet.name == "A6"
    return drawn, ChartSizes(
        cell=style.front,
        details=style.front if is_small else max(sheet.details, style.front - 2),
        name=names,
        column=heads,
        label=sheet.label,
        note=sheet.note,
        cell_edges=4.2 if is_small else 4.6,
        name_edges=2.0 if is_small else 2.8,
        slot_gap=0.6 if is_small else 0.7,
        row_edges=0.75 if is_small else 1.65,
        stacked=not is_small and not style.run_in,
        drawing=sheet.drawing if style.drawn else 0,
        strip=sheet.strip,
        leading=1.03 if is_small else 1.13,
    )


def protocol_sizes(size: float) -> ChartSizes:
    """The sizes of type of the protocol's chart, as in `chart.css`."""
    return ChartSizes(
        cell=size,
        details=max(8.0, size - 1.5),
        name=size,
        column=1.3 * size,
        label=max(8.0, size - 1),
        note=max(8.0, size - 1),
        cell_edges=4.6,
        name_edges=2.8,
        slot_gap=0.7,
        row_edges=1.65,
        drawing=18,
        strip=4.0,
    )


def exceptions_table(view: CardView, style: CardStyle) -> tuple[Grid, Sizes]:
    """The exceptions as a grid, and the sizes of its type."""
    sheet = SHEETS[view.size]
    sizes = Sizes(style.back, style.back, style.back, sheet.cell_edges, sheet.name_edges)
    return back.exceptions_grid(view), sizes


def side_height(view: CardView, style: CardStyle, side: str) -> tuple[float, float]:
    """The height of what changes on a side, and by how much its widest words are too wide, in millimetres."""
    sheet, edges = SHEETS[view.size], _EDGES[view.size]
    room = card_sheet.paper(sheet, style)[0] - 2 * SAFE
    if side == "front":
        drawn, chart_sizes = chart_table(view, style)
        found = setting(drawn, room, chart_sizes)
        return found.height, found.excess
    height, excess = 0.0, 0.0
    if view.exceptions:
        drawn, sizes = exceptions_table(view, style)
        height, excess = table_height(drawn, room, sizes)
        height += edges.line * len(drawn.rows)
    run = back.entries(view, style.brief, not style.code_front)
    tops = [0.0, *accumulate(_entries(view, run, style.back))]
    if sheet.halves == 1:
        return height + tops[-1], excess
    again = {entry.section: _heading(view.size, entry.heading, style.back) for entry in back.continued(run)}
    return height + back.best_split(run, tops, again)[1], excess


def _across(size: str) -> float:
    """The width of a column of lists."""
    sheet = SHEETS[size]
    return (sheet.width - 2 * SAFE - _EDGES[size].gutter) / sheet.halves


def _heading(size: str, words: str, points: float) -> float:
    """The height of a heading over a list."""
    edges = _EDGES[size]
    return edges.heading / edges.headed * text_height(words, "", edges.headed * points, _across(size))


def _entries(view: CardView, run: Sequence[back.BackEntry], points: float) -> Iterator[float]:
    """The height of each entry of the lists, with its heading if it has one."""
    sheet, edges = SHEETS[view.size], _EDGES[view.size]
    across = _across(view.size)
    code = code_side(view.code, sheet.module, sheet.correction) + 1.5 if view.code else 0.0
    is_pile = sheet.halves == 1
    paired, is_paired = back.beside_code(run) if is_pile else "", False
    for entry in run:
        is_paired = is_paired or entry.id == paired
        in_box = entry.kind in ("ask", "pain")
        beside = edges.box if in_box else 1.6 * points * _POINT if entry.sign else 0.0
        if entry.kind == "code" or is_paired:
            beside += code
        label = f"{entry.heading}: {entry.label}" if is_pile and not entry.sign else entry.label
        tall = edges.leading * text_height(label, entry.text, points, across - beside) + edges.entry
        tall += _heading(view.size, entry.heading, points) if entry.heading else 0.0
        tall += edges.box / 2 if in_box else 0.0
        if entry.kind == "code":
            tall = 0.0 if is_pile else max(tall, code)
        yield tall + (edges.block if entry.heading else 0.0)
