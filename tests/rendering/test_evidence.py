"""What the studies show, in print, on the page and on its own: nothing is lost, nothing leaves its place."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ElementTree
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from liningbook.analysis import analyse
from liningbook.say.catalogue import speaking
from liningbook.show.markup.markdown import to_html
from liningbook.show.paper import paper_html
from liningbook.show.paper.pdf import protocol_pdf
from liningbook.show.paper.typeset import typesetter
from liningbook.show.viewer import Viewer
from liningbook.show.views.evidence.tables import EvidenceTable
from liningbook.show.views.view import ProtocolView
from liningbook.show.web.evidence_page import evidence_files, evidence_html
from liningbook.show.web.page_html import page_html
from tests.rendering import sample_tables, sample_view
from tests.rendering.lengths import faults
from tests.rendering.measure import figure_texts, glyphs, problems_of, squeeze

DAY = date(2026, 10, 1)
LONG = "resin-modified glass ionomer over a hard-setting calcium hydroxide liner on the deepest spot of the cavity"


def tables() -> tuple[EvidenceTable, ...]:
    """A usual table, and one that is hard to print."""
    hard = {one.id: one for one in (sample_tables.extreme(), sample_tables.many())}
    names = {"id": "hard", "intervention": LONG, "comparator": f"no {LONG}", "outcomes": hard}
    found = (sample_tables.table_view(), sample_tables.table_view(replace(sample_tables.TABLE, **names), 2))
    return tuple(replace(table, outcomes=tuple(uncited(one) for one in table.outcomes)) for table in found)


def uncited(outcome: Any) -> Any:
    """The references of the sample are others than those of the tables."""
    return replace(outcome, numbers=(), cites=())


@pytest.fixture(scope="module")
def view() -> ProtocolView:
    return sample_view.protocol_view(tables=tables())


@pytest.fixture(scope="module")
def pdf(pango: None, view: ProtocolView) -> bytes:  # noqa: ARG001
    return protocol_pdf(view, b"{}", 1)


@pytest.fixture(scope="module")
def files(demonstration: Path) -> dict[str, bytes]:
    return evidence_files(Viewer(analyse(demonstration, DAY), sample_view.DIGEST, to_html))


def bare(text: str) -> str:
    """A text without blanks, hyphens and capitals: as far as a PDF tells them."""
    return re.sub("[\\s\xa0\xad\x02\ufffe-]", "", squeeze(text)).lower()


def texts_of(table: EvidenceTable) -> list[str]:
    """All that is said of a table."""
    found = [table.title, *(fact.text for fact in table.question)]
    for one in table.outcomes:
        found += [one.label, one.importance, one.effect, one.relative, one.comparator, one.absolute, one.needed]
        found += [one.certainty, one.graded, one.people, one.nothing]
        found += [text for domain in one.domains for text in (domain.judged, domain.because, domain.figures)]
    return [text for text in found if text]


def test_print_says_all_of_every_table(pdf: bytes, view: ProtocolView) -> None:
    import pypdfium2

    document = pypdfium2.PdfDocument(pdf)
    printed = bare("".join(page.get_textpage().get_text_range() for page in document))
    for table in view.tables:
        missing = [text for text in texts_of(table) if bare(text) not in printed]
        assert missing == []


def test_print_has_a_text_alternative_of_every_plot(pdf: bytes, view: ProtocolView) -> None:
    told = [text for text in figure_texts(pdf) if text.startswith("Forest plot")]
    forests = [one.forest for table in view.tables for one in table.outcomes if one.forest]
    for forest in forests:
        assert told.count(f"{forest.title}. {forest.alternative}") == 1


@pytest.mark.parametrize("profile", ["3a", "ua1"])
def test_print_conforms(pdf: bytes, profile: str) -> None:
    assert problems_of(pdf, profile) == []


def test_nothing_printed_leaves_its_place_or_is_too_small(pango: None, view: ProtocolView, pdf: bytes) -> None:  # noqa: ARG001
    text = paper_html.protocol_html(view)
    with typesetter(1) as setter:
        document = setter.lay_out(text)
        assert [fault for fault in faults(document, text) if "is not a word" not in fault] == []
    assert min(glyph.size for glyph in glyphs(pdf)) >= 7.99


def test_a_plot_of_sixty_studies_is_printed_over_pages(view: ProtocolView) -> None:
    text = paper_html.protocol_html(view)
    heights = [float(high) for high in re.findall(r'<svg[^>]*class="figure forest"[^>]*height="([0-9.]+)mm"', text)]
    assert len(heights) == 3 + 1 + 2
    assert max(heights) <= 222


@pytest.mark.parametrize("language", ["de", "fr", "es"])
def test_numbers_are_written_as_the_language_writes_them(language: str) -> None:
    with speaking(language):
        told = sample_tables.table_view().outcomes[0]
        assert "0,48 (0,28" in told.relative
        assert not re.search(r"\d\.\d", told.relative + told.absolute + told.needed)
        assert told.forest is not None
        assert [tick.label for tick in told.forest.axis.ticks[0]][:2] == ["0,05", "0,1"]


def test_the_page_tells_every_plot_as_a_table_too(view: ProtocolView) -> None:
    text = page_html(view, "{}")
    for one in (one for table in view.tables for one in table.outcomes):
        if one.forest is None:
            assert one.nothing in text.replace('<span class="tied">', "").replace("</span>", "")
            continue
        start = text.index(f"<caption>{one.forest.title}") if "&" not in one.forest.title else 0
        table = text[start : text.index("</table>", start)]
        for row in one.forest.rows:
            assert row.name in table
            assert (row.estimate or row.reason) in table
    plots = re.findall(r"<svg[^>]*forest[^>]*>", text)
    assert len(plots) == 2 * sum(one.forest is not None for table in view.tables for one in table.outcomes)
    assert all('aria-hidden="true"' in plot for plot in plots)


def test_identifiers_are_there_once(view: ProtocolView) -> None:
    for text in (page_html(view, "{}"), paper_html.protocol_html(view), evidence_html(view)):
        found = re.findall(r'\sid="([^"]+)"', text)
        assert len(found) == len(set(found))
        assert set(re.findall(r'href="#([^"]+)"', text)) <= set(found)


def test_a_title_that_is_markup_stays_text(view: ProtocolView) -> None:
    evil = "<script>alert(1)</script>"
    table = view.tables[0]
    forest = table.outcomes[0].forest
    assert forest is not None
    rows = (replace(forest.rows[0], name=evil), *forest.rows[1:])
    heads = replace(forest.heads, treated=evil)
    outcome = replace(table.outcomes[0], label=evil, forest=replace(forest, title=evil, rows=rows, heads=heads))
    changed = replace(view, tables=(replace(table, title=evil, outcomes=(outcome,)),))
    for text in (page_html(changed, "{}"), paper_html.protocol_html(changed), evidence_html(changed)):
        assert evil not in text


def test_on_their_own_they_bear_what_every_output_bears(files: dict[str, bytes]) -> None:
    assert len(files) == 8
    for name, content in files.items():
        text = squeeze(re.sub("<style>.*?</style>", "", content.decode(), flags=re.DOTALL))
        for said in (
            "Pulp protection under restorations",
            "2026.2",
            "In force",
            "1 September 2028",
            sample_view.DIGEST[:8],
        ):
            assert squeeze(said) in text.replace("</text>", ""), (name, said)
        assert "licensedclinician" in re.sub("<[^>]*>", "", text)


def test_a_plot_on_its_own_has_the_font_in_it_and_asks_for_nothing(files: dict[str, bytes]) -> None:
    for name, content in files.items():
        if name.endswith(".svg"):
            root = ElementTree.fromstring(content)
            assert root.tag == "{http://www.w3.org/2000/svg}svg"
            text = content.decode()
            assert "data:font/woff2" in text
            assert set(re.findall(r'(?:href|src|url\()="?(https?:[^")]*)', text)) == set()
            assert "script" not in text


def test_the_same_bytes_twice(files: dict[str, bytes], demonstration: Path) -> None:
    assert evidence_files(Viewer(analyse(demonstration, DAY), sample_view.DIGEST, to_html)) == files


def test_what_the_figures_question_stands_beside_what_was_not_judged() -> None:
    bare = replace(sample_tables.NECROSIS, lowered={}, certainty="high")
    table = replace(sample_tables.TABLE, outcomes={bare.id: bare})
    (row,) = sample_tables.table_view(table).outcomes[0].domains
    assert row.judged == "not lowered for imprecise results"
    assert row.because == ""
    assert "59 events" in row.figures


def test_people_are_said_to_be_of_those_studies_that_tell_them() -> None:
    table = sample_tables.table_view()
    assert [one.people for one in table.outcomes[:3]] == [
        "5 studies, 1031 people",
        "3 studies, 448 people",
        "3 studies, 324 people in 2 of them",
    ]
