"""The cards of every size side by side, and what only A5 and A6 have: marks for cutting, colour up to the edge."""

from __future__ import annotations

import html
import io
import re
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pikepdf
import pytest

from liningbook.analysis import analyse
from liningbook.exchange.bundle import bundle_of
from liningbook.say.catalogue import speaking
from liningbook.say.safety import STANDING_CAUTIONS, standing_in_brief
from liningbook.show.figures.tones import TONES
from liningbook.show.markup.wrapping import text_width
from liningbook.show.paper import back, card_sheet, fitting, overflow
from liningbook.show.paper.card_sheet import SHEETS, Brief, CardStyle
from liningbook.show.paper.heights import side_height
from liningbook.show.paper.overflow import DoesNotFit
from liningbook.show.paper.paper_html import card_html, protocol_html
from liningbook.show.paper.pdf import card_pdf
from liningbook.show.paper.typeset import typesetter
from liningbook.show.viewer import Viewer
from liningbook.show.views.view import CardView, Cell, Chart, Labelled, Step
from tests.published.colour_vision import MATRICES, seen_with
from tests.rendering import sample_view as sample
from tests.rendering.measure import (
    MM,
    codes,
    contrast,
    figure_texts,
    glyphs,
    level_lines,
    luminance,
    page_lines,
    page_texts,
    problems_of,
    raster,
    roughness,
    squeeze,
    weakest_contrast,
)

pytestmark = pytest.mark.usefixtures("pango")

FILES = {"A4": "card", "A5": "a5_cards", "A6": "a6_cards"}
PAPER = {"A4": (210, 297), "A5": (148, 210), "A6": (105, 148)}
LEAST = {"A4": 9, "A5": 9, "A6": 8}
"""Points; what the foot of A4 and A5 and the scope of A6 may come down to."""
LAYERS = ((0x0B, 0x46, 0x50), (0x4F, 0x85, 0x80), (0xC2, 0x93, 0x4A))


@pytest.fixture(params=FILES)
def sized(request: pytest.FixtureRequest) -> tuple[str, bytes]:
    """The name of a size and a file of cards of that size."""
    return request.param, request.getfixturevalue(FILES[request.param])


def boxes(pdf: bytes, number: int) -> tuple[list[float], list[float], list[float]]:
    """The media box, the trim box and the bleed box of a page in millimetres."""
    with pikepdf.open(io.BytesIO(pdf)) as document:
        page = document.pages[number]
        media = page.MediaBox
        found = [[float(x) / MM for x in page.get(name, media)] for name in ("/MediaBox", "/TrimBox", "/BleedBox")]
    return found[0], found[1], found[2]


# --- every size -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("profile", ["3a", "ua1"])
def test_it_conforms(sized: tuple[str, bytes], profile: str) -> None:
    assert problems_of(sized[1], profile) == []


@pytest.mark.parametrize("size", FILES)
def test_pages_trim_and_bleed(size: str, request: pytest.FixtureRequest) -> None:
    """Nothing lies beyond the trimmed page but on a small card that bears marks for cutting."""
    pdf = request.getfixturevalue(FILES[size])
    pages = len(page_texts(pdf))
    assert pages == {"A4": 2, "A5": 4, "A6": 2}[size]
    for number in range(pages):
        media, trim, bleed = boxes(pdf, number)
        assert (trim[2] - trim[0], trim[3] - trim[1]) == pytest.approx(PAPER[size], abs=0.05)
        assert media == pytest.approx(trim, abs=0.05)
        assert bleed == pytest.approx(trim, abs=0.05)


def test_the_type_is_not_too_small(sized: tuple[str, bytes]) -> None:
    size, pdf = sized
    scope = squeeze(sample.identity().scope)
    drawn = list(glyphs(pdf))
    assert min(glyph.size for glyph in drawn) >= LEAST[size] - 0.01
    back = [glyph.size for glyph in drawn if glyph.page % 2]
    assert min(back) >= 8.99
    small = "".join(glyph.char for glyph in drawn if glyph.size < 8.99)
    assert small in ("", scope)
    sizes = {round(glyph.size, 1) for glyph in drawn}
    assert {"A4": 18.0, "A5": 16.0, "A6": 12.0}[size] in sizes
    body = {glyph.size for glyph in drawn if glyph.page == 0 and glyph.char == "H" and glyph.size > 8}
    assert max(body) >= {"A4": 11, "A5": 12, "A6": 9}[size] - 0.01


