"""The band chart: bands of a quantity along one axis, choices along the other, every region labelled with its advice.

It has two forms: `band_wide.py` for paper and wide screens, `band_narrow.py` for phones and for charts of many bands.
"""

from __future__ import annotations

from collections.abc import Collection

from liningbook.show.figures.band_data import BandChart, complete
from liningbook.show.figures.band_narrow import draw_narrow
from liningbook.show.figures.band_wide import draw_wide

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
