"""The font: its files, what it can draw, and what happens where it cannot."""

from __future__ import annotations

import importlib.util
import shutil
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from fontTools.ttLib import TTFont

from liningbook.resources import site_dir
from liningbook.show.assets import fonts
from liningbook.show.assets.fonts import FACES, MissingGlyph, PrintingUnavailable, missing_glyphs, require_glyphs
from tests.rendering.font_making import core_font, coverage_text

NEEDED = "≤≥<>≠±µμ°×–—−→½²£é…“”\u2018’·"
"""Signs that a protocol needs and that must never be drawn as something else."""


def points(font: Any, name: str) -> Any:
    """The coordinates of a glyph's outline, with where its contours end and which points lie on them."""
    return font["glyf"][name].getCoordinates(font["glyf"])


def test_coverage_is_what_the_files_say() -> None:
    assert (site_dir() / "fonts" / "coverage.txt").read_text("ascii") == coverage_text()


def test_the_web_files_are_the_print_files_packed() -> None:
    for face, path in fonts.print_faces():
        with TTFont(site_dir() / "fonts" / f"{face.name}.woff2") as packed, TTFont(path) as original:
            assert packed.flavor == "woff2"
            assert packed.getGlyphOrder() == original.getGlyphOrder()
            assert packed.getBestCmap() == original.getBestCmap()
            assert packed["hmtx"].metrics == original["hmtx"].metrics
            for char in NEEDED + "A5":
                name = original.getBestCmap()[ord(char)]
                assert points(packed, name) == points(original, name)


def test_the_part_that_a_page_carries_is_cut_from_the_print_files() -> None:
    for face, path in fonts.print_faces():
        name = fonts.core_name(face)
        file = site_dir() / "fonts" / f"{name}.woff2"
        assert file.read_bytes() == core_font(face, path)
        with TTFont(file) as part, TTFont(path) as original:
            wanted = {point for first, last in fonts.CORE for point in range(first, last + 1)}
            assert set(part.getBestCmap()) == wanted & set(original.getBestCmap())
            for point, glyph in part.getBestCmap().items():
                whole = original.getBestCmap()[point]
                assert part["hmtx"][glyph][0] == original["hmtx"][whole][0]
                assert points(part, glyph)[0] == points(original, whole)[0]
            assert "Source" not in " ".join(str(part["name"].getDebugName(number)) for number in (1, 2, 4, 6))


def test_a_page_carries_the_whole_font_where_the_part_would_not_do() -> None:
    assert fonts.WEB_FAMILY in fonts.web_font_css(["0.5 mm or less, ≤ 2 µm: Ångström, Škoda"])
    for text in ("Привет", "\u0250"):
        assert missing_glyphs(text) == [] or text == "Привет"
        assert f'"{fonts.FAMILY}"' in fonts.web_font_css(["plain", text])


def test_everything_that_the_site_itself_says_is_in_the_part() -> None:
    folders = [site_dir() / "scripts", site_dir() / "templates"]
    for path in sorted(file for folder in folders for file in folder.iterdir()):
        assert fonts.WEB_FAMILY in fonts.web_font_css([path.read_text("utf-8")]), path.name


def test_the_licence_lies_beside_the_files() -> None:
    text = (site_dir() / "fonts" / "OFL.txt").read_text("utf-8")
    assert "SIL OPEN FONT LICENSE Version 1.1" in text
    assert "Reserved Font Name 'Source'" in text


@pytest.mark.parametrize("char", NEEDED)
def test_a_needed_sign_is_drawn_by_every_face(char: str) -> None:
    assert missing_glyphs(char) == []
    for _, path in fonts.print_faces():
        with TTFont(path) as font:
            assert ord(char) in font.getBestCmap()


@pytest.mark.parametrize(
    "char", ["✗", "⚠", "\u2011", "\u2009", "\u200b", "\u202e", "\ufeff", "你", "😀", "\x00", "\x85"]
)
def test_a_character_that_is_not_drawn_is_missing(char: str) -> None:
    assert missing_glyphs(f"a{char}b{char}") == [(char, fonts.glyph_name(char))]


def test_line_ends_are_not_drawn_and_not_missing() -> None:
    assert missing_glyphs("a\nb\r\nc\td") == []


def test_the_message_names_character_code_point_and_place() -> None:
    with pytest.raises(MissingGlyph) as caught:
        require_glyphs([("rule a, title", "fine ≤"), ("rule b, title", "bad ✗"), ("rule c, why", "☃")])
    assert "U+2717 BALLOT X in rule b, title" in str(caught.value)
    assert caught.value.places == (
        ("✗", "U+2717 BALLOT X", "rule b, title"),
        ("☃", "U+2603 SNOWMAN", "rule c, why"),
    )


@pytest.fixture
def copied(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of the font package that may be damaged."""
    folder = tmp_path / "font_source_sans_pro" / "files"
    folder.mkdir(parents=True)
    for _, path in fonts.print_faces():
        shutil.copy(path, folder)
    spec = SimpleNamespace(submodule_search_locations=[str(folder.parent)])
    monkeypatch.setattr(fonts, "find_spec", lambda name: spec if name == "font_source_sans_pro" else None)
    return folder


def test_the_copy_is_accepted_while_it_is_whole(copied: Path) -> None:
    assert [path.parent for _, path in fonts.print_faces()] == [copied] * len(FACES)


@pytest.mark.parametrize("damage", ["gone", "empty", "cut", "one bit", "unreadable"])
def test_a_damaged_font_is_refused_before_anything_is_drawn(copied: Path, damage: str) -> None:
    path = copied / "SourceSansPro-Bold.ttf"
    data = path.read_bytes()
    if damage in ("gone", "unreadable"):
        path.unlink()
    if damage == "unreadable":
        path.mkdir()
    elif damage == "empty":
        path.write_bytes(b"")
    elif damage == "cut":
        path.write_bytes(data[:-1])
    elif damage == "one bit":
        path.write_bytes(data[:-1] + bytes([data[-1] ^ 1]))
    with pytest.raises(PrintingUnavailable, match=r"SourceSansPro-Bold\.ttf .*pip install"):
        fonts.print_faces()


def test_without_the_package_the_message_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(fonts, "find_spec", lambda _: None)
    with pytest.raises(PrintingUnavailable, match=r"pip install 'liningbook\[pdf\]'"):
        fonts.print_faces()


def test_the_package_is_found_without_running_it() -> None:
    import sys

    fonts.print_faces()
    assert importlib.util.find_spec("font_source_sans_pro") is not None
    assert "font_source_sans_pro" not in sys.modules
