"""The chart of a new version with the cells marked whose advice has changed, and what they said before.

It is cut at the bands of both versions, so that a cell has changed as a whole or not at all, and stands for the usual
case of the new version; changes that lie outside it are exceptions.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from functools import reduce
from operator import or_

from liningbook.compare.comparison import Comparison
from liningbook.meaning.chart import Layout, cell_box
from liningbook.show.views.chart_view import ChartWords
from liningbook.show.views.view import Cell, Chart
from liningbook.space.boxes import meets


def changed_chart(comparison: Comparison, whole: bool = False) -> Chart | None:
    """The chart with the choices of which a cell has changed, and the bands in which and beside which one has.

    Nothing where no cell has changed, or where there is no chart. `whole`: all of it.
    """
    layout = comparison.layout
    if layout is None:
        return None
    old, new = (ChartWords(meaning, layout=layout) for meaning in (comparison.old, comparison.new))
    bands = _common(old.bands, new.bands)
    if not bands:
        return None
    bands = _joined(bands, _marked(comparison, layout, old, new, bands))
    if whole:
        return _marked(comparison, layout, old, new, bands)
    bands = _beside_changes(bands, _marked(comparison, layout, old, new, bands))
    return _of_changed(_marked(comparison, layout, old, new, bands)) if bands else None


def _common(old: list[int], new: list[int]) -> list[int]:
    """The bands of both versions cut at each other's ends, thin to thick; each a stretch without a break."""
    parts = {a & b for a in old for b in new if a & b}
    for one, other in ((old, new), (new, old)):
        covered = reduce(or_, other, 0)
        parts |= {band & ~covered for band in one if band & ~covered}
    return sorted(run for part in parts for run in _runs(part))


def _runs(mask: int) -> Iterable[int]:
    """The stretches of neighbouring cells in a mask."""
    while mask:
        low = mask & -mask
        run = mask & ~(mask + low)
        yield run
        mask &= ~run


def _marked(comparison: Comparison, layout: Layout, old: ChartWords, new: ChartWords, bands: list[int]) -> Chart:
    old.bands = new.bands = bands
    before, after = old.chart(), new.chart()
    assert before is not None and after is not None
    rows = []
    for band, was, now in zip(bands, before.cells, after.cells, strict=True):
        boxes = [cell_box(layout, band, 1 << cell) for cell in layout.columns]
        changed = [any(meets(box, shown) for d in comparison.differences for box in d.region) for shown in boxes]
        rows.append(tuple(_cell(*one) for one in zip(was, now, changed, strict=True)))
    return replace(after, cells=tuple(rows), changed_since=comparison.old_protocol.edition)


def _cell(was: Cell, now: Cell, changed: bool) -> Cell:
    """The cell as it is now with what it said before; a layer that only comes earlier or later says nothing of that."""
    if not changed:
        return now
    numbers = {(step.slot, step.head, step.rest): step.number for step in now.steps}
    steps = (replace(one, number=numbers.get((one.slot, one.head, one.rest), one.number)) for one in was.steps)
    return replace(now, changed=True, was=tuple(steps))


def _joined(bands: list[int], chart: Chart) -> list[int]:
    """Neighbouring bands that look alike as one."""
    found: list[int] = []
    looks: list[object] = []
    for band, row in zip(bands, chart.cells, strict=True):
        here = [(cell.steps, cell.tone, cell.changed, cell.was) for cell in row]
        if found and band & (found[-1] << 1) and looks[-1] == here:
            found[-1] |= band
        else:
            found.append(band)
            looks.append(here)
    return found


def _beside_changes(bands: list[int], chart: Chart) -> list[int]:
    """The bands with a changed cell, and those beside them."""
    changed = [any(cell.changed for cell in row) for row in chart.cells]
    near = [any(changed[max(0, number - 1) : number + 2]) for number in range(len(bands))]
    return [band for band, is_near in zip(bands, near, strict=True) if is_near]


def _of_changed(chart: Chart) -> Chart | None:
    kept = [n for n in range(len(chart.columns)) if any(row[n].changed for row in chart.cells)]
    if not kept:
        return None
    return replace(
        chart,
        columns=tuple(chart.columns[n] for n in kept),
        cells=tuple(tuple(row[n] for n in kept) for row in chart.cells),
    )
