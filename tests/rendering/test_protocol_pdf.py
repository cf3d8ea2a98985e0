"""The printed protocol as its reader meets it: contents, running heads, breaks, pictures, sign-off, hostile texts."""

from __future__ import annotations

import io
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import pikepdf
import pytest

from liningbook.analysis import analyse
from liningbook.show.assets.fonts import print_font_css
from liningbook.show.figures.protocol_figures import Picture, ProtocolFigures, protocol_figures
from liningbook.show.markup.markdown import to_html
from liningbook.show.paper import paper_html, typeset
from liningbook.show.paper.chart_fit import SIZES, chart_size
from liningbook.show.paper.pdf import protocol_pdf
from liningbook.show.paper.typeset import typesetter
from liningbook.show.viewer import Viewer
from liningbook.show.views.rule_view import grounds
from liningbook.show.views.view import Cell, Labelled, ProtocolView
from tests.bench.protocols import DAY
from tests.rendering import sample_view as sample
from tests.rendering.measure import (
    MM,
    Glyph,
    figure_texts,
    font_names,
    glyphs,
    page_texts,
    problems_of,
    raster,
    roughness,
    squeeze,
    weakest_contrast,
)
from tests.rendering.test_html import ATTACKS, hostile

pytestmark = pytest.mark.usefixtures("pango")

HEAD, FOOT = 297 - 24, 25
"""Where the text of a page begins and ends, in millimetres from below."""


@dataclass(frozen=True)
class Line:
    """A line of text: height of its foot above the lower edge in points, type size, text without white space."""

    bottom: float
    size: float
    text: str


@dataclass(frozen=True)
class Mark:
    """A bookmark: title, level from 0, titles above it, page from 0, height above the lower edge in points."""

    title: str
    above: tuple[str, ...]
    page: int
    top: float


class Printed:
    """A PDF read back once for all tests that look at it."""

    def __init__(self, view: ProtocolView, drawings: ProtocolFigures | None = None) -> None:
        documents: list[Any] = []
        with pytest.MonkeyPatch.context() as patch:
            write = typeset.Typesetter.write

            def listen(self: typeset.Typesetter, document: Any, **more: Any) -> bytes:
                documents.append(document)
                return write(self, document, **more)

            patch.setattr(typeset.Typesetter, "write", listen)
            pdf = protocol_pdf(view, b"{}", 1, drawings or ProtocolFigures())
        self.pdf, self.view = pdf, view
        self.rows = _table_rows(documents[0])
        self.glyphs = list(glyphs(pdf))
        self.lines = _lines(self.glyphs)
        self.texts = page_texts(pdf)
        self.marks = list(_marks(pdf))

    def head(self, page: int) -> str:
        """The running head of a page."""
        return "".join(line.text for line in self.lines[page] if line.bottom > HEAD * MM)

    def body(self, page: int) -> list[Line]:
        """The lines between head and foot, from the top."""
        return [line for line in self.lines[page] if FOOT * MM < line.bottom < HEAD * MM]


def _table_rows(document: Any) -> list[tuple[str, list[int]]]:
    """The first cell of each row of each table, headings left out, and the pages on which the row stands."""
    pages: dict[Any, list[int]] = {}
    for number, page in enumerate(document.pages):
        for box in page._page_box.descendants():
            if type(box).__name__ == "TableRowBox" and any(cell.tag == "td" for cell in box.element):
                pages.setdefault(box.element, []).append(number)
    return [(squeeze("".join(row[0].itertext())), found) for row, found in pages.items()]


def _lines(found: list[Glyph]) -> dict[int, list[Line]]:
    by_page: dict[int, list[Glyph]] = {}
    for glyph in found:
        by_page.setdefault(glyph.page, []).append(glyph)
    lines: dict[int, list[Line]] = {}
    for page, all_of in by_page.items():
        ordered = sorted(all_of, key=lambda glyph: -glyph.box[3])
        groups: list[list[Glyph]] = []
        for glyph in ordered:
            if groups and glyph.box[3] > min(other.box[1] for other in groups[-1]):
                groups[-1].append(glyph)
            else:
                groups.append([glyph])
        lines[page] = [
            Line(
                min(glyph.box[1] for glyph in group),
                max(glyph.size for glyph in group),
                "".join(glyph.char for glyph in sorted(group, key=lambda glyph: glyph.box[0])),
            )
            for group in groups
        ]
    return lines


