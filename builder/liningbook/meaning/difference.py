"""Where two versions of a protocol treat cases differently, exactly.

Both versions are compiled on one space: the union of their thresholds. They differ in a case when its scope, or the
state or the answers of a decision, differ; not when only the rules do.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from liningbook.meaning.decide import NOT_NEEDED, Outcome
from liningbook.meaning.meaning import Meaning
from liningbook.meaning.table import answers_in_parts
from liningbook.model.protocol import Pairing, Protocol
from liningbook.model.rule import Rule
from liningbook.space.boxes import Box, bits, hull, meet
from liningbook.space.overlap import Join
from liningbook.space.region import Region

OUT_OF_SCOPE = Outcome("out-of-scope")
"""Stands for a case that a version does not cover."""


Parts = list[tuple[Outcome, Region]]


@dataclass(frozen=True)
class Part:
    """Those cases of a change in which the same rules give the answers; the boxes of its region are as they come."""

    before: Outcome
    after: Outcome
    region: Region


@dataclass(frozen=True)
class Change:
    """Cases in which a decision came to something in the old version and comes to something else in the new one.

    In `before` and `after` an answer has all the rules that give it anywhere in the region; `parts` tell them apart.
    """

    decision: str
    before: Outcome
    after: Outcome
    region: Region
    parts: tuple[Part, ...] = ()


def changes(old: Meaning, new: Meaning) -> Iterator[Change]:
    """Every change, decision by decision; both meanings must share one space.

    A decision that a version does not know is not needed in any of its cases.
    """
    question = _Question(old, new)
    for decision in dict.fromkeys([*new.protocol.decisions, *old.protocol.decisions]):
        within = question.cases(decision)
        if not within:
            continue
        yield from _changes_of(decision, _all_outcomes(old, decision, within), _all_outcomes(new, decision, within))


def _changes_of(decision: str, before: list[Parts], after: list[Parts]) -> Iterator[Change]:
    """The changes of a decision; `before` and `after` part the same cases by what it comes to."""
    grouped: dict[tuple[int, int], list[Part]] = {}
    for (group, row, other, column), boxes in sorted(_meeting(before, after).items()):
        part = Part(before[group][row][0], after[other][column][0], Region(tuple(boxes)))
        grouped.setdefault((group, other), []).append(part)
    for parts in grouped.values():
        parts.sort(key=_rules_of)
        whole = Region(tuple(box for part in parts for box in part.region)).few_large()
        if len(parts) == 1:  # the work is not done twice
            parts = [replace(parts[0], region=whole)]
        first, second = _joined(part.before for part in parts), _joined(part.after for part in parts)
        yield Change(decision, first, second, whole, tuple(parts))


def _rules_of(part: Part) -> list[tuple[str, ...]]:
    return [candidate.rules for outcome in (part.before, part.after) for candidate in outcome.candidates]


def _meeting(before: list[Parts], after: list[Parts]) -> dict[tuple[int, int, int, int], list[Box]]:
    """What parts have in common where the answer is not the same: by number of group and part before, and after.

    One index over all the boxes of the one side is asked for each box of the other.
    """
    theirs = [
        (other, column, box)
        for other, parts in enumerate(after)
        for column, (_, region) in enumerate(parts)
        for box in region
    ]
    found: dict[tuple[int, int, int, int], list[Box]] = {}
    if not theirs:
        return found
    boxes = [box for *_, box in theirs]
    whole = hull(boxes)
    index = Join(whole, boxes)
    for group, ours in enumerate(before):
        alike = {other for other, parts in enumerate(after) if ours[0][0].said == parts[0][0].said}
        among = sum(1 << number for number, (other, _, _) in enumerate(theirs) if other not in alike)
        for row, (_, region) in enumerate(ours):
            for box in region:
                inside = meet(box, whole)
                for number in bits(index.meeting(inside, among)) if inside else ():
                    other, column, another = theirs[number]
                    if common := meet(box, another):
                        found.setdefault((group, row, other, column), []).append(common)
    return found


def _joined(outcomes: Iterable[Outcome]) -> Outcome:
    """Outcomes with the same answers as one: each answer with all the rules that give it."""
    several = list(dict.fromkeys(outcomes))
    first = several[0]
    if len(several) == 1:
        return first
    rules: dict[object, dict[str, None]] = {}
    for outcome in several:
        for candidate in outcome.candidates:
            rules.setdefault(candidate.answer.meaning, {}).update(dict.fromkeys(candidate.rules))
    return replace(
        first,
        candidates=tuple(replace(c, rules=tuple(sorted(rules[c.answer.meaning]))) for c in first.candidates),
        warnings=tuple(sorted({warning for outcome in several for warning in outcome.warnings})),
        clashes=tuple(sorted({number for outcome in several for number in outcome.clashes})),
    )


def _all_outcomes(meaning: Meaning, decision: str, within: Region) -> list[Parts]:
    outside = within.minus(meaning.scope.boxes)
    if decision in meaning.protocol.decisions:
        found = answers_in_parts(meaning, decision, within)
    else:
        inside = within & meaning.scope
        found = [[(NOT_NEEDED, inside)]] if inside else []
    return [*found, [(OUT_OF_SCOPE, outside)]] if outside else found


class _Question:
    """Cases outside of which a decision cannot come to anything else: where what bears on it was changed."""

    def __init__(self, old: Meaning, new: Meaning) -> None:
        self.old, self.new = old, new
        self.rules = _changed_rules(old, new)
        self.scope = _scope_changed(old, new)
        self.pairings = [*_pairings_only_in(old, new), *_pairings_only_in(new, old)]

    def cases(self, decision: str) -> Region:
        """The cases in question for one decision."""
        old, new = self.old.protocol, self.new.protocol
        bearing = _bearing_on(old, decision) | _bearing_on(new, decision)
        if any(_needed(old, name) != _needed(new, name) for name in bearing):
            return Region((self.old.space.full,))
        boxes = list(self.scope.boxes)
        boxes += [box for speaks, held in self.rules if speaks & bearing for box in held]
        boxes += [box for layers, held in self.pairings if decision in layers for box in held]
        return Region.any_of(boxes)


def _needed(protocol: Protocol, name: str) -> object:
    """When a decision is needed, and whether it is one about a layer; nothing for one that there is not."""
    decision = protocol.decisions.get(name)
    return decision and (decision.is_layer, decision.needed_when)


def _scope_changed(old: Meaning, new: Meaning) -> Region:
    """The cases that one version covers and the other does not."""
    first = [box for entry in old.protocol.excluded for box in old.space.boxes(entry.when)]
    second = [box for entry in new.protocol.excluded for box in new.space.boxes(entry.when)]
    if set(first) == set(second):
        return Region()
    return Region.any_of((*Region.any_of(first).minus(second), *Region.any_of(second).minus(first)))


def _pairings_only_in(one: Meaning, other: Meaning) -> list[tuple[tuple[str, ...], list[Box]]]:
    """The layers and the cases of the entries of `together` that the other version has not."""
    theirs = {_paired(other, entry) for entry in other.protocol.pairings}
    return [
        (entry.layers, list(one.space.boxes(entry.when)))
        for entry in one.protocol.pairings
        if _paired(one, entry) not in theirs
    ]


def _paired(meaning: Meaning, entry: Pairing) -> object:
    tables = (entry.having, entry.require, entry.forbid)
    named = tuple(frozenset((layer, frozenset(agents)) for layer, agents in table.items()) for table in tables)
    return (*named, frozenset(meaning.space.boxes(entry.when)))


def _bearing_on(protocol: Protocol, decision: str) -> set[str]:
    """The decisions on whose answers one depends: itself, those it waits for, those of layers it may clash with."""
    found: set[str] = set()
    waiting = [decision, *(layer for entry in protocol.pairings if decision in entry.layers for layer in entry.layers)]
    while waiting:
        name = waiting.pop()
        if name not in found and name in protocol.decisions:
            found.add(name)
            needed_when = protocol.decisions[name].needed_when
            waiting += needed_when[:1] if needed_when else ()
    return found | {decision}


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
