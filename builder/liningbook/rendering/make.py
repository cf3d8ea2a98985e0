"""The outputs of a build, one after another, as bytes."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime, time

from liningbook.analysis import Analysis
from liningbook.rendering.build_view import Viewer
from liningbook.rendering.bundle import bundle_bytes, bundle_of


class CannotMake(Exception):
    """Why an output cannot be made: words for the user."""


def make(
    analysis: Analysis, wanted: Sequence[str], epoch: int | None = None, crop_marks: bool = False
) -> Iterator[tuple[str, bytes]]:
    """File name and content of each wanted output (`protocol`, `card`, `bundle`, `site`).

    `epoch` is the time that the PDF files bear, in seconds since 1970; left out it is the start of the day on which the
    edition came into force, or of the day looked at. Raises CannotMake.
    """
    from liningbook.rendering.fonts import MissingGlyph, PrintingUnavailable
    from liningbook.rendering.pdf import DoesNotFit, RenderError

    try:
        yield from _make(analysis, wanted, _epoch_of(analysis) if epoch is None else epoch, crop_marks)
    except (MissingGlyph, PrintingUnavailable, DoesNotFit, RenderError) as error:
        raise CannotMake(str(error)) from error


def _epoch_of(analysis: Analysis) -> int:
    assert analysis.protocol is not None
    day = analysis.protocol.in_force_from or analysis.day
    return int(datetime.combine(day, time(), UTC).timestamp())


def _make(analysis: Analysis, wanted: Sequence[str], epoch: int, crop_marks: bool) -> Iterator[tuple[str, bytes]]:
    from liningbook.rendering.html import page_html
    from liningbook.rendering.markdown import to_html
    from liningbook.rendering.pdf import card_pdf, protocol_pdf

    bundle = bundle_of(analysis)
    content = bundle_bytes(bundle)
    viewer = Viewer(analysis, bundle["digest"], to_html)
    if "protocol" in wanted:
        yield "protocol.pdf", protocol_pdf(viewer.protocol_view(), content, epoch)
    if "card" in wanted:
        card = viewer.card_view()
        if card is None:
            raise CannotMake(
                "the card needs a quantity for its bands and a choice for its columns, and this protocol has none; "
                "build the rest with --only protocol,bundle,site"
            )
        yield "card.pdf", card_pdf(card, epoch, crop_marks=crop_marks)
    if "bundle" in wanted:
        yield "bundle.json", content
    if "site" in wanted:
        text = json.dumps(bundle, ensure_ascii=False, separators=(",", ":"))
        yield "site/index.html", page_html(viewer.protocol_view(), text).encode()
