"""What the band charts are drawn with: exact tenths, wrapped texts, and the frame with its text alternative.

Every place is a whole number of tenths of a unit, and nothing is a floating-point number. Colours are presentation
attributes that the style sheet `figures.css` replaces by class in dark and forced colours.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from fractions import Fraction
from html import escape as _escape

from liningbook.say.look_up.words import between_numbers
from liningbook.show.assets.font_widths import measure

INK = "#16202a"
DEEP = "#0b4650"
PAPER = "#ffffff"
FAMILY = "'Source Sans Pro', sans-serif"

SIZE = 14
"""The size of all text: 12 pixels and more on the narrowest phone."""
LINE = 170
"""The height of a line in tenths."""

_BLANKS = re.compile(r"[ \t\r\n]+")
_NUMBER = re.compile(r"[0-9][0-9.]*(?:,[0-9]+)?\Z")


def half_up(value: Fraction) -> int:
    """The nearest whole number, a half upwards."""
    return (2 * value.numerator + value.denominator) // (2 * value.denominator)


def tenths(value: int) -> str:
    """A number of tenths as the decimal that SVG wants: `125` is `12.5`."""
    whole, rest = divmod(abs(value), 10)
    return ("-" if value < 0 else "") + str(whole) + (f".{rest}" if rest else "")


def width_of(text: str, bold: bool) -> int:
    """The width of a text in tenths of a unit, rounded down, in the size of all text."""
    return measure(text, bold) * SIZE // 100


def wrap(text: str, bold: bool, width: int) -> list[str]:
    """The lines of a text set 14 units high in a column of `width` tenths; a word too wide is broken.

    A number stays with the word after it, and two numbers with their word between them, where there is room.
    """
    most = width * 100 // SIZE
    lines: list[str] = []
    line = ""
    for word in _fitting(_tied(text), bold, most):
        joined = f"{line} {word}" if line else word
        if measure(joined, bold) <= most:
            line = joined
            continue
        if line:
            lines.append(line)
        line = ""
        for char in word:
            if line and measure(line + char, bold) > most:
                lines.append(line)
                line = ""
            line += char
    return [*lines, line] if line else lines


def _fitting(chunks: list[str], bold: bool, most: int) -> list[str]:
    """What is kept together, taken apart where it is too wide: first two numbers, then a number and its word."""
    parts: list[str] = []
    word = between_numbers()
    for chunk in chunks:
        parts += [chunk] if measure(chunk, bold) <= most else chunk.replace(f" {word} ", f" {word}\n").split("\n")
    return [word for part in parts for word in ([part] if measure(part, bold) <= most else part.split(" "))]


def _tied(text: str) -> list[str]:
    words = [word for word in _BLANKS.split(text) if word]
    found: list[str] = []
    tie = False
    for word in words:
        if tie:
            found[-1] += f" {word}"
        else:
            found.append(word)
        tie = bool(_NUMBER.match(word)) or (tie and word == between_numbers())
    return found


def line_of_text(x: int, y: int, text: str, bold: bool = False, light: bool = False, anchor: str = "") -> str:
    """One line of text, 14 units high, with its left end (or what `anchor` says) at a place in tenths.

    `light` is for text on a dark ground.
    """
    name, colour = ("fig-paper", PAPER) if light else ("fig-ink", INK)
    more = (' font-weight="700"' if bold else "") + (f' text-anchor="{anchor}"' if anchor else "")
    place = f'x="{tenths(x)}" y="{tenths(y)}"'
    return f'<text class="{name}" {place} font-size="{SIZE}"{more} fill="{colour}">{_escape(text)}</text>'


def lines_of_text(x: int, y: int, lines: Sequence[str], bold: bool = False, light: bool = False) -> str:
    """Lines of text one under the other, the first with its foot at a place in tenths."""
    return "".join(line_of_text(x, y + row * LINE, line, bold, light) for row, line in enumerate(lines))


def stroke(data: str, wide: str, light: bool = False) -> str:
    """A line along path data; `light` is in the colour of the paper."""
    name, colour = ("fig-line-paper", PAPER) if light else ("fig-line", INK)
    return (
        f'<path class="{name}" d="{data}" fill="none" stroke="{colour}" stroke-width="{wide}" stroke-linejoin="round"/>'
    )


def number_square(x: int, y: int, number: int) -> str:
    """The dark square with a layer's place in the placing order; x and y are its top left corner."""
    words = str(number)
    wide = max(170, 60 + width_of(words, True))
    square = f"M{tenths(x)} {tenths(y)}h{tenths(wide)}v17h-{tenths(wide)}z"
    return f'<path class="fig-ink" d="{square}" fill="{INK}"/>' + line_of_text(
        x + wide // 2, y + 133, words, bold=True, light=True, anchor="middle"
    )


def frame(
    kind: str, uid: str, width: int, height: int, title: str, description: str, inside: str, form: str = ""
) -> str:
    """A whole figure: its title and text alternative first, then paper, then what is drawn. Sizes in tenths."""
    wide, high = tenths(width), tenths(height)
    classes = f"{kind} {form}" if form else kind
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="figure {classes}" role="img" viewBox="0 0 {wide} {high}" '
        f'width="{wide}" height="{high}" aria-labelledby="{kind}-title-{uid} {kind}-desc-{uid}" '
        f'font-family="{FAMILY}">'
        f'<title id="{kind}-title-{uid}">{_escape(title)}</title>'
        f'<desc id="{kind}-desc-{uid}">{_escape(description)}</desc>'
        f'<path class="fig-paper" d="M0 0H{wide}V{high}H0Z" fill="{PAPER}"/>{inside}</svg>\n'
    )


def size_of(drawing: str) -> tuple[int, int]:
    """Width and height of a drawing in tenths."""
    found = re.search(r'viewBox="0 0 (\d+)(?:\.(\d))? (\d+)(?:\.(\d))?"', drawing)
    assert found is not None
    return int(found[1]) * 10 + int(found[2] or 0), int(found[3]) * 10 + int(found[4] or 0)
