"""Where a reading, its correction and its uncertainty lie against the thresholds: a drawing (SVG 1.1).

What was read, the corrected value with its expanded uncertainty, and the value that counts each have a line of words
and a track under it, all to the same scale, so that no words can meet. Terms: JCGM 106:2012.
`site/scripts/reading.mjs` draws the same text in the browser. Places are whole numbers of tenths of a unit.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

from liningbook.cases.question import Reply
from liningbook.cases.readings import Taken
from liningbook.meaning.meaning import Meaning
from liningbook.say.amounts import number_words, range_words
from liningbook.show.figures.drawing import (
    DEEP,
    INK,
    PALE,
    PAPER,
    frame,
    half_up,
    line_of_text,
    stroke,
    tenths,
    width_of,
    wrap,
)
from liningbook.show.terminal.reply import counted_words, nearer_limit

TITLE = "Reading, correction and uncertainty against the thresholds"
WIDTH = 3200
LEFT, TEXT_WIDTH = 100, 3000
MOST_LABEL = 1300
"""The widest that the words of a threshold may be."""
LINE, TRACK = 170, 240
"""The height of a line of words, and of a track with the air under it."""

At = Callable[[Fraction], int]


@dataclass(frozen=True)
class Read:
    """One factor that was read off: its words and numbers, all in its own unit."""

    label: str
    words: tuple[str, str, str]
    """What was read, the corrected value, the value that counts."""
    reading: Fraction
    corrected: Fraction
    low: Fraction
    high: Fraction
    value: Fraction
    thresholds: tuple[tuple[Fraction, str], ...]
    limits: tuple[Fraction, Fraction]


def reading_chart(meaning: Meaning, reply: Reply, uid: str = "case") -> str:
    """The drawing for every factor that was read off, one under the other; nothing (`""`) where none was."""
    return draw([_read(meaning, reply, name, taken) for name, taken in reply.question.taken.items()], uid)


def draw(reads: list[Read], uid: str) -> str:
    """The drawing. `uid` ends every identifier in it."""
    if not reads:
        return ""
    parts, y = [], 60
    for read in reads:
        drawn, y = _rows(read, y)
        parts.append(drawn)
        y += 160
    return frame("reading", uid, WIDTH, y - 100, TITLE, " ".join(map(_in_words, reads)), "".join(parts))


def _read(meaning: Meaning, reply: Reply, name: str, taken: Taken) -> Read:
    axis = meaning.space.axes[meaning.space.index[name]]
    factor, unit = axis.factor, axis.unit
    assert factor.limits is not None
    ends = (factor.limits.lower.value, factor.limits.upper.value)
    method = f" ({factor.reading.method})" if factor.reading is not None and factor.reading.method else ""
    return Read(
        factor.label,
        (
            f"Read: {number_words(taken.reading, unit)}{method}",
            f"Corrected: {number_words(taken.corrected, unit)}; within its uncertainty: "
            f"{range_words(taken.band, unit)}",
            f"Treated as: {counted_words(factor, reply.question.values[name], taken)}",
        ),
        taken.reading,
        taken.corrected,
        taken.band.lower.value,
        taken.band.upper.value,
        nearer_limit(factor, taken.value) if taken.stops_short else taken.value,
        tuple((value, number_words(value, unit)) for value in sorted(axis.places) if value not in ends),
        ends,
    )


def _in_words(read: Read) -> str:
    words = "; ".join(text[0].lower() + text[1:] for text in read.words)
    return f"{read.label}: {words}. Thresholds: {', '.join(text for _, text in read.thresholds) or 'none'}."


def _scale(read: Read) -> tuple[Fraction, Fraction]:
    """The stretch that is drawn: everything there is to show, but no further beyond a limit than a quarter."""
    first, last = read.limits
    points = [read.reading, read.corrected, read.low, read.high, read.value, *(value for value, _ in read.thresholds)]
    over = (last - first) / 4
    low, high = max(min(points), first - over), min(max(points), last + over)
    return (low, high) if low < high else (first, last)


def _rows(read: Read, top: int) -> tuple[str, int]:
    """The rows of one factor from a height on, and where they end."""
    low, high = _scale(read)
    right = WIDTH - 80 - max((_wide(_label(words)) for _, words in read.thresholds), default=0)

    def x(value: Fraction) -> int:
        return LEFT + half_up((min(max(value, low), high) - low) * (right - LEFT) / (high - low))

    ticks = [x(value) for value, _ in read.thresholds]
    parts = []
    y = top
    for line in wrap(read.label, True, TEXT_WIDTH):
        parts.append(line_of_text(LEFT, y + 130, line, bold=True))
        y += LINE
    y += 60
    marks = (_reading_mark, _corrected_mark, _value_mark)
    points = (read.reading, read.corrected, read.value)
    for words, mark, point in zip(read.words, marks, points, strict=True):
        said = words if low <= point <= high else f"{words}, beyond the end of this scale"
        for line in wrap(said, False, TEXT_WIDTH):
            parts.append(line_of_text(LEFT, y + 130, line))
            y += LINE
        parts.append(_track(y + 110, right, ticks) + mark(read, x, y + 110))
        y += TRACK
    return _labelled(parts, read, ticks, y - TRACK + 200)


def _labelled(parts: list[str], read: Read, ticks: list[int], y: int) -> tuple[str, int]:
    """The thresholds' words under the tracks: each right of its own line, as high as no line crosses it."""
    labels = [_label(words) for _, words in read.thresholds]
    tops = [y] * len(ticks)
    ends = [y] * len(ticks)
    for index in range(len(ticks) - 1, -1, -1):
        right = ticks[index] + 120 + _wide(labels[index])
        tops[index] = max([y, *(ends[other] for other in range(index + 1, len(ticks)) if ticks[other] < right)])
        ends[index] = tops[index] + len(labels[index]) * LINE
    for tick, top, lines in zip(ticks, tops, labels, strict=True):
        foot = top + 130 + (len(lines) - 1) * LINE
        parts.append(stroke(f"M{tenths(tick)} {tenths(y - 10)}V{tenths(foot)}", "2"))
        parts += [line_of_text(tick + 60, top + 130 + row * LINE, line, bold=True) for row, line in enumerate(lines)]
    return "".join(parts), max([y, *ends])


