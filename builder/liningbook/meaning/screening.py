"""Which cases depart from the chart, which of them no stop question takes off it, and what is unusual in these.

The chart stands for the usual values of all factors but that of its bands and that of its columns. Who reads it for
another case gets what stands there for the same case with the usual values: the case of reference. With a range as a
usual value (card.yaml) a value within the range is its own reference, and one beyond has all of the range.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from liningbook.meaning.chart import Layout, choose_layout
from liningbook.meaning.meaning import Meaning
from liningbook.meaning.table import answers_in_parts
from liningbook.model.protocol import Card, StopQuestion
from liningbook.model.rule import Condition, Conditions
from liningbook.space.boxes import Box, meet
from liningbook.space.budget import stop_if_spent
from liningbook.space.cells import Space, all_whens
from liningbook.space.region import Region


@dataclass(frozen=True)
class Trigger:
    """Factors (axes) whose unusual values alone make the chart wrong, with the cases, and the decisions concerned."""

    axes: tuple[int, ...]
    region: Region
    decisions: tuple[str, ...]


class Screening:
    """A chart and the stop questions above it."""

    def __init__(self, meaning: Meaning, layout: Layout, decisions: Sequence[str]) -> None:
        self.meaning, self.layout, self.decisions = meaning, layout, decisions
        self._free = [n for n in range(len(layout.usual)) if n not in (layout.band_axis, layout.column_axis)]

    @classmethod
    def of(cls, meaning: Meaning) -> Screening | None:
        """That of the protocol's card; nothing where it has no chart."""
        protocol = meaning.protocol
        charted = with_thresholds(meaning, protocol.card)
        layout = choose_layout(charted, protocol.card)
        return None if layout is None else cls(charted, layout, protocol.shown_by(protocol.card))

    # --- the chart ----------------------------------------------------------------------------------------------------

    def departing(self, decision: str) -> Region:
        """The cases shown in which a decision is needed and comes to something else than the chart says of them.

        That is so too where the chart says nothing of them, as its own case is out of scope. Raises OutOfTime.
        """
        shown = Region((self.layout.shown,))
        answers = [
            (parts[0][0], Region(tuple(box for _, region in parts for box in region)) & shown)
            for parts in answers_in_parts(self.meaning, decision)
        ]
        read = [[self._read_as(box) for box in region & Region((self.layout.usual,))] for _, region in answers]
        found = []
        for number, (outcome, region) in enumerate(answers):
            if outcome.state == "not-needed" or not region:
                continue
            otherwise = [box for other, boxes in enumerate(read) if other != number for box in boxes]
            told = region & Region.any_of(otherwise)
            found += [*told, *region.minus([box for boxes in read for box in boxes])]
        return Region(tuple(found))

    def _read_as(self, usual: Box) -> Box:
        """The cases of which a usual one is a case of reference."""
        return self._widened(usual, self._free)

    def _widened(self, box: Box, axes: Sequence[int]) -> Box:
        """The box with all values that are not usual besides, on the axes."""
        full = self.meaning.space.full
        return tuple(
            mask | full[number] & ~self.layout.usual[number] if number in axes else mask
            for number, mask in enumerate(box)
        )

    def reference(self, case: Box) -> Box:
        """A case of reference of a case."""
        return tuple(
            case[number] if case[number] & usual else usual & -usual for number, usual in enumerate(self.layout.usual)
        )

    def charted(self) -> Region:
        """The usual cases that the chart answers. Raises OutOfTime."""
        return Region.union(self.meaning.needed(name) for name in self.decisions) & Region((self.layout.usual,))

    # --- the stop questions -------------------------------------------------------------------------------------------

    def screened(self, question: StopQuestion) -> tuple[Box, ...]:
        """The cases that a yes to a question takes off the chart, as boxes that may overlap."""
        return () if question.screens is None else self.meaning.space.boxes(question.screens)

    def triggers(self) -> Iterator[Trigger]:
        """The departures that no question takes off the chart, by what alone is unusual in them; fewest factors first.

        A case stands with each fewest factors that do alone what they do in it: where the others are usual the chart
        is wrong too, and no question takes that off either. Together they hold every such departure. Raises OutOfTime.
        """
        asked = [box for question in self.meaning.protocol.stop_questions for box in self.screened(question)]
        left = {name: region for name in self.decisions if (region := self.departing(name).minus(asked))}
        rest = Region.union(left.values())
        while rest:
            stop_if_spent(0)
            least = min(len(self._unusual(box)) for box in rest)
            found: list[Box] = []
            for axes in sorted({axes for box in rest if len(axes := self._unusual(box)) == least}):
                region = rest & Region.any_of(self._alone(rest, axes))
                yield Trigger(axes, region, tuple(name for name, own in left.items() if own & region))
                found += region
            rest = rest.minus(found)

    def _unusual(self, box: Box) -> tuple[int, ...]:
        """The axes on which no case of a box is usual."""
        return tuple(number for number in self._free if not box[number] & self.layout.usual[number])

    def _alone(self, region: Region, axes: tuple[int, ...]) -> Iterator[Box]:
        """The cases of a region in which only these axes are unusual, with any unusual values of the others."""
        others = [number for number in self._free if number not in axes]
        home = tuple(
            self.layout.usual[number] if number in others else mask for number, mask in enumerate(self.layout.shown)
        )
        for box in region:
            if self._unusual(box) == axes and (alone := meet(box, home)):
                yield self._widened(alone, others)


def with_thresholds(meaning: Meaning, card: Card) -> Meaning:
    """The meaning with what the card names among the thresholds of its cells, so that a card can end there."""
    extra: list[Conditions] = []
    if card.bands is not None:
        span = meaning.protocol.span
        condition = Condition(card.bands_by, span, span, card.bands)
        extra.append(Conditions({card.bands_by: condition}))
    if any(condition.numbers is not None for condition in card.usual.conditions.values()):
        extra.append(card.usual)
    if not extra:
        return meaning
    whens = (*all_whens(meaning.protocol), *((conditions,) for conditions in extra))
    return Meaning(meaning.protocol, meaning.day, Space(meaning.protocol.factors, whens))
