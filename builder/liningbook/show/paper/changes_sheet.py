"""The change sheet: what changes for which cases, on paper, for the practice meeting that agrees to it or does not."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, time
from typing import NamedTuple

from liningbook.compare.comparison import Comparison
from liningbook.compare.past_cases import PastCases
from liningbook.exchange.uncommitted import Uncommitted
from liningbook.finding import Finding
from liningbook.model.protocol import Protocol
from liningbook.say.changes.shown import particulars
from liningbook.say.outputs.identity import status_words
from liningbook.say.safety import standing_cautions
from liningbook.say.texts import t
from liningbook.show.assets import fonts
from liningbook.show.changes.changes_page import changes_page
from liningbook.show.figures.changes_chart import ChartPair, chart_pair
from liningbook.show.figures.drawing import size_of
from liningbook.show.figures.tones import tone_css
from liningbook.show.markup.templates import css, filled, markup, page_numbers, with_alternative
from liningbook.show.views.changed import ChangesPage
from liningbook.show.views.pieces import Labelled
from liningbook.show.views.view_texts import view_texts

LINES = 8
"""At least so many people can sign."""
TALLEST = 2350
"""The height of a chart that takes a page, in tenths of a millimetre."""


@dataclass(frozen=True)
class SheetView:
    """Everything that the sheet says.

    `old` and `new` are the editions, `particulars` a label and the words for either.
    """

    title: str
    practice: str
    old: str
    new: str
    particulars: tuple[tuple[str, str, str], ...]
    page: ChangesPage
    chart_notes: tuple[str, ...]
    usual: tuple[Labelled, ...]
    cautions: tuple[str, ...]
    people: tuple[str, ...]
    free_lines: int


class DrawnPair(NamedTuple):
    """The charts before and after, each with its heading: one above the other, or beside each other if narrow."""

    is_narrow: bool
    sides: tuple[tuple[str, str], ...]


def changes_sheet(
    comparison: Comparison,
    old_name: str,
    new_name: str,
    past: PastCases | None = None,
    epoch: int | None = None,
    errors: Sequence[Finding] = (),
    edits: Uncommitted | None = None,
) -> bytes:
    """The sheet as a PDF of A4 pages. `old_name` and `new_name` are what the user calls the versions.

    `errors` are those of the new version, `edits` those that are not committed. `epoch` (seconds since 1970) is the
    only date in the file; left out it is the start of the day on which the new edition comes into force, or of 1970.
    Raises MissingGlyph, PrintingUnavailable, DoesNotFit, RenderError.
    """
    from liningbook.show.paper.overflow import check_pages, check_width
    from liningbook.show.paper.typeset import typesetter

    pair = chart_pair(comparison)
    view = sheet_view(comparison, old_name, new_name, past, pair, errors, edits)
    text = sheet_html(view, tuple(drawn_pairs(pair)) if pair else ())
    with typesetter(_epoch_of(comparison.new_protocol) if epoch is None else epoch) as setter:
        document = setter.lay_out(text)
        check_width(document, t.the_change_sheet, {})
        check_pages(document, t.the_change_sheet, {})
        return setter.write(document)


def sheet_html(view: SheetView, pairs: Sequence[DrawnPair]) -> str:
    """The sheet as it is typeset."""
    fonts.require_glyphs(view_texts(view))
    style_text = css("base.css", "changes.css", "changes_sheet.css", fonts.print_font_css(), tone_css(), page_numbers())
    return filled("changes.html", view=view, css=style_text, charts=pairs)


def sheet_view(
    comparison: Comparison,
    old_name: str,
    new_name: str,
    past: PastCases | None,
    pair: ChartPair | None,
    errors: Sequence[Finding] = (),
    edits: Uncommitted | None = None,
) -> SheetView:
    """The words of the sheet."""
    old, new = comparison.old_protocol, comparison.new_protocol
    people = [(p.name, p.role) for p in new.approved] + [(p.name, p.role) for p in new.authors]
    people += [(p.name, p.role) for p in old.approved] + [(p.name, p.role) for p in old.authors]
    statuses = (status_words(old, comparison.new.day), status_words(new, comparison.new.day))
    names = tuple(dict.fromkeys(", ".join(part for part in person if part) for person in people))
    return SheetView(
        title=new.title,
        practice=new.practice,
        old=old.edition,
        new=new.edition,
        particulars=tuple(particulars(old, new, statuses, old_name, new_name)),
        page=changes_page(comparison, past, errors, edits),
        chart_notes=pair.notes if pair else (),
        usual=pair.usual if pair else (),
        cautions=standing_cautions(),
        people=names,
        free_lines=max(3, LINES - len(names)),
    )


def drawn_pairs(pair: ChartPair) -> Iterator[DrawnPair]:
    """The drawings, each pair of a size that goes on a page.

    Charts of many bands are drawn narrow, and only for choices of which a cell has changed; so are charts that would
    be taller than a page.
    """
    if not pair.is_narrow:
        whole = _drawn(pair, "", False)
        if all(_height(drawing) <= TALLEST for _, drawing in whole.sides):
            yield whole
            return
    for number, choices in enumerate(pair.groups()):
        yield _drawn(pair.of(choices), f"-{number}", True)


def _drawn(pair: ChartPair, ending: str, narrow: bool) -> DrawnPair:
    sides = (("before", pair.before), ("after", pair.after))
    drawings = (markup(with_alternative(side.drawn(f"{uid}{ending}", narrow))) for uid, side in sides)
    return DrawnPair(narrow, tuple(zip((pair.before.head, pair.after.head), drawings, strict=True)))


def _height(drawing: str) -> int:
    """How high a drawing becomes at the width of a page."""
    wide, high = size_of(drawing)
    return high * 1820 // wide


def _epoch_of(protocol: Protocol) -> int:
    day = protocol.in_force_from
    return int(datetime.combine(day, time(), UTC).timestamp()) if day else 0
