"""The depth axis of a chart (SVG): the dentine over the pulp, to scale in height, a wedge over each column.

Over each column the dentine rises from the lower to the upper end of its band, so that it thins to the left. At the
edges of the columns a filled dot says that the value belongs to this side, a hollow one that it does not. The last
band goes on beyond what is drawn. Heights are to scale, widths are those of the columns; on a screen they stretch with
them, which is why lines and dots are drawn with strokes that do not.
"""

from __future__ import annotations

from fractions import Fraction
from html import escape

from liningbook.notation.quantity import decimal_text
from liningbook.say.amounts import number_words
from liningbook.say.locale import decimal_words
from liningbook.say.texts import t
from liningbook.show.figures.shapes import FAMILY, INK, PAPER
from liningbook.show.figures.shapes import number as _n
from liningbook.show.views.view import Depth

DENTINE, PULP = "#f0dfb8", "#d9a79a"
_FIXED = 'vector-effect="non-scaling-stroke"'


def depth_bands(depth: Depth, width: float, height: float, strip: float, dot: float = 2.2) -> str:
    """The dentine over the pulp, one wedge a band, all of one width. `width`, `height` and so on are in millimetres.

    `strip` is the height of the pulp, `dot` the width of the dots.
    """
    count = len(depth.bands)
    foot = height - strip

    def across(edge: int) -> float:
        return width * edge / count

    parts = [f'<path class="fig-pulp" d="M0 {_n(foot)}H{_n(width)}V{_n(height)}H0Z" fill="{PULP}"/>']
    surface, edges = [], []
    dots: list[tuple[float, float, bool]] = []
    for number, band in enumerate(depth.bands):
        left, right = across(number), across(number + 1)
        low = _height(depth, band.lower.value, height, strip, dot)
        high = _height(depth, band.upper.value, height, strip, dot)
        parts.append(
            f'<path class="fig-dentine" d="M{_n(left)} {_n(foot)}V{_n(low)}L{_n(right)} {_n(high)}V{_n(foot)}Z" '
            f'fill="{DENTINE}"/>'
        )
        surface.append(f"M{_n(left)} {_n(low)}L{_n(right)} {_n(high)}")
        dots.append((left + dot * 0.62, low, band.lower.closed))
        if band.upper.value <= depth.top:
            dots.append((right - dot * 0.62, high, band.upper.closed))
            edges.append(f"M{_n(right)} {_n(high)}V{_n(foot)}")
    for number, band in enumerate(depth.bands[1:], 1):
        y = _height(depth, band.lower.value, height, strip, dot)
        edges.append(f"M0 {_n(y)}H{_n(across(number))}")
    dashes = 'stroke-dasharray="1.2 1"'
    parts.append(_line("".join(edges), 0.2, dashes) if edges else "")
    parts.append(_line("".join(surface), 0.5))
    parts.append(_line(f"M0 {_n(foot)}H{_n(width)}", 0.35))
    for x, y, closed in dots:
        place = f"M{_n(x)} {_n(y)}h.01"
        parts.append(_dot(place, dot, "fig-line", INK))
        if not closed:
            parts.append(_dot(place, dot - 0.9, "fig-line-paper", PAPER))
    title = escape(t.depth_drawn)
    return (
        f'<svg class="depth" role="img" viewBox="0 0 {_n(width)} {_n(height)}" width="{_n(width)}mm" '
        f'height="{_n(height)}mm" preserveAspectRatio="none"><title>{title}</title>{"".join(parts)}</svg>'
    )


def depth_axis(depth: Depth, width: float, height: float, strip: float, points: float, dot: float = 2.2) -> str:
    """The scale beside the dentine: its thresholds, as many as have room, and the pulp. Type is of `points` points."""
    size = points * 25.4 / 72
    foot = height - strip
    values = sorted({end for band in depth.bands for end in (band.lower.value, band.upper.value)}, reverse=True)
    placed: list[tuple[Fraction, float]] = []
    for value in values:
        y = _height(depth, value, height, strip, dot)
        if value <= depth.top and all(abs(y - other) >= 0.95 * size for _, other in placed):
            placed.append((value, y))
    parts = [f'<path class="fig-pulp" d="M0 {_n(foot)}H{_n(width)}V{_n(height)}H0Z" fill="{PULP}"/>']
    for number, (value, y) in enumerate(placed):
        words = decimal_words(decimal_text(value)) if number else number_words(value, depth.unit)
        parts.append(_line(f"M{_n(width - 1.2)} {_n(y)}H{_n(width)}", 0.3))
        parts.append(_text(width - 1.8, min(y + 0.33 * size, foot - 0.4), size, words))
    parts.append(_line(f"M{_n(width)} {_n(0)}V{_n(foot)}", 0.4))
    parts.append(_text(width - 1.8, foot + strip / 2 + 0.33 * size, size, t.pulp))
    return (
        f'<svg class="depth-axis" role="img" viewBox="0 0 {_n(width)} {_n(height)}" width="{_n(width)}mm" '
        f'height="{_n(height)}mm" preserveAspectRatio="xMaxYMid meet" font-family="{FAMILY}">'
        f"<title>{escape(t.depth_scale)}</title>{''.join(parts)}</svg>"
    )


def _height(depth: Depth, value: Fraction, height: float, strip: float, dot: float) -> float:
    """How far down a value is drawn. What lies beyond the part that is drawn ends at its top."""
    room = height - strip - dot / 2 - 0.2
    share = (min(value, depth.top) - depth.bottom) / (depth.top - depth.bottom)
    return height - strip - room * float(max(share, Fraction(0)))


def _line(data: str, wide: float, more: str = "") -> str:
    look = f'fill="none" stroke="{INK}" stroke-width="{_n(wide)}"'
    return f'<path class="fig-line fig-{"thick" if wide > 0.4 else "thin"}" d="{data}" {look} {more} {_FIXED}/>'


def _dot(place: str, wide: float, name: str, colour: str) -> str:
    return (
        f'<path class="{name} dot" d="{place}" fill="none" stroke="{colour}" stroke-width="{_n(wide)}" '
        f'stroke-linecap="round" {_FIXED}/>'
    )


def _text(x: float, y: float, size: float, words: str) -> str:
    return (
        f'<text class="fig-ink" x="{_n(x)}" y="{_n(y)}" font-size="{_n(size)}" text-anchor="end" fill="{INK}">'
        f"{escape(words)}</text>"
    )
