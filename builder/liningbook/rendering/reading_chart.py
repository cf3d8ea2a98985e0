"""Where a reading, its correction and its uncertainty lie against the thresholds: a drawing (SVG 1.1)."""

from __future__ import annotations

from fractions import Fraction
from html import escape

from liningbook.logic.cells import Axis
from liningbook.logic.meaning import Meaning
from liningbook.logic.question import Reply
from liningbook.logic.readings import Taken
from liningbook.wording import number_words, range_words

WIDTH = 720
LEFT = 24
ROW = 210
INK, PALE, DARK = "#16202b", "#cfe0dd", "#0b4650"


def reading_chart(meaning: Meaning, reply: Reply) -> str:
    """The drawing for every factor that was read off, one under the other, with a text alternative."""
    parts = []
    words = []
    for row, (name, taken) in enumerate(reply.question.taken.items()):
        axis = meaning.space.axes[meaning.space.index[name]]
        words.append(_in_words(axis, taken))
        parts.append(f'<g transform="translate(0 {row * ROW})">{_row(axis, taken)}</g>')
    height = ROW * len(parts)
    title = "Reading, correction and uncertainty against the thresholds"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH}" height="{height}" viewBox="0 0 {WIDTH} {height}" '
        f'role="img" aria-labelledby="t d" font-family="Source Sans Pro, Source Sans 3, sans-serif" font-size="15" '
        f'fill="{INK}">'
        f'<title id="t">{escape(title)}</title><desc id="d">{escape(" ".join(words))}</desc>'
        f'<rect width="{WIDTH}" height="{height}" fill="#ffffff"/>{"".join(parts)}</svg>\n'
    )


def _in_words(axis: Axis, taken: Taken) -> str:
    unit = axis.unit
    return (
        f"{axis.factor.label}: read {number_words(taken.reading, unit)}, corrected "
        f"{number_words(taken.corrected, unit)}, within the uncertainty {range_words(taken.band, unit)}, treated as "
        f"{number_words(taken.value, unit)}. Thresholds: "
        f"{', '.join(number_words(t, unit) for t in _thresholds(axis)) or 'none'}."
    )


def _thresholds(axis: Axis) -> list[Fraction]:
    ends = (axis.cells[0].lower.value, axis.cells[-1].upper.value)
    return [place for place in sorted(axis.places) if place not in ends]


def _row(axis: Axis, taken: Taken) -> str:
    low, high = _shown(axis, taken)
    span = high - low

    def x(value: Fraction) -> str:
        inside = min(max(value, low), high)
        return f"{LEFT + float((inside - low) / span) * (WIDTH - 2 * LEFT):.1f}"

    unit = axis.unit
    band = taken.band
    width = f"{float(x(band.upper.value)) - float(x(band.lower.value)):.1f}"
    out = [
        f'<text x="{LEFT}" y="24" font-weight="700">{escape(axis.factor.label)}</text>',
        f'<rect x="{x(band.lower.value)}" y="92" width="{width}" height="36" fill="{PALE}" stroke="{DARK}" '
        f'stroke-dasharray="5 3"/>',
        f'<line x1="{LEFT}" x2="{WIDTH - LEFT}" y1="128" y2="128" stroke="{INK}" stroke-width="2"/>',
    ]
    for index, threshold in enumerate(t for t in _thresholds(axis) if low <= t <= high):
        out.append(
            f'<line x1="{x(threshold)}" x2="{x(threshold)}" y1="40" y2="140" stroke="{INK}" stroke-width="3"/>'
            f'<text x="{x(threshold)}" y="{158 + 18 * (index % 2)}" text-anchor="middle" font-weight="700">'
            f"{escape(number_words(threshold, unit))}</text>"
        )
    out.append(_pointer(x(taken.reading), 60, f"read: {number_words(taken.reading, unit)}", hollow=True))
    out.append(_pointer(x(taken.corrected), 82, f"corrected: {number_words(taken.corrected, unit)}", hollow=False))
    out.append(
        f'<path d="M {x(taken.value)} 112 l -8 -9 l 8 -9 l 8 9 z" fill="{DARK}"/>'
        f'<text x="{LEFT}" y="200">treated as {escape(number_words(taken.value, unit))}; '
        f"dashed: {escape(range_words(band, unit))}, within the expanded uncertainty (k = 2)</text>"
    )
    return "".join(out)


def _shown(axis: Axis, taken: Taken) -> tuple[Fraction, Fraction]:
    """The stretch of the axis that is drawn: what was read and the thresholds around it, with some air."""
    low, high = axis.cells[0].lower.value, axis.cells[-1].upper.value
    points = [taken.reading, taken.corrected, taken.value, taken.band.lower.value, taken.band.upper.value]
    points += _thresholds(axis)
    first, last = max(low, min(points)), min(high, max(points))
    air = (last - first) / 8 or (high - low) / 8 or Fraction(1)
    return max(low, first - air), min(high, last + air) if min(high, last + air) > max(low, first - air) else high + 1


def _pointer(x: str, y: int, words: str, hollow: bool) -> str:
    right = float(x) > WIDTH * 0.62
    anchor, shift = ("end", -9) if right else ("start", 9)
    fill = "#ffffff" if hollow else INK
    return (
        f'<line x1="{x}" x2="{x}" y1="{y}" y2="128" stroke="{INK}" stroke-width="1.5" '
        f'stroke-dasharray="{"2 3" if hollow else "none"}"/>'
        f'<circle cx="{x}" cy="{y}" r="5" fill="{fill}" stroke="{INK}" stroke-width="2"/>'
        f'<text x="{float(x) + shift:.1f}" y="{y + 5}" text-anchor="{anchor}">{escape(words)}</text>'
    )
