"""A protocol at one glance: bands of one quantity against the values of one choice, and how other cases depart from it.

The chart stands for one set of values of the remaining factors (the usual ones). What any other case gets is said in
lists that are read from the top; chart and lists together answer every case. A card may show a part only: some columns,
some of the range of the bands; then chart and lists together answer every case of that part.
"""

from __future__ import annotations

from collections.abc import Collection, Hashable, Iterator, Sequence
from dataclasses import dataclass, replace

from liningbook.meaning.decide import Outcome
from liningbook.meaning.meaning import Meaning
from liningbook.meaning.table import answers_of
from liningbook.model.protocol import Card
from liningbook.space.boxes import Box, bits, cell_count, meet, meets, on_axis, slabs
from liningbook.space.cells import Space
from liningbook.space.region import Region

MOST_SEEDS = 8
"""How many parts of what is still to be listed are tried as the start of a line, the largest first."""


@dataclass(frozen=True)
class Layout:
    """Which factor makes the bands, which the columns, and the usual values of the rest (as a box).

    `shown` are all the cases that chart and lists speak of: a part of the bands and of the columns, any value of the
    rest. `columns` are the cells of the column axis in the order in which they are shown.
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
class ListLine:
    """One line of a list read from the top: the cases, and what the decision comes to in all those not named above."""

    box: Box
    outcome: Outcome


class Outcomes:
    """Every decision's outcomes with their cases, told apart by what is answered, not by which rules answer it."""

    def __init__(self, meaning: Meaning) -> None:
        self.meaning = meaning
        self.by_decision: dict[str, list[tuple[Outcome, Region]]] = {
            decision: answers_of(meaning, decision) for decision in meaning.protocol.decisions
        }
        self.lines: dict[tuple[Layout, str, tuple[int, ...]], list[ListLine]] = {}
        """Lists of departures that have been worked out, since a card often has those of the protocol's own chart."""

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
    return _placed(layout, layout.usual, band, column)


def _placed(layout: Layout, box: Box, band: int, column: int) -> Box:
    return on_axis(on_axis(box, layout.band_axis, band), layout.column_axis, column)


def departures(outcomes: Outcomes, layout: Layout, decision: str, charted: Sequence[int]) -> list[ListLine]:
    """How one decision departs from the chart, as lines read from the top: the first that fits decides.

    A case in none of the lines follows the chart. A line may cover cases that a line above has dealt with, and cases
    in which the decision is not needed or that are out of scope; it never covers another that follows the chart.
    """
    key = (layout, decision, tuple(charted))
    if key not in outcomes.lines:
        outcomes.lines[key] = _departures(outcomes, layout, decision, charted)
    return outcomes.lines[key]


def _departures(outcomes: Outcomes, layout: Layout, decision: str, charted: Sequence[int]) -> list[ListLine]:
    following, departing = _split(outcomes, layout, decision, charted)
    lines: list[ListLine] = []
    while any(region for _, region in departing):
        line = _best_line(outcomes.meaning.space, layout.shown, following, departing)
        lines.append(line)
        departing = [(outcome, _less(region, line.box)) for outcome, region in departing]
    return lines


def _split(
    outcomes: Outcomes, layout: Layout, decision: str, charted: Sequence[int]
) -> tuple[list[Box], list[tuple[Outcome, Region]]]:
    """The cases that follow the chart, and for every outcome those that depart."""
    shown: dict[Hashable, list[Box]] = {}
    for band in charted:
        for cell in layout.columns:
            held = outcomes.within(decision, cell_box(layout, band, 1 << cell))
            if len(held) == 1:
                shown.setdefault(held[0][0].said, []).append(_placed(layout, layout.shown, band, 1 << cell))
    following: list[Box] = []
    departing: list[tuple[Outcome, Region]] = []
    for outcome, anything in outcomes.by_decision[decision]:
        if outcome.state == "not-needed":
            continue
        region = Region(tuple(part for box in anything if (part := meet(box, layout.shown))))
        boxes = shown.get(outcome.said, [])
        following += [part for box in boxes for other in region if (part := meet(box, other))]
        rest = region.minus([*boxes, layout.usual])
        following += (region & Region((layout.usual,))).boxes
        departing.append((outcome, rest))
    return following, departing


def _best_line(space: Space, full: Box, following: list[Box], departing: list[tuple[Outcome, Region]]) -> ListLine:
    """The line that deals with the most cases still open; the shorter one if two deal with as many."""
    best: tuple[tuple[int, int], ListLine] | None = None
    for number, (outcome, region) in enumerate(departing):
        others = [box for n, (_, other) in enumerate(departing) if n != number for box in other]
        forbidden = following + others
        for wide in _grown(full, region, forbidden):
            box = _narrowed(space, full, wide, region)
            dealt = sum(cell_count(part) for other in region if (part := meet(other, box)))
            said = sum(1 for mask, whole in zip(box, full, strict=True) if mask != whole)
            if best is None or (dealt, -said) > best[0]:
                best = ((dealt, -said), ListLine(box, outcome))
    assert best is not None
    return best[1]


def _grown(full: Box, region: Region, forbidden: list[Box]) -> Iterator[Box]:
    axes = range(len(full))
    for seed in sorted(region, key=lambda box: (-cell_count(box), box))[:MOST_SEEDS]:
        for order in (axes, reversed(axes)):
            yield _grow_clear(full, seed, forbidden, list(order))


def _grow_clear(full: Box, seed: Box, forbidden: list[Box], order: list[int]) -> Box:
    """The box grown axis by axis as far as no forbidden box is met: first to whole axes, then cell by cell."""
    box = list(seed)
    for whole_only in (True, False):
        for axis in order:
            barred = 0
            for other in forbidden:
                if all(a & b for n, (a, b) in enumerate(zip(box, other, strict=True)) if n != axis):
                    barred |= other[axis]
            free = full[axis] & ~barred
            if free == full[axis] or not whole_only:
                box[axis] = free
    return tuple(box)


def _narrowed(space: Space, full: Box, box: Box, region: Region) -> Box:
    """The box without cells in which no case is open: whole axes stay whole, the others name only what occurs.

    A quantity is left open towards a limit that the box reaches, which reads better (`2 mm or less`).
    """
    used = [0] * len(box)
    for other in region:
        if part := meet(other, box):
            used = [a | b for a, b in zip(used, part, strict=True)]
    return tuple(
        mask if mask == whole else _to_limits(mask, cells) if axis.factor.kind == "quantity" else cells
        for mask, whole, cells, axis in zip(box, full, used, space.axes, strict=True)
    )


def _to_limits(mask: int, cells: int) -> int:
    """The cells, and those of the mask between them and an end of the axis that the mask reaches without a break."""
    low, high = (cells & -cells) - 1, (1 << mask.bit_length()) - (1 << cells.bit_length())
    return cells | (low if low & mask == low else 0) | (high if high & mask == high else 0)


def _less(region: Region, hole: Box) -> Region:
    return Region(tuple(part for box in region for part in (slabs(box, hole) if meets(box, hole) else [box])))
