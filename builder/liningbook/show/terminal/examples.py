"""One case as an example of a finding, by what differs in it from the usual case, that of the chart."""

from __future__ import annotations

from functools import cached_property

from liningbook.checks.facts import Cases
from liningbook.meaning.meaning import Meaning
from liningbook.say.cases import box_words
from liningbook.say.findings.cases import example_beside


class Examples:
    """The examples of one report, and what they leave out."""

    def __init__(self, meaning: Meaning | None) -> None:
        self.meaning = meaning
        self._left_out: set[str] = set()

    @cached_property
    def _usual(self) -> dict[str, int]:
        """The usual cells of each factor that has them: not those that make bands and columns, nor without a chart."""
        from liningbook.meaning.chart import choose_layout  # a report without findings needs none
        from liningbook.meaning.screening import with_thresholds

        meaning = self.meaning
        if meaning is None:
            return {}
        card = meaning.protocol.card
        charted = with_thresholds(meaning, card)
        layout = choose_layout(charted, card)
        if layout is None:
            return {}
        axes = zip(meaning.space.axes, layout.usual, strict=True)
        return {
            axis.factor.id: mask
            for number, (axis, mask) in enumerate(axes)
            if number not in (layout.band_axis, layout.column_axis)
            and mask != charted.space.full[number]
            and (charted is meaning or not axis.cells)  # the card's own thresholds cut a quantity into other cells
        }

    def words(self, cases: Cases) -> tuple[str, bool]:
        """One case in words, and whether all else in it is as usual."""
        usual = self._usual
        if self.meaning is None or cases.space is not self.meaning.space:
            # On another day other thresholds tell the values of a quantity apart.
            usual = {axis.factor.id: usual.get(axis.factor.id, 0) for axis in cases.space.axes if not axis.cells}
        words, left_out = example_beside(cases, usual)
        self._left_out |= left_out
        return words, bool(left_out)

    def left_out(self) -> str:
        """The usual values that examples left out; nothing where they left out none."""
        if self.meaning is None or not self._left_out:
            return ""
        space = self.meaning.space
        box = tuple(
            self._usual[name] if name in self._left_out else mask
            for name, mask in zip(space.names, space.full, strict=True)
        )
        return box_words(self.meaning.protocol.factors, space.notation(box))
