"""The outputs in another language: every word but the practice's own goes through the catalogue."""

from __future__ import annotations

import html
import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from io import BytesIO
from pathlib import Path

import pikepdf
import pypdfium2 as pdfium
import pytest

from liningbook.analysis import Analysis, analyse
from liningbook.exchange.bundle import bundle_of
from liningbook.outputs.make import outputs
from liningbook.show.markup.markdown import to_html
from liningbook.show.paper.card_sheet import SHEETS, Brief, CardStyle
from liningbook.show.paper.copies import copies_view
from liningbook.show.paper.paper_html import card_html, copies_html, protocol_html
from liningbook.show.viewer import Viewer
from tests.unit.say.strange import known_strangely, speaking_strangely, strange
from tests.unit.say.words import messages

DEMONSTRATION = Path(__file__).resolve().parents[2] / "guidelines" / "tern-street"


@pytest.fixture(scope="module")
def analysis() -> Analysis:
    return analyse(DEMONSTRATION, date(2026, 11, 25))


@pytest.fixture(scope="module")
def spoken(tmp_path_factory: pytest.TempPathFactory, analysis: Analysis) -> dict[str, str]:
    """The pages of the demonstration in the strange language, by name, with the practice's own words taken out."""
    with speaking_strangely(tmp_path_factory.mktemp("catalogues")):
        return dict(pages(analysis))


def pages(analysis: Analysis) -> Iterator[tuple[str, str]]:
    viewer = Viewer(analysis, bundle_of(analysis)["digest"], to_html)
    yield "protocol", protocol_html(viewer.protocol_view())
    for size in SHEETS:
        view = viewer.card_views(size)[0]
        yield f"card {size}", card_html(view)
        yield f"card {size}, brief", card_html(view, CardStyle(brief=Brief.REASONS))
    copies = copies_view(viewer)
    yield "notice", copies_html("notice.html", copies, 11)
    yield "register", copies_html("register.html", copies, 11)


def shown(page: str) -> str:
    """What a page shows, on one line, with the styles that hold words."""
    text = re.sub(r"<style>.*?</style>", " ", page, flags=re.DOTALL)
    attributes = " ".join(re.findall(r'(?:data-\w+|content|aria-label|title)="([^"]*)"', text))
    return " ".join(html.unescape(re.sub(r"<[^>]*>", " ", text) + attributes).split())


def pieces(message: str) -> list[str]:
    """The parts of a message between its names and tags, as far as they are several words or a long one."""
    return [p for p in (q.strip(" .,:;()“”") for q in re.split(r"\{\w+\}|</?\w+>", message)) if len(p) > 9]


def test_no_word_of_ours_is_left_in_english(spoken: dict[str, str]) -> None:
    own = " ".join(" ".join(path.read_text("utf-8").split()) for path in DEMONSTRATION.rglob("*") if path.is_file())
    told = {
        (name, piece)
        for name, page in spoken.items()
        for text in [shown(page)]
        for message in messages()
        for form in message.forms
        for piece in pieces(form)
        if strange(piece) != piece and re.search(rf"\b{re.escape(piece)}\b", text) and piece not in own
    }
    assert told == set()


def test_what_is_said_is_said_in_the_language(spoken: dict[str, str]) -> None:
    assert '<html lang="de">' in spoken["protocol"]
    assert strange("The decision chart") in shown(spoken["protocol"])
    assert strange("What stops what, by this protocol's table") in shown(spoken["protocol"])
    assert strange("order of placing, from the pulp") in shown(spoken["card A4"])


def test_the_bundle_is_the_same_in_every_language(tmp_path: Path, analysis: Analysis) -> None:
    english = bundle_of(analysis)
    with speaking_strangely(tmp_path):
        assert bundle_of(analysis) == english


def test_an_output_is_made_in_the_language_of_its_protocol_wherever_it_is_made(
    tmp_path: Path,
    analysis: Analysis,
    pango: None,  # noqa: ARG001
) -> None:
    assert analysis.protocol is not None
    translated = replace(analysis, protocol=replace(analysis.protocol, language="de"))
    with known_strangely(tmp_path):
        (english,) = outputs(analysis, ["bundle"])
        made = {one.name: one for one in outputs(translated, ["card", "bundle"])}
        notice = made["withdrawal-notice.pdf"].content()
        assert made["bundle.json"].content() == english.content()
    with pikepdf.open(BytesIO(notice)) as pdf:
        assert str(pdf.Root.Lang) == "de"
    with pdfium.PdfDocument(notice) as document:
        assert strange("Take these cards down") in document[0].get_textpage().get_text_range()
