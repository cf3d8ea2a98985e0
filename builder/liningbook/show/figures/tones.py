"""Small pictures as SVG: the hatch of each tone, its swatch for a legend, signs, and the word across a draft.

A tone is told by words first, then by a hatch that survives a black-and-white printer; colour comes last. Everything
here is drawn with paths, so no picture depends on a font, but for the words across a draft, which must be found by a
search. Every inline picture begins with a `<title>`, which becomes its text alternative in a PDF. Identifiers inside a
picture end in the `uid` that the caller gives, because they must be unique in a document.
"""

from __future__ import annotations

import math
from html import escape
from urllib.parse import quote

from liningbook.say.outputs.figures import dot_words, sign_words, tone_words

INK = "#0b4650"
PAPER = "#ffffff"

_BLACK = "#16202a"

TONES = ("place", "nothing", "decide", "refer", "out", "doubt", "fault")
"""The tones in the order of a legend."""

_TILE = 16
"""The period of every hatch across and down."""
_LONG = 40 * _TILE
"""How long a strip is drawn before it repeats: longer than nearly every cell, so that a print shows no seam."""


def _hatch(tone: str, wide: int, high: int, ink: str) -> str:
    """The hatch of a tone on an area, as lines down it, dashed where the hatch runs across; to be cut at its edge."""

    def dashed(start: str, width: float, colour: str, dashes: str, more: str = "") -> str:
        return (
            f'<path d="M{start}V{high + wide}" stroke="{colour}" stroke-width="{width:g}" '
            f'stroke-dasharray="{dashes}"{more}/>'
        )

    def bars(way: int, colour: str, thick: float, middle: float = wide / 2, width: float = wide) -> str:
        more = f' stroke-dashoffset="{thick / 2:g}" transform="skewY({45 * way})"'
        return dashed(f"{middle:g} {-_TILE * (1 + wide // _TILE)}", width, colour, f"{thick:g} {_TILE - thick:g}", more)

    whole = f"M0 0H{wide}V{high}H0Z"
    match tone:
        case "place":
            return f'<path d="{whole}" fill="#4f8580"/>'
        case "nothing":
            lines = "".join(f"M{x + 1} 0V{high}M{x + 15} 0V{high}" for x in range(0, wide, _TILE))
            return f'<path d="{lines}" stroke="{ink}" stroke-width="1.5"/>'
        case "decide":
            starts = [f"{x + y} {y}" for x in range(0, wide, _TILE) for y in (4, 12)]
            return "".join(dashed(start, 5.2, ink, "0.01 15.99", ' stroke-linecap="round"') for start in starts)
        case "refer":
            return bars(-1, ink, 8)
        case "doubt":
            return bars(1, ink, 5.6, wide / 4, wide / 2) + bars(-1, ink, 5.6, 3 * wide / 4, wide / 2)
        case "out":
            return dashed(f"{wide / 2:g} 2.8", wide, ink, "2.4 5.6")
    return f'<path d="{whole}" fill="{ink}"/>' + bars(-1, PAPER, 2.8) + bars(1, PAPER, 2.8)


def tile(tone: str, ink: str = INK, paper: str = PAPER) -> str:
    """The hatch of a tone as a long strip, 16 wide, that repeats without a seam. Colours are `#rrggbb`."""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{_TILE}" height="{_LONG}" viewBox="0 0 {_TILE} {_LONG}">'
        f'<path d="M0 0H{_TILE}V{_LONG}H0Z" fill="{paper}"/>{_hatch(tone, _TILE, _LONG, ink)}</svg>'
    )


_PLAIN = " '=/:;,.()"
"""Signs that mean nothing in an address between double quotation marks; left as they are the page is shorter."""


def tone_css(ink: str = INK, paper: str = PAPER) -> str:
    """Style rules that give `.tone-<tone>` its hatch as a background picture."""
    rules = []
    for tone in TONES:
        drawing = tile(tone, ink, paper).replace('"', "'")
        rules.append(f'.tone-{tone} {{ background-image: url("data:image/svg+xml,{quote(drawing, safe=_PLAIN)}"); }}')
    return "\n".join(rules)


