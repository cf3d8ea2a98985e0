"""The change sheet: what changes for which cases, on paper, for the practice meeting that agrees to it or does not."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, time

from liningbook.compare.comparison import Comparison
from liningbook.compare.past_cases import PastCases
from liningbook.exchange.uncommitted import Uncommitted
from liningbook.finding import Finding
from liningbook.model.protocol import Protocol
from liningbook.say.changes.notes import beside_changes, note_groups
from liningbook.say.changes.shown import copies_meant, particulars
from liningbook.say.outputs.identity import status_words
from liningbook.say.safety import standing_cautions
from liningbook.say.texts import t
from liningbook.show.assets import fonts
from liningbook.show.changes.changed_chart import changed_chart
from liningbook.show.changes.changes_page import changes_page
from liningbook.show.figures.tones import tone_css
from liningbook.show.markup.chart_table import chart_css, drawings, sizes_css
from liningbook.show.markup.templates import css, filled, page_numbers
from liningbook.show.paper.chart_fit import WIDTH, chart_tables
from liningbook.show.paper.heights import protocol_sizes
from liningbook.show.paper.paper_html import unbroken
from liningbook.show.views.changed import ChangesPage, NoteGroup
from liningbook.show.views.view import Chart
from liningbook.show.views.view_texts import view_texts

FEW = 2
"""So many pages are few enough."""
LINES = 5
"""At least so many people can sign."""
SIZES = (9.5, 9.0, 8.5)
"""Type sizes in points that are tried: of those that take the fewest pages the largest."""


@dataclass(frozen=True)
class SheetView:
    """Everything that the sheet says.

    `old` and `new` are the editions, `particulars` a label and the words for either; `chart` bears what has changed.
    """

    title: str
    practice: str
    old: str
    new: str
    particulars: tuple[tuple[str, str, str], ...]
    page: ChangesPage
    chart: Chart | None
    copies: tuple[str, ...]
    cautions: tuple[str, ...]
    people: tuple[str, ...]
    free_lines: int


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

    view = sheet_view(comparison, old_name, new_name, past, errors, edits)
    with typesetter(_epoch_of(comparison.new_protocol) if epoch is None else epoch) as setter:
        document = setter.lay_out(sheet_html(view))
        for size in SIZES[1:]:
            if len(document.pages) > FEW:
                smaller = setter.lay_out(sheet_html(view, size))
                document = smaller if len(smaller.pages) < len(document.pages) else document
        check_width(document, t.the_change_sheet, {})
        check_pages(document, t.the_change_sheet, {})
        return setter.write(document)


def sheet_html(view: SheetView, size: float = SIZES[0]) -> str:
    """The sheet as it is typeset, its text so many points large."""
    fonts.require_glyphs(view_texts(view))
    sizes = replace(protocol_sizes(max(8.0, size - 1)), column=10, drawing=11, strip=3)
    tables = chart_tables(view.chart, sizes) if view.chart else ()
    style_text = css(
        "base.css",
        "chart.css",
        "changes.css",
        "changes_sheet.css",
        fonts.print_font_css(),
        tone_css(),
        page_numbers(),
        f":root {{ --size: {size:g}pt; }}",
        sizes_css(sizes),
        *(chart_css(f".chart-{number}", table, WIDTH, sizes) for number, table in enumerate(tables)),
    )
    drawn = [(table, drawings(table, WIDTH, sizes)) for table in tables]
    return unbroken(filled("changes.html", view=view, css=style_text, tables=drawn))


def sheet_view(
    comparison: Comparison,
    old_name: str,
    new_name: str,
    past: PastCases | None,
    errors: Sequence[Finding] = (),
    edits: Uncommitted | None = None,
) -> SheetView:
    """The words of the sheet."""
    old, new = comparison.old_protocol, comparison.new_protocol
    people = [(p.name, p.role) for p in new.approved] + [(p.name, p.role) for p in new.authors]
    people += [(p.name, p.role) for p in old.approved] + [(p.name, p.role) for p in old.authors]
    statuses = (status_words(old, comparison.new.day), status_words(new, comparison.new.day))
    names = tuple(dict.fromkeys(", ".join(part for part in person if part) for person in people))
    notes = tuple(NoteGroup(*group) for group in note_groups(comparison, beside_changes(comparison)))
    facts = tuple(particulars(old, new, statuses, old_name, new_name))
    return SheetView(
        title=new.title,
        practice=new.practice,
        old=old.edition,
        new=new.edition,
        particulars=(facts[0], *(fact for fact in facts[1:] if fact[1] != fact[2])),
        page=replace(changes_page(comparison, past, errors, edits), notes=notes),
        chart=changed_chart(comparison),
        copies=tuple(copies_meant(old, new, comparison.largest_step)),
        cautions=standing_cautions(),
        people=names,
        free_lines=max(2, LINES - len(names)),
    )


def _epoch_of(protocol: Protocol) -> int:
    day = protocol.in_force_from
    return int(datetime.combine(day, time(), UTC).timestamp()) if day else 0
