"""View data to PDF: the printed protocol and the cards."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from liningbook.say.outputs import paper
from liningbook.show.figures.protocol_figures import NO_FIGURES, ProtocolFigures
from liningbook.show.paper import paper_html
from liningbook.show.paper.card_sheet import CardStyle
from liningbook.show.paper.chart_fit import chart_parts, chart_size
from liningbook.show.paper.fitting import check_sides, fit_cards
from liningbook.show.paper.named import card_names, protocol_names
from liningbook.show.paper.overflow import DoesNotFit, check_pages, check_width
from liningbook.show.paper.typeset import typesetter
from liningbook.show.views.view import CardView, ProtocolView


def protocol_pdf(view: ProtocolView, bundle: bytes, epoch: int, drawings: ProtocolFigures = NO_FIGURES) -> bytes:
    """The printed protocol, A4, with the bundle attached as `bundle.json`.

    `epoch` (seconds since 1970) is the only date in the file. The decision chart is set smaller until it takes one
    page; one that takes more at the smallest size goes on, with its headings repeated.
    """
    with typesetter(epoch) as setter:
        size = chart_size(view, setter)
        parts = chart_parts(view, size)
        document = setter.lay_out(paper_html.protocol_html(view, size, drawings=drawings, parts=parts))
        names = protocol_names(view, parts, drawings)
        check_width(document, paper.PROTOCOL, names)
        check_pages(document, paper.PROTOCOL, names)
        return setter.write(document, attachment=("bundle.json", bundle))


def card_pdf(views: CardView | Sequence[CardView], epoch: int, crop_marks: bool = False) -> bytes:
    """One card or several in one file: two sides of one sheet each, for printing on both sides.

    Raises `DoesNotFit` where the smallest type is still too large; no text is ever cut.
    """
    return cards_pdf(*fitted((views,) if isinstance(views, CardView) else views, epoch, crop_marks), epoch)


def fitted(views: Sequence[CardView], epoch: int, crop_marks: bool = False) -> tuple[list[CardView], list[CardStyle]]:
    """The cards of one file, each with how it is set.

    `crop_marks` puts marks for cutting around it, and colour that is cut.
    The type is as large as fits, within the sizes of the card's `Sheet`. Where there is no room for more, one sentence
    says that something has changed since the last edition. Raises `DoesNotFit`.
    """
    cards = list(views)
    with typesetter(epoch) as setter:
        try:
            return cards, fit_cards(cards, setter, crop_marks)
        except DoesNotFit:
            if not any(view.changes_brief for view in cards):
                raise
            cards = [replace(view, changes=(view.changes_brief,)) if view.changes_brief else view for view in cards]
            return cards, fit_cards(cards, setter, crop_marks)


def cards_pdf(views: Sequence[CardView], styles: Sequence[CardStyle], epoch: int) -> bytes:
    """Cards in one file, each set in its style. Raises `DoesNotFit`, should one not fit in it."""
    with typesetter(epoch) as setter:
        documents = []
        for view, style in zip(views, styles, strict=True):
            document = setter.lay_out(paper_html.card_html(view, style))
            check_width(document, paper.CARD, card_names(view, style))
            check_sides(document)
            documents.append(document)
        turned = {style.landscape for style in styles}
        edge = "/DuplexFlipShortEdge" if turned == {True} else "/DuplexFlipLongEdge" if turned == {False} else ""
        whole = documents[0].copy([page for document in documents for page in document.pages])
        return setter.write(whole, duplex=edge)