def swatch(tone: str, uid: str) -> str:
    """A framed sample of a tone's hatch for a legend, 32 x 16."""
    name = f"hatch-{tone}-{uid}"
    area = "M.6 .6H31.4V15.4H.6Z"
    return (
        f'<svg class="swatch" role="img" viewBox="0 0 32 16" width="32" height="16">'
        f"<title>{escape(tone_words(tone))}</title>"
        f'<clipPath id="{name}"><path d="{area}"/></clipPath><path d="{area}" fill="{PAPER}"/>'
        f'<g clip-path="url(#{name})">{_hatch(tone, 32, 16, INK)}</g>'
        f'<path d="{area}" fill="none" stroke="{INK}" stroke-width="1.2"/></svg>'
    )


def dot(is_included: bool) -> str:
    """A filled dot, or a hollow one, for a legend, 16 x 16."""
    name, fill = ("filled", _BLACK) if is_included else ("hollow", PAPER)
    return (
        '<svg class="dot" role="img" viewBox="0 0 16 16" width="16" height="16">'
        f'<title>{escape(dot_words(is_included))}</title><circle class="fig-line {name}" cx="8" cy="8" r="5.5" '
        f'stroke="{_BLACK}" stroke-width="2.6" fill="{fill}"/></svg>'
    )


_SIGNS: dict[str, str] = {
    "stop": (
        '<path d="M7.5 1H16.5L23 7.5V16.5L16.5 23H7.5L1 16.5V7.5Z" fill="#ffffff" stroke="#16202a" stroke-width="2"/>'
        '<path d="M12 5.5V13.5" stroke="#16202a" stroke-width="3"/><circle cx="12" cy="17.6" r="1.9" fill="#16202a"/>'
    ),
    "avoid": (
        '<path d="M12 2.5L22.5 21.5H1.5Z" fill="#ffffff" stroke="#16202a" stroke-width="2"/>'
        '<path d="M12 8.5V14.5" stroke="#16202a" stroke-width="2.4"/><circle cx="12" cy="18" r="1.5" fill="#16202a"/>'
    ),
    "never": (
        '<circle cx="12" cy="12" r="10" fill="#ffffff" stroke="#16202a" stroke-width="3"/>'
        '<path d="M5.2 18.8L18.8 5.2" stroke="#16202a" stroke-width="3"/>'
    ),
}


def sign(name: str) -> str:
    """A sign (`stop`, `avoid`, `never`) as an inline picture of 24 x 24."""
    title, drawing = escape(sign_words(name)), _SIGNS[name]
    return (
        f'<svg class="sign" role="img" viewBox="0 0 24 24" width="24" height="24"><title>{title}</title>{drawing}</svg>'
    )


def across(word: str, width: int, height: int, outlined: bool = True) -> str:
    """One word written large from corner to corner, pale enough to read through. Sizes in millimetres.

    The outline is of a grey that is found on white and on dark ground alike, on a grey print as well; without the
    outline the letters are paler still, for pages of small type.
    """
    size = min(1.3 * (width**2 + height**2) ** 0.5 / max(len(word), 4), 0.3 * max(width, height))
    slope = math.degrees(math.atan2(height, width))
    text = escape(word)
    stroke = f'stroke="#87929a" stroke-width="{size / 80:.2f}"'
    ink = f'fill-opacity="0.22" {stroke}' if outlined else 'fill-opacity="0.16"'
    return (
        f'<svg class="across" role="img" viewBox="0 0 {width} {height}" width="{width}mm" height="{height}mm">'
        f"<title>{text}</title>"
        f'<g transform="translate({width / 2:.1f} {height / 2:.1f}) rotate(-{slope:.1f})">'
        f'<text x="0" y="{size * 0.33:.1f}" text-anchor="middle" font-size="{size:.1f}" font-weight="700" '
        f'fill="#16202a" {ink}>{text}</text></g></svg>'
    )


def icon_svg() -> str:
    """The mark of the site, three layers in a cavity, as a picture of 512 x 512.

    Its middle four fifths hold all of it, so that a device may round it off.
    """
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 512 512" width="512" height="512">'
        '<path d="M0 0H512V512H0Z" fill="#0b4650"/>'
        '<path d="M104 132H408L378 392H134Z" fill="#ffffff"/>'
        '<path d="M127 266H385L371.6 382H140.4Z" fill="#16202a"/>'
        '<path d="M117.7 186H394.3L387.4 246H124.6Z" fill="#4f8580"/>'
        '<path d="M113.6 150H398.4L396.6 166H115.4Z" fill="#c2934a"/></svg>'
    )


def icon_address() -> str:
    """The mark as an address that holds the picture itself."""
    return "data:image/svg+xml," + quote(icon_svg())
