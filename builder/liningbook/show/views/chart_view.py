"""The chart at one glance and its exceptions, in words; the protocol's own, or those that a card chooses."""

from __future__ import annotations

from fractions import Fraction

from liningbook.meaning import chart as charts
from liningbook.meaning.exceptions import exceptions
from liningbook.meaning.meaning import Meaning
from liningbook.model.protocol import Card, Protocol
from liningbook.model.rule import Factor
from liningbook.notation.interval import Range
from liningbook.notation.quantity import Unit
from liningbook.say.amounts import any_value
from liningbook.say.outputs.charts import as_judged, as_read, limits_not_covered, other_scale_heading
from liningbook.show.views.case_words import CaseWords
from liningbook.show.views.cell_view import CellWords
from liningbook.show.views.exception_view import ExceptionWords
from liningbook.show.views.view import Cell, Chart, Depth, ExceptionRow, Labelled
from liningbook.space.boxes import Box, meets
from liningbook.space.region import Region


class ChartWords:
    """Words the chart of one compiled protocol and its exceptions.

    With a card they are those that the card chooses: its part of the cases, its decisions, its scale, its usual case.
    The thresholds that the card names must be thresholds of the meaning's space (see `card_view.with_thresholds`).
    """

    def __init__(
        self,
        meaning: Meaning,
        card: Card | None = None,
        layout: charts.Layout | None = None,
        outcomes: charts.Outcomes | None = None,
    ) -> None:
        self.meaning = meaning
        self.card = card
        self.protocol: Protocol = meaning.protocol
        self.outcomes = outcomes or charts.Outcomes(meaning)
        self.layout = layout or charts.choose_layout(meaning, card)
        self.decisions = self.protocol.shown_by(card or Card())
        """The decisions shown, in the protocol's order."""
        self.bands: list[int] = []
        shown = meaning.space.full
        if self.layout is not None:
            shown = self.layout.shown
            concerned = {n for n, d in self.protocol.decisions.items() if n in self.decisions or d.is_layer}
            self.bands = charts.bands(self.outcomes, self.layout, concerned)
        reads = card is not None and card.scale == "reading" and self.layout is not None
        self.words = CaseWords(meaning, shown, self.layout.band_axis if reads and self.layout else None)
        self.cells = CellWords(self.outcomes, self.words, self.decisions)

    def for_column(self, column: int) -> ChartWords:
        """The words of one column only, a cell of the column axis."""
        assert self.layout is not None
        return ChartWords(self.meaning, self.card, self.layout.of_column(column), self.outcomes)

    def chart(self) -> Chart | None:
        """Bands against columns for the usual case."""
        layout = self.layout
        if layout is None or not self.bands:
            return None
        column_axis = self.meaning.space.axes[layout.column_axis]
        columns = self._columns()
        drawn, cells = self._drawn(columns)
        axis = layout.band_axis
        return Chart(
            self._heading(),
            column_axis.factor.label,
            tuple(self.band_words(mask) for mask in drawn),
            columns,
            tuple(cells),
            self._usual(),
            _unless_empty([self._note(mask) for mask in drawn]),
            readings := _unless_empty([self.words.other_range(axis, mask) for mask in drawn]),
            other_scale_heading(self._band_factor, self.words.read_axis is not None) if readings else "",
            self._depth(drawn),
        )

    def boxes(self) -> list[list[Box]]:
        """The cases that each cell of the chart stands for."""
        layout = self.layout
        assert layout is not None
        drawn, _ = self._drawn(self._columns())
        return [[charts.cell_box(layout, mask, 1 << cell) for cell in layout.columns] for mask in drawn]

    def _columns(self) -> tuple[str, ...]:
        assert self.layout is not None
        axis = self.meaning.space.axes[self.layout.column_axis]
        return tuple(axis.factor.values[axis.values[cell]] for cell in self.layout.columns)

    def _drawn(self, columns: tuple[str, ...]) -> tuple[list[int], list[tuple[Cell, ...]]]:
        """The bands that are drawn, and their cells."""
        drawn = [mask for mask in self.bands if self.band_words(mask)]
        cells = [self._row(mask, columns) for mask in drawn]
        return self._joined(drawn, cells, columns) if self.card is not None else (drawn, cells)

    def exceptions(self) -> tuple[ExceptionRow, ...]:
        """How other cases depart from the chart."""
        layout = self.layout
        if layout is None or not self.bands:
            return ()
        words = ExceptionWords(self.cells, self.words, layout, self.decisions)
        return words.rows(exceptions(self.outcomes, layout, self.decisions, self.bands))

    def _depth(self, masks: list[int]) -> Depth | None:
        """The bands as numbers, on the scale on which they are said."""
        assert self.layout is not None
        axis, factor, scale = self.meaning.space.axes[self.layout.band_axis], self._band_factor, self.words.scale
        if len(masks) < 2 or factor.unit is None or factor.limits is None:
            return None
        found = [scale.ranges(mask) if scale is not None else axis.runs_as_ranges(mask) for mask in masks]
        bands = tuple(Range(stretches[0].lower, stretches[-1].upper) for stretches in found)
        return drawn_depth(bands, factor.unit, factor.limits)

    @property
    def _band_factor(self) -> Factor:
        assert self.layout is not None
        return self.meaning.space.axes[self.layout.band_axis].factor

    def band_words(self, mask: int) -> str:
        """A band in words; nothing if no reading counts as one of its values."""
        assert self.layout is not None
        number = self.layout.band_axis
        if mask == self.meaning.space.axes[number].full:
            return any_value()
        return self.words.axis(number, mask | self._limits_beside(mask), brief=True)

    def _limits_beside(self, mask: int) -> int:
        """A limit of the bands' quantity that no band covers, if only that lies beyond a band."""
        if self.layout is None or self.words.read_axis is not None:
            return 0
        axis = self.meaning.space.axes[self.layout.band_axis]
        covered = 0
        for band in self.bands:
            covered |= band
        low, high = 1, 1 << (axis.count - 1)
        free = self.layout.shown[self.layout.band_axis] & ~covered
        return (low if free & low and mask & low << 1 else 0) | (high if free & high and mask & high >> 1 else 0)

    def _note(self, mask: int) -> str:
        assert self.layout is not None
        beside = self._limits_beside(mask)
        axis = self.meaning.space.axes[self.layout.band_axis]
        if not beside or axis.factor.unit is None:
            return ""
        return limits_not_covered(axis.runs_as_ranges(beside), axis.factor.unit, axis.factor.limits)

    def _heading(self) -> str:
        assert self.layout is not None
        factor = self._band_factor
        if factor.reading is None:
            return factor.label
        return as_judged(factor) if self.words.read_axis is None else as_read(factor)

    def _row(self, mask: int, columns: tuple[str, ...]) -> tuple[Cell, ...]:
        assert self.layout is not None
        words = self.band_words(mask)
        return tuple(
            self.cells.cell(f"{name}, {words}", charts.cell_box(self.layout, mask, 1 << cell))
            for name, cell in zip(columns, self.layout.columns, strict=True)
        )

    def _joined(
        self, masks: list[int], rows: list[tuple[Cell, ...]], columns: tuple[str, ...]
    ) -> tuple[list[int], list[tuple[Cell, ...]]]:
        """Neighbouring bands that look the same as one band: they differ in what the card does not show."""
        drawn: list[int] = []
        kept: list[tuple[Cell, ...]] = []
        for mask, row in zip(masks, rows, strict=True):
            looks = [(cell.steps, cell.tone) for cell in row]
            if kept and mask & drawn[-1] << 1 and looks == [(cell.steps, cell.tone) for cell in kept[-1]]:
                drawn[-1] |= mask
                kept[-1] = self._row(drawn[-1], columns)
            else:
                drawn.append(mask)
                kept.append(row)
        return drawn, kept

    def _usual(self) -> tuple[Labelled, ...]:
        """The usual case; on a card without the factors on which nothing turns that it shows."""
        assert self.layout is not None
        box = list(self.layout.usual)
        for number in (self.layout.band_axis, self.layout.column_axis):
            box[number] = self.layout.shown[number]
        if self.card is not None:
            for number, axis in enumerate(self.meaning.space.axes):
                if axis.factor.id not in self.card.usual.conditions and not self._matters(number):
                    box[number] = self.layout.shown[number]
        return tuple(Labelled(label, words) for label, words in self.words.parts(tuple(box), True) or [])

    def _matters(self, number: int) -> bool:
        """Whether any advice within what is shown turns on a factor."""
        assert self.layout is not None
        shown = self.layout.shown
        for name, found in self.outcomes.by_decision.items():
            if name not in self.decisions and not self.protocol.decisions[name].is_layer:
                continue
            for _, region in found:
                boxes = [box for box in region if meets(box, shown)]
                wide = [(*box[:number], shown[number], *box[number + 1 :]) for box in boxes]
                if not (Region.any_of(wide) & Region((shown,))).is_within(boxes):
                    return True
        return False


def drawn_depth(bands: tuple[Range, ...], unit: Unit, limits: Range) -> Depth:
    """The bands, with the part of their scale that is drawn: up to a little beyond the last threshold."""
    bottom = max(bands[0].lower.value, limits.lower.value)
    last = max(bands[-1].lower.value, bands[-2].upper.value)
    top = last + max(last - bottom, Fraction(1, 10)) / 3
    if bands[-1].upper.value == limits.upper.value < top:
        top = limits.upper.value
    return Depth(bands, unit, bottom, max(top, last))


def _unless_empty(words: list[str]) -> tuple[str, ...]:
    return tuple(words) if any(words) else ()