def _label(words: str) -> list[str]:
    return wrap(words, True, MOST_LABEL)


def _wide(lines: list[str]) -> int:
    return max(width_of(line, True) for line in lines)


def _track(y: int, right: int, ticks: list[int]) -> str:
    data = "".join(f"M{tenths(tick)} {tenths(y - 80)}v16" for tick in ticks)
    return stroke(f"M{tenths(LEFT)} {tenths(y)}H{tenths(right)}", "1") + (stroke(data, "2") if data else "")


def _reading_mark(read: Read, x: At, y: int) -> str:
    return (
        f'<circle class="fig-paper fig-line" cx="{tenths(x(read.reading))}" cy="{tenths(y)}" r="5" fill="{PAPER}" '
        f'stroke="{INK}" stroke-width="2"/>'
    )


def _corrected_mark(read: Read, x: At, y: int) -> str:
    start, end = x(read.low), x(read.high)
    return (
        f'<path class="fig-pale fig-line-deep" d="M{tenths(start)} {tenths(y - 60)}H{tenths(end)}v12H{tenths(start)}Z" '
        f'fill="{PALE}" fill-opacity="0.7" stroke="{DEEP}" stroke-width="1.4" stroke-dasharray="4 2.5"/>'
        f'<circle class="fig-ink" cx="{tenths(x(read.corrected))}" cy="{tenths(y)}" r="5" fill="{INK}"/>'
    )


def _value_mark(read: Read, x: At, y: int) -> str:
    start, end = x(read.corrected), x(read.value)
    side = 10 if start > end else -10
    arrow = ""
    if abs(start - end) >= 160:
        head = end + 8 * side
        arrow = stroke(
            f"M{tenths(start)} {tenths(y)}H{tenths(head)}"
            f"m{tenths(4 * side)} -4l{tenths(-4 * side)} 4l{tenths(4 * side)} 4",
            "1.8",
        )
    return arrow + (
        f'<path class="fig-deep fig-line" d="M{tenths(end - 65)} {tenths(y)}l6.5 -6.5l6.5 6.5l-6.5 6.5z" fill="{DEEP}" '
        f'stroke="{INK}" stroke-width="1"/>'
    )
