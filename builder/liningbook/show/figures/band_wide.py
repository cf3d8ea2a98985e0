"""The wide form of the band chart: bands across, choices down, and the true scale above them."""

from __future__ import annotations

from fractions import Fraction
from itertools import accumulate

from liningbook.say.amounts import number_words
from liningbook.say.texts import t
from liningbook.show.figures.band_data import BandChart, Row, band_words, description, guards, rows_of
from liningbook.show.figures.band_parts import (
    PAD,
    box,
    broken_words,
    end_mark,
    hatched,
    legend,
    names_box,
    names_lines,
    patterns,
    region_drawn,
    region_words,
)
from liningbook.show.figures.drawing import (
    DEEP,
    LINE,
    frame,
    half_up,
    line_of_text,
    lines_of_text,
    stroke,
    tenths,
    width_of,
    wrap,
)

WIDTH, EDGE = 7200, 20
NAMES = 1250
AREA = WIDTH - NAMES - 2 * EDGE
LEFT = EDGE + NAMES
LEAST = 800
"""The least width of a band."""
BROKEN = 2000
"""The height that is worth a word that is not broken."""


def draw_wide(data: BandChart, uid: str, guard: bool, marked: frozenset[tuple[int, int]]) -> str:
    """The chart with the bands across."""
    rows = rows_of(data, marked)
    widths = _widths(data, rows)
    edges = list(accumulate(widths, initial=LEFT))
    parts = [patterns(rows, uid)]
    y = 50
    quantity = wrap(data.quantity, True, AREA)
    parts.append(lines_of_text(LEFT, y + 130, quantity, bold=True))
    y += len(quantity) * LINE
    drawn, y = _scales(data, edges, uid, guard, y + 230)
    parts.append(drawn)
    drawn, y = _headings(data, edges, y)
    parts.append(drawn)
    for row in rows:
        drawn, y = _row(row, edges, uid, y)
        parts.append(drawn)
    parts.append(line_of_text(EDGE, y + 220, t.bands_not_to_scale))
    drawn, y = legend(data, rows, uid, guard, y + 320, EDGE, WIDTH - 2 * EDGE)
    parts.append(drawn)
    return frame("bands", uid, WIDTH, y + 60, t.band_chart_title, description(data, rows, guard), "".join(parts))


def is_crowded(data: BandChart, marked: frozenset[tuple[int, int]]) -> bool:
    """Whether a word would have to be broken in this form."""
    rows = rows_of(data, marked)
    widths = _widths(data, rows)
    names = [data.choice, *(name for row in rows for name in row.names)]
    if any(width_of(word, True) > NAMES - 2 * PAD for name in names for word in name.split()):
        return True
    return any(broken_words(r, sum(widths[r.first : r.last + 1])) for row in rows for r in row.regions)


def _scales(data: BandChart, edges: list[int], uid: str, guard: bool, y: int) -> tuple[str, int]:
    """The true scale, the lines that lead from it to the bands, and the ends of the bands."""
    low, high = data.limits.lower.value, data.limits.upper.value

    def true(value: Fraction) -> int:
        return LEFT + half_up((value - low) * AREA / (high - low))

    cuts = [(band.upper, after.lower) for band, after in zip(data.bands, data.bands[1:], strict=False)]
    end = y + 260
    parts = [
        line_of_text(LEFT, y - 70, number_words(low, data.unit)),
        line_of_text(LEFT + AREA, y - 70, number_words(high, data.unit), anchor="end"),
    ]
    if guard:
        for stretch in guards(data, range(1, len(data.bands))):
            start, stop = true(stretch.lower.value), true(stretch.upper.value)
            parts.append(hatched(start, y - 50, stop - start, 100, f"guard-{uid}"))
            start, stop = (_bent(data, edges, value) for value in (stretch.lower.value, stretch.upper.value))
            parts.append(hatched(start, end + 60, stop - start, 100, f"guard-{uid}"))
    lines = f"M{tenths(LEFT)} {tenths(y - 50)}v10M{tenths(LEFT)} {tenths(y)}H{tenths(LEFT + AREA)}m0 -5v10"
    lines += f"M{tenths(LEFT)} {tenths(end + 110)}H{tenths(LEFT + AREA)}"
    thin = ""
    for (upper, _), edge in zip(cuts, edges[1:], strict=False):
        lines += f"M{tenths(true(upper.value))} {tenths(y - 50)}v10"
        thin += f"M{tenths(true(upper.value))} {tenths(y + 50)}L{tenths(edge)} {tenths(end)}V{tenths(end + 200)}"
    parts.append(stroke(lines, "1.6"))
    if thin:
        parts.append(stroke(thin, "0.9"))
    for (upper, lower), edge in zip(cuts, edges[1:], strict=False):
        parts.append(end_mark(edge - 70, end + 110, upper.closed) + end_mark(edge + 70, end + 110, lower.closed))
    first, last = data.bands[0].lower, data.bands[-1].upper
    parts.append(end_mark(LEFT + 45, end + 110, first.closed) + end_mark(LEFT + AREA - 45, end + 110, last.closed))
    return "".join(parts), end + 220


