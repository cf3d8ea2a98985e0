"""What both forms of the band chart are put together from: regions with their words, marks of ends, the legend."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

from liningbook.say.outputs.figures import tone_words
from liningbook.say.texts import t
from liningbook.show.figures.band_data import BandChart, Patch, Row, guard_words
from liningbook.show.figures.drawing import (
    INK,
    LINE,
    PAPER,
    line_of_text,
    lines_of_text,
    number_square,
    stroke,
    tenths,
    width_of,
    wrap,
)
from liningbook.show.figures.tones import TONES, tone_pattern

PAD, STRIP = 70, 160
"""The air around words, the width of the strip with the hatch of a tone."""
_NUMBERED = 240
TINTS = {"decide": ("fig-sand", "#fbf3df"), "refer": ("fig-wash", "#fae8e0"), "out": ("fig-wash", "#ececef")}


@dataclass(frozen=True)
class Words:
    """A line of words in a region: indent and height in tenths from its top left, and the number before it, if any."""

    indent: int
    top: int
    text: str
    bold: bool
    number: int


def region_words(region: Patch, width: int) -> tuple[list[Words], int]:
    """The words of a region of a width in tenths, and the height that they need."""
    free = width - STRIP - 2 * PAD
    found: list[Words] = []
    y = PAD
    if region.is_marked:
        y += LINE + 60
    for step in region.cell.steps:
        indent = _NUMBERED if step.number else 0
        number = step.number
        for text, bold in ((step.head, True), (step.rest, False)):
            for line in wrap(text, bold, free - indent):
                found.append(Words(indent, y, line, bold, number))
                number = 0
                y += LINE
        y += 50
    return found, y - 50 + PAD


def broken_words(region: Patch, width: int) -> int:
    """How many words of a region are wider than their line in a region of that width."""
    free = width - STRIP - 2 * PAD
    found = 0
    for step in region.cell.steps:
        room = free - (_NUMBERED if step.number else 0)
        found += sum(width_of(word, True) > room for word in step.head.split())
        found += sum(width_of(word, False) > room for word in step.rest.split())
    return found


def region_drawn(region: Patch, place: tuple[int, int, int, int], words: list[Words], uid: str) -> str:
    """A region in a box (x, y, width, height): tint, hatch of its tone, words, and the mark of a change."""
    x, y, width, height = place
    fill, colour = TINTS.get(region.cell.tone, ("fig-paper", PAPER))
    area = box(x, y, width, height)
    parts = [
        f'<path class="{fill} fig-line" d="{area}" fill="{colour}" stroke="{INK}" stroke-width="1"/>',
        hatched(x, y + 5, STRIP, height - 10, f"tone-{region.cell.tone}-{uid}"),
    ]
    left = x + STRIP + PAD
    if region.is_marked:
        wide = 120 + width_of(t.region_changed, True)
        parts.append(
            f'<path class="fig-line" d="{box(x + 15, y + 15, width - 30, height - 30)}" fill="none" stroke="{INK}" '
            f'stroke-width="3.4"/><path class="fig-ink" d="{box(left, y + PAD - 10, wide, 180)}" fill="{INK}"/>'
        )
        parts.append(line_of_text(left + 60, y + PAD + 130, t.region_changed, bold=True, light=True))
    for item in words:
        if item.number:
            parts.append(number_square(left, y + item.top, item.number))
        parts.append(line_of_text(left + item.indent, y + item.top + 130, item.text, item.bold))
    return "".join(parts)


def names_box(x: int, y: int, width: int, height: int) -> str:
    """The box in which the names of a row or of a band stand."""
    area = box(x, y, width, height)
    return f'<path class="fig-wash fig-line" d="{area}" fill="#eef3f2" stroke="{INK}" stroke-width="1"/>'


def names_lines(names: tuple[str, ...], width: int) -> list[str]:
    """The names of a row, wrapped, each on its own line."""
    return [line for name in names for line in wrap(name, True, width)]


def end_mark(x: int, y: int, included: bool) -> str:
    """The mark of an end of a band: filled where the value itself belongs to it, hollow where it does not."""
    fill = f'class="fig-ink fig-line" fill="{INK}"' if included else f'class="fig-paper fig-line" fill="{PAPER}"'
    return f'<circle {fill} cx="{tenths(x)}" cy="{tenths(y)}" r="4.2" stroke="{INK}" stroke-width="1.6"/>'


def patterns(rows: list[Row], uid: str) -> str:
    """The hatches of the tones that occur."""
    tones = {region.cell.tone for row in rows for region in row.regions}
    drawn = "".join(tone_pattern(tone, f"tone-{tone}-{uid}") for tone in TONES if tone in tones)
    guard = (
        f'<pattern id="guard-{uid}" width="5" height="5" patternUnits="userSpaceOnUse">'
        f"{stroke('M-1 1L1 -1M0 5L5 0M4 6L6 4', '1.1')}</pattern>"
    )
    return f"<defs>{drawn}{guard}</defs>"


def legend(data: BandChart, rows: list[Row], uid: str, guard: bool, top: int, left: int, width: int) -> tuple[str, int]:
    """What the hatches and marks mean, wrapped into a width, and where it ends."""
    tones = {region.cell.tone for row in rows for region in row.regions}
    entries: list[tuple[Callable[[int, int], str], str]] = []
    for tone in TONES:
        if tone in tones:
            entries.append((partial(_swatch, f"tone-{tone}-{uid}"), tone_words(tone)))
    entries.append((partial(_end_sample, True), t.end_included))
    entries.append((partial(_end_sample, False), t.end_excluded))
    if guard:
        entries.append((partial(_swatch, f"guard-{uid}"), guard_words(data)))
    parts = []
    x, y = left, top
    for picture, words in entries:
        lines = wrap(words, False, width - 330)
        wide = 330 + max(width_of(line, False) for line in lines) + 150
        if x > left and x + wide - 150 > left + width:
            x, y = left, y + LINE + 60
        parts.append(picture(x, y))
        parts.append(lines_of_text(x + 330, y + 130, lines))
        x += wide
        y += (len(lines) - 1) * LINE
    return "".join(parts), y + LINE


def _swatch(name: str, x: int, y: int) -> str:
    frame = f'<path class="fig-line" d="{box(x, y + 5, 260, 155)}" fill="none" stroke="{INK}" stroke-width="1"/>'
    return hatched(x, y + 5, 260, 155, name) + frame


def _end_sample(included: bool, x: int, y: int) -> str:
    return end_mark(x + 130, y + 80, included)


def hatched(x: int, y: int, width: int, height: int, name: str) -> str:
    """A box filled with a pattern that starts at its corner."""
    return f'<path transform="translate({tenths(x)} {tenths(y)})" d="{box(0, 0, width, height)}" fill="url(#{name})"/>'


def box(x: int, y: int, width: int, height: int) -> str:
    """Path data of a box."""
    return f"M{tenths(x)} {tenths(y)}h{tenths(width)}v{tenths(height)}h{tenths(-width)}z"
