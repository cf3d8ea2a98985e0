"""What the figures are drawn with: exact tenths, wrapped texts, hatches, and the frame with its text alternative.

`site/scripts/drawing.mjs` says the same in the browser, and both must give the same text for the same figure. So every
place is a whole number of tenths of a unit, text is measured with a table of whole numbers (advance widths of Source
Sans Pro in thousandths of an em; what the table lacks is taken as wide), and nothing is a floating-point number.
Colours are presentation attributes that the style sheet `figures.css` replaces by class in dark and forced colours.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from fractions import Fraction
from html import escape as _escape

INK = "#16202a"
DEEP = "#0b4650"
PAPER = "#ffffff"
MIDDLE = "#4f8580"
PALE = "#d7e6e3"
GOLD = "#c2934a"
SAND = "#f6ecd6"
WASH = "#eef3f2"
FAMILY = "'Source Sans Pro', sans-serif"

# Advance widths of the characters from the blank to the tilde, in thousandths of an em (OpenType `hmtx`).
_REGULAR = (
    "200 289 425 497 497 824 609 249 303 303 418 497 249 311 249 350 497 497 497 497 497 497 497 497 497 497 249 "
    "249 497 497 497 425 847 544 588 571 615 527 494 617 652 263 480 579 486 727 647 664 566 664 569 534 536 645 "
    "515 786 513 476 539 303 350 303 497 500 542 504 553 456 555 496 292 504 544 246 247 495 255 829 547 542 555 "
    "555 347 419 338 544 467 718 446 467 425 303 241 303 497"
)
_BOLD = (
    "200 340 536 528 528 857 667 300 344 344 457 528 300 332 300 339 528 528 528 528 528 528 528 528 528 528 300 "
    "300 528 528 528 463 903 573 605 582 635 548 524 638 674 301 509 614 518 762 665 684 596 684 613 556 556 665 "
    "556 813 567 525 541 344 339 344 528 500 555 527 573 467 573 518 341 534 571 276 278 548 286 857 572 555 573 "
    "573 398 443 383 568 523 776 514 521 460 344 268 344 528"
)
MICRO = 594
"""The advance of the one other character that nearly every figure has; it is the same or less in either face."""
_ADVANCES = {False: [int(n) for n in _REGULAR.split()], True: [int(n) for n in _BOLD.split()]}
SIZE = 14
"""The size of all text: 12 pixels and more on the narrowest phone."""

_BLANKS = re.compile(r"[ \t\r\n]+")
_NUMBER = re.compile(r"[0-9][0-9.]*\Z")


def half_up(value: Fraction) -> int:
    """The nearest whole number, a half upwards."""
    return (2 * value.numerator + value.denominator) // (2 * value.denominator)


def tenths(value: int) -> str:
    """A number of tenths as the decimal that SVG wants: `125` is `12.5`."""
    whole, rest = divmod(abs(value), 10)
    return ("-" if value < 0 else "") + str(whole) + (f".{rest}" if rest else "")


def measure(text: str, bold: bool) -> int:
    """The width of a text in thousandths of its size, never less than it will be drawn."""
    table = _ADVANCES[bold]
    total = 0
    for char in text:
        point = ord(char)
        if 32 <= point < 127:
            total += table[point - 32]
        elif char == "µ":
            total += MICRO
        else:
            total += 950 if point < 0x590 else 1320
    return total


def width_of(text: str, bold: bool) -> int:
    """The same in tenths of a unit, rounded down, in the size of all text."""
    return measure(text, bold) * SIZE // 100


def wrap(text: str, bold: bool, width: int) -> list[str]:
    """The lines of a text set 14 units high in a column of `width` tenths; a word too wide is broken.

    A number stays with the word after it, and two numbers with `to` between them together, where there is room.
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
    for chunk in chunks:
        parts += [chunk] if measure(chunk, bold) <= most else chunk.replace(" to ", " to\n").split("\n")
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
        tie = bool(_NUMBER.match(word)) or (tie and word == "to")
    return found


def line_of_text(x: int, y: int, text: str, bold: bool = False, light: bool = False, anchor: str = "") -> str:
    """One line of text, 14 units high, with its left end (or what `anchor` says) at a place in tenths.

    `light` is for text on a dark ground.
    """
    name, colour = ("fig-paper", PAPER) if light else ("fig-ink", INK)
    more = (' font-weight="700"' if bold else "") + (f' text-anchor="{anchor}"' if anchor else "")
    place = f'x="{tenths(x)}" y="{tenths(y)}"'
    return f'<text class="{name}" {place} font-size="{SIZE}"{more} fill="{colour}">{_escape(text)}</text>'


def stroke(data: str, wide: str, light: bool = False) -> str:
    """A line along path data; `light` is in the colour of the paper."""
    name, colour = ("fig-line-paper", PAPER) if light else ("fig-line", INK)
    return (
        f'<path class="{name}" d="{data}" fill="none" stroke="{colour}" stroke-width="{wide}" stroke-linejoin="round"/>'
    )