def _marks(pdf: bytes) -> Iterator[Mark]:
    with pikepdf.open(io.BytesIO(pdf)) as document, document.open_outline() as outline:
        pages = {page.objgen: number for number, page in enumerate(document.pages)}

        def walk(items: Any, above: tuple[str, ...]) -> Iterator[Mark]:
            for item in items:
                page, _, _, top, _ = item.destination
                yield Mark(item.title, above, pages[page.objgen], float(top))
                yield from walk(item.children, (*above, item.title))

        yield from walk(outline.root, ())


LONG_TITLE = (
    "Choose another restoration where the deepest spot of a very deep cavity in a tooth with reversible pulpitis lies "
    "next to an old amalgam that cannot be taken out on the day, and where the patient has asked for it"
)
PARAGRAPH = (
    "A reason that is long enough to take more than a single line, so that it may break at the end of a page. " * 3
)
ENDLESS = "A reason that does not end. " * 400
TABLE = "| Reading | Value | Note |\n|---|---|---|\n" + "\n".join(
    f"| {n} mm | {n / 2} mm | A remark that takes more than one line of its narrow column in this table |"
    for n in range(1, 30)
)


@pytest.fixture(scope="module")
def hard() -> Printed:
    """A protocol that is hard to print: long titles, reasons, tables, lists of conditions and of citations."""
    groups = sample.rule_groups()
    rule = groups[0].rules[0]
    cases = tuple(
        (Labelled("Restoration", "Amalgam"), Labelled("Remaining dentine thickness", f"{n} mm or less"))
        for n in range(1, 31)
    )
    hard_rules = (
        replace(
            rule, title=LONG_TITLE, why_html=to_html("\n\n".join([PARAGRAPH] * 14)), cites=((1, 2), (3,)) * 12, cited=36
        ),
        replace(rule, number=2, anchor="rule-table", id="table", title="With a table", why_html=to_html(TABLE)),
        replace(
            rule,
            number=3,
            anchor="rule-cases",
            id="cases",
            title="In many cases",
            conditions=cases,
            note="A note of the practice. " * 60,
        ),
    )
    view = sample.protocol_view(
        rule_groups=(replace(groups[0], rules=hard_rules), *groups[1:]),
        accepted=(
            replace(sample.ACCEPTED, label="unprotected: Monomer", reason=ENDLESS, text=ENDLESS),
            replace(sample.ACCEPTED, label="unprotected: Heat"),
        ),
    )
    return Printed(view)


@pytest.fixture(scope="module")
def drawn(demonstration: Path) -> tuple[Printed, ProtocolFigures]:
    """The demonstration with its pictures."""
    analysis = analyse(demonstration, DAY)
    viewer = Viewer(analysis, sample.DIGEST, to_html)
    view, drawings = viewer.protocol_view(), protocol_figures(viewer.meaning, viewer.charts)
    return Printed(view, drawings), drawings


@pytest.fixture(params=["drawn", "hard"])
def printed(request: pytest.FixtureRequest) -> Printed:
    """Each of the two."""
    found = request.getfixturevalue(request.param)
    return found if isinstance(found, Printed) else found[0]


# --- finding one's way ------------------------------------------------------------------------------------------------


def test_every_section_group_and_rule_has_a_bookmark_under_what_it_belongs_to(printed: Printed) -> None:
    rules = [
        (f"{rule.number}{squeeze(rule.title)}", ("The rules", group.heading))
        for group in printed.view.rule_groups
        for rule in group.rules
    ]
    assert [(squeeze(mark.title), mark.above) for mark in printed.marks if len(mark.above) == 2] == rules
    titles = [mark.title for mark in printed.marks if not mark.above]
    assert titles[:5] == [
        printed.view.identity.title, "Cautions", "Ask first", "Exceptions", "The decision chart"
    ]  # fmt: skip
    assert titles[-2:] == ["About this edition", "Sign-off"]
    for mark in printed.marks:
        assert squeeze(mark.title) in printed.texts[mark.page], mark


def test_the_contents_name_the_page_of_every_heading(printed: Printed) -> None:
    """Of the sections after the chart and of the groups of rules; the way above the contents names the others."""
    listed = printed.texts[0][printed.texts[0].index("Contents") :]
    wanted = [mark for mark in printed.marks if not mark.above or mark.above == ("The rules",)]
    wanted = wanted[[mark.title for mark in wanted].index("The decision chart") + 1 :]
    assert len(wanted) > 12
    for mark in wanted:
        if mark.title != "The rules":
            title = ": ".join((*mark.above, mark.title))
            assert f"{squeeze(title)}{mark.page + 1}" in listed, mark


