"""How wide the font sets a text: the advance widths of its own tables (OpenType `hmtx`), read with fontTools."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any

from liningbook.resources import site_dir
from liningbook.show.assets.fonts import FACES

WIDEST = 1320
"""The width of a character that the font lacks, in thousandths of an em."""


def measure(text: str, bold: bool) -> int:
    """The width of a text in thousandths of its size, without kerning."""
    known = _advances(bold)
    return sum(known.get(ord(char), WIDEST) for char in text)


def widths_of(text: str) -> dict[str, Any]:
    """The widths of a text's characters and ASCII for the scripts: `chars` and, for each, `regular` and `bold`."""
    printable = set(map(chr, range(32, 127)))
    chars = [char for char in sorted({*printable, *text}) if ord(char) in _advances(True) and char <= "\uffff"]
    return {
        "chars": "".join(chars),
        "regular": [_advances(False)[ord(char)] for char in chars],
        "bold": [_advances(True)[ord(char)] for char in chars],
    }


@cache
def _advances(bold: bool) -> Mapping[int, int]:
    """The advance of every character of a face, in thousandths of an em, rounded up."""
    from fontTools.ttLib import TTFont

    face = next(face for face in FACES if (face.weight == 700) == bold)
    with TTFont(site_dir() / "fonts" / f"{face.name}.woff2") as font:
        metrics, em = font["hmtx"].metrics, font["head"].unitsPerEm
        return {point: -(-metrics[name][0] * 1000 // em) for point, name in font.getBestCmap().items()}
