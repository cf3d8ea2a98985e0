"""What departs from the chart in words, keyed by what the patient has."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace

from liningbook.meaning.chart import Layout
from liningbook.meaning.exceptions import Keyed, is_keyed
from liningbook.model.protocol import Protocol
from liningbook.say.cases import labelled
from liningbook.say.outputs.charts import either_of
from liningbook.say.texts import t
from liningbook.show.views.case_words import CaseWords
from liningbook.show.views.cell_view import CellWords
from liningbook.show.views.list_view import never_named
from liningbook.show.views.view import ExceptionLine, ExceptionRow
from liningbook.space.boxes import Box, meet


class ExceptionWords:
    """Words the exceptions to a chart, and what is never used because of what the patient has."""

    def __init__(self, cells: CellWords, words: CaseWords, layout: Layout, decisions: Collection[str]) -> None:
        self.cells, self.words, self.layout, self.decisions = cells, words, layout, decisions
        self.protocol: Protocol = cells.protocol

    def rows(self, found: Sequence[Keyed]) -> tuple[ExceptionRow, ...]:
        """What can be read off, in this order: stops, what is never used, layers.

        What is never used stands with the layers where these have the same trigger.
        """
        rows = [row for group in found if (row := self._group(group)) is not None]
        for names, triggers in self._never():
            line = ExceptionLine((), t.never, names, "", "never")
            for number, row in enumerate(rows):
                if row.triggers == triggers and not row.stops:
                    rows[number] = replace(row, lines=(line, *row.lines))
                    break
            else:
                rows.insert(sum(row.stops for row in rows), ExceptionRow(triggers, (line,)))
        return tuple(rows)

    def _never(self) -> Iterator[tuple[str, tuple[tuple[str, ...], ...]]]:
        for rule in reversed(self.cells.meaning.rules):
            names = never_named(self.protocol, rule, self.decisions)
            if names and is_keyed(self.cells.meaning, self.layout, rule):
                triggers = [self._trigger(box) for box in self.cells.meaning.space.boxes(rule.when)]
                yield names, tuple(one for one in triggers if one)

    def _group(self, group: Keyed) -> ExceptionRow | None:
        triggers = _together([one for box in group.triggers if (one := self._trigger(box)) is not None])
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
            if number == self.layout.band_axis:
                words = self.words.axis(number, box[number], brief=True)
            found[number] = (
                words if number in (self.layout.band_axis, self.layout.column_axis) else labelled(label, words)
            )
        order = [self.layout.column_axis, self.layout.band_axis]
        return tuple(found.pop(number) for number in order if number in found) + tuple(found.values())


def _together(triggers: list[tuple[str, ...]]) -> list[tuple[str, ...]]:
    """Triggers that differ in one condition each as one: `Reversible pulpitis` and `either A allergy or B allergy`."""
    shared = [words for words in triggers[0] if all(words in one for one in triggers)] if triggers else []
    own = [[words for words in one if words not in shared] for one in triggers]
    if not shared or len(triggers) == 1 or any(len(one) != 1 for one in own):
        return triggers
    return [(*shared, either_of([one[0] for one in own]))]
