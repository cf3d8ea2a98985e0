"""The size of type at which the protocol's decision chart takes one page.

Only the chart is laid out to find it, never the whole protocol: the chart begins a page of its own, so what it takes
alone is what it takes in the protocol.
"""

from __future__ import annotations

from liningbook.show.markup.columns import table_height
from liningbook.show.markup.grid import grid
from liningbook.show.paper.heights import protocol_sizes
from liningbook.show.paper.paper_html import protocol_html
from liningbook.show.paper.typeset import Typesetter
from liningbook.show.views.view import ProtocolView

SIZES = (11.0, 10.5, 10.0, 9.5, 9.0, 8.5, 8.0)
"""Type sizes in points that are tried, largest first."""
_MM = 96 / 25.4
"""CSS pixels in a millimetre."""
_FOOT = 297 - 24.0
"""Where the chart's page ends, in millimetres from the top, as in `protocol.css`."""
_WIDTH = 182
"""The width of the chart in millimetres, as in `protocol.css`."""
_DOUBT = 5.0
"""Millimetres by which the arithmetic may think a chart too tall that is not."""


def chart_size(view: ProtocolView, setter: Typesetter) -> float:
    """The largest of `SIZES` with which the chart takes one page; the smallest where none does."""
    if view.chart is None:
        return SIZES[0]
    needed, room = _measured(view, setter, SIZES[0])
    if needed <= room:
        return SIZES[0]
    drawn = grid(view.chart)
    texts = {size: table_height(drawn, _WIDTH, protocol_sizes(size))[0] for size in SIZES}
    rest = needed - texts[SIZES[0]]
    for size in SIZES[1:-1]:
        if texts[size] + rest <= room + _DOUBT:
            needed, room = _measured(view, setter, size)
            if needed <= room:
                return size
    return SIZES[-1]


def _measured(view: ProtocolView, setter: Typesetter, size: float) -> tuple[float, float]:
    """The height of the chart with its legend on a page that does not end, and the height there is, in millimetres."""
    (page,) = setter.lay_out(protocol_html(view, size, measuring=True)).pages
    top, bottom = page.anchors["chart"][1], page.anchors["chart-end"][1]
    return (bottom - top) / _MM, _FOOT - top / _MM