def _bent(data: BandChart, edges: list[int], value: Fraction) -> int:
    """Where a value lies in the bands as they are drawn."""
    for band, start, stop in zip(data.bands, edges, edges[1:], strict=False):
        low, high = band.lower.value, band.upper.value
        if value < high or (value == high and (band is data.bands[-1] or low == high)):
            part = max(value - low, Fraction(0)) / (high - low) if low < high else Fraction(0)
            return start + half_up(part * (stop - start))
    return edges[-1]


def _headings(data: BandChart, edges: list[int], y: int) -> tuple[str, int]:
    blocks = [
        wrap(band_words(data, band, band), True, edges[band + 1] - edges[band] - 2 * PAD)
        for band in range(len(data.bands))
    ]
    corner = wrap(data.choice, True, NAMES - 2 * PAD)
    height = max(len(lines) for lines in [*blocks, corner]) * LINE + PAD + 40
    parts = [f'<path class="fig-wash" d="{box(EDGE, y, NAMES, height)}" fill="#eef3f2"/>']
    foot = y + height - (len(corner) * LINE + 40)
    parts.append(lines_of_text(EDGE + PAD, foot + 130, corner, bold=True))
    parts.append(f'<path class="fig-deep" d="{box(LEFT, y, edges[-1] - LEFT, height)}" fill="{DEEP}"/>')
    for lines, start in zip(blocks, edges, strict=False):
        parts.append(lines_of_text(start + PAD, y + 170, lines, bold=True, light=True))
    inner = "".join(f"M{tenths(edge)} {tenths(y)}v{tenths(height)}" for edge in edges[1:-1])
    if inner:
        parts.append(stroke(inner, "1.4", light=True))
    return "".join(parts), y + height


def _row(row: Row, edges: list[int], uid: str, y: int) -> tuple[str, int]:
    names = names_lines(row.names, NAMES - 2 * PAD)
    blocks = [region_words(region, edges[region.last + 1] - edges[region.first]) for region in row.regions]
    height = max(len(names) * LINE + 2 * PAD, *(high for _, high in blocks))
    parts = [names_box(EDGE, y, NAMES, height), lines_of_text(EDGE + PAD, y + PAD + 130, names, bold=True)]
    drawn = [
        region_drawn(region, (edges[region.first], y, edges[region.last + 1] - edges[region.first], height), words, uid)
        for region, (words, _) in zip(row.regions, blocks, strict=True)
    ]
    return "".join(parts + drawn), y + height


def _widths(data: BandChart, rows: list[Row]) -> list[int]:
    """The widths of the bands with which the chart is lowest, found by moving steps of width while it gets lower."""
    count = len(data.bands)
    found = [AREA // count + (AREA % count if band == 0 else 0) for band in range(count)]
    known: dict[tuple[int, int, int], int] = {}

    def height(widths: list[int]) -> tuple[int, int]:
        """The height of all rows, and that of all regions, which tells apart what is as high."""
        total = among = 0
        for number, row in enumerate(rows):
            highest = 0
            for index, region in enumerate(row.regions):
                wide = sum(widths[region.first : region.last + 1])
                key = (number, index, wide)
                if key not in known:
                    known[key] = region_words(region, wide)[1] + BROKEN * broken_words(region, wide)
                highest = max(highest, known[key])
                among += known[key]
            total += highest
        return total, among

    best = height(found)
    step = 800
    while step >= 100:
        moves = []
        for giver in range(count):
            for taker in range(count):
                if giver != taker and found[giver] - step >= LEAST:
                    moved = list(found)
                    moved[giver] -= step
                    moved[taker] += step
                    moves.append((height(moved), moved))
        if moves and min(moves)[0] < best:
            best, found = min(moves)
        else:
            step //= 2
    return found
