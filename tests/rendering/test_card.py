"""The card for the wall, measured: size, fit, type, contrast, hatches, marks. Other sizes: `test_small_cards.py`."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from typing import Any, cast

import pikepdf
import pytest

from liningbook.show.assets.fonts import MissingGlyph
from liningbook.show.paper import fitting, paper_html
from liningbook.show.paper.card_sheet import SHEETS, CardStyle, Sheet
from liningbook.show.paper.overflow import DoesNotFit
from liningbook.show.paper.paper_html import card_html
from liningbook.show.paper.pdf import card_pdf
from liningbook.show.paper.typeset import typesetter
from liningbook.show.views.view import CardView, Cell, Chart, ExceptionLine, Labelled, Step
from liningbook.show.views.view_texts import view_texts
from tests.rendering import sample_view as sample
from tests.rendering.measure import (
    MM,
    contrast,
    font_names,
    glyphs,
    page_lines,
    page_texts,
    problems_of,
    raster,
    squeeze,
    weakest_contrast,
)

pytestmark = pytest.mark.usefixtures("pango")


def with_cell(band: int, column: int, text: str, view: CardView | None = None) -> CardView:
    """The sample with another text in one cell."""
    view = view or sample.card_view()
    cells = [list(row) for row in view.chart.cells]
    cells[band][column] = replace(cells[band][column], steps=(Step(1, text),))
    return replace(view, chart=replace(view.chart, cells=tuple(tuple(row) for row in cells)))


# --- paper ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("profile", ["3a", "ua1"])
@pytest.mark.parametrize("which", ["card", "draft_card"])
def test_it_conforms(which: str, profile: str, request: pytest.FixtureRequest) -> None:
    assert problems_of(request.getfixturevalue(which), profile) == []


def test_it_has_two_sides_of_a4_and_no_marks(card: bytes) -> None:
    with pikepdf.open(io.BytesIO(card)) as document:
        assert len(document.pages) == 2
        for page in document.pages:
            assert [float(x) / MM for x in page.MediaBox] == pytest.approx([0, 0, 210, 297], abs=0.05)
            assert [float(x) for x in page.get("/TrimBox", page.MediaBox)] == pytest.approx(
                [float(x) for x in page.MediaBox], abs=0.05
            )
        preferences = document.Root.ViewerPreferences
        assert str(preferences.PrintScaling) == "/None"
        assert str(preferences.Duplex) == "/DuplexFlipLongEdge"
        assert bool(preferences.DisplayDocTitle)


def test_crop_marks_only_on_request(epoch: int) -> None:
    pdf = card_pdf(sample.small_card("A4"), epoch, crop_marks=True)
    with pikepdf.open(io.BytesIO(pdf)) as document:
        for page in document.pages:
            media, trim, bleed = ([float(x) / MM for x in box] for box in (page.MediaBox, page.TrimBox, page.BleedBox))
            assert [trim[2] - trim[0], trim[3] - trim[1]] == pytest.approx([210, 297], abs=0.05)
            assert trim[0] - media[0] == pytest.approx(10, abs=0.05)
            assert trim[0] - bleed[0] >= 3
    assert problems_of(pdf, "3a") == []
    dark = raster(pdf, 0, grey=True) < 100
    assert dark[: int(9 * MM * 2)].any(), "no mark above the trimmed sheet"


def test_everything_stays_inside_the_safe_margin(card: bytes) -> None:
    for glyph in glyphs(card):
        left, bottom, right, top = glyph.box
        assert min(left, bottom) >= 8 * MM - 0.5, glyph
        assert right <= 202 * MM + 0.5, glyph
        assert top <= 289 * MM + 0.5, glyph
    for number in (0, 1):
        pixels = raster(card, number, scale=1, grey=True)
        edge = int(7.5 * MM)
        inside = pixels[edge:-edge, edge:-edge]
        assert (pixels < 250).sum() == (inside < 250).sum()


def test_the_same_view_gives_the_same_bytes(a6_cards: bytes, epoch: int) -> None:
    assert card_pdf([sample.small_card("A6")], epoch) == a6_cards


# --- type -------------------------------------------------------------------------------------------------------------


def test_only_our_font_is_used(card: bytes) -> None:
    assert font_names(card) <= {
        "Source-Sans-Pro",
        "Source-Sans-Pro-Bold",
        "SourceSansPro-Regular",
        "SourceSansPro-Bold",
    }


def test_no_type_is_too_small(card: bytes) -> None:
    """9 points, but 11 on the front above its foot."""
    for glyph in glyphs(card):
        foot = glyph.page == 1 or glyph.box[1] < 36 * MM
        assert glyph.size >= (9 if foot else 11) - 0.01, glyph


def test_bands_are_set_in_18_points_and_cells_in_12_at_least(card: bytes) -> None:
    by_size: dict[float, str] = {}
    for glyph in glyphs(card):
        if glyph.page == 0:
            size = round(glyph.size, 1)
            by_size[size] = by_size.get(size, "") + glyph.char
    for band in sample.BANDS:
        assert squeeze(band)[1:] in by_size[18.0]
    assert any("Hard-settingcalciumhydroxide" in text for size, text in by_size.items() if size >= 12)


@pytest.mark.parametrize(("which", "least"), [("card", 7), ("draft_card", 3)])
@pytest.mark.parametrize("side", [0, 1])
def test_every_glyph_stands_out(which: str, least: float, side: int, request: pytest.FixtureRequest) -> None:
    """Under the word across a draft, which must not be used, the text may be harder to read."""
    ratio, place = weakest_contrast(request.getfixturevalue(which), side)
    assert ratio >= least, place


# --- content ----------------------------------------------------------------------------------------------------------


def test_no_text_is_lost(card: bytes) -> None:
    shown = "".join(page_texts(card)).lower()
    for where, text in view_texts(sample.card_view()):
        if not re.search(
            r"tone|authors|approvals|in force from|open findings|, status$|cell .*, id|probability"
            r"|use until day|size|code|digest",
            where,
        ):
            assert squeeze(text).lower() in shown, where
    front, back = page_texts(card)
    for side in (front, back):
        for text in (
            "Edition mark 3f9a1c7e",
            "Copy 3 of 6, Surgery 3",
            "Tern Street Dental Practice",
            "Edition 2026.2",
        ):
            assert squeeze(text) in side


def test_without_a_code_the_digest_is_printed(epoch: int) -> None:
    pdf = card_pdf(sample.small_card("A5", code=""), epoch)
    assert sample.DIGEST in page_texts(pdf)[1]
    assert squeeze("Scan to") not in "".join(page_texts(pdf))


def test_the_back_converts_readings_and_shows_no_probability(card: bytes) -> None:
    back = page_texts(card)[1]
    assert squeeze("0.5 mm is passed at a reading of 1.3 mm; 2 mm is passed at a reading of 3.5 mm") in back
    assert not [text for text in page_texts(card) if "in 100" in text]


def test_what_stops_what_gives_way_where_there_is_no_room_and_the_card_says_so(epoch: int) -> None:
    long = tuple(Labelled(f"Restoration {n}", "Base stops heat and cold; " * 8) for n in range(20))
    pdf = card_pdf(sample.small_card("A4", protection=long), epoch)
    back = page_texts(pdf)[1]
    assert squeeze("What stops which irritant: see the printed protocol.") in back
    assert "Restoration19" not in back
    assert squeeze("Whom to ask") in back


def test_the_front_begins_with_the_questions_and_the_chart_follows(card: bytes) -> None:
    front, back = page_texts(card)
    places = [front.index(squeeze(text)) for text in ("Use until", "Is the pulp exposed", "0.5 mm or less", "Amalgam")]
    assert places == sorted(places)
    for text in ("Not covered here", "Whom to ask", "What goes together", "Cautions", "Never and avoid"):
        assert squeeze(text) in back


def test_no_cell_is_without_words() -> None:
    drawn = card_html(sample.card_view())
    cells = re.findall(r'<td class="cell [^>]*>(.*?)</td>', drawn, re.DOTALL)
    assert len(cells) >= 15
    for cell in cells:
        visible = re.sub(r'<p class="under".*?</p>', "", cell, flags=re.DOTALL)
        assert re.search(r"[A-Za-z]{4}", re.sub("<[^>]*>", "", visible))


def test_a_draft_says_so_across_both_sides(draft_card: bytes) -> None:
    for text in page_texts(draft_card):
        assert squeeze("DRAFT: ") in text
    for side in (0, 1):
        large = "".join(glyph.char for glyph in glyphs(draft_card) if glyph.page == side and glyph.size > 60)
        assert large == "DRAFT"
        grey = raster(draft_card, side, scale=1, grey=True)
        assert ((grey > 190) & (grey < 225)).mean() > 0.03, "the word across the side is too pale or too small in grey"


@pytest.mark.parametrize(("status", "word"), [("draft", "DRAFT"), ("withdrawn", "WITHDRAWN"), ("in-force", "")])
def test_the_status_alone_makes_a_card_one_not_to_be_used(status: str, word: str) -> None:
    """How it looks on paper: `test_a_card_not_to_be_used_says_so_across_each_side` in `test_small_cards.py`."""
    drawn = card_html(sample.card_view(identity=sample.identity(status=status, status_words="Words")))
    assert drawn.count('class="strip"') == drawn.count('class="across"') == (2 if word else 0)
    assert all(re.findall(rf'class="strip"[^>]*>{word}: ', drawn)) if word else "Do not use" not in drawn


# --- contrast ---------------------------------------------------------------------------------------------------------


def test_tints_carry_dark_text() -> None:
    css = card_html(sample.card_view())
    tints = re.findall(r"--(?:cell-\w+|wash|paper): #([0-9a-f]{6})", css)
    assert len(tints) >= 5
    for tint in tints:
        assert contrast(bytes.fromhex(tint), (0x16, 0x20, 0x2A)) >= 7


# --- fit --------------------------------------------------------------------------------------------------------------


def test_a_short_card_gets_the_largest_type(epoch: int) -> None:
    chart = sample.chart()
    few = replace(chart, columns=chart.columns[:3], cells=tuple(row[:3] for row in chart.cells))
    pdf = card_pdf(sample.card_view(chart=few, exceptions=sample.exceptions()[:1]), epoch)
    sizes = {side: {round(g.size, 1) for g in glyphs(pdf) if g.page == side} for side in (0, 1)}
    assert 14.0 in sizes[0]
    assert 12.0 in sizes[1]


def test_a_cell_that_is_too_long_is_named_with_the_length(epoch: int) -> None:
    long = "Hard-setting calcium hydroxide, deepest spot, and then a story about it. " * 20
    with pytest.raises(DoesNotFit) as caught:
        card_pdf(with_cell(1, 0, long, sample.small_card("A5", subject="")), epoch)
    assert caught.value.name == "the cell 'Amalgam, more than 0.5 mm, up to 2 mm'"
    assert caught.value.side == "the front of the card"
    assert caught.value.millimetres > 5
    assert "Amalgam, more than 0.5 mm, up to 2 mm" in str(caught.value)
    assert f"{caught.value.millimetres:.1f} mm" in str(caught.value)


@pytest.mark.parametrize(
    ("change", "name"),
    [
        ({"avoid": (Labelled("Varnish", "Long reason. " * 300),)}, "'Avoid: Varnish' under Never and avoid"),
        ({"exclusions": (Labelled("A case", "Long reason. " * 300),)}, "'A case' under Not covered here"),
    ],
)
def test_what_is_too_long_on_the_back_is_named(change: dict[str, Any], name: str, epoch: int) -> None:
    with pytest.raises(DoesNotFit) as caught:
        card_pdf(sample.small_card("A4", **change), epoch)
    assert caught.value.side == "the back of the card for Amalgam"
    assert caught.value.name == name
    assert caught.value.millimetres > 10


def test_an_exception_that_is_too_long_is_named(epoch: int) -> None:
    first, *rest = sample.exceptions()
    lines = (*first.lines, ExceptionLine((), "Stop", "condition " * 900, "", "refer"))
    with pytest.raises(DoesNotFit, match="line 2 of the exceptions for Pulp exposed or Pulp diagnosis: Irreversible"):
        card_pdf(sample.small_card("A4", exceptions=(replace(first, lines=lines), *rest)), epoch)


@pytest.mark.parametrize(
    ("change", "name"),
    [
        ({"stop_questions": ("Is it so? " * 400,)}, "the stop question"),
        ({"scope": "Teeth. " * 60}, "the scope, which takes one line"),
        ({"title": "Pulp protection " * 200}, "the title block"),
        ({"contact": "A. Marsh " * 300}, "the contact"),
    ],
)
def test_what_is_too_long_in_the_head_is_named(change: dict[str, Any], name: str, epoch: int) -> None:
    with pytest.raises(DoesNotFit) as caught:
        card_pdf(sample.small_card("A5", identity=sample.identity(**change)), epoch)
    assert caught.value.name.startswith(name)


def test_a_word_without_an_end_is_neither_broken_nor_cut(epoch: int) -> None:
    """It is refused, with what to shorten and by how much; the card is set in every way before."""
    word = "Polymethyl" + "methacrylate" * 6
    pdf = card_pdf(with_cell(0, 0, word, sample.small_card("A5")), epoch)
    assert squeeze(word) in page_texts(pdf)[0]
    assert any(word in line for line in page_lines(pdf, 0))
    with pytest.raises(DoesNotFit) as caught:
        card_pdf(with_cell(0, 0, word * 2, sample.small_card("A5")), epoch)
    assert caught.value.name == f"'{word * 2}' in the cell 'Amalgam, 0.5 mm or less'"
    assert ": shorten it by about " in str(caught.value)


def test_text_wider_than_its_cell_is_an_error(epoch: int, monkeypatch: pytest.MonkeyPatch) -> None:
    original = paper_html.card_html

    def unbroken(view: CardView, style: CardStyle | None = None) -> str:
        return original(view, style).replace("</style>", "#f-0-0 li { white-space: nowrap }</style>")

    monkeypatch.setattr(paper_html, "card_html", unbroken)
    # One size of type is enough: a line that does not break is too wide in each.
    monkeypatch.setitem(cast(dict[str, Sheet], SHEETS), "A5", replace(SHEETS["A5"], front=SHEETS["A5"].front[-1:]))
    with pytest.raises(DoesNotFit) as caught:
        card_pdf(with_cell(0, 0, "Resin-modified glass ionomer and more, " * 9, sample.small_card("A5")), epoch)
    assert caught.value.name.endswith("in the cell 'Amalgam, 0.5 mm or less'")
    assert "wide" in str(caught.value)


def test_many_bands_and_few_choices_are_set_another_way(epoch: int) -> None:
    bands = tuple(f"more than {n} mm, up to {n + 1} mm" for n in range(7))
    columns = ("Amalgam", "Composite")
    cells = tuple(
        tuple(Cell(f"{c}, {b}", (Step(1, f"Resin-modified glass ionomer {b} {c}"),), "place") for c in columns)
        for b in bands
    )
    view = sample.small_card("A4", chart=Chart("Depth", "Restoration", bands, columns, cells, ()))
    pdf = card_pdf(view, epoch)
    front = page_texts(pdf)[0]
    assert all(squeeze(f"Resin-modified glass ionomer {band} Composite") in front for band in bands)
    assert min(glyph.size for glyph in glyphs(pdf) if glyph.page == 0 and glyph.box[1] > 36 * MM) >= 10.99


def test_a_missing_glyph_fails_the_card(epoch: int) -> None:
    with pytest.raises(MissingGlyph, match=r"U\+2717 BALLOT X in the cell Amalgam, 0\.5 mm or less"):
        card_pdf(with_cell(0, 0, "Varnish ✗"), epoch)


def test_the_largest_size_is_really_the_largest(card_and_style: tuple[bytes, CardStyle], epoch: int) -> None:
    """The size above the one chosen does not fit, by the same measure."""
    style = card_and_style[1]
    above = min(size for size in SHEETS["A4"].front if size > style.front)
    larger = replace(style, front=above, stretch=0, code_front=False)
    with typesetter(epoch) as setter:
        measure = fitting._measured(sample.card_view(), setter, larger, "front")
    assert measure.needed > measure.room or measure.wide
