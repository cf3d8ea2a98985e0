"""Where two versions of a protocol treat cases differently, exactly.

Both versions are compiled on one space: the union of their thresholds. They differ in a case when its scope, or the
state or the answers of a decision, differ; not when only the rules do.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from liningbook.logic.boxes import Box
from liningbook.logic.decide import Outcome
from liningbook.logic.meaning import Meaning
from liningbook.logic.readings import same
from liningbook.logic.region import Region
from liningbook.logic.table import answers_of
from liningbook.model.protocol import Protocol, Rule

OUT_OF_SCOPE = Outcome("out-of-scope")
"""Stands for a case that a version does not cover."""


@dataclass(frozen=True)
class Change:
    """Cases in which a decision came to `before` in the old version and comes to `after` in the new one."""

    decision: str
    before: Outcome
    after: Outcome
    region: Region


def changes(old: Meaning, new: Meaning) -> Iterator[Change]:
    """Every change, decision by decision; both meanings must share one space and the same decisions."""
    within = changed_cases(old, new)
    if not within:
        return
    for decision in new.protocol.decisions:
        before, after = _all_outcomes(old, decision, within), _all_outcomes(new, decision, within)
        for first, here in before:
            for second, there in after:
                if not same(first, second) and (region := here & there):
                    yield Change(decision, first, second, region.few_large())


def _all_outcomes(meaning: Meaning, decision: str, within: Region) -> list[tuple[Outcome, Region]]:
    found = answers_of(meaning, decision, within)
    outside = within.minus(meaning.scope.boxes)
    return [*found, (OUT_OF_SCOPE, outside)] if outside else found


def changed_cases(old: Meaning, new: Meaning) -> Region:
    """Cases outside of which nothing can differ: where a rule that was changed, added or taken out holds.

    An override acts only where its rule holds, so it is counted with that rule.
    """
    if _frame(old.protocol) != _frame(new.protocol):
        return Region((old.space.full,))
    boxes: list[Box] = []
    theirs = {rule.id: number for number, rule in enumerate(new.rules)}
    for number, rule in enumerate(old.rules):
        other = theirs.pop(rule.id, None)
        if other is None:
            boxes += old.boxes[number]
        elif _said(rule) != _said(new.rules[other]) or set(old.boxes[number]) != set(new.boxes[other]):
            boxes += [*old.boxes[number], *new.boxes[other]]
    for number in theirs.values():
        boxes += new.boxes[number]
    return Region.any_of(boxes)


def _said(rule: Rule) -> object:
    """What a rule says, apart from where it holds."""
    advise = {decision: answer.meaning for decision, answer in rule.advise.items()}
    avoid = {decision: {name.id for name in names} for decision, names in rule.avoid.items()}
    never = {decision: {name.id for name in names} for decision, names in rule.never.items()}
    return (advise, avoid, never, {name.id for name in rule.overrides})


def _frame(protocol: Protocol) -> object:
    """What else decides about cases: exclusions and what has to be decided when."""
    excluded = [
        [{n: (c.numbers, c.values) for n, c in conditions.conditions.items()} for conditions in entry.when]
        for entry in protocol.excluded
    ]
    decisions = [(d.id, d.layer, tuple(d.answers), d.needed_when) for d in protocol.decisions.values()]
    factors = [(f.id, f.kind, tuple(f.values), f.limits, f.step) for f in protocol.factors.values()]
    return (excluded, decisions, factors)
