"""The size of type at which the protocol's decision chart takes one page.

Only the chart is laid out to find it, never the whole protocol: the chart begins a page of its own, so what it takes
alone is what it takes in the protocol.
"""

from __future__ import annotations

from liningbook.show.markup import html
from liningbook.show.paper.typeset import Typesetter
from liningbook.show.views.view import ProtocolView

SIZES = (11.0, 10.5, 10.0, 9.5, 9.0, 8.5, 8.0)
"""Type sizes in points that are tried, largest first."""
_MM = 96 / 25.4
"""CSS pixels in a millimetre."""
_FOOT = 297 - 24.0
"""Where the chart's page ends, in millimetres from the top, as in `protocol.css`."""
_SHRINKING = 1.6
"""The height of a chart goes with about this power of its type size: smaller type also breaks fewer lines."""


def chart_size(view: ProtocolView, setter: Typesetter) -> float:
    """The largest of `SIZES` with which the chart takes one page; the smallest where none does."""
    if view.chart is None:
        return SIZES[0]
    needed, room = _measured(view, setter, SIZES[0])
    if needed <= room:
        return SIZES[0]
    start = next((n for n, size in enumerate(SIZES) if needed * (size / SIZES[0]) ** _SHRINKING <= room), len(SIZES))
    for size in SIZES[max(1, start) : -1]:
        needed, room = _measured(view, setter, size)
        if needed <= room:
            return size
    return SIZES[-1]


def _measured(view: ProtocolView, setter: Typesetter, size: float) -> tuple[float, float]:
    """The height of the chart with its legend on a page that does not end, and the height there is, in millimetres."""
    (page,) = setter.lay_out(html.protocol_html(view, size, measuring=True)).pages
    top, bottom = page.anchors["chart"][1], page.anchors["chart-end"][1]
    return (bottom - top) / _MM, _FOOT - top / _MM
