"""The size of type at which the protocol's decision chart takes one page, and its parts where it takes more.

Only the chart is laid out to find it, never the whole protocol: the chart begins a page of its own, so what it takes
alone is what it takes in the protocol.
"""

from __future__ import annotations

from math import inf

from liningbook.show.markup.chart_table import ChartSizes, setting
from liningbook.show.markup.grid import Grid, grid, parted
from liningbook.show.paper.heights import protocol_sizes
from liningbook.show.paper.paper_html import protocol_html
from liningbook.show.paper.typeset import Typesetter
from liningbook.show.views.view import Chart, ProtocolView

SIZES = (11.0, 10.5, 10.0, 9.5, 9.0, 8.5, 8.0)
"""Type sizes in points that are tried, largest first."""
_MM = 96 / 25.4
"""CSS pixels in a millimetre."""
_FOOT = 297 - 24.0
"""Where the chart's page ends, in millimetres from the top, as in `protocol.css`."""
WIDTH = 182
"""The width of the chart in millimetres, as in `protocol.css`."""
_DOUBT = 5.0
"""Millimetres by which the arithmetic may think a chart too tall that is not."""


def chart_size(view: ProtocolView, setter: Typesetter) -> float:
    """The largest of `SIZES` with which the chart takes one page; the smallest where none does."""
    if view.chart is None:
        return SIZES[0]
    drawn = grid(view.chart)
    if setting(drawn, WIDTH, protocol_sizes(SIZES[-1])).is_crowded:
        return SIZES[-1]
    needed, room = _measured(view, setter, SIZES[0])
    if needed <= room and not setting(drawn, WIDTH, protocol_sizes(SIZES[0])).is_crowded:
        return SIZES[0]
    texts = {size: setting(drawn, WIDTH, protocol_sizes(size)).height for size in SIZES}
    rest = needed - texts[SIZES[0]]
    for size in SIZES[1:-1]:
        if texts[size] + rest <= room + _DOUBT and not setting(drawn, WIDTH, protocol_sizes(size)).is_crowded:
            needed, room = _measured(view, setter, size)
            if needed <= room:
                return size
    return SIZES[-1]


def chart_parts(view: ProtocolView, size: float) -> tuple[Grid, ...]:
    """The chart as one table, its bands across or else down, or as the fewest tables in which no word is broken."""
    return chart_tables(view.chart, protocol_sizes(size)) if view.chart else ()


def chart_tables(chart: Chart, sizes: ChartSizes) -> tuple[Grid, ...]:
    """A chart as one table, its bands across or else down, or as the fewest tables in which no word is broken."""
    ways = [grid(chart), grid(chart, bands_down=True)]
    whole = next((drawn for drawn in ways if not setting(drawn, WIDTH, sizes).is_crowded), None)
    return (whole,) if whole else min((_in_parts(drawn, sizes) for drawn in ways), key=len)


def _in_parts(drawn: Grid, sizes: ChartSizes) -> tuple[Grid, ...]:
    """A table in as few tables of some of its columns each as are not crowded; a column each if none are."""
    count = len(drawn.columns)
    for parts in range(2, count):
        found = parted(drawn, parts)
        if not any(setting(part, WIDTH, sizes).is_crowded for part in found):
            return found
    return parted(drawn, count)


def _measured(view: ProtocolView, setter: Typesetter, size: float) -> tuple[float, float]:
    """The height of the chart with its legend on a page that does not end, and the height there is, in millimetres."""
    page, *others = setter.lay_out(protocol_html(view, size, measuring=True)).pages
    if others:
        return inf, 0
    top, bottom = page.anchors["chart"][1], page.anchors["chart-end"][1]
    return (bottom - top) / _MM, _FOOT - top / _MM
