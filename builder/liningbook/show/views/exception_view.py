"""What departs from the chart in words, keyed by what the patient has."""

from __future__ import annotations

from collections.abc import Sequence

from liningbook.meaning.exceptions import Keyed
from liningbook.model.protocol import Protocol
from liningbook.say.cases import labelled
from liningbook.show.views.case_words import CaseWords
from liningbook.show.views.cell_view import CellWords
from liningbook.show.views.view import ExceptionLine, ExceptionRow
from liningbook.space.boxes import Box, meet


class ExceptionWords:
    """Words the exceptions to a chart of bands on `band_axis` and columns on `column_axis`."""

    def __init__(self, cells: CellWords, words: CaseWords, band_axis: int, column_axis: int) -> None:
        self.cells, self.words = cells, words
        self.band_axis, self.column_axis = band_axis, column_axis
        self.protocol: Protocol = cells.protocol

    def groups(self, found: Sequence[Keyed]) -> tuple[ExceptionRow, ...]:
        """The groups of which any case can be read off, in their order."""
        return tuple(said for group in found if (said := self._group(group)) is not None)

    def _group(self, group: Keyed) -> ExceptionRow | None:
        triggers = [one for box in group.triggers if (one := self._trigger(box)) is not None]
        lines = []
        for line in group.lines:
            where = self._where(line.box)
            if where is None:
                continue
            decision = self.protocol.decisions[line.decision]
            boxes = [part for one in group.triggers if (part := meet(one, line.box))]
            step, tone = self.cells.exception(decision, line.outcome, boxes)
            lines.append(ExceptionLine(where, step.label, step.head, step.rest, tone))
        if not triggers or not lines:
            return None
        stops = not self.protocol.decisions[group.lines[0].decision].is_layer
        return ExceptionRow(tuple(triggers), tuple(lines), stops)

    def _trigger(self, box: Box) -> tuple[str, ...] | None:
        """What the patient has: a question that is answered yes by its label alone."""
        parts = self.words.parts(box)
        if parts is None:
            return None
        asked = [n for n, (mask, whole) in enumerate(zip(box, self.words.shown, strict=True)) if whole & ~mask]
        said = []
        for number, (label, words) in zip(asked, parts, strict=True):
            axis = self.words.meaning.space.axes[number]
            is_yes = axis.factor.kind == "yes-no" and box[number] == 1 << axis.values.index("yes")
            said.append(label if is_yes and not label.endswith("?") else labelled(label, words))
        return tuple(said)

    def _where(self, box: Box) -> tuple[str, ...] | None:
        """Where a line holds: columns, bands in the chart's words, and what else it asks; nothing if unreadable."""
        parts = self.words.parts(box)
        if parts is None:
            return None
        asked = [n for n, (mask, whole) in enumerate(zip(box, self.words.shown, strict=True)) if whole & ~mask]
        found = {}
        for number, (label, words) in zip(asked, parts, strict=True):
            if number == self.band_axis:
                words = self.words.axis(number, box[number], brief=True)
            found[number] = words if number in (self.band_axis, self.column_axis) else labelled(label, words)
        order = [self.column_axis, self.band_axis]
        return tuple(found.pop(number) for number in order if number in found) + tuple(found.values())