def test_the_title_page_leads_from_the_questions_to_the_rules(printed: Printed) -> None:
    pages = {mark.title: mark.page + 1 for mark in printed.marks}
    title_page = printed.texts[0]
    for words, section in (
        ("endstheuseofthechart:page", "Ask first"),
        ("goesbeforethechart:page", "Exceptions"),
        ("oftheirnumbers:page", "The decision chart"),
        ("whatitrestson:page", "The rules"),
    ):
        assert f"{words}{pages[section]}." in title_page


def test_running_heads_name_the_section_that_goes_on_and_the_one_that_begins(printed: Printed, hard: Printed) -> None:
    sections = [mark for mark in printed.marks[2:] if not mark.above or mark.above == ("The rules",)]
    seen = Counter[str]()
    for page in range(1, len(printed.texts)):
        head = printed.head(page)
        at_top = printed.body(page)[0]
        begun = [mark for mark in sections if mark.page == page]
        before = [mark for mark in sections if mark.page < page]
        starts = bool(begun) and at_top.text == squeeze(begun[0].title)
        practice = squeeze(printed.view.identity.practice)
        if starts:
            group = "Therules·" if begun[0].above else ""
            assert head == f"{practice}·{group}{squeeze(begun[0].title)}", page
            seen["begins"] += 1
            continue
        name = squeeze(": ".join((*before[-1].above, before[-1].title)))
        assert head.startswith(f"{practice}·{name}"), (page, head)
        rest = head.removeprefix(f"{practice}·{name}")
        rules = [mark for mark in printed.marks if len(mark.above) == 2]
        is_rule_page = bool(before[-1].above)
        if is_rule_page and not any(m.page == page and m.top > HEAD * MM - 20 for m in rules):
            number = [mark for mark in rules if mark.page < page][-1].title.split()[0]
            assert rest.startswith(f",rule{number}continued"), (page, head)
            rest = rest.removeprefix(f",rule{number}continued")
            seen["continued"] += 1
        assert rest == (f"·{squeeze(begun[0].title)}" if begun else ""), (page, head)
        seen["goes on and begins" if begun else "goes on"] += 1
    assert min(seen[kind] for kind in ("begins", "goes on and begins", "goes on")) >= 1, seen
    assert (seen["continued"] >= 1) is (printed is hard), seen


def test_every_foot_bears_edition_mark_status_review_and_page(printed: Printed) -> None:
    who = printed.view.identity
    for page, lines in printed.lines.items():
        foot = "".join(line.text for line in lines if line.bottom < FOOT * MM)
        for part in (who.title, f"Edition {who.edition}", who.status_words, who.review_by):
            assert squeeze(part) in foot, page
        assert f"mark{who.digest[:8]}" in foot
        assert f"Page{page + 1}of{len(printed.texts)}" in foot


# --- breaks -----------------------------------------------------------------------------------------------------------


def test_no_heading_stands_at_the_foot_of_a_page(printed: Printed) -> None:
    """Under every heading there are two lines that are none, or a drawing."""
    for mark in printed.marks:
        below = [line for line in printed.body(mark.page) if line.bottom < mark.top - 12 and line.size < 11.9]
        assert len(below) >= 2, mark


def test_no_line_of_a_table_is_split_unless_it_is_longer_than_a_page(printed: Printed) -> None:
    assert len(printed.rows) > 60
    split = [words for words, pages in printed.rows if len(pages) > 1]
    longest = max(printed.view.accepted, key=lambda fact: len(fact.text))
    assert split == ([squeeze(longest.label)] if len(longest.text) > 9000 else [])


def _rows(element: Any) -> Iterator[set[Any]]:
    """The pages of each row of each table."""
    if not isinstance(element, pikepdf.Dictionary):
        return
    if str(element.get("/S", "")) == "/TR":
        yield set(_pages(element, None))
        return
    kids = element.get("/K")
    for kid in kids if isinstance(kids, pikepdf.Array) else [kids]:
        yield from _rows(kid)


