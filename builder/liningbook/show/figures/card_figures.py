"""What the card measures and points with: the check bar, and the QR code (ISO/IEC 18004)."""

from __future__ import annotations

from functools import cache
from html import escape
from typing import Any

from liningbook.say.outputs import paper
from liningbook.say.texts import t
from liningbook.show.assets.fonts import PrintingUnavailable
from liningbook.show.figures.tones import INK

BAR = 50
"""Length of the check bar in millimetres, from the middle of one tick to the middle of the other."""
_QUIET = 4
"""Modules that are left white around the code."""


def check_bar() -> str:
    """A line with a tick at both ends, as an inline picture at its true size."""
    thick = 0.4
    width, height = BAR + thick, 3
    middle = height / 2
    return (
        f'<svg class="check-bar" role="img" viewBox="{-thick / 2:g} 0 {width:g} {height}" '
        f'width="{width:g}mm" height="{height}mm">'
        f"<title>{escape(t.check_bar(length=BAR))}</title>"
        f'<path d="M0 0V{height}M0 {middle:g}H{BAR}M{BAR} 0V{height}" fill="none" stroke="#16202a" '
        f'stroke-width="{thick:g}"/></svg>'
    )


def qr_code(text: str, module: float, correction: str) -> str:
    """The text as a QR code, an inline picture whose modules are `module` millimetres wide, quiet zone included.

    `correction` is the least level (`l`, `m`, `q`, `h`); a higher one that takes no more room is taken. Raises
    `PrintingUnavailable` where the library is missing.
    """
    side = code_side(text, module, correction)
    drawing = _encode(text, correction)
    count = drawing.symbol_size(border=_QUIET)[0]
    runs = []
    for y, row in enumerate(drawing.matrix):
        x = 0
        while x < len(row):
            start = x
            while x < len(row) and row[x]:
                x += 1
            if x > start:
                # Rows overlap by a hundredth, so that no hairline of paper shows between them.
                runs.append(f"M{start + _QUIET} {y + _QUIET}h{x - start}v1.01h{start - x}z")
            x += 1
    said = (t.code_opens if is_address(text) else t.code_holds)(text=text)
    return (
        f'<svg class="code" role="img" viewBox="0 0 {count} {count}" width="{side:g}mm" height="{side:g}mm">'
        f"<title>{escape(said)}</title>"
        f'<path d="M0 0H{count}V{count}H0Z" fill="#ffffff"/><path d="{"".join(runs)}" fill="{INK}"/></svg>'
    )


def code_side(text: str, module: float, correction: str) -> float:
    """How wide and high the code is, in millimetres."""
    return float(round(_encode(text, correction).symbol_size(border=_QUIET)[0] * module, 3))


def is_address(text: str) -> bool:
    """Whether a text is the address of a page."""
    return text.lower().startswith(("https:", "http:"))


@cache
def _encode(text: str, correction: str) -> Any:
    try:
        import segno
    except ImportError as error:
        raise PrintingUnavailable(paper.NO_CODE_LIBRARY) from error
    return segno.make(text, error=correction, micro=False)
