"""Where two versions of a protocol treat cases differently, exactly.

Both versions are compiled on one space: the union of their thresholds. They differ in a case when its scope, or the
state or the answers of a decision, differ; not when only the rules do.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from liningbook.logic.boxes import Box
from liningbook.logic.decide import Outcome
from liningbook.logic.meaning import Meaning
from liningbook.logic.readings import same
from liningbook.logic.region import Region
from liningbook.logic.table import answers_in_pieces
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
    changed = _changed_rules(old, new)
    for decision in new.protocol.decisions:
        within = _cases_in_question(old, new, changed, decision)
        if not within:
            continue
        before, after = _all_outcomes(old, decision, within), _all_outcomes(new, decision, within)
        for first, here in before:
            for second, there in after:
                if not same(first, second) and (region := here & there):
                    yield Change(decision, first, second, region.few_large())


def _all_outcomes(meaning: Meaning, decision: str, within: Region) -> list[tuple[Outcome, Region]]:
    found = answers_in_pieces(meaning, decision, within)
    outside = within.minus(meaning.scope.boxes)
    return [*found, (OUT_OF_SCOPE, outside)] if outside else found


def _cases_in_question(
    old: Meaning, new: Meaning, changed: Sequence[tuple[set[str], list[Box]]], decision: str
) -> Region:
    """Cases outside of which a decision cannot come to anything else: where rules that bear on it were changed."""
    if _frame(old.protocol) != _frame(new.protocol):
        return Region((old.space.full,))
    bearing = _bearing_on(old.protocol, decision) | _bearing_on(new.protocol, decision)
    return Region.any_of(box for speaks, boxes in changed if speaks & bearing for box in boxes)


def _bearing_on(protocol: Protocol, decision: str) -> set[str]:
    """The decisions on whose answers one depends: itself, those it waits for, those of layers it may clash with."""
    found: set[str] = set()
    waiting = [decision, *(layer for entry in protocol.pairings if decision in entry.layers for layer in entry.layers)]
    while waiting:
        name = waiting.pop()
        if name not in found:
            found.add(name)
            needed_when = protocol.decisions[name].needed_when
            waiting += needed_when[:1] if needed_when else ()
    return found


def _changed_rules(old: Meaning, new: Meaning) -> list[tuple[set[str], list[Box]]]:
    """For each rule that was changed, added or taken out: the decisions under which it speaks, and where it holds.

    An override acts only where its rule holds and under the decisions of which it speaks.
    """
    found: list[tuple[set[str], list[Box]]] = []
    theirs = {rule.id: number for number, rule in enumerate(new.rules)}
    for number, rule in enumerate(old.rules):
        other = theirs.pop(rule.id, None)
        if other is None:
            found.append((_decisions(rule), list(old.boxes[number])))
        elif rule is new.rules[other] and old.boxes[number] == new.boxes[other]:
            continue
        elif _said(rule) != _said(new.rules[other]) or set(old.boxes[number]) != set(new.boxes[other]):
            decisions = _decisions(rule) | _decisions(new.rules[other])
            found.append((decisions, [*old.boxes[number], *new.boxes[other]]))
    found += [(_decisions(new.rules[number]), list(new.boxes[number])) for number in theirs.values()]
    return found


def _decisions(rule: Rule) -> set[str]:
    return {*rule.advise, *rule.avoid, *rule.never}


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
