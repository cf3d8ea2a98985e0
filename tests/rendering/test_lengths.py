"""However many the rules and however long their labels: all is on the pages, whole, or it is told why it is not."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from random import Random
from typing import Any

import pytest

from liningbook.say.catalogue import speaking
from liningbook.show.figures.protocol_figures import Picture, ProtocolFigures, protocol_figures
from liningbook.show.markup.columns import Sizes, _Table, widths
from liningbook.show.markup.grid import Grid, GridRow
from liningbook.show.markup.wrapping import syllables
from liningbook.show.paper import paper_html, pdf, typeset
from liningbook.show.paper.overflow import DoesNotFit, check_pages, check_width
from liningbook.show.paper.typeset import typesetter
from liningbook.show.views.view import CardView, Cell, ProtocolView, Step
from tests.rendering import sample_view as sample
from tests.rendering.lengths import STYLES, Case, beside_columns, boxes, cases, chart_faults, faults, viewer
from tests.rendering.measure import page_texts, squeeze
from tests.seeds import window

pytestmark = pytest.mark.usefixtures("pango")

SEEDS = window(0, 140, parts=70)
CARDS = window(0, 60, parts=20)


@pytest.fixture
def laid_out(monkeypatch: pytest.MonkeyPatch) -> list[tuple[Any, str]]:
    """What was laid out, with its source, the last one last."""
    seen: list[tuple[Any, str]] = []
    original = typeset.Typesetter.lay_out

    def kept(self: typeset.Typesetter, text: str) -> Any:
        seen.append((original(self, text), text))
        return seen[-1][0]

    monkeypatch.setattr(typeset.Typesetter, "lay_out", kept)
    return seen


@pytest.mark.parametrize("case", cases(SEEDS), ids=str)
def test_a_protocol_of_any_size_is_laid_out_whole(case: Case, laid_out: list[tuple[Any, str]]) -> None:
    shown = viewer(case)
    figures = protocol_figures(shown.meaning, shown.charts)
    made = pdf.protocol_pdf(shown.protocol_view(), b"{}", 1, figures)
    assert list(faults(*laid_out[-1])) == []
    assert list(chart_faults(laid_out[-1][0])) == []
    texts = "".join(page_texts(made))
    for label in shown.protocol.factors["restoration"].values.values():
        assert texts.count(squeeze(label)) >= 2


@pytest.mark.parametrize("case", cases(CARDS), ids=str)
def test_a_card_of_any_size_is_laid_out_whole_or_refused_by_name(case: Case, laid_out: list[tuple[Any, str]]) -> None:
    shown = viewer(case)
    size = ("A4", "A5", "A6")[case.seed // 4 % 3]
    view = shown.card_views(size)[0]
    made = card_or_refusal(view)
    if isinstance(made, DoesNotFit):
        assert view.subject in str(made)
        assert made.side.startswith(("the front of the card", "the back of the card"))
        named = [*labels(shown), *view.chart.bands, *view.chart.band_readings, "the title block", "the contact"]
        assert any(label.replace("\xa0", " ") in made.name.replace("\xa0", " ") for label in named), made
        may_be_refused = (("A6", "long"), ("A6", "mixed"), ("A4", "mixed"))
        assert case.rules > 18 or (size, case.style) in may_be_refused, "a small protocol fits"
        return
    assert list(faults(*laid_out[-1])) == []
    assert list(chart_faults(laid_out[-1][0])) == []
    front = page_texts(made)[0]
    assert view.chart.band_readings or view.chart.bands == ("any value",)
    for band, reading in zip(view.chart.bands, view.chart.band_readings or view.chart.bands, strict=True):
        assert squeeze(band).lower() in front.lower()
        assert squeeze(reading).lower() in front.lower()


def card_or_refusal(view: CardView) -> bytes | DoesNotFit:
    try:
        return pdf.card_pdf(view, 1)
    except DoesNotFit as refusal:
        return refusal


def labels(shown: Any) -> Iterator[str]:
    """Everything that an author named."""
    made = shown.protocol
    yield from (made.title, made.practice, made.contact, made.scope)
    yield from (question.ask for question in made.stop_questions)
    for factor in made.factors.values():
        yield from (factor.label, *factor.values.values())
    yield from (decision.label for decision in made.decisions.values())
    yield from (agent.label for agent in made.agents.values())


@pytest.mark.slow
def test_a_chart_of_fourteen_by_fourteen_is_printed_in_parts(laid_out: list[tuple[Any, str]]) -> None:
    shown = viewer(Case(196, "short", 1))
    view = replace(shown.protocol_view(), rule_groups=(), grounds=())
    pdf.protocol_pdf(view, b"{}", 1)
    assert list(faults(*laid_out[-1])) == []
    assert list(chart_faults(laid_out[-1][0])) == []
    assert laid_out[-1][1].count('<table class="chart') > 1
    drawn = 0
    for page in laid_out[-1][0].pages:
        seen = [item for item, _, _ in boxes(page._page_box) if "Replaced" in type(item).__name__]
        pictures = sorted(item.position_y for item in seen if "depth" in item.element.get("class", ""))
        rows = sorted(box[1] for name, box in page.anchors.items() if "-row-" in name and not name.endswith("-end"))
        assert pictures == pytest.approx(rows, abs=4), "each depth stands beside the name of its row"
        drawn += len(pictures)
    assert drawn == 28


@pytest.mark.parametrize("few", [8, 100])
def test_words_wider_than_any_column_are_broken_and_none_is_lost(
    few: int, laid_out: list[tuple[Any, str]], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(STYLES, "endless", (2, 70, 1, 5))
    monkeypatch.setattr(paper_html, "_FEW", few)
    shown = viewer(Case(18, "endless", 5))
    made = pdf.protocol_pdf(shown.protocol_view(), b"{}", 1, protocol_figures(shown.meaning, shown.charts))
    assert [fault for fault in faults(*laid_out[-1]) if "is not a word" not in fault] == []
    texts = "".join(page_texts(made))
    for label in shown.protocol.factors["restoration"].values.values():
        assert squeeze(label) in texts


def test_a_chart_of_ten_restorations_by_six_bands_loses_none(laid_out: list[tuple[Any, str]]) -> None:
    shown = viewer(Case(60, "short", 3))
    view = replace(shown.protocol_view(), rule_groups=(), grounds=())
    made = pdf.protocol_pdf(view, b"{}", 1)
    assert list(faults(*laid_out[-1])) == []
    assert list(chart_faults(laid_out[-1][0])) == []
    assert view.chart is not None
    for name in view.chart.columns:
        assert any(squeeze(name) in text for text in page_texts(made))


# --- refused, with what to do -----------------------------------------------------------------------------------------


def test_a_picture_taller_than_its_page_is_refused_with_its_name_and_page() -> None:
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 900" width="100" height="900"><title>x</title>'
        "<desc>x</desc></svg>"
    )
    drawings = ProtocolFigures((Picture(("Amalgam: 2 mm or less",), svg),))
    view = sample.protocol_view(rule_groups=())
    with pytest.raises(DoesNotFit) as caught:
        pdf.protocol_pdf(view, b"{}", 1, drawings)
    assert "the picture of the layers for Amalgam: 2 mm or less" in str(caught.value)
    assert ", on page " in str(caught.value)


def test_a_word_too_wide_is_told_with_its_rule_its_page_and_how_much_to_shorten() -> None:
    groups = sample.rule_groups()
    word = "Polymethyl" + "methacrylate" * 8
    rule = replace(groups[0].rules[0], title=word)
    text = paper_html.protocol_html(sample.protocol_view(rule_groups=(replace(groups[0], rules=(rule,)),)))
    text = text.replace("</style>", ".rule-title { overflow-wrap: normal }</style>")
    with typesetter(1) as setter, pytest.raises(DoesNotFit) as caught:
        check_width(setter.lay_out(text), "the protocol", {rule.anchor: "rule 'A title' (a-title)"})
    found = str(caught.value)
    assert f"'{word}' in rule 'A title' (a-title): shorten it by about " in found
    assert ", on page " in found


LONG_WORD = "polymethylmethacrylatecopolymerisate"
READINGS = tuple(
    replace(table, rows=tuple(replace(row, value=LONG_WORD, reading=LONG_WORD) for row in table.rows))
    for table in sample.READINGS
)


def few_rules(**changes: Any) -> ProtocolView:
    """A protocol whose rest stands in two columns, with words too wide for one of them."""
    return sample.protocol_view(chart=None, exceptions=(), rule_groups=(), readings=READINGS, **changes)


def test_a_table_of_words_too_wide_for_a_column_stays_in_it_and_keeps_its_other_words_whole() -> None:
    text = paper_html.protocol_html(few_rules())
    with typesetter(1) as setter:
        document = setter.lay_out(text)
    check_width(document, "the protocol", {})
    check_pages(document, "the protocol", {})
    broken = [fault for fault in faults(document, text) if "is not a word" not in fault]
    assert broken == []
    shown = [
        item.text.strip() for page in document.pages for item, _, _ in boxes(page._page_box) if hasattr(item, "text")
    ]
    assert "Threshold" in shown
    assert "98 in 100" in " ".join(shown).replace("\xa0", " ")
    ordinary = paper_html.protocol_html(replace(few_rules(), readings=sample.READINGS))
    assert (text.count('class="listing narrow'), ordinary.count('class="listing narrow')) == (1, 0)


@pytest.mark.parametrize("column", [1, 2])
def test_what_stands_beside_its_column_is_refused_under_the_next_one_too(column: int) -> None:
    """In the first column it does not reach the edge of the page: the second covers it."""
    text = paper_html.protocol_html(few_rules()).replace("listing narrow", "listing")
    alone = ".tail { column-fill: auto } .tail > section:not(:has(#readings)) { display: none }"
    after = ".tail > section:has(#readings)::before { content: ''; display: block; height: 300mm }"
    text = text.replace("</style>", f"{alone}{after if column == 2 else ''}</style>")
    with typesetter(1) as setter:
        document = setter.lay_out(text)
    sheets = [page._page_box for page in document.pages]
    (sheet,) = [one for one in sheets if list(beside_columns(one))]
    edge = sheet.content_box_x() + sheet.width
    reaches = max(item.position_x + item.width for item, _, free in boxes(sheet) if free and hasattr(item, "text"))
    assert (reaches > edge + 1) is (column == 2)
    with pytest.raises(DoesNotFit, match=rf"mm too wide, on page {sheets.index(sheet) + 1}. What stands out is '"):
        check_pages(document, "the protocol", {})


@pytest.mark.parametrize(("place", "words"), [("title", "end of the foot"), ("practice", "end of the head")])
def test_a_head_or_a_foot_of_too_many_lines_is_refused(place: str, words: str) -> None:
    """A head that reaches the strip of a draft, and a foot that leaves the sheet."""
    long = "Pulp protection under all of the restorations " * 14 + words
    view = sample.protocol_view(rule_groups=(), chart=None, exceptions=())
    with typesetter(1) as setter:
        for who, fits in ((sample.DRAFT, True), (replace(sample.DRAFT, **{place: long}), False)):  # type: ignore[arg-type]
            document = setter.lay_out(paper_html.protocol_html(replace(view, identity=who)))
            if fits:
                check_pages(document, "the protocol", {})
                continue
            with pytest.raises(DoesNotFit, match="mm too long, on page "):
                check_pages(document, "the protocol", {})


def test_what_is_said_to_be_too_much_is_about_what_is_too_much() -> None:
    """A cell is cut by as many characters as the message says: then the card fits, and hardly less would have done."""
    words = "Hard-setting calcium hydroxide over the deepest spot of the cavity, and then some more of it; " * 16

    def card(text: str) -> Any:
        base = sample.small_card("A5")
        cell = replace(base.chart.cells[0][0], steps=(Step(0, "", text),))
        return replace(base, chart=replace(base.chart, cells=((cell,), *base.chart.cells[1:])))

    with pytest.raises(DoesNotFit) as caught:
        pdf.card_pdf(card(words), 1)
    said = str(caught.value)
    assert "the cell 'Amalgam, 0.5 mm or less'" in said
    count = int(said.partition("by about ")[2].partition(" ")[0])
    assert 0 < count < len(words)
    pdf.card_pdf(card(words[: len(words) - count - 60]), 1)
    with pytest.raises(DoesNotFit):
        pdf.card_pdf(card(words[: len(words) - count // 3]), 1)


def test_a_foot_that_ends_a_line_with_a_blank_is_not_too_wide() -> None:
    """The blank at which a line ends hangs over the edge, where nobody sees it."""
    title = "Pulp protection under all of the restorations of  Tern Street and elsewhere"
    view = sample.protocol_view(identity=sample.identity(title=title), rule_groups=(), chart=None, exceptions=())
    with typesetter(1) as setter:
        document = setter.lay_out(paper_html.protocol_html(view))
        check_width(document, "the protocol", {})
        check_pages(document, "the protocol", {})


# --- widths shared by what the columns need ---------------------------------------------------------------------------


def random_grid(seed: int) -> Grid:
    chance = Random(seed)
    word = lambda: "".join(chance.choice("aeimnortls") for _ in range(chance.randint(2, 16)))  # noqa: E731
    words = lambda count: " ".join(word() for _ in range(chance.randint(1, count)))  # noqa: E731
    columns = tuple((words(3),) for _ in range(chance.randint(1, 7)))
    rows = tuple(
        GridRow((words(4),), tuple(Cell("", (Step(1, words(6), words(8)),), "place") for _ in columns))
        for _ in range(chance.randint(1, 9))
    )
    return Grid(words(3), words(3), columns, rows)


@pytest.mark.parametrize("seed", range(30))
def test_no_word_is_too_wide_while_another_column_has_room(seed: int) -> None:
    drawn, sizes = random_grid(seed), Sizes(11, 11, 14)
    table = _Table(drawn, sizes)
    found = widths(drawn, 194, sizes)
    assert sum(found) == 194
    excess = sum(block.excess(width) for column, width in zip(table.columns, found, strict=True) for block in column)
    assert (excess == 0) or sum(table.least()) > 194


def test_more_than_2_mm_never_takes_many_lines() -> None:
    """A last column of few words beside two of many keeps the room that its heading needs."""
    long = "Resin-modified glass ionomer over the pulpal or axial floor, 0.75 to 1 mm thick, cured for 20 s; " * 5
    cells = [Cell("", (Step(1, text),), "place") for text in (long, long, "No")]
    bands = (("0.5 mm or less",), ("more than 0.5 mm, at most 2 mm",), ("more than 2 mm",))
    drawn = Grid("Restoration", "Dentine", bands, (GridRow(("Amalgam",), tuple(cells)),))
    sizes = Sizes(11, 11, 18)
    found = widths(drawn, 194, sizes)
    lines = [column[0].lines(width) for column, width in zip(_Table(drawn, sizes).columns, found, strict=True)]
    assert max(lines) <= 3


def test_words_are_taken_apart_as_the_typesetter_does_it() -> None:
    assert syllables("Glasionomerzement") == ["Glasionomerzement"]
    with speaking("de"):
        pieces = syllables("Kunststoffmodifizierter")
    assert len(pieces) > 2
    assert "".join(pieces) == "Kunststoffmodifizierter"
    assert min(len(pieces[0]), len(pieces[-1])) >= 3