@pytest.mark.parametrize("side", [0, 1])
def test_every_glyph_stands_out(sized: tuple[str, bytes], side: int) -> None:
    ratio, place = weakest_contrast(sized[1], side)
    assert ratio >= 7, place


@pytest.mark.parametrize("name", ["grey", *MATRICES])
def test_every_glyph_stands_out_in_grey_and_to_the_colour_blind(sized: tuple[str, bytes], name: str) -> None:
    for side in (0, 1):
        ratio, place = weakest_contrast(sized[1], side, see=seen_with(name))
        assert ratio >= 6.8, (side, place)


def test_the_code_is_read_back(sized: tuple[str, bytes]) -> None:
    size, pdf = sized
    found = [codes(pdf, number) for number in range(len(page_texts(pdf)))]
    expected = {"A4": [sample.CODE], "A5": [sample.CODE] * 2, "A6": [sample.CODE]}[size]
    assert [text for texts in found for text in texts] == expected
    places = [number % 2 for number, texts in enumerate(found) if texts]
    assert len(set(places)) == 1, "the code stands on the same side of every card"
    words = page_texts(pdf)[places[0]]
    assert squeeze("Scan") in words
    assert any(sample.CODE in text for text in figure_texts(pdf))


def test_a_module_of_the_code_is_large_enough() -> None:
    for sheet in SHEETS.values():
        assert sheet.module >= 0.4


def test_the_check_bar_is_50_mm_long(sized: tuple[str, bytes]) -> None:
    _, pdf = sized
    bars = [length for length in level_lines(pdf, 0) if 49 < length < 51]
    assert bars == pytest.approx([50], abs=0.1)
    assert squeeze("50 mm when printed at full size") in page_texts(pdf)[0]


def test_every_figure_has_its_text(sized: tuple[str, bytes]) -> None:
    """On A6 at least the sign of the questions, the check bar and the code; the others draw the depths as well."""
    size, pdf = sized
    texts = figure_texts(pdf)
    assert len(texts) >= (3 if size == "A6" else 4)
    assert all(texts)
    assert any("Check bar, 50 mm" in text for text in texts)