def haloed(data: str, wide: str, thin: str) -> str:
    """A line with a rim of paper, to be seen on hatches."""
    return stroke(data, wide, light=True) + stroke(data, thin)


Place = tuple[int, int]


def rounded(points: Sequence[Place], radius: int) -> list[tuple[Place, Place, Place]]:
    """An open line with its corners rounded: for every corner where the curve starts, the corner, where it ends.

    The curve takes at most half of each side. The first and the last place are kept. Repeated places are left out.
    """
    kept = [point for index, point in enumerate(points) if index == 0 or point != points[index - 1]]
    found = [(kept[0], kept[0], kept[0])]
    for before, corner, after in zip(kept, kept[1:], kept[2:], strict=False):
        found.append((_towards(corner, before, radius), corner, _towards(corner, after, radius)))
    return [*found, (kept[-1], kept[-1], kept[-1])]


def _towards(corner: Place, other: Place, radius: int) -> Place:
    """The place that lies `radius` from a corner on the way to another, or half way if that is nearer."""
    wide, high = other[0] - corner[0], other[1] - corner[1]
    most = max(abs(wide), abs(high))
    part, whole = (1, 2) if most <= 2 * radius else (radius, most)
    return (corner[0] + _over(wide * part, whole), corner[1] + _over(high * part, whole))


def _over(value: int, whole: int) -> int:
    return (2 * value + whole) // (2 * whole)


def curve(corners: Sequence[tuple[Place, Place, Place]], backwards: bool = False) -> str:
    """Path data along rounded corners, without the first command letter: `x y`, then lines and curves."""
    ordered = [(end, corner, start) for start, corner, end in reversed(corners)] if backwards else list(corners)
    data = _xy(ordered[0][0])
    for start, corner, end in ordered[1:]:
        data += f"L{_xy(start)}"
        if start != end:
            data += f"Q{_xy(corner)} {_xy(end)}"
    return data


def _xy(place: Place) -> str:
    return f"{tenths(place[0])} {tenths(place[1])}"


def number_square(x: int, y: int, number: int) -> str:
    """The dark square with a layer's place in the placing order; x and y are its top left corner."""
    words = str(number)
    wide = max(170, 60 + width_of(words, True))
    square = f"M{tenths(x)} {tenths(y)}h{tenths(wide)}v17h-{tenths(wide)}z"
    return f'<path class="fig-ink" d="{square}" fill="{INK}"/>' + line_of_text(
        x + wide // 2, y + 133, words, bold=True, light=True, anchor="middle"
    )


# Each layer decision has its own hatch: ground (class, colour) and what is drawn on it. All are told apart in grey.
_HATCHES: tuple[tuple[int, str, str, str], ...] = (
    (6, "fig-deep", DEEP, '<circle class="fig-paper" cx="3" cy="3" r="1.3" fill="#ffffff"/>'),
    (8, "fig-pale", PALE, '<path class="fig-line-deep" d="M-2 2L2 -2M0 8L8 0M6 10L10 6" stroke="#0b4650" '
        'stroke-width="1.5" fill="none"/>'),
    (4, "fig-gold", GOLD, '<path class="fig-line" d="M2 0V4" stroke="#16202a" stroke-width="1.4" fill="none"/>'),
    (8, "fig-paper", PAPER, '<path class="fig-line-deep" d="M0 0L8 8M8 0L0 8" stroke="#0b4650" stroke-width="1.2" '
        'fill="none"/>'),
    (5, "fig-middle", MIDDLE, '<path class="fig-line-paper" d="M0 2.5H5" stroke="#ffffff" stroke-width="1.5" '
        'fill="none"/>'),
    (8, "fig-paper", PAPER, '<path class="fig-deep" d="M0 0H4V4H0ZM4 4H8V8H4Z" fill="#0b4650"/>'),
    (8, "fig-sand", SAND, '<circle class="fig-line" cx="4" cy="4" r="2.3" fill="none" stroke="#16202a" '
        'stroke-width="1.1"/>'),
    (7, "fig-deep", DEEP, '<path class="fig-line-paper" d="M-1 1L1 -1M0 7L7 0M6 8L8 6" stroke="#ffffff" '
        'stroke-width="1.6" fill="none"/>'),
)  # fmt: skip

HATCHES = len(_HATCHES)
"""How many hatches there are; with more layer decisions they are used again."""


def hatch(number: int, name: str) -> str:
    """The pattern of a hatch under an identifier."""
    side, ground, colour, drawing = _HATCHES[number % HATCHES]
    return (
        f'<pattern id="{name}" width="{side}" height="{side}" patternUnits="userSpaceOnUse">'
        f'<path class="{ground}" d="M0 0H{side}V{side}H0Z" fill="{colour}"/>{drawing}</pattern>'
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
