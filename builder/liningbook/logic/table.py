"""A decision as a complete table of disjoint rows."""

from __future__ import annotations

from dataclasses import dataclass, replace

from liningbook.logic.boxes import Box, bits, inside, meets
from liningbook.logic.budget import stop_if_spent
from liningbook.logic.cover import FREE_STEPS, choose_cut
from liningbook.logic.decide import NOT_NEEDED, Outcome, judge, with_clash
from liningbook.logic.meaning import Meaning
from liningbook.logic.region import Region


@dataclass(frozen=True)
class Row:
    """One set of cases and what the decision comes to in all of them."""

    box: Box
    outcome: Outcome


def outcomes_of(meaning: Meaning, decision: str, within: Region | None = None) -> dict[Outcome, Region]:
    """Every outcome of a decision with its cases (not-needed and gaps included), as few, large, disjoint boxes.

    Together the regions are exactly the cases in scope, or those of them in `within`. Silent rules are not told apart.
    Raises OutOfTime.
    """
    found: dict[Outcome, list[Box]] = {}
    rows = [(index, box) for index in bits(meaning.speaking(decision)) for box in meaning.boxes[index]]
    needed = meaning.needed(decision) if within is None else meaning.needed(decision) & within
    scope = meaning.scope if within is None else meaning.scope & within
    stack = [(box, rows, 0) for box in needed]
    steps = 0
    while stack:
        steps += 1
        if steps > FREE_STEPS:
            stop_if_spent()
        box, candidates, certain = stack.pop()
        partial = []
        for index, other in candidates:
            if certain >> index & 1:
                continue
            if inside(box, other):
                certain |= 1 << index
            elif meets(box, other):
                partial.append((index, other))
        partial = [(index, other) for index, other in partial if not certain >> index & 1]
        if not partial:
            outcome = replace(judge(meaning, decision, certain), silent=())
            found.setdefault(outcome, []).append(box)
            continue
        torn = [other for _, other in partial]
        axis, mask = choose_cut(box, torn)
        for side in (box[axis] & ~mask, box[axis] & mask):
            stack.append(((*box[:axis], side, *box[axis + 1 :]), partial, certain))
    regions = _clashes_apart(meaning, decision, {outcome: Region(tuple(boxes)) for outcome, boxes in found.items()})
    table = {outcome: region.few_large() for outcome, region in regions.items()}
    elsewhere = scope.minus(needed.boxes)
    if elsewhere:
        table[NOT_NEEDED] = elsewhere.few_large()
    return table


def _clashes_apart(meaning: Meaning, decision: str, regions: dict[Outcome, Region]) -> dict[Outcome, Region]:
    """The same regions with the cases cut out in which the decision's layer clashes with another."""
    for number, pairing in enumerate(meaning.protocol.pairings):
        if decision not in pairing.layers:
            continue
        clashing = meaning.layers_clashing(number)[decision]
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
    """The same, told apart by what is answered and not by which rules answer it; sorted by state and first rules."""
    grouped: dict[object, tuple[Outcome, Region]] = {}
    for outcome, region in outcomes_of(meaning, decision, within).items():
        key = (outcome.state, frozenset(c.answer.meaning for c in outcome.candidates))
        first, so_far = grouped.get(key, (outcome, Region()))
        grouped[key] = (first, so_far | region)
    ordered = sorted(grouped.values(), key=lambda pair: (pair[0].state, _rules(pair[0])))
    return [(outcome, region.few_large()) for outcome, region in ordered]


def _rules(outcome: Outcome) -> tuple[str, ...]:
    return tuple(rule for candidate in outcome.candidates for rule in candidate.rules)


def table_of(meaning: Meaning, decision: str) -> tuple[Row, ...]:
    """The rows of the table, sorted by box as a reader would list them."""
    rows = [Row(box, outcome) for outcome, region in outcomes_of(meaning, decision).items() for box in region]
    return tuple(sorted(rows, key=lambda row: [((m & -m), -m.bit_count(), m) for m in row.box]))
