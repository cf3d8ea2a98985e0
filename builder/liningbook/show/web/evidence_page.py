"""The study tables on their own: a page that needs no other file, and every plot as a picture (SVG)."""

from __future__ import annotations

from dataclasses import replace

from liningbook.say.texts import t
from liningbook.show.assets import fonts
from liningbook.show.markup.html import mark, mark_css, rendered
from liningbook.show.markup.plots import plot_file, screen_plots
from liningbook.show.markup.templates import short_css
from liningbook.show.viewer import Viewer
from liningbook.show.views.evidence.forest import Forest
from liningbook.show.views.evidence.tables import EvidenceTable
from liningbook.show.views.view import Identity, ProtocolView
from liningbook.show.views.view_texts import view_texts
from liningbook.show.web.page_html import content_security_policy


def evidence_files(viewer: Viewer) -> dict[str, bytes]:
    """Every file by its name: the page, and a picture (`<table>-<outcome>`) of each outcome that has a plot.

    Raises MissingGlyph where the font cannot draw a text.
    """
    view = viewer.protocol_view()
    files = {"evidence.html": evidence_html(view)}
    for table in view.tables:
        for outcome in table.outcomes:
            if outcome.forest is not None:
                files[plot_name(table.id, outcome.id)] = plot_file(_borne(outcome.forest, view.identity))
    return {name: text.encode() for name, text in files.items()}


def plot_name(table: str, outcome: str) -> str:
    """The name of a plot's file. No name of a table or an outcome holds a dot, so no two plots have one name."""
    return f"forest-{table}.{outcome}.svg"


def evidence_html(view: ProtocolView) -> str:
    """The tables as one page, with the references that they cite and the cautions."""
    fonts.require_glyphs(view_texts(view))
    cited = {number for table in view.tables for one in table.outcomes for number in one.numbers}
    style_text = short_css(
        "base.css",
        "page.css",
        "figures.css",
        "evidence.css",
        "evidence_screen.css",
        fonts.web_font_css(text for _, text in view_texts(view)),
        mark_css(view.identity),
    )
    return rendered(
        "evidence_page.html",
        view=view,
        tables=_alone(view.tables),
        references=[entry for entry in view.references if entry.number in cited],
        css=style_text,
        policy=content_security_policy([style_text], ()),
        plots=screen_plots,
    )


def _alone(tables: tuple[EvidenceTable, ...]) -> tuple[EvidenceTable, ...]:
    """The tables without the rules, which stand elsewhere."""
    return tuple(replace(table, rules=()) for table in tables)


def _borne(forest: Forest, who: Identity) -> Forest:
    """The plot with what every output bears beneath it."""
    mark_of = mark(who)
    foot = t.protocol_foot(
        title=who.title, edition=who.edition, status=who.status_words, day=who.review_by, mark=who.digest[:8]
    )
    notes = [mark_of.strip] if mark_of else []
    notes += [str(foot), *who.cautions, t.translation_note()]
    return replace(forest, heading=forest.title, below=(*forest.below, *filter(None, notes)))
