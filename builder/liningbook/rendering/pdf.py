"""View data to PDF: the printed protocol and the card for the wall."""

from __future__ import annotations

from typing import Any

from liningbook.rendering import html
from liningbook.rendering.fitting import DoesNotFit, card_names, chart_start, check_sides, check_width, fit_card
from liningbook.rendering.fonts import MissingGlyph, PrintingUnavailable
from liningbook.rendering.typeset import RenderError, typesetter
from liningbook.rendering.view import CardView, ProtocolView

__all__ = ["DoesNotFit", "MissingGlyph", "PrintingUnavailable", "RenderError", "card_pdf", "protocol_pdf"]

CHART_SIZES = (11.0, 10.5, 10.0, 9.5, 9.0, 8.5, 8.0)
"""Type sizes in points that are tried for the protocol's chart."""


def protocol_pdf(view: ProtocolView, bundle: bytes, epoch: int) -> bytes:
    """The printed protocol, A4, with the bundle attached as `bundle.json`.

    `epoch` (seconds since 1970) is the only date in the file. The decision chart is set smaller until it takes one
    page; one that takes more at the smallest size goes on, with its headings repeated.
    """
    with typesetter(epoch) as setter:
        for size in CHART_SIZES[chart_start(view, setter, CHART_SIZES) :]:
            document = setter.lay_out(html.protocol_html(view, size))
            if view.chart is None or _page_of(document, "chart-end") == _page_of(document, "chart"):
                break
        check_width(document, "the protocol", {})
        return setter.write(document, attachment=("bundle.json", bundle))


def card_pdf(view: CardView, epoch: int, crop_marks: bool = False) -> bytes:
    """The card for the wall: two sides of A4, for printing on both sides of one sheet.

    The type is as large as fits, from 14 down to 11 points on the front and from 12 down to 9 on the back. Raises
    `DoesNotFit` where the smallest is still too large; no text is ever cut.
    """
    with typesetter(epoch) as setter:
        style = fit_card(view, setter, crop_marks)
        document = setter.lay_out(html.card_html(view, style))
        check_width(document, "the card", card_names(view, style))
        check_sides(document)
        return setter.write(document, duplex="/DuplexFlipShortEdge" if style.landscape else "/DuplexFlipLongEdge")


def _page_of(document: Any, anchor: str) -> int:
    return next(number for number, page in enumerate(document.pages) if anchor in page.anchors)
