"""Cases in words for one card: said on one scale, and only what tells them apart among the cases that it shows."""

from __future__ import annotations

from liningbook.cases.reading_scale import ReadingScale, printed_scale
from liningbook.cases.readings import NoReading
from liningbook.meaning.meaning import Meaning
from liningbook.model.rule import When
from liningbook.say.amounts import brief_range, range_words
from liningbook.say.cases import Parts, alternatives, if_words, line_words, values_words
from liningbook.say.locale import either
from liningbook.say.outputs.charts import band_as_judged, band_as_read, factor_as_read, read_range, with_other_scale
from liningbook.space.boxes import Box, bits


class CaseWords:
    """Words boxes of cases. `shown` are the cases that the card speaks of.

    `read_axis` is the quantity that is said as readings; left out, all are said as they are judged.
    """

    def __init__(self, meaning: Meaning, shown: Box, read_axis: int | None = None) -> None:
        self.meaning, self.shown, self.read_axis = meaning, shown, read_axis
        self.scale: ReadingScale | None = None
        if read_axis is not None:
            self.scale = printed_scale(meaning.space.axes[read_axis])
            readable = shown[read_axis] & self.scale.mask
            self.shown = (*shown[:read_axis], readable, *shown[read_axis + 1 :])

    def label(self, number: int) -> str:
        """What a factor is called, with the scale if it is said as read off."""
        label = self.meaning.space.axes[number].factor.label
        return factor_as_read(label) if number == self.read_axis else label

    def axis(self, number: int, mask: int, brief: bool = False) -> str:
        """Cells of one factor in words; nothing if no reading counts as one of them. `brief`: in few words."""
        axis = self.meaning.space.axes[number]
        factor = axis.factor
        if factor.kind != "quantity" or factor.unit is None:
            return values_words(factor, [axis.values[cell] for cell in bits(mask)])
        unit = factor.unit
        say = brief_range if brief else range_words
        if number == self.read_axis and self.scale is not None:
            stretches = self.scale.ranges(mask)
            return either([say(stretch, unit) for stretch in stretches]) if stretches else ""
        return either([say(stretch, unit, factor.limits) for stretch in axis.runs_as_ranges(mask)])

    def other_range(self, number: int, mask: int) -> str:
        """Cells of a quantity on the scale on which `axis` does not say them: as they are read off, or truly.

        Nothing where the quantity is not read off, or where every value is meant.
        """
        axis = self.meaning.space.axes[number]
        factor = axis.factor
        if factor.kind != "quantity" or factor.reading is None or factor.unit is None or mask == axis.full:
            return ""
        if number == self.read_axis:
            unit, limits = factor.unit, factor.limits
            return either([brief_range(stretch, unit, limits) for stretch in axis.runs_as_ranges(mask)])
        try:
            return read_range(factor, printed_scale(axis).ranges(mask))
        except NoReading:  # the protocol does not say what a reading counts as
            return ""

    def other_scale(self, number: int, mask: int) -> str:
        """Cells of a quantity on the other scale, and which that is."""
        words = self.other_range(number, mask)
        if not words or number == self.read_axis:
            return band_as_judged(words) if words else ""
        return band_as_read(self.meaning.space.axes[number].factor, words)

    def parts(self, box: Box, both_scales: bool = False) -> Parts | None:
        """The factors that must be named, in their order; nothing at all if none of the cases is shown.

        With `both_scales` a quantity that is read off is said on either.
        """
        found = []
        for number, (mask, shown) in enumerate(zip(box, self.shown, strict=True)):
            if not mask & shown:
                return None
            if not shown & ~mask:
                continue
            is_choice = self.meaning.space.axes[number].factor.kind == "choice"
            words = self.axis(number, mask & shown if is_choice else mask)
            if not words:
                return None
            other = self.other_scale(number, mask) if both_scales else ""
            found.append((self.label(number), with_other_scale(words, other)))
        return found

    def when(self, when: When) -> list[Parts]:
        """Each set of conditions of a `when` of which any case is shown."""
        boxes = self.meaning.space.boxes(when)
        return [parts for box in boxes if (parts := self.parts(box)) is not None]

    def if_words(self, when: When) -> str:
        """A `when` as the end of a sentence, `if A is b and C is d`; nothing if none of its cases is shown."""
        return if_words(self.when(when))

    def line_words(self, when: When) -> str:
        """A `when` as a label, `A: b; C: d`."""
        return alternatives([line_words(parts) for parts in self.when(when)])
