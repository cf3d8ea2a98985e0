"""A decision as a complete table of disjoint rows."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from liningbook.meaning.decide import NOT_NEEDED, Outcome, judge, with_clash
from liningbook.meaning.meaning import Meaning
from liningbook.space.boxes import Box, inside, meets, on_axis, reading_order
from liningbook.space.budget import OutOfTime, in_force
from liningbook.space.cover import FREE_STEPS, choose_cut
from liningbook.space.region import Region


@dataclass(frozen=True)
class TableRow:
    """One set of cases and what the decision comes to in all of them."""

    box: Box
    outcome: Outcome


def outcomes_of(meaning: Meaning, decision: str, within: Region | None = None) -> dict[Outcome, Region]:
    """Every outcome of a decision with its cases (not-needed and gaps included), as few, large, disjoint boxes.

    Together the regions are exactly the cases in scope, or those of them in `within`. Silent rules are not told apart.
    Raises OutOfTime.
    """
    return {outcome: region.few_large() for outcome, region in ragged_outcomes(meaning, decision, within).items()}


def ragged_outcomes(meaning: Meaning, decision: str, within: Region | None) -> dict[Outcome, Region]:
    """As `outcomes_of`, the boxes as they come: many and small, but soon there."""
    needed, scope = meaning.needed(decision), meaning.scope
    if within is not None:
        needed, scope = needed & within, scope & within
    found: dict[Outcome, list[Box]] = {}
    judged: dict[int, Outcome] = {}
    for box, holding in _cells_alike(meaning, decision, needed):
        if holding not in judged:
            judged[holding] = replace(judge(meaning, decision, holding), silent=())
        found.setdefault(judged[holding], []).append(box)
    regions = _clashes_apart(meaning, decision, {outcome: Region(tuple(boxes)) for outcome, boxes in found.items()})
    elsewhere = scope.minus(needed.boxes)
    if elsewhere:
        regions[NOT_NEEDED] = elsewhere
    return regions


def _cells_alike(meaning: Meaning, decision: str, region: Region) -> Iterator[tuple[Box, int]]:
    """A region in disjoint boxes, with the rules that speak under the decision and hold in all of the box.

    The others hold in none of it.
    """
    speaking = meaning.speaking(decision)
    stack: list[tuple[Box, list[int], int]] = [
        (box, meaning.rules_meeting(Region((box,)), speaking), 0) for box in region
    ]
    budget = in_force()
    steps = 0
    while stack:
        steps += 1
        box, rules, holding = stack.pop()
        budget.spend(len(box) * len(rules))
        if steps > FREE_STEPS and budget.is_spent:
            raise OutOfTime
        partial: list[int] = []
        torn: list[Box] = []
        for index in rules:
            met = [other for other in meaning.boxes[index] if meets(box, other)]
            if any(inside(box, other) for other in met):
                holding |= 1 << index
            elif met:
                partial.append(index)
                torn += met
        if not partial:
            yield box, holding
            continue
        axis, mask = choose_cut(box, torn)
        for side in (box[axis] & ~mask, box[axis] & mask):
            stack.append((on_axis(box, axis, side), partial, holding))


def _clashes_apart(meaning: Meaning, decision: str, regions: dict[Outcome, Region]) -> dict[Outcome, Region]:
    """The regions with the cases cut out in which the decision's layer clashes with another."""
    for number, pairing in enumerate(meaning.protocol.pairings):
        if decision not in pairing.layers:
            continue
        clashing = meaning.clashes.by_layer(number)[decision]
        if not clashing:
            continue
        apart: dict[Outcome, Region] = {}
        for outcome, region in regions.items():
            broken = with_clash(outcome, number)
            for part, marked in ((region & clashing, broken), (region.minus(clashing.boxes), outcome)):
                if part:
                    apart[marked] = apart.get(marked, Region()) | part
        regions = apart
    return regions


def answers_of(meaning: Meaning, decision: str, within: Region | None = None) -> list[tuple[Outcome, Region]]:
    """Every answer with its cases, whichever rules give it, as few, large, disjoint boxes; by state and first rules."""
    return [
        (parts[0][0], Region(tuple(box for _, region in parts for box in region)).few_large())
        for parts in answers_in_parts(meaning, decision, within)
    ]


def answers_in_parts(
    meaning: Meaning, decision: str, within: Region | None = None
) -> list[list[tuple[Outcome, Region]]]:
    """Every answer with the outcomes that give it: those that differ in no more than which rules give it."""
    grouped: dict[object, list[tuple[Outcome, Region]]] = {}
    for outcome, region in ragged_outcomes(meaning, decision, within).items():
        grouped.setdefault(outcome.said, []).append((outcome, region))
    return sorted(grouped.values(), key=lambda parts: (parts[0][0].state, _rules(parts[0][0])))


def _rules(outcome: Outcome) -> tuple[str, ...]:
    return tuple(rule for candidate in outcome.candidates for rule in candidate.rules)


def table_of(meaning: Meaning, decision: str) -> tuple[TableRow, ...]:
    """The rows of the table, sorted by box as a reader would list them."""
    rows = [TableRow(box, outcome) for outcome, region in outcomes_of(meaning, decision).items() for box in region]
    return tuple(sorted(rows, key=lambda row: reading_order(row.box)))
