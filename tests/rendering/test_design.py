"""The page on design (`site/docs/design.md`) names the colours, tones and sizes that are used, and no others."""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path

import pytest

from liningbook.say.outputs.figures import tone_words
from liningbook.show.figures.tones import TONES
from liningbook.show.paper.card_sheet import SHEETS
from tests.rendering.measure import glyphs

ROOT = Path(__file__).resolve().parents[2]
PAGE = (ROOT / "site/docs/design.md").read_text("utf-8")
COLOUR = re.compile(r"#(?:[0-9a-f]{6}|[0-9a-f]{3})(?![0-9a-z])")
DRAWN_BY = ["site/styles/*.css", "site/templates/*.html", "site/scripts/*.js", "builder/liningbook/show/**/*.py"]


def table(heading: str) -> list[list[str]]:
    """The rows of the table beneath a heading, without that of its own headings."""
    part = PAGE.split(f"## {heading}\n", 1)[1].split("\n## ", 1)[0]
    rows = [line.strip("| ").split("|") for line in part.splitlines() if line.startswith("|")]
    return [[cell.strip() for cell in row] for row in rows[2:]]


def sizes(where: str) -> tuple[list[float], float]:
    """The sizes of the text, the least and the largest, and the least of all."""
    (row,) = [row for row in table("Type") if row[0] == where]
    text = [float(number) for number in re.findall(r"[0-9.]+", row[1])]
    return [text[0], text[-1]], float(re.findall(r"[0-9.]+", row[2])[0])


def used_colours() -> set[str]:
    texts = [path.read_text("utf-8") for pattern in DRAWN_BY for path in ROOT.glob(pattern)]
    return {colour for text in texts for colour in COLOUR.findall(text.lower())}


def test_the_colours_named_are_those_used() -> None:
    named = {colour for row in table("Colours") for cell in row for colour in COLOUR.findall(cell)}
    assert named == used_colours()


def test_a_name_of_a_colour_has_its_value_in_both_modes() -> None:
    """Names that the styles have too: `--ink` and so on, the dark one in the second set."""
    light = dict(re.findall(r"--([a-z0-9-]+): (#[0-9a-f]{6});", (ROOT / "site/styles/base.css").read_text("utf-8")))
    page = (ROOT / "site/styles/page.css").read_text("utf-8")
    dark = dict(re.findall(r"--([a-z0-9-]+): (#[0-9a-f]{6});", page.split("prefers-color-scheme: dark", 1)[1]))
    same = {"middle": "layer-2", "clay": "layer-3", "decide": "cell-decide", "refer": "cell-refer", "out": "cell-out"}
    found = 0
    for name, on_paper, on_dark, *_ in table("Colours"):
        style = same.get(name, name)
        if style in light:
            found += 1
            assert on_paper == f"`{light[style]}`", name
            assert on_dark == f"`{dark[style]}`", name
    assert found >= 11


def test_the_tones_named_are_those_drawn() -> None:
    assert [(row[0], row[1]) for row in table("Tones")] == [(tone, tone_words(tone)) for tone in TONES]


@pytest.mark.parametrize("name", SHEETS)
def test_the_sizes_of_a_card_are_those_tried(name: str) -> None:
    for side in ("front", "back"):
        tried = getattr(SHEETS[name], side)
        assert sizes(f"card {name}, {side}")[0] == [tried[0], tried[-1]]


@pytest.mark.parametrize(("fixture", "name"), [("card", "A4"), ("a5_cards", "A5"), ("a6_cards", "A6")])
def test_nothing_on_a_card_is_smaller_than_is_said(fixture: str, name: str, request: pytest.FixtureRequest) -> None:
    found = list(glyphs(request.getfixturevalue(fixture)))
    for page, side in enumerate(("front", "back")):
        assert min(one.size for one in found if one.page == page) >= sizes(f"card {name}, {side}")[1] - 0.01


def test_the_sizes_of_the_protocol_are_those_said(protocol: bytes) -> None:
    found = [round(one.size, 1) for one in glyphs(protocol)]
    (text, _), least = sizes("protocol")
    assert Counter(found).most_common(1)[0][0] == text
    assert min(found) == least


def test_the_size_of_the_page_is_what_is_said() -> None:
    """In rem of 16 px, as browsers have it: the text, and the smallest that any rule of the screen sets."""
    styles = [(ROOT / "site/styles" / name).read_text("utf-8") for name in ("page.css", "lookup.css")]
    screen = "\n".join(re.sub(r"@media print \{.*", "", style, flags=re.S) for style in styles)
    (text, _), least = sizes("page")
    body = re.search(r"body \{ font-size: ([0-9.]+)rem", screen)
    assert body is not None
    assert float(body[1]) * 16 == text
    assert min(float(size) * 16 for size in re.findall(r"font-size: ([0-9.]+)rem", screen)) == pytest.approx(least)