def _pages(element: Any, page: Any) -> Iterator[Any]:
    """The pages on which anything of an element is drawn."""
    page = element.get("/Pg", page)
    kids = element.get("/K", pikepdf.Array())
    for kid in kids if isinstance(kids, pikepdf.Array) else [kids]:
        if isinstance(kid, int):
            yield page.objgen
        elif isinstance(kid, pikepdf.Dictionary):
            if "/S" in kid:
                yield from _pages(kid, page)
            elif "/MCID" in kid:
                yield kid.get("/Pg", page).objgen


def test_no_page_has_a_single_line_of_a_paragraph_left_over(hard: Printed) -> None:
    """Widows and orphans, on the pages that hold nothing but paragraphs of three lines or more."""
    words = squeeze(PARAGRAPH)
    for page in range(len(hard.texts)):
        body = hard.body(page)
        if len(body) < 8 or not all(line.text in words * 2 for line in body[:3]):
            continue
        assert not body[0].text.startswith("Areason") or len(body[0].text) > 60
        assert not words.endswith(body[0].text) or body[0].text.startswith("Areason"), page


# --- type and pictures ------------------------------------------------------------------------------------------------


def test_nothing_is_smaller_than_8_points_and_all_is_in_our_font(printed: Printed) -> None:
    smallest = min(printed.glyphs, key=lambda glyph: glyph.size)
    assert smallest.size >= 7.99, smallest
    assert font_names(printed.pdf) == {"Source-Sans-Pro", "Source-Sans-Pro-Bold"}


@pytest.mark.parametrize("profile", ["3a", "ua1"])
def test_both_conform(printed: Printed, profile: str) -> None:
    assert problems_of(printed.pdf, profile) == []


def test_every_figure_has_a_text_alternative_that_says_what_it_shows(drawn: tuple[Printed, ProtocolFigures]) -> None:
    printed, drawings = drawn
    texts = figure_texts(printed.pdf)
    assert all(texts)
    sections = [text for text in texts if text.startswith("Cross-section of the prepared tooth")]
    assert len(sections) == len(drawings.sections) == len(set(sections)) >= 6
    assert all("pulp" in text.lower() and "mm" in text for text in sections)


def test_the_pictures_say_what_they_hold_for(drawn: tuple[Printed, ProtocolFigures]) -> None:
    printed, drawings = drawn
    chart = printed.view.chart
    assert chart is not None
    placed = {cell.steps for row in chart.cells for cell in row if any(step.number for step in cell.steps)}
    assert len(drawings.sections) == len(placed)
    page = next(mark.page for mark in printed.marks if mark.title == "Pictures of the layers")
    end = next(mark.page for mark in printed.marks if mark.title == "The rules")
    shown = "".join(printed.texts[page:end])
    for picture in drawings.sections:
        for text in picture.holds_for:
            assert squeeze(text) in shown
    named = " ".join(text for picture in drawings.sections for text in picture.holds_for)
    for column, name in enumerate(chart.columns):
        if any(any(step.number for step in row[column].steps) for row in chart.cells):
            assert name in named


def test_all_pictures_of_the_demonstration_stand_on_one_page(drawn: tuple[Printed, ProtocolFigures]) -> None:
    printed, drawings = drawn
    counts = [text.count(squeeze("heights only")) for text in printed.texts]
    assert [count for count in counts if count] == [len(drawings.sections)]


def test_without_drawings_and_chart_their_headings_are_gone(hard: Printed) -> None:
    titles = {mark.title for mark in hard.marks}
    assert "Pictures of the layers" not in titles
    small = sample.protocol_view(chart=None, exceptions=(), rule_groups=sample.rule_groups()[:1])
    printed = Printed(small)
    assert "The decision chart" not in {mark.title for mark in printed.marks}
    assert "Fromacasetoitsadvice" not in printed.texts[0]
    assert problems_of(printed.pdf, "ua1") == []


@pytest.mark.parametrize("section", ["Cautions", "Ask first", "The decision chart", "Pictures of the layers"])
def test_every_glyph_stands_out(drawn: tuple[Printed, ProtocolFigures], section: str) -> None:
    printed, _ = drawn
    page = next(mark.page for mark in printed.marks if mark.title == section)
    ratio, place = weakest_contrast(printed.pdf, page)
    assert ratio >= 7, place


