"""The one font of every output: where its files are and which characters it can draw.

Source Sans Pro, SIL Open Font License 1.1 (licence text in `site/fonts/OFL.txt`). The printed outputs use the TrueType
files of the Python package `font-source-sans-pro`, the web page the same files packed as WOFF2 in `site/fonts`.
`site/fonts/coverage.txt` lists what both faces can draw, so that a missing character is found without a font library.

A page whose texts keep to Latin letters and common signs carries a smaller part of the font instead. As the licence
asks of a changed version, that part bears a name of its own, Lining Sans.
"""

from __future__ import annotations

import base64
import hashlib
import unicodedata
from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from importlib.util import find_spec
from pathlib import Path

from liningbook.resources import site_dir
from liningbook.say.outputs import paper

FAMILY = "Source Sans Pro"
WEB_FAMILY = "Lining Sans"
"""The part of the font that a page carries."""
CORE = (
    (0x20, 0x7E), (0xA0, 0x17E), (0x218, 0x21B), (0x394, 0x394), (0x3A9, 0x3A9), (0x3BC, 0x3BC), (0x3C0, 0x3C0),
    (0x2010, 0x2027), (0x2030, 0x203A), (0x2044, 0x2044), (0x2070, 0x2070), (0x2074, 0x2079), (0x2080, 0x2089),
    (0x20AC, 0x20AC), (0x2116, 0x2116), (0x2122, 0x2122), (0x2190, 0x2193), (0x2212, 0x2212), (0x221A, 0x221A),
    (0x221E, 0x221E), (0x2248, 0x2248), (0x2260, 0x2260), (0x2264, 0x2265), (0x2713, 0x2713),
)  # fmt: skip
"""The code points (first and last) of that part, as far as the font has them: Latin, punctuation, signs of numbers."""
_PACKAGE = "font_source_sans_pro"
_BLANK = "\n\r\t"
"""Characters that lay out text and are never drawn."""


class PrintingUnavailable(Exception):
    """Something that the printed outputs need is not installed; the text says what and how to install it."""


class MissingGlyph(Exception):
    """The font cannot draw a character.

    `places` holds, for each, the character, its name (`U+2717 BALLOT X`) and where it stands.
    """

    def __init__(self, places: Iterable[tuple[str, str, str]]) -> None:
        self.places = tuple(places)
        listed = "; ".join(paper.PLACE_OF_GLYPH.format(name=name, where=where) for _, name, where in self.places)
        super().__init__(paper.NO_DRAWING.format(listed=listed))


@dataclass(frozen=True)
class Face:
    """A face of the font: CSS weight, file name without its ending, size in bytes and SHA-256 of the TrueType file."""

    weight: int
    name: str
    size: int
    sha256: str


FACES = (
    Face(400, "SourceSansPro-Regular", 293956, "b77f3a700edd0fc0dec73258f882d5c3926c77f5caf6800a201d2166568d2309"),
    Face(700, "SourceSansPro-Bold", 291424, "2efc3a95d076f2d04c5928c0ad698b7c61cc302d6f6e79e9643cd3722f7becc2"),
)


def print_faces() -> tuple[tuple[Face, Path], ...]:
    """The TrueType file of each face, checked byte for byte.

    The package is found without running it. Raises `PrintingUnavailable` where it is missing or its files are not the
    ones known here: a font file that cannot be read would end the whole program while it draws.
    """
    spec = find_spec(_PACKAGE)
    if spec is None or not spec.submodule_search_locations:
        raise PrintingUnavailable(paper.FONT_MISSING)
    folder = Path(next(iter(spec.submodule_search_locations))) / "files"
    found = []
    for face in FACES:
        path = folder / f"{face.name}.ttf"
        try:
            data = path.read_bytes()
        except OSError as error:
            raise PrintingUnavailable(paper.FONT_UNREAD.format(name=path.name, why=error.strerror)) from error
        if len(data) != face.size or hashlib.sha256(data).hexdigest() != face.sha256:
            raise PrintingUnavailable(paper.FONT_DAMAGED.format(name=path.name))
        found.append((face, path))
    return tuple(found)


def print_font_css() -> str:
    """`@font-face` rules that name the TrueType files."""
    return "\n".join(_font_face(face, path.as_uri(), "truetype") for face, path in print_faces())


def web_font_css(texts: Iterable[str] | None = None) -> str:
    """`@font-face` rules that hold the WOFF2 files themselves, so that the page needs no other file.

    They hold the part of the font called `WEB_FAMILY` if it can draw all the texts, else the whole font.
    """
    is_core = texts is not None and all(_is_core(char) for char in set("".join(texts)))
    rules = []
    for face in FACES:
        name = core_name(face) if is_core else face.name
        data = (site_dir() / "fonts" / f"{name}.woff2").read_bytes()
        url = "data:font/woff2;base64," + base64.b64encode(data).decode("ascii")
        rules.append(_font_face(face, url, "woff2", WEB_FAMILY if is_core else FAMILY))
    return "\n".join(rules)


def core_name(face: Face) -> str:
    """The file name, without its ending, of the part of a face that a page carries."""
    return face.name.replace("SourceSansPro", "LiningSans")


def _is_core(char: str) -> bool:
    return char in _BLANK or (_is_drawn(char) and any(first <= ord(char) <= last for first, last in CORE))


def _font_face(face: Face, url: str, kind: str, family: str = FAMILY) -> str:
    return (
        f'@font-face {{ font-family: "{family}"; font-weight: {face.weight}; font-style: normal; '
        f'src: url("{url}") format("{kind}"); }}'
    )


def missing_glyphs(text: str) -> list[tuple[str, str]]:
    """Each character of the text that a face of the font cannot draw, once, with its name (`U+2717 BALLOT X`)."""
    if text.isascii() and text.isprintable():
        return []
    return [(char, glyph_name(char)) for char in sorted(set(text)) if not _is_drawn(char)]


def require_glyphs(texts: Iterable[tuple[str, str]]) -> None:
    """Raise `MissingGlyph` if a text holds a character that the font cannot draw; `texts` are (where, text)."""
    places = [(char, name, where) for where, text in texts for char, name in missing_glyphs(text)]
    if places:
        raise MissingGlyph(places)


def glyph_name(char: str) -> str:
    """A character in words: `U+2717 BALLOT X`."""
    return f"U+{ord(char):04X} {unicodedata.name(char, paper.NAMELESS)}"


def _is_drawn(char: str) -> bool:
    if char in _BLANK:
        return True
    starts, ends = _ranges()
    place = bisect_right(starts, ord(char)) - 1
    return place >= 0 and ord(char) <= ends[place]


@cache
def _ranges() -> tuple[list[int], list[int]]:
    starts, ends = [], []
    for line in (site_dir() / "fonts" / "coverage.txt").read_text("ascii").splitlines():
        if line and not line.startswith("#"):
            first, _, last = line.partition("-")
            starts.append(int(first, 16))
            ends.append(int(last or first, 16))
    return starts, ends