def test_the_margin_for_laminating_is_free(sized: tuple[str, bytes]) -> None:
    """8 mm hold no glyph, and no mark but the layers at the upper edge of a card that is cut."""
    size, pdf = sized
    width, height = PAPER[size]
    for glyph in glyphs(pdf):
        left, bottom, right, top = (x / MM for x in glyph.box)
        assert min(left, bottom) >= 7.8, glyph
        assert right <= width - 7.8, glyph
        assert top <= height - 7.8, glyph
    scale = 3.0
    for number in range(2):
        media, trim, _ = boxes(pdf, number)
        pixels = raster(pdf, number, scale=scale)[:, :, :3][:, :, ::-1]
        offset = round((trim[0] - media[0]) * MM * scale)
        sheet = pixels[offset : offset + int(height * MM * scale), offset : offset + int(width * MM * scale)]
        safe, top = int(7.7 * MM * scale), int(7.9 * MM * scale) if SHEETS[size].cut else 0
        for part in (sheet[top:safe], sheet[: int(4.7 * MM * scale)], sheet[-safe:], sheet[top:, :safe]):
            assert (part > 245).all()
        assert (sheet[top:, -safe:] > 245).all()
        if top:
            seen = sheet[:top, sheet.shape[1] // 2]
            for colour in LAYERS:
                assert (np.abs(seen.astype(int) - colour).max(axis=1) < 12).any()


def test_both_sides_say_what_they_are(sized: tuple[str, bytes]) -> None:
    for text in page_texts(sized[1])[:2]:
        for words in ("Copy 3 of 6, Surgery 3", "Edition 2026.2", "Edition mark 3f9a1c7e", "Tern Street"):
            assert squeeze(words) in text
        assert "in 100" not in text


# --- cut from a larger sheet ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("size", ["A5", "A6"])
def test_colour_that_meets_the_edge_goes_on_beyond_it(size: str, epoch: int) -> None:
    pdf = card_pdf(sample.small_card(size), epoch, crop_marks=True)
    for number in (0, 1):
        media, trim, bleed = boxes(pdf, number)
        assert (trim[2] - trim[0], trim[3] - trim[1]) == pytest.approx(PAPER[size], abs=0.05)
        margins = [trim[0] - bleed[0], trim[1] - bleed[1], bleed[2] - trim[2], bleed[3] - trim[3]]
        assert margins == pytest.approx([3.53] * 4, abs=0.02)
        assert trim[0] - media[0] == pytest.approx(10, abs=0.05)
    scale = 4.0
    pixels = raster(pdf, 0, scale=scale)[:, :, :3][:, :, ::-1].astype(int)
    at = lambda mm: int(mm * MM * scale)  # noqa: E731
    width = PAPER[size][0]
    for x in (7.2, 10 + width / 2, 10 + width + 2.8):
        assert np.abs(pixels[at(7.2), at(x)] - LAYERS[0]).max() < 6
    dark = (pixels.max(axis=2) < 80)[: at(4.8)]
    assert dark.any(), "no marks for cutting"
    between = pixels[at(5.1) : at(6.2), at(30) : at(50)]
    assert (between > 245).all(), "the colour must not reach the marks"


@pytest.mark.parametrize("size", ["A5", "A6"])
def test_the_subject_is_large(size: str, request: pytest.FixtureRequest) -> None:
    drawn = [glyph for glyph in glyphs(request.getfixturevalue(FILES[size])) if glyph.page == 0]
    largest = max(glyph.size for glyph in drawn)
    assert "".join(glyph.char for glyph in drawn if glyph.size == largest) == "Amalgam"
    assert largest >= {"A5": 26, "A6": 18}[size] - 0.01


def test_cards_that_differ_in_their_number_only_are_fitted_once(monkeypatch: pytest.MonkeyPatch, epoch: int) -> None:
    fitted: list[CardView] = []
    original = fitting._fit_front

    def counted(view: CardView, *rest: Any) -> Any:
        fitted.append(view)
        return original(view, *rest)

    monkeypatch.setattr(fitting, "_fit_front", counted)
    numbers = [f"Copy {n} of 2, Surgery {n}" for n in (1, 2)]
    pdf = card_pdf([sample.small_card("A5", copy=number) for number in numbers], epoch)
    assert len(fitted) == 1
    texts = page_texts(pdf)
    assert len(texts) == 4
    for index, number in enumerate(numbers):
        assert squeeze(number) in texts[2 * index]
        assert squeeze(number) in texts[2 * index + 1]
        assert texts[2 * index].replace(squeeze(number), "") == texts[0].replace(squeeze(numbers[0]), "")


def test_what_leads_to_the_same_is_one_group_of_several_triggers(a5_cards: bytes) -> None:
    back = page_texts(a5_cards)[1]
    assert squeeze("Pulp exposed or Pulp diagnosis: Irreversible pulpitis or Necrotic Stop Assess") in back
    assert back.count(squeeze("Assess the pulp first")) == 1


# --- fit --------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("size", ["A5", "A6"])
def test_a_text_one_line_too_long_is_found(size: str, epoch: int) -> None:
    """A cell grows word by word: the first that does not fit is named, and is too long by no more than a line."""
    base = sample.small_card(size)
    sheet = SHEETS[size]
    least = replace(card_sheet.ways()[1], front=sheet.front[0], back=sheet.back[0], scope=sheet.scope[0], drawn=False)

    def grown(words: int) -> CardView:
        cell = replace(base.chart.cells[0][0], steps=(Step(0, "cement " * words),), tone="nothing")
        return replace(base, chart=replace(base.chart, cells=((cell,), *base.chart.cells[1:])))

    with typesetter(epoch) as setter:

        def spare(words: int) -> float:
            measure = fitting._measured(grown(words), setter, least, "front")
            return measure.room - measure.needed

        low, high = 1, 300
        assert spare(low) >= 0 > spare(high)
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (middle, high) if spare(middle) >= 0 else (low, middle)
        line = sheet.front[0] * {"A5": 1.13, "A6": 1.03}[size] / MM
        assert 0 < -spare(high) <= line + 0.1
        assert spare(low) - spare(high) == pytest.approx(line, rel=0.02)
        with pytest.raises(DoesNotFit) as caught:
            fitting._Search(grown(high), setter, "front").least([least])
    assert caught.value.name == "the cell 'Amalgam, 0.5 mm or less'"
    assert caught.value.side == "the front of the card for Amalgam"
    assert f"{caught.value.millimetres:.1f} mm too long" in str(caught.value)
    assert 0 < caught.value.millimetres <= line + 0.1


@pytest.mark.parametrize("size", [pytest.param("A4", marks=pytest.mark.slow), "A5", "A6"])
def test_a_card_is_set_as_if_every_style_had_been_laid_out(
    size: str, epoch: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What the arithmetic rules out would not have fitted, and it rules out most."""
    view = sample.card_view() if size == "A4" else sample.small_card(size)
    with typesetter(epoch) as setter:
        quickly = fitting.fit_cards([view], setter)
        tries = setter.tries
        monkeypatch.setattr(fitting, "_DOUBT", {"front": 1e9, "back": 1e9})
        monkeypatch.setattr(fitting, "_DOUBT_WIDE", 1e9)
        assert fitting.fit_cards([view], setter) == quickly
        assert tries <= 7, "each side may just miss in two sizes"
        assert tries < setter.tries - tries


@pytest.mark.parametrize(("size", "tag"), [("A4", "es"), ("A5", "en-GB")])
@pytest.mark.parametrize(("facts", "begins"), [(7, "b-protection"), (0, "b-pain")])
def test_the_back_is_as_long_as_it_was_measured(size: str, tag: str, facts: int, begins: str, epoch: int) -> None:
    """Also where the right column begins with a longer heading than the left, or with the edge of a box."""
    who = sample.identity(cautions=(), contact="")
    protection = tuple(Labelled(f"Case {n}", "Base stops heat and cold. " * 3) for n in range(facts))
    lists = {"never": (Labelled("Varnish", ""),), "protection": protection, "exceptions": (), "pairings": ()}
    bare = sample.small_card(size, identity=who, readings=(), exclusions=(), left_out=(), code="", **lists)
    view = replace(bare, pain="Ring back. " * 9)
    style = replace(card_sheet.ways()[0], front=SHEETS[size].front[0], back=SHEETS[size].back[0])
    with speaking(tag), typesetter(epoch) as setter:
        measure = fitting._measured(view, setter, style, "back")
        page = setter.lay_out(card_html(view, replace(style, split=measure.split))).pages[-1]
    tops = {name: box[1] / overflow.MM for name, box in page.anchors.items()}
    right = back.shared_out(back.entries(view), measure.split)[1][0]
    assert right.id.startswith(begins)
    assert right.id != "b-protection-0", "the section goes on"
    foot = 1.2 + tops["b-foot-end"] - tops["b-foot"]
    assert measure.needed == pytest.approx(tops["back-end"] - card_sheet.SAFE + foot, abs=0.02)


@pytest.mark.parametrize("size", SHEETS)
def test_the_scope_takes_one_line_and_two_on_a6_only_where_one_is_not_enough(size: str) -> None:
    """Set as large as that allows; too long a one is named."""
    sheet = SHEETS[size]
    room = sheet.width - 2 * card_sheet.SAFE

    def fitted(words: int) -> float:
        view = sample.small_card(size, identity=sample.identity(scope=" ".join(["teeth"] * words)))
        return fitting._with_scope(view, CardStyle()).scope

    widest = [text_width("teeth ", points) for points in sheet.scope]
    one = int((room + 1) / widest[0])
    assert fitted(4) == sheet.scope[-1]
    assert fitted(one) == sheet.scope[0]
    if size == "A6":
        assert fitted(one + 1) == sheet.scope[-1]
        assert fitted(2 * one) == sheet.scope[0]
        with pytest.raises(DoesNotFit, match="the scope, which takes 2 lines at most"):
            fitted(2 * one + 1)
    else:
        with pytest.raises(DoesNotFit, match="the scope, which takes one line"):
            fitted(one + 1)


def test_a_scope_of_two_lines_as_it_is_printed(epoch: int) -> None:
    scope = "Permanent teeth of adults that are to be restored directly or with a cemented restoration."
    pdf = card_pdf(sample.small_card("A6", identity=sample.identity(scope=scope), exceptions=(), never=()), epoch)
    assert squeeze(scope) in page_texts(pdf)[0]
    lines = [line.strip() for line in page_lines(pdf, 0) if line.strip() and line.strip() in scope]
    assert len(lines) == 2
    assert squeeze("".join(lines)) == squeeze(scope)


def test_what_does_not_fit_on_a_small_card_is_left_to_the_protocol_and_the_card_says_so(epoch: int) -> None:
    view = sample.small_card("A5")
    long = tuple(f"Caution {n}: look again before anything is placed." for n in range(12))
    pdf = card_pdf(replace(view, identity=replace(view.identity, cautions=long)), epoch)
    back = page_texts(pdf)[1]
    assert squeeze("see the printed protocol.") in back
    assert squeeze("A. Marsh, extension 12") in back
    assert squeeze("Amalgam Stop Choose another restoration") not in back
    assert squeeze("Stop Choose another restoration") in back, "what the front sends to is there"
    assert "Caution11" in back


def test_cautions_that_run_on_are_sentences() -> None:
    own = ("The maker's words first, always", "Under 18: ask!", "Look again")
    view = sample.small_card("A6")
    drawn = card_html(replace(view, identity=replace(view.identity, cautions=own)))
    assert "first, always. Under" in re.sub("<[^>]*>", "", drawn)
    assert "ask! Look again</p>" in re.sub('<span class="tied">|</span>', "", drawn)


@pytest.mark.parametrize("size", SHEETS)
def test_what_the_back_leaves_out_is_said_and_what_must_stay_stays(size: str) -> None:
    """At every step of `Brief` that a size knows: each entry is there, or its kind is named as left out."""
    base = sample.small_card(size, pain="Ring back.", changes=("New.",))
    who = replace(base.identity, cautions=("Ours.", "Ours too.", *STANDING_CAUTIONS))
    view = replace(base, identity=who)
    whole = {entry.text for entry in back.entries(view)}
    said = {
        "protection": ("what stops which irritant", Brief.PROTECTION),
        "pairing": ("what goes together", Brief.PAIRINGS),
        "caution": ("2 cautions of the practice", Brief.CAUTIONS),
        "exclusion": ("why cases are not covered", Brief.REASONS),
        "pain": ("when a patient rings with pain", Brief.PAIN),
    }
    for brief in SHEETS[size].briefs:
        found = back.entries(view, brief)
        texts = {entry.text for entry in found}
        left = " ".join(entry.text for entry in found if entry.section == "Left out of this card").lower()
        for kind, (words, step) in said.items():
            facts = {e.text for e in back.entries(view) if e.id.startswith(f"b-{kind}-")} - set(STANDING_CAUTIONS)
            assert facts
            assert facts.isdisjoint(texts) == (words in left) == (brief >= step), (kind, brief)
            assert facts <= texts or brief >= step
        for fact in (*view.never, *view.avoid, *view.exclusions):
            assert any(fact.label in entry.label for entry in found)
        assert texts.issuperset(view.left_out)
        assert texts.issuperset(STANDING_CAUTIONS) == (brief < Brief.STANDING)
        assert (standing_in_brief() in texts) == (brief >= Brief.STANDING), "their gist stays"
        assert (who.contact in texts) == (size != "A6"), "on A6 it stands on the front, beside the questions"
        assert texts - whole <= {
            "",
            standing_in_brief(),
            *(entry.text for entry in found if "printed protocol" in entry.text),
        }
        drawn = card_html(view, CardStyle(brief=brief, measuring="back"))
        assert len(re.findall(r'class="has"[ >]', drawn)) == len(view.exceptions), "what the front sends to is there"


def test_what_is_never_done_in_the_same_cases_is_one_entry_of_a_small_card() -> None:
    never = (Labelled("Varnish", "if wet"), Labelled("Eugenol", "in every case"), Labelled("Zinc", "if wet"))
    found = [(e.label, e.text) for e in back.entries(sample.small_card("A6", never=never)) if e.sign == "never"]
    assert found == [("Never: Varnish; Zinc", "if wet"), ("Never: Eugenol", "in every case")]


@pytest.fixture(scope="module")
def demonstration() -> Viewer:
    analysis = analyse(Path(__file__).resolve().parents[2] / "guidelines" / "tern-street", date(2026, 11, 25))
    return Viewer(analysis, bundle_of(analysis)["digest"], lambda text: text)


def test_the_fullest_card_of_the_demonstration_fits_a6(demonstration: Viewer, epoch: int) -> None:
    """As it is made: the fullest, with the longest of its rooms."""
    views = demonstration.card_views("A6", "Copy 4 of 6, Decontamination room")
    pdf = card_pdf(views[0], epoch)
    front, other = page_texts(pdf)
    assert squeeze("Amalgam") in front
    assert min(glyph.size for glyph in glyphs(pdf)) >= 8.99
    assert codes(pdf, 1) == [views[0].code]
    assert squeeze("4 cautions of the practice") in other
    assert squeeze(standing_in_brief()) in other


@pytest.mark.parametrize("tag", ["en-GB", "de", "es", "fr"])
@pytest.mark.parametrize("size", SHEETS)
def test_the_fullest_cards_of_the_demonstration_fit_in_every_language(
    size: str, tag: str, demonstration: Viewer, epoch: int
) -> None:
    """By measure of the fullest front and the fullest back, in the least type and the shortest way, for a room."""
    sheet = SHEETS[size]
    least = CardStyle(front=sheet.front[0], back=sheet.back[0], brief=sheet.briefs[-1], small_bands=True, run_in=True)
    ways = [replace(least, drawn=False, bands_down=down) for down in (False, True)]
    with speaking(tag), typesetter(epoch) as setter:
        spoken = Viewer(demonstration.analysis, demonstration.digest, demonstration.rules.to_html)
        views = spoken.card_views(size, "4/6, Decontamination room")
        for side, styles in (("front", ways), ("back", ways[:1])):
            view = max(views, key=lambda view: min(side_height(view, style, side)[0] for style in styles))
            measures = [fitting._measured(view, setter, fitting._with_scope(view, style), side) for style in styles]
            spare = max(found.room - found.needed for found in measures if not found.wide)
            assert spare >= 0, (view.subject, side, spare)


def test_what_a_small_card_leaves_out_of_pain_stands_in_the_protocol(demonstration: Viewer) -> None:
    said = demonstration.card_views("A6")[0].pain
    assert "Promise nothing" in said
    text = html.unescape(re.sub("<[^>]*>", "", protocol_html(demonstration.protocol_view())))
    assert text.count(said) == 1
    assert text.count("Patient rings with pain") == 2, "the heading, and the contents"


@pytest.mark.parametrize("size", SHEETS)
def test_a_name_keeps_to_the_line_of_its_initials(size: str) -> None:
    view = sample.small_card(size, identity=sample.identity(contact="the lead, J. B. Marsh, on 12"))
    assert "J.\xa0B.\xa0Marsh, on 12" in card_html(view, CardStyle(measuring="front"))


def test_lines_to_write_on_where_the_practice_says_nothing_of_pain(a5_cards: bytes) -> None:
    assert squeeze("Patient rings with pain") in page_texts(a5_cards)[1]
    assert squeeze("Write here what to ask") in page_texts(a5_cards)[1]
    drawn = card_html(sample.small_card("A5", pain="Ring back within the hour."))
    assert "Ring back within the hour." in drawn
    assert "Write here" not in drawn
    assert 'class="line"' not in drawn


# --- not to be used ---------------------------------------------------------------------------------------------------

KINDS: dict[str, tuple[str, Any]] = {
    "DRAFT": ("DRAFT: do not use", sample.DRAFT),
    "EXPIRED": ("EXPIRED: do not use. It held until 1 March 2027", sample.identity(is_past=True)),
    "WITHDRAWN": ("WITHDRAWN: do not use", sample.identity(status="withdrawn", status_words="Withdrawn")),
}


@pytest.mark.parametrize("word", KINDS)
@pytest.mark.parametrize("size", SHEETS)
def test_a_card_not_to_be_used_says_so_across_each_side(size: str, word: str, epoch: int) -> None:
    line, who = KINDS[word]
    view = sample.card_view() if size == "A4" else sample.small_card(size)
    sheet = SHEETS[size]
    style = replace(
        card_sheet.ways()[1 if size == "A6" else 0],
        front=sheet.front[0] - 1,
        back=sheet.back[0] - 1,
        scope=sheet.scope[0],
        brief=Brief.PAIRINGS,
        split=5,
    )
    with typesetter(epoch) as setter:
        document = setter.lay_out(card_html(replace(view, identity=who), style))
        pdf = setter.write(document)
    fitting.check_sides(document)
    width, height = PAPER[size]
    for side, text in enumerate(page_texts(pdf)):
        assert squeeze(line) in text
        assert squeeze("Do not use") in text
        large = [glyph for glyph in glyphs(pdf) if glyph.page == side and glyph.size > 0.28 * width]
        assert "".join(glyph.char for glyph in large) == word
        across = [glyph.box for glyph in large]
        assert max(box[2] for box in across) - min(box[0] for box in across) > 0.6 * width * MM
        assert max(box[3] for box in across) - min(box[1] for box in across) > 0.5 * height * MM
        grey = raster(pdf, side, scale=1.5, grey=True)
        assert ((grey > 185) & (grey < 215)).mean() > 0.02, "the letters are too pale or too small in grey"
        assert ((grey > 120) & (grey < 165)).mean() > 0.005, "the outline is too pale or too thin in grey"


def test_a_draft_fits_where_the_card_itself_fits(epoch: int) -> None:
    pdf = card_pdf(sample.small_card("A6", identity=sample.DRAFT), epoch)
    assert len(page_texts(pdf)) == 2
    assert problems_of(pdf, "3a") == []
    for side in (0, 1):
        ratio, place = weakest_contrast(pdf, side)
        assert ratio >= 3, place


def test_a_withdrawn_card_is_not_called_expired() -> None:
    both = sample.small_card("A6", identity=sample.identity(status="withdrawn", is_past=True))
    assert "EXPIRED" not in card_html(both, card_sheet.ways()[0])


# --- hatches ----------------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def strips(pango: None) -> dict[str, Any]:  # noqa: ARG001
    """The hatch of each tone as it stands beside a cell of the printed card: rows x columns x 3."""
    columns = tuple(f"Filling {n}" for n in range(len(TONES)))
    cells = tuple(
        Cell(f"{name}, all", (Step(1 if tone == "place" else 0, f"Words for {tone}. " * 8),), tone)
        for name, tone in zip(columns, TONES, strict=True)
    )
    view = sample.card_view(chart=Chart("Depth", "Filling", ("all",), columns, (cells,), ()))
    with typesetter(0) as setter:
        document = setter.lay_out(card_html(view, CardStyle(front=11, back=9, brief=Brief.PAIRINGS)))
        pdf = setter.write(document)
    scale = 4
    pixels = raster(pdf, 0, scale=scale)[:, :, :3][:, :, ::-1]
    found = {}
    for index, tone in enumerate(TONES):
        x, y = (place * 0.75 for place in document.pages[0].anchors[f"f-{index}-0"][:2])
        found[tone] = pixels[
            int((y + 1) * scale) : int((y + 21) * scale), int((x - 9.5) * scale) : int((x - 3.5) * scale)
        ]
    return found


@pytest.mark.parametrize("name", ["grey", *MATRICES])
def test_tones_differ_in_grey_and_to_the_colour_blind(strips: dict[str, Any], name: str) -> None:
    see = seen_with(name)
    seen = {}
    for tone, strip in strips.items():
        grey = see(strip) @ np.array([0.299, 0.587, 0.114])
        seen[tone] = (float(grey.mean()), float(grey.std()), *roughness(grey))
    tones = list(seen)
    for i, one in enumerate(tones):
        for other in tones[i + 1 :]:
            far = [abs(a - b) for a, b in zip(seen[one], seen[other], strict=True)]
            assert far[0] > 25 or max(far[1:]) > 15, (one, seen[one], other, seen[other])


def test_the_layers_at_the_edge_differ_in_lightness() -> None:
    lightness = sorted(luminance(colour) for colour in LAYERS)
    assert contrast(LAYERS[0], LAYERS[1]) > 2
    assert lightness[2] > 1.4 * lightness[1]


# --- author text ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("attack", ["</title><script>alert(1)</script>", '" onload="alert(1)', "</style><b>x</b>"])
def test_hostile_texts_stay_texts(attack: str) -> None:
    view = sample.small_card(
        "A5",
        subject=attack,
        copy=attack,
        code=attack,
        pain=attack,
        left_out=(attack,),
        changes=(attack,),
        pairings=(Labelled(attack, attack),),
    )
    text = card_html(view, card_sheet.ways()[0])
    assert "<script" not in text
    assert 'onload="' not in text
    assert text.count("</style>") == 1
    assert text.count("</html>") == 1
