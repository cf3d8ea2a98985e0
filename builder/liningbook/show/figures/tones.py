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

TONES = ("place", "nothing", "decide", "refer", "out", "fault")
"""The tones in the order of a legend."""

_TILE = 16
_HATCH: dict[str, str] = {
    "place": '<path d="M0 0H16V16H0Z" fill="#4f8580"/>',
    "nothing": '<path d="M1 0V16M15 0V16" stroke="{ink}" stroke-width="1.5"/>',
    "decide": '<circle cx="4" cy="4" r="2.6" fill="{ink}"/><circle cx="12" cy="12" r="2.6" fill="{ink}"/>',
    "refer": '<path d="M-4 4L4 -4M-4 20L20 -4M12 20L20 12" stroke="{ink}" stroke-width="5.6"/>',
    "out": '<path d="M0 4H16M0 12H16" stroke="{ink}" stroke-width="2.4"/>',
    "fault": '<path d="M0 0H16V16H0Z" fill="{ink}"/><path d="M0 0L16 16M16 0L0 16" stroke="#ffffff" stroke-width="2"/>',
}


def tile(tone: str, ink: str = INK, paper: str = PAPER) -> str:
    """The hatch of a tone as a picture of 16 x 16 that repeats without a seam. Colours are `#rrggbb`."""
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{_TILE}" height="{_TILE}" viewBox="0 0 {_TILE} {_TILE}">'
        f'<path d="M0 0H16V16H0Z" fill="{paper}"/>{_HATCH[tone].format(ink=ink)}</svg>'
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


def tone_pattern(tone: str, name: str) -> str:
    """The hatch of a tone as a pattern under an identifier, on paper, for use inside a larger picture."""
    return (
        f'<pattern id="{name}" width="16" height="16" patternUnits="userSpaceOnUse">'
        f'<path d="M0 0H16V16H0Z" fill="{PAPER}"/>{_HATCH[tone].format(ink=INK)}</pattern>'
    )


def swatch(tone: str, uid: str) -> str:
    """A framed sample of a tone's hatch for a legend, 32 x 16."""
    name = f"hatch-{tone}-{uid}"
    return (
        f'<svg class="swatch" role="img" viewBox="0 0 32 16" width="32" height="16">'
        f"<title>{escape(tone_words(tone))}</title>"
        f'<defs><pattern id="{name}" width="16" height="16" patternUnits="userSpaceOnUse">'
        f"{_HATCH[tone].format(ink=INK)}</pattern></defs>"
        f'<path d="M0 0H32V16H0Z" fill="{PAPER}"/><path d="M0 0H32V16H0Z" fill="url(#{name})"/>'
        f'<path d="M.6 .6H31.4V15.4H.6Z" fill="none" stroke="{INK}" stroke-width="1.2"/></svg>'
    )


def dot(is_included: bool) -> str:
    """A filled dot, or a hollow one, for a legend, 16 x 16."""
    title = escape(dot_words(is_included))
    return (
        f'<svg class="dot" role="img" viewBox="0 0 16 16" width="16" height="16"><title>{title}'
        f'</title><circle class="fig-line" cx="8" cy="8" r="5.5" stroke="{_BLACK}" stroke-width="2.6" '
        f'fill="{_BLACK if is_included else PAPER}"/></svg>'
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
