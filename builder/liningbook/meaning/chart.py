"""A protocol at one glance: bands of one quantity against the values of one choice.

The chart stands for one set of values of the remaining factors (the usual ones). What any other case gets is said by
exceptions (`exceptions.py`); chart and exceptions together answer every case. A card may show a part only: some
columns, some of the range of the bands; then both together answer every case of that part.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace

from liningbook.meaning.decide import Outcome
from liningbook.meaning.meaning import Meaning
from liningbook.meaning.table import answers_of
from liningbook.model.protocol import Card
from liningbook.space.boxes import Box, bits, meet, on_axis
from liningbook.space.region import Region


@dataclass(frozen=True)
class Layout:
    """Which factor makes the bands, which the columns, and the usual values of the rest (as a box).

    `shown` are all the cases that chart and exceptions speak of: a part of the bands and of the columns, any value of
    the rest. `columns` are the cells of the column axis in the order in which they are shown.
    """

    band_axis: int
    column_axis: int
    usual: Box
    shown: Box
    columns: tuple[int, ...]

    def of_column(self, column: int) -> Layout:
        """The layout with one column only, a cell of the column axis."""
        usual, shown = (on_axis(box, self.column_axis, 1 << column) for box in (self.usual, self.shown))
        return replace(self, usual=usual, shown=shown, columns=(column,))


@dataclass(frozen=True)
class Line:
    """A line of the exceptions: what a decision comes to in the cases of the box, but for those decided above.

    It may cover cases in which the decision is not needed or that are out of scope.
    """

    decision: str
    box: Box
    outcome: Outcome


class Outcomes:
    """Every decision's outcomes with their cases, told apart by what is answered, not by which rules answer it."""

    def __init__(self, meaning: Meaning) -> None:
        self.meaning = meaning
        self.by_decision: dict[str, list[tuple[Outcome, Region]]] = {
            decision: answers_of(meaning, decision) for decision in meaning.protocol.decisions
        }
        self.lines: dict[tuple[Layout, str, tuple[int, ...]], list[Line]] = {}
        """Exceptions that have been worked out, since a card often has those of the protocol's own chart."""

    def within(self, decision: str, box: Box) -> list[tuple[Outcome, list[Box]]]:
        """The outcomes that occur in a box, with the part of the box in which each does."""
        found = []
        for outcome, region in self.by_decision[decision]:
            parts = [part for other in region if (part := meet(other, box))]
            if parts:
                found.append((outcome, parts))
        return found


def has_chart(meaning: Meaning) -> bool:
    """Whether the card has a chart, and so whether there is a card."""
    return all(_free(meaning, meaning.protocol.card, kind) for kind in ("quantity", "choice"))


def _free(meaning: Meaning, card: Card, kind: str) -> list[int]:
    """The axes of a kind that can make bands or columns: those of which the card names no usual value."""
    names = [
        name for name, f in meaning.protocol.factors.items() if f.kind == kind and name not in card.usual.conditions
    ]
    return [meaning.space.index[name] for name in names]


def choose_layout(meaning: Meaning, card: Card | None = None) -> Layout | None:
    """Bands of the quantity and columns of the choice that most rules ask about; usual values of the others.

    The usual value of another factor is the first of its values (`no` for yes-no) that leaves a layer to be decided on.
    What a card chooses goes before all that; the thresholds that it names must be thresholds of the space. Nothing
    where the protocol has no quantity or no choice (that has no usual value by the card).
    """
    card = card or Card()
    space = meaning.space
    used = [0] * len(space.axes)
    for rule in meaning.rules:
        if any(meaning.protocol.decisions[name].is_layer for name in rule.advise):
            for conditions in rule.when:
                for name in conditions.conditions:
                    used[space.index[name]] += 1
    quantities, choices = (_free(meaning, card, kind) for kind in ("quantity", "choice"))
    if not quantities or not choices:
        return None
    band = space.index[card.bands_by] if card.bands_by else max(quantities, key=lambda n: (used[n], -n))
    column = space.index[card.columns_by] if card.columns_by else max(choices, key=lambda n: (used[n], -n))
    values = space.axes[column].values
    columns = tuple(values.index(value) for value in card.columns or values)
    shown = list(space.full)
    shown[column] = sum(1 << cell for cell in columns)
    if card.bands is not None:
        shown[band] = space.axes[band].mask_of_numbers(card.bands)
    return Layout(band, column, _usual(meaning, tuple(shown), {band, column}, card), tuple(shown), columns)


def _usual(meaning: Meaning, shown: Box, free: set[int], card: Card) -> Box:
    space = meaning.space
    layers = [name for name, decision in meaning.protocol.decisions.items() if decision.is_layer]
    chosen_box = space.box(card.usual)
    wanted = Region.union(meaning.needed(name) for name in layers)
    wanted = wanted & Region((shown,)) & Region((chosen_box,))
    usual = [mask & named for mask, named in zip(shown, chosen_box, strict=True)]
    for number, axis in enumerate(space.axes):
        if number in free or axis.factor.kind == "quantity" or axis.factor.id in card.usual.conditions:
            continue
        order = [1, 0] if axis.factor.kind == "yes-no" else range(axis.count)
        chosen = next((cell for cell in order if wanted & _one(space.full, number, 1 << cell)), next(iter(order)))
        usual[number] = 1 << chosen
        wanted = wanted & _one(space.full, number, usual[number])
    return tuple(usual)


def _one(full: Box, axis: int, mask: int) -> Region:
    return Region((on_axis(full, axis, mask),))


def bands(outcomes: Outcomes, layout: Layout, among: Collection[str] | None = None) -> list[int]:
    """Masks of the band axis, thin to thick: neighbouring cells with the same advice in every column are one band.

    Cells in which no column is in scope are left out. Advice on decisions not `among` those given makes no difference.
    """
    decisions = [name for name in outcomes.by_decision if among is None or name in among]
    columns = [1 << cell for cell in layout.columns]
    found: list[tuple[object, int]] = []
    for cell in bits(layout.shown[layout.band_axis]):
        signature = tuple(
            tuple(
                tuple(outcome.said for outcome, _ in outcomes.within(decision, cell_box(layout, 1 << cell, column)))
                for decision in decisions
            )
            for column in columns
        )
        if found and found[-1][0] == signature and found[-1][1] >> (cell - 1) & 1:
            found[-1] = (signature, found[-1][1] | 1 << cell)
        else:
            found.append((signature, 1 << cell))
    return [mask for signature, mask in found if _says_anything(signature)]


def _says_anything(signature: object) -> bool:
    return any(_says_anything(part) for part in signature) if isinstance(signature, tuple) else True


def cell_box(layout: Layout, band: int, column: int) -> Box:
    """The usual cases of one band and one column."""
    return placed(layout, layout.usual, band, column)


def placed(layout: Layout, box: Box, band: int, column: int) -> Box:
    """A box of cases narrowed to one band and one column."""
    return on_axis(on_axis(box, layout.band_axis, band), layout.column_axis, column)
