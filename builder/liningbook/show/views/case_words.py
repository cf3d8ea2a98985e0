"""Cases in words for one card: said on one scale, and only what tells them apart among the cases that it shows."""

from __future__ import annotations

from collections.abc import Iterable

from liningbook.cases.reading_scale import ReadingScale, printed_scale
from liningbook.meaning.meaning import Meaning
from liningbook.model.protocol import Factor, When
from liningbook.say.amounts import range_words
from liningbook.say.cases import values_words
from liningbook.say.locale import both, either
from liningbook.space.boxes import Box, bits

IN_EVERY_CASE = "in every case"

Parts = list[tuple[str, str]]
"""Label and words of each factor that must be named."""


class CaseWords:
    """Words boxes of cases. `shown` are the cases that the card speaks of.

    `read_axis` is the quantity that is said as readings; left out, all are said as true values.
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
        return f"{label} as read" if number == self.read_axis else label

    def axis(self, number: int, mask: int) -> str:
        """Cells of one factor in words; nothing if no reading counts as one of them."""
        axis = self.meaning.space.axes[number]
        factor = axis.factor
        if factor.kind != "quantity" or factor.unit is None:
            return values_words(factor, [axis.values[cell] for cell in bits(mask)])
        unit = factor.unit
        if number == self.read_axis and self.scale is not None:
            stretches = self.scale.ranges(mask)
            return either([range_words(stretch, unit) for stretch in stretches]) if stretches else ""
        return either([range_words(stretch, unit, factor.limits) for stretch in axis.runs_as_ranges(mask)])

    def parts(self, box: Box) -> Parts | None:
        """The factors that must be named, in their order; nothing at all if none of the cases is shown."""
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
            found.append((self.label(number), words))
        return found

    def when(self, when: When) -> list[Parts]:
        """Each set of conditions of a `when` of which any case is shown."""
        boxes = self.meaning.space.boxes(when)
        return [parts for box in boxes if (parts := self.parts(box)) is not None]

    def if_words(self, when: When) -> str:
        """A `when` as the end of a sentence, `if A is b and C is d`; nothing if none of its cases is shown."""
        return if_words(self.when(when))

    def line_words(self, when: When) -> str:
        """The same as a label, `A: b; C: d`."""
        return " — or ".join("; ".join(f"{a}: {b}" for a, b in parts) or "every case" for parts in self.when(when))


def as_read(factor: Factor) -> str:
    """A quantity on the scale of what is read off: `Thickness as read on the film`."""
    method = factor.reading.method if factor.reading else ""
    article = "" if method.lower().startswith(("a ", "an ", "the ")) else "the "
    return f"{factor.label} as read on {article}{method}" if method else f"{factor.label} as read"


def if_words(alternatives: Iterable[Parts]) -> str:
    """Alternatives as the end of a sentence."""
    listed = list(alternatives)
    if any(not parts for parts in listed):
        return IN_EVERY_CASE
    return " — or ".join(f"if {both([f'{label} is {words}' for label, words in parts])}" for parts in listed)
