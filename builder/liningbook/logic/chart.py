"""A protocol at one glance: bands of one quantity against the values of one choice, and how other cases depart from it.

The chart stands for one set of values of the remaining factors (the usual ones). What any other case gets is said in
lists that are read from the top; chart and lists together answer every case.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from liningbook.logic.boxes import Box, cell_count, meet, meets, slabs
from liningbook.logic.cells import Space
from liningbook.logic.decide import Outcome
from liningbook.logic.meaning import Meaning
from liningbook.logic.region import Region
from liningbook.logic.table import answers_of

MOST_SEEDS = 8
"""How many parts of what is still to be listed are tried as the start of a line, the largest first."""


@dataclass(frozen=True)
class Layout:
    """Which factor makes the bands, which the columns, and the usual values of the rest (as a box)."""

    band_axis: int
    column_axis: int
    usual: Box


@dataclass(frozen=True)
class Line:
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

    def within(self, decision: str, box: Box) -> list[tuple[Outcome, list[Box]]]:
        """The outcomes that occur in a box, with the part of the box in which each does."""
        found = []
        for outcome, region in self.by_decision[decision]:
            parts = [part for other in region if (part := meet(other, box))]
            if parts:
                found.append((outcome, parts))
        return found


def choose_layout(meaning: Meaning) -> Layout | None:
    """Bands of the quantity and columns of the choice that most rules ask about; usual values of the others.

    The usual value of another factor is the first of its values (`no` for yes-no) that leaves a layer to be decided on.
    Nothing where the protocol has no quantity or no choice.
    """
    space = meaning.space
    used = [0] * len(space.axes)
    for rule in meaning.rules:
        if any(meaning.protocol.decisions[name].is_layer for name in rule.advise):
            for conditions in rule.when:
                for name in conditions.conditions:
                    used[space.index[name]] += 1
    quantities = [n for n, axis in enumerate(space.axes) if axis.factor.kind == "quantity"]
    choices = [n for n, axis in enumerate(space.axes) if axis.factor.kind == "choice"]
    if not quantities or not choices:
        return None
    band = max(quantities, key=lambda n: (used[n], -n))
    column = max(choices, key=lambda n: (used[n], -n))
    return Layout(band, column, _usual(meaning, {band, column}))


def _usual(meaning: Meaning, free: set[int]) -> Box:
    space = meaning.space
    layers = [name for name, decision in meaning.protocol.decisions.items() if decision.is_layer]
    wanted = Region()
    for name in layers:
        wanted = wanted | meaning.needed(name)
    usual = list(space.full)
    for number, axis in enumerate(space.axes):
        if number in free or axis.factor.kind == "quantity":
            continue
        order = [1, 0] if axis.factor.kind == "yes-no" else range(axis.count)
        chosen = next((cell for cell in order if wanted & _one(space.full, number, 1 << cell)), next(iter(order)))
        usual[number] = 1 << chosen
        wanted = wanted & _one(space.full, number, usual[number])
    return tuple(usual)


def _one(full: Box, axis: int, mask: int) -> Region:
    return Region(((*full[:axis], mask, *full[axis + 1 :]),))


def bands(outcomes: Outcomes, layout: Layout) -> list[int]:
    """Masks of the band axis, thin to thick: neighbouring cells with the same advice in every column are one band.

    Cells in which no column is in scope are left out.
    """
    space = outcomes.meaning.space
    columns = [1 << cell for cell in range(space.axes[layout.column_axis].count)]
    found: list[tuple[object, int]] = []
    for cell in range(space.axes[layout.band_axis].count):
        signature = tuple(
            tuple(
                tuple(_key(outcome) for outcome, _ in outcomes.within(decision, cell_box(layout, 1 << cell, column)))
                for decision in outcomes.by_decision
            )
            for column in columns
        )
        if found and found[-1][0] == signature:
            found[-1] = (signature, found[-1][1] | 1 << cell)
        else:
            found.append((signature, 1 << cell))
    return [mask for signature, mask in found if _says_anything(signature)]


def _says_anything(signature: object) -> bool:
    return any(_says_anything(part) for part in signature) if isinstance(signature, tuple) else True


def _key(outcome: Outcome) -> str:
    return repr((outcome.state, sorted(str(c.answer.meaning) for c in outcome.candidates)))


def cell_box(layout: Layout, band: int, column: int) -> Box:
    """The usual cases of one band and one column."""
    box = list(layout.usual)
    box[layout.band_axis], box[layout.column_axis] = band, column
    return tuple(box)


def departures(outcomes: Outcomes, layout: Layout, decision: str, charted: Sequence[int]) -> list[Line]:
    """How one decision departs from the chart, as lines read from the top: the first that fits decides.

    A case in none of the lines follows the chart. A line may cover cases that a line above has dealt with, and cases
    in which the decision is not needed or that are out of scope; it never covers another that follows the chart.
    """
    following, departing = _split(outcomes, layout, decision, charted)
    lines: list[Line] = []
    while any(region for _, region in departing):
        line = _best_line(outcomes.meaning.space, following, departing)
        lines.append(line)
        departing = [(outcome, _less(region, line.box)) for outcome, region in departing]
    return lines


def _split(
    outcomes: Outcomes, layout: Layout, decision: str, charted: Sequence[int]
) -> tuple[list[Box], list[tuple[Outcome, Region]]]:
    """The cases that follow the chart, and for every outcome those that depart."""
    space = outcomes.meaning.space
    shown: dict[str, list[Box]] = {}
    for band in charted:
        for cell in range(space.axes[layout.column_axis].count):
            held = outcomes.within(decision, cell_box(layout, band, 1 << cell))
            if len(held) == 1:
                anywhere = list(space.full)
                anywhere[layout.band_axis], anywhere[layout.column_axis] = band, 1 << cell
                shown.setdefault(_key(held[0][0]), []).append(tuple(anywhere))
    following: list[Box] = []
    departing: list[tuple[Outcome, Region]] = []
    for outcome, region in outcomes.by_decision[decision]:
        if outcome.state == "not-needed":
            continue
        boxes = shown.get(_key(outcome), [])
        following += [part for box in boxes for other in region if (part := meet(box, other))]
        rest = region.minus([*boxes, layout.usual])
        following += (region & Region((layout.usual,))).boxes
        departing.append((outcome, rest))
    return following, departing


def _best_line(space: Space, following: list[Box], departing: list[tuple[Outcome, Region]]) -> Line:
    """The line that deals with the most cases still open; the shorter one if two deal with as many."""
    full = space.full
    best: tuple[tuple[int, int], Line] | None = None
    for number, (outcome, region) in enumerate(departing):
        others = [box for n, (_, other) in enumerate(departing) if n != number for box in other]
        forbidden = following + others
        for wide in _grown(full, region, forbidden):
            box = _narrowed(space, wide, region)
            dealt = sum(cell_count(part) for other in region if (part := meet(other, box)))
            said = sum(1 for mask, whole in zip(box, full, strict=True) if mask != whole)
            if best is None or (dealt, -said) > best[0]:
                best = ((dealt, -said), Line(box, outcome))
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


def _narrowed(space: Space, box: Box, region: Region) -> Box:
    """The box without cells in which no case is open: whole axes stay whole, the others name only what occurs.

    A quantity is left open towards a limit that the box reaches, which reads better (`2 mm or less`).
    """
    used = [0] * len(box)
    for other in region:
        if part := meet(other, box):
            used = [a | b for a, b in zip(used, part, strict=True)]
    return tuple(
        mask if mask == axis.full else _to_limits(mask, cells) if axis.factor.kind == "quantity" else cells
        for mask, cells, axis in zip(box, used, space.axes, strict=True)
    )


def _to_limits(mask: int, cells: int) -> int:
    """The cells, and those of the mask between them and an end of the axis that the mask reaches without a break."""
    low, high = (cells & -cells) - 1, (1 << mask.bit_length()) - (1 << cells.bit_length())
    return cells | (low if low & mask == low else 0) | (high if high & mask == high else 0)


def _less(region: Region, hole: Box) -> Region:
    return Region(tuple(part for box in region for part in (slabs(box, hole) if meets(box, hole) else [box])))