def test_the_pictures_can_be_told_apart_in_grey(drawn: tuple[Printed, ProtocolFigures]) -> None:
    """Ink on paper, not washes of grey: the layers differ by hatches."""
    printed, _ = drawn
    page = next(mark.page for mark in printed.marks if mark.title == "Pictures of the layers")
    grey = raster(printed.pdf, page, scale=2, grey=True)
    ink, paper = (grey < 90).mean(), (grey > 220).mean()
    assert ink > 0.02
    assert ink + paper > 0.8
    assert min(roughness(grey[300:1500])) > 3


# --- this edition and its signatures ----------------------------------------------------------------------------------


def test_the_last_page_is_to_be_signed(printed: Printed) -> None:
    who = printed.view.identity
    page = printed.marks[-1].page
    shown = "".join(printed.texts[page:])
    for text in (f"edition {who.edition}", who.review_by, "Agreed", "Read and understood", who.digest[:8]):
        assert squeeze(text) in shown
    for fact in (*who.approvals, *who.authors):
        assert shown.count(squeeze(fact.label)) == 1
    assert page == len(printed.texts) - 1
    with pikepdf.open(io.BytesIO(printed.pdf)) as document:
        last = document.pages[page].objgen
        rows = [row for row in _rows(document.Root.StructTreeRoot) if row == {last}]
    signers = len({fact.label for fact in (*who.approvals, *who.authors)})
    assert len(rows) == 2 + signers  # what is left are lines to write on, which hold no text
    pixels = raster(printed.pdf, page, scale=2, grey=True)
    rules = (pixels[:, 200:-200] < 200).mean(axis=1) > 0.95
    assert ((rules[1:]) & (~rules[:-1])).sum() >= signers + 10


def test_the_edition_is_explained_with_its_digest(printed: Printed) -> None:
    (page,) = [mark.page for mark in printed.marks if mark.title == "About this edition"]
    shown = printed.texts[page]
    who = printed.view.identity
    for text in (who.digest, f"the edition mark: {who.digest[:8]}", "SHA-256", "bundle.json", who.contact):
        assert squeeze(text) in shown


# --- cost, and texts that mean harm -----------------------------------------------------------------------------------


def test_the_whole_protocol_is_laid_out_once(monkeypatch: pytest.MonkeyPatch) -> None:
    seen: list[bool] = []
    lay_out = typeset.Typesetter.lay_out

    def listen(self: typeset.Typesetter, text: str) -> Any:
        seen.append('id="sign-off"' in text)
        return lay_out(self, text)

    monkeypatch.setattr(typeset.Typesetter, "lay_out", listen)
    protocol_pdf(sample.protocol_view(rule_groups=sample.rule_groups()[:1]), b"{}", 1)
    assert seen.count(True) == 1
    assert seen[-1]
    assert len(seen) <= 3


def _told_apart(cell: Cell, number: int) -> Cell:
    """A cell that no other is like: restorations treated alike would share a row."""
    return replace(cell, steps=tuple(replace(step, rest=f"{step.rest} {number}") for step in cell.steps))


def test_a_chart_gets_the_largest_type_with_which_it_takes_one_page() -> None:
    """The chart of the sample made taller and taller: measured alone, and looked at in the protocol."""
    chart = sample.chart()
    sizes = []
    for extra in (0, 3, 30):
        columns = (*chart.columns, *(f"Restoration {n}" for n in range(extra)))
        cells = tuple((*row, *(_told_apart(row[n % 7], n) for n in range(extra))) for row in chart.cells)
        view = sample.protocol_view(chart=replace(chart, columns=columns, cells=cells), rule_groups=())
        with typesetter(1) as setter:
            size = chart_size(view, setter)
            sizes.append(size)
            if size == SIZES[-1]:
                continue
            for trial, fits in ((size, True), (size + 0.5, False)):
                if trial <= SIZES[0]:
                    document = setter.lay_out(paper_html.protocol_html(view, trial))
                    pages = [n for n, page in enumerate(document.pages) for name in page.anchors if name[:5] == "chart"]
                    assert (len(set(pages)) == 1) is fits, (extra, trial)
    assert sizes[0] > sizes[1] > sizes[2] == SIZES[-1]


ACTING = {"/JavaScript", "/JS", "/OpenAction", "/AA", "/AcroForm", "/RichMedia", "/XFA"}


