"""The band chart: bands of a quantity along one axis, choices along the other, every region labelled with its advice.

It has two forms: `band_wide.py` for paper and wide screens, `band_narrow.py` for phones and for charts of many bands.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import replace

from liningbook.show.figures.band_data import BandChart, Row, complete, rows_of
from liningbook.show.figures.band_narrow import draw_narrow
from liningbook.show.figures.band_wide import draw_wide, is_crowded
from liningbook.show.figures.drawing import size_of

MOST_ACROSS = 5
"""With more bands than this the chart is drawn in its narrow form."""


def draw(
    data: BandChart,
    uid: str,
    *,
    guard: bool = False,
    marked: Collection[tuple[int, int]] = (),
    narrow: bool = False,
) -> str:
    """The chart as SVG, 720 units wide, or 320 where `narrow`; `uid` ends every identifier in it.

    `guard` shades the stretch beyond each threshold in which a reading is taken as on the other side. `marked` are the
    cells (number of the band, number of the choice) that have changed: they get a thick outline and say so.
    """
    whole, moved = complete(data, frozenset(marked))
    if narrow or len(whole.bands) > MOST_ACROSS:
        return draw_narrow(whole, uid, guard and bool(data.guard), moved)
    return draw_wide(whole, uid, guard and bool(data.guard), moved)


def draw_on_pages(data: BandChart, uid: str, wide: int, narrow: int) -> tuple[str, ...]:
    """The chart with its guard bands, as the drawings that it takes on paper.

    `wide` and `narrow` are the greatest heights of a drawing in either form, in tenths of its units. In its wide form
    the chart is split between its rows. Where a word would be broken in that, every row is a drawing of its own in the
    narrow form, split between its bands.
    """
    whole, none = complete(data, frozenset())
    guard = bool(data.guard)
    if len(whole.bands) <= MOST_ACROSS and not is_crowded(whole, none):
        parts = list(_across(whole, uid, guard, wide))
        if all(size_of(part)[1] <= wide for part in parts):
            return tuple(parts)
    return tuple(
        part
        for number, row in enumerate(rows_of(whole, none))
        for part in _down(whole, row, f"{uid}-{number}", guard, narrow)
    )


def _across(data: BandChart, uid: str, guard: bool, most: int) -> Iterator[str]:
    """The wide form in as few drawings as have room, each with as many rows as it has room for."""
    kept: list[str] = []
    drawn, count = "", 0
    for row in rows_of(data, frozenset()):
        trial = draw_wide(_of(data, [*kept, *row.names]), f"{uid}-{count}", guard, frozenset())
        if kept and size_of(trial)[1] > most:
            yield drawn
            kept, count = [], count + 1
            trial = draw_wide(_of(data, row.names), f"{uid}-{count}", guard, frozenset())
        kept, drawn = [*kept, *row.names], trial
    yield drawn


def _of(data: BandChart, names: Collection[str]) -> BandChart:
    """The chart of some of its choices."""
    kept = [number for number, name in enumerate(data.choices) if name in names]
    cells = tuple(tuple(row[number] for number in kept) for row in data.cells)
    return replace(data, choices=tuple(data.choices[number] for number in kept), cells=cells)


def _down(data: BandChart, row: Row, uid: str, guard: bool, most: int) -> Iterator[str]:
    """A row in the narrow form, in as many drawings as it takes."""
    start, count = 0, 0
    while start < len(row.regions):
        end = len(row.regions)
        while True:
            part = replace(row, regions=row.regions[start:end])
            drawn = draw_narrow(data, f"{uid}-{count}", guard, frozenset(), [part])
            if size_of(drawn)[1] <= most or end == start + 1:
                break
            end -= 1
        yield drawn
        start, count = end, count + 1
