"""How the files of `site/fonts` are made from the font's TrueType files. Needs fontTools and brotli."""

from __future__ import annotations

import io
import unicodedata
from pathlib import Path

from fontTools import subset
from fontTools.ttLib import TTFont

from liningbook.show.assets.fonts import CORE, WEB_FAMILY, Face, core_name, print_faces


def _is_visible(point: int) -> bool:
    return point == 0xAD or unicodedata.category(chr(point)) not in ("Cc", "Cf")


def coverage_text() -> str:
    """The text of `coverage.txt`, made from the font files: one range of code points a line, drawn by every face.

    Control characters and invisible marks are left out, but for the soft hyphen: a reader cannot see them. To
    write the file again after a change of font, print this into it.
    """
    drawn: set[int] | None = None
    for _, path in print_faces():
        with TTFont(path, lazy=True) as font:
            points = {point for point in font.getBestCmap() if _is_visible(point)}
        drawn = points if drawn is None else drawn & points
    lines = ["# Code points that every face can draw. Made by tests/rendering/font_making.py."]
    run: list[int] = []
    for point in [*sorted(drawn or ()), None]:
        if run and (point is None or point != run[-1] + 1):
            lines.append(f"{run[0]:04X}" + (f"-{run[-1]:04X}" if run[-1] != run[0] else ""))
            run = []
        if point is not None:
            run.append(point)
    return "\n".join(lines) + "\n"


def core_font(face: Face, path: Path) -> bytes:
    """The part of a face that a page carries, as WOFF2, made from its TrueType file.

    Kept are kerning and figures of one width; hints for coarse screens are left out.
    """
    options = subset.Options(
        flavor="woff2",
        hinting=False,
        layout_features=["kern", "tnum"],
        notdef_outline=True,
        name_IDs=[0, 1, 2, 4, 6, 13, 14],
        recalc_timestamp=False,
    )
    style = {400: "Regular", 700: "Bold"}[face.weight]
    names = {1: WEB_FAMILY, 2: style, 4: f"{WEB_FAMILY} {style}", 6: core_name(face)}
    out = io.BytesIO()
    with subset.load_font(str(path), options) as font:
        subsetter = subset.Subsetter(options)
        subsetter.populate(unicodes=[point for first, last in CORE for point in range(first, last + 1)])
        subsetter.subset(font)
        for number, text in names.items():
            font["name"].setName(text, number, 3, 1, 0x409)
        for record in list(font["name"].names):
            if record.platformID != 3:
                font["name"].removeNames(platformID=record.platformID)
        subset.save_font(font, out, options)
    return out.getvalue()
