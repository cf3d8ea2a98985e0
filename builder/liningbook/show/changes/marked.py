"""The chart of an edition with the cells marked that have changed since another, for card, protocol and page."""

from __future__ import annotations

from dataclasses import replace

from liningbook.compare.comparison import Comparison
from liningbook.notation.interval import Lower, Range, Upper
from liningbook.show.views.chart_view import ChartWords
from liningbook.show.views.view import Chart
from liningbook.space.boxes import Box, meets
from liningbook.space.cells import Axis


def marked_chart(chart: Chart, comparison: Comparison, words: ChartWords) -> Chart:
    """The chart with a mark on every cell in which any case that it stands for is treated differently."""
    axes, joint = words.meaning.space.axes, comparison.space
    changed = [box for difference in comparison.differences for box in difference.region]

    def is_changed(box: Box) -> bool:
        wide = list(joint.full)
        for axis, mask in zip(axes, box, strict=True):
            number = joint.index[axis.factor.id]
            wide[number] = _in_joint(axis, mask, joint.axes[number])
        return any(meets(other, tuple(wide)) for other in changed)

    cells = tuple(
        tuple(replace(cell, changed=is_changed(box)) for cell, box in zip(row, boxes, strict=True))
        for row, boxes in zip(chart.cells, words.boxes(), strict=True)
    )
    since = comparison.old_protocol.edition if any(cell.changed for row in cells for cell in row) else ""
    return replace(chart, cells=cells, changed_since=since)


def _in_joint(axis: Axis, mask: int, joint: Axis) -> int:
    """The cells of an axis as cells of the joint one, all that they meet."""
    if axis.factor.kind != "quantity":
        return joint.mask_of_values(value for cell, value in enumerate(axis.values) if mask >> cell & 1)
    by = axis.unit.size / joint.unit.size
    stretches = [
        Range(Lower(one.lower.value * by, one.lower.closed), Upper(one.upper.value * by, one.upper.closed))
        for one in axis.runs_as_ranges(mask)
    ]
    return sum(1 << n for n, cell in enumerate(joint.cells) if any(not cell.meet(one).is_empty for one in stretches))