def test_hostile_texts_bring_nothing_into_the_file() -> None:
    attack = " ".join(ATTACKS)
    markdown = (
        "[a](javascript:alert(1)) [b](file:///etc/passwd) ![c](https://host.example/c.png) <https://auto.example> "
        "[d](https://allowed.example/d) [e](data:text/html,x) [f](//host.example) [g](other.pdf)"
    )
    view = hostile(sample.protocol_view(identity=sample.DRAFT, rule_groups=sample.rule_groups()[:1]), attack)
    # What every page bears at its head and foot has less room there.
    who = hostile(sample.DRAFT, ATTACKS[0])
    view = replace(
        view, identity=replace(who, title=sample.DRAFT.title + ATTACKS[5], practice=who.practice + ATTACKS[2])
    )
    group = replace(view.rule_groups[0], heading=sample.rule_groups()[0].heading + ATTACKS[0])
    rules = (replace(group.rules[0], why_html=to_html(markdown)), group.rules[1])
    # Words too wide for the chart are an error of their own; what stands in it is tested as HTML.
    groups = (replace(group, rules=rules),)
    plain = sample.protocol_view()
    view = replace(view, rule_groups=groups, grounds=grounds(groups), chart=plain.chart)
    picture = Picture((attack,), '<svg viewBox="0 0 9 9"><title>Plain</title><path d="M0 0H9V9Z"/></svg>')
    pdf = protocol_pdf(view, b"{}", 1, ProtocolFigures((picture,)))
    with pikepdf.open(io.BytesIO(pdf)) as document:
        assert list(document.attachments) == ["bundle.json"]
        addresses = set()
        for item in document.objects:
            if not isinstance(item, pikepdf.Dictionary):
                continue
            assert not ACTING & set(item.keys())
            assert str(item.get("/Subtype", "")) not in ("/FileAttachment", "/Screen", "/Movie", "/3D", "/Widget")
            if "/A" in item and isinstance(item["/A"], pikepdf.Dictionary) and "/S" in item["/A"]:
                assert str(item["/A"]["/S"]) == "/URI"
                addresses.add(str(item["/A"]["/URI"]))
        # What the author links to may be followed, over https alone; a picture from elsewhere is but a link.
        linked = {ref.url for ref in view.references if ref.url.startswith("https://")}
        assert addresses - linked == {"https://allowed.example/d", "https://host.example/c.png"}
        assert sum(1 for item in document.objects if _is(item, "/Filespec")) == 1
    assert problems_of(pdf, "ua1") == []
    assert squeeze("<script>alert(1)</script>") in page_texts(pdf)[0]


def _is(item: Any, kind: str) -> bool:
    return isinstance(item, pikepdf.Dictionary) and str(item.get("/Type", "")) == kind


def test_no_stream_ends_so_that_its_length_can_be_read_in_two_ways(monkeypatch: pytest.MonkeyPatch) -> None:
    """Many small files, of which some would end a compressed stream with a carriage return."""
    style = f"<style>{print_font_css()} body {{ font-family: 'Source Sans Pro' }}</style>"
    ambiguous = b"\r\nendstream"
    with typesetter(1) as setter:
        documents = [setter.lay_out(f'<html lang="en"><title>t</title>{style}<p>{n}</p></html>') for n in range(40)]
        assert not [number for number, document in enumerate(documents) if ambiguous in setter.write(document)]
        monkeypatch.setattr(typeset, "_ends_like_a_line", lambda _: False)
        monkeypatch.setattr(typeset, "_AMBIGUOUS", b"")
        monkeypatch.setattr(typeset, "_MOST_FILLERS", 1)
        assert [number for number, document in enumerate(documents) if ambiguous in setter.write(document)]


def test_a_file_that_is_written_again_has_its_attachment(monkeypatch: pytest.MonkeyPatch) -> None:
    """One file in some hundreds is written more than once, since a stream of it ends ambiguously."""
    monkeypatch.setattr(typeset, "_AMBIGUOUS", b"")
    monkeypatch.setattr(typeset, "_MOST_FILLERS", 3)
    style = f"<style>{print_font_css()} body {{ font-family: 'Source Sans Pro' }}</style>"
    with typesetter(1) as setter:
        document = setter.lay_out(f'<html lang="en"><title>t</title>{style}<p>one</p></html>')
        pdf = setter.write(document, attachment=("bundle.json", b"{}"))
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        assert list(opened.attachments) == ["bundle.json"]
        assert opened.attachments["bundle.json"].get_file().read_bytes() == b"{}"
