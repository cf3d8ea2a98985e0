"""The narrow form of the band chart: one panel a row of choices, the bands down."""

from __future__ import annotations

from liningbook.say.texts import t
from liningbook.show.figures.band_data import BandChart, Patch, Row, band_words, description, guards, rows_of
from liningbook.show.figures.band_parts import (
    PAD,
    box,
    end_mark,
    hatched,
    legend,
    names_box,
    names_lines,
    patterns,
    region_drawn,
    region_words,
)
from liningbook.show.figures.drawing import DEEP, LINE, frame, half_up, lines_of_text, stroke, tenths, wrap

WIDTH, EDGE = 3200, 20
BANDS = 1000
"""The width of the column with the bands' words; its left edge carries the axis."""
AXIS = 140


def draw_narrow(
    data: BandChart, uid: str, guard: bool, marked: frozenset[tuple[int, int]], rows: list[Row] | None = None
) -> str:
    """The chart with the bands down, one panel under the other; only `rows` of it (or parts of these) if given."""
    rows = rows_of(data, marked) if rows is None else rows
    parts = [patterns(rows, uid)]
    y = 50
    heading = wrap(t.panels_heading(choice=data.choice, quantity=data.quantity), True, WIDTH - 2 * EDGE)
    parts.append(lines_of_text(EDGE, y + 130, heading, bold=True))
    y += len(heading) * LINE
    for row in rows:
        drawn, y = _panel(data, row, uid, guard, y + 100)
        parts.append(drawn)
    y += 90
    note = wrap(t.heights_not_to_scale, False, WIDTH - 2 * EDGE)
    parts.append(lines_of_text(EDGE, y + 130, note))
    y += len(note) * LINE
    drawn, y = legend(data, rows, uid, guard, y + 60, EDGE, WIDTH - 2 * EDGE)
    parts.append(drawn)
    return frame(
        "bands", uid, WIDTH, y + 60, t.band_chart_title, description(data, rows, guard), "".join(parts), "narrow"
    )


def _panel(data: BandChart, row: Row, uid: str, guard: bool, y: int) -> tuple[str, int]:
    names = names_lines(row.names, WIDTH - 2 * EDGE - 2 * PAD)
    high = len(names) * LINE + 90
    parts = [f'<path class="fig-deep" d="{box(EDGE, y, WIDTH - 2 * EDGE, high)}" fill="{DEEP}"/>']
    parts.append(lines_of_text(EDGE + PAD, y + 170, names, bold=True, light=True))
    y += high
    top = y
    marks = []
    for region in row.regions:
        said = wrap(band_words(data, region.first, region.last), True, BANDS - AXIS - PAD)
        words, needed = region_words(region, WIDTH - 2 * EDGE - BANDS)
        high = max(needed, len(said) * LINE + 2 * PAD, 320)
        parts.append(names_box(EDGE, y, BANDS, high))
        if guard:
            parts += _shaded(data, row, region, uid, y, high)
        parts.append(lines_of_text(EDGE + AXIS + 30, y + PAD + 130, said, bold=True))
        parts.append(region_drawn(region, (EDGE + BANDS, y, WIDTH - 2 * EDGE - BANDS, high), words, uid))
        first, last = data.bands[region.first].lower, data.bands[region.last].upper
        marks.append(end_mark(EDGE + 75, y + 70, first.closed) + end_mark(EDGE + 75, y + high - 70, last.closed))
        y += high
    axis = f"M{tenths(EDGE + 75)} {tenths(top + 70)}V{tenths(y - 70)}"
    parts.append(stroke(axis, "1.6"))
    return "".join(parts + marks), y


def _shaded(data: BandChart, row: Row, region: Patch, uid: str, y: int, height: int) -> list[str]:
    """The guard bands beyond the thresholds of a row, as far as they lie in one of its regions."""
    low, high = data.bands[region.first].lower.value, data.bands[region.last].upper.value
    found = []
    for stretch in guards(data, [other.first for other in row.regions if other.first]):
        start, end = max(stretch.lower.value, low), min(stretch.upper.value, high)
        if start < end:
            top, foot = (half_up((value - low) * height / (high - low)) for value in (start, end))
            found.append(hatched(EDGE + 25, y + top, 100, foot - top, f"guard-{uid}"))
    return found
