"""Pieces of a drawing (SVG) that Python makes: lines of text measured with the font, strokes, filled shapes.

Colours are presentation attributes with a class each, so that a style sheet can replace them.
"""

from __future__ import annotations

from collections.abc import Iterable
from html import escape

from liningbook.show.assets.font_widths import measure

INK, PAPER = "#16202a", "#ffffff"
FAMILY = "'Source Sans Pro', sans-serif"

_CLOSE = 1e-6
"""A text that is as wide as its room fits, whatever rounding makes of it."""


def number(value: float) -> str:
    """A number of at most two decimals, as SVG wants it."""
    return f"{value:.2f}".rstrip("0").rstrip(".").replace("-0", "0" if abs(value) < 0.005 else "-0") or "0"


def wide(text: str, size: float, bold: bool = False) -> float:
    """How wide a text is, in units of its size."""
    return measure(text, bold) * size / 1000


def wrapped(text: str, size: float, room: float, bold: bool = False) -> list[str]:
    """The text in lines that are at most `room` wide, broken at spaces; a word too wide for it is broken anywhere."""
    lines: list[str] = []
    for word in text.split(" "):
        if lines and wide(f"{lines[-1]} {word}", size, bold) <= room + _CLOSE:
            lines[-1] += f" {word}"
            continue
        lines.append(word)
        while wide(lines[-1], size, bold) > room + _CLOSE and len(lines[-1]) > 1:
            fits = next(
                n for n in range(len(lines[-1]) - 1, 0, -1) if n == 1 or wide(lines[-1][:n], size, bold) <= room
            )
            lines[-1:] = [lines[-1][:fits], lines[-1][fits:]]
    return lines


def said(x: float, y: float, words: str, anchor: str = "start", bold: bool = False) -> str:
    """A line of text on its base line; nothing for no words."""
    if not words:
        return ""
    more = f' text-anchor="{anchor}"' if anchor != "start" else ""
    more += ' font-weight="700"' if bold else ""
    return f'<text x="{number(x)}" y="{number(y)}"{more}>{escape(words)}</text>'


def stroke(data: str, thick: float, name: str, dashes: Iterable[float] = (), paper: bool = False) -> str:
    """A path that is drawn as a line of ink, or of paper; `name` is its class."""
    dashed = " ".join(map(number, dashes))
    more = f' stroke-dasharray="{dashed}"' if dashed else ""
    look = f'class="fig-line-paper {name}" stroke="{PAPER}"' if paper else f'class="{name}"'
    return f'<path {look} d="{data}" stroke-width="{number(thick)}"{more}/>'


def filled(points: Iterable[tuple[float, float]], name: str) -> str:
    """A shape of ink with these corners."""
    data = "L".join(f"{number(x)} {number(y)}" for x, y in points)
    return f'<path class="fig-ink {name}" d="M{data}Z" fill="{INK}" stroke="none"/>'


def drawing(shapes: Iterable[str], words: Iterable[str]) -> str:
    """Lines and shapes, and over them the words: with the colour of ink, which a style sheet may replace."""
    return (
        f'<g class="fig-line" fill="none" stroke="{INK}">{"".join(shapes)}</g>'
        f'<g class="fig-ink" fill="{INK}">{"".join(words)}</g>'
    )
