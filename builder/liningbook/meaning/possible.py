"""What a protocol can come to in a case of which only a part is known.

Such a case is a box, and its completions are the cases of the box. Everything is exact: it is read off tables of
disjoint rows that together hold just the completions in scope.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product
from typing import TypeVar

from liningbook.meaning.decide import NOT_NEEDED, Advice, Candidate, Outcome, decide, placing_order
from liningbook.meaning.layers import Threat, threats
from liningbook.meaning.meaning import Meaning
from liningbook.meaning.table import TableRow, ragged_outcomes
from liningbook.model.protocol import Exclusion
from liningbook.space.boxes import Box, bits, meet
from liningbook.space.cover import is_covered
from liningbook.space.overlap import Join
from liningbook.space.region import Region

Thing = TypeVar("Thing")


@dataclass(frozen=True)
class Way:
    """One thing that a decision can come to: everything that is said alike, whichever rules say so.

    Of the outcomes said alike `outcome` is the one with the least rules. `region` holds the completions.
    """

    outcome: Outcome
    shared: Outcome
    """`outcome` with only those rules, warnings and broken entries that it has in every completion."""
    region: Region


@dataclass(frozen=True)
class Outlook:
    """What is possible in a box: whether it is in scope (nothing: some completions are), and each decision's ways."""

    box: Box
    in_scope: bool | None
    ways: Mapping[str, tuple[Way, ...]]

    @property
    def settled(self) -> dict[str, Way]:
        """The decisions that come to one thing in every completion in scope."""
        return {name: ways[0] for name, ways in self.ways.items() if len(ways) == 1}

    @property
    def open(self) -> dict[str, tuple[Way, ...]]:
        """The decisions that can come to several things."""
        return {name: ways for name, ways in self.ways.items() if len(ways) > 1}

    @property
    def scope(self) -> Region:
        """The completions in scope."""
        return Region(tuple(box for way in next(iter(self.ways.values()), ()) for box in way.region))


class Possible:
    """The tables of all decisions, worked out when first asked for. `within` says that only its cases will be."""

    def __init__(self, meaning: Meaning, within: Box | None = None) -> None:
        self.meaning = meaning
        self._within = None if within is None else Region((within,))
        self._tables: dict[str, tuple[Sequence[TableRow], Join]] = {}

    def outlook(self, box: Box) -> Outlook:
        """What is possible in a box."""
        excluded = [meeting for entry in self.meaning.need.excluded if (meeting := meet(entry, box)) is not None]
        if is_covered(box, excluded):
            return Outlook(box, False, {})
        ways = {name: self._ways(name, box) for name in self.meaning.protocol.decisions}
        return Outlook(box, None if excluded else True, ways)

    def _ways(self, decision: str, box: Box) -> tuple[Way, ...]:
        alike: dict[Hashable, dict[Outcome, list[Box]]] = {}
        rows, join = self._table(decision)
        for number in bits(join.meeting(box)):
            outcome = rows[number].outcome
            cases = alike.setdefault(outcome.said, {}).setdefault(outcome, [])
            if (common := meet(rows[number].box, box)) is not None:
                cases.append(common)
        ways = [_way(outcomes) for outcomes in alike.values()]
        return tuple(sorted(ways, key=lambda way: (way.outcome.state, _rules(way.outcome))))

    def _table(self, decision: str) -> tuple[Sequence[TableRow], Join]:
        if decision not in self._tables:
            found = ragged_outcomes(self.meaning, decision, self._within)
            rows = [TableRow(box, outcome) for outcome, region in found.items() for box in region]
            self._tables[decision] = (rows, Join(self.meaning.space.full, [row.box for row in rows]))
        return self._tables[decision]


def _way(outcomes: Mapping[Outcome, list[Box]]) -> Way:
    first = min(outcomes, key=_rules)
    candidates = []
    for candidate in first.candidates:
        own = [_of_answer(other, candidate.answer.meaning).rules for other in outcomes]
        candidates.append(replace(candidate, rules=_in_all(candidate.rules, own)))
    shared = replace(
        first,
        candidates=tuple(candidates),
        warnings=_in_all(first.warnings, [other.warnings for other in outcomes]),
        clashes=_in_all(first.clashes, [other.clashes for other in outcomes]),
    )
    return Way(first, shared, Region(tuple(box for boxes in outcomes.values() for box in boxes)))


def _rules(outcome: Outcome) -> tuple[tuple[str, ...], ...]:
    return tuple(candidate.rules for candidate in outcome.candidates)


def _of_answer(outcome: Outcome, meaning: Hashable) -> Candidate:
    return next(candidate for candidate in outcome.candidates if candidate.answer.meaning == meaning)


def _in_all(items: tuple[Thing, ...], lists: Sequence[tuple[Thing, ...]]) -> tuple[Thing, ...]:
    return tuple(item for item in items if all(item in other for other in lists))


# --- what holds in every completion -----------------------------------------------------------------------------------


def advice_of(meaning: Meaning, outlook: Outlook) -> Advice:
    """The advice that holds in every completion in scope: settled decisions, and the order if it is always the same."""
    if outlook.in_scope is False:
        return Advice({}, (), _reason(meaning, outlook.box))
    outcomes = {name: replace(way.shared, silent=_silent(meaning, name, way)) for name, way in outlook.settled.items()}
    return Advice(outcomes, common_order(outlook) or ())


def _reason(meaning: Meaning, box: Box) -> Exclusion:
    """Why no completion is in scope: the exclusion that holds them all, else those that do so together."""
    entries = []
    for entry in meaning.protocol.excluded:
        boxes = meaning.space.boxes(entry.when)
        if is_covered(box, boxes):
            return entry
        if any(meet(box, other) for other in boxes):
            entries.append(entry)
    because, instead = (
        " ".join(dict.fromkeys(filter(None, texts)))
        for texts in ([entry.because for entry in entries], [entry.instead for entry in entries])
    )
    return replace(entries[0], because=because, instead=instead)


def _silent(meaning: Meaning, decision: str, way: Way) -> tuple[str, ...]:
    """The rules that are silent under a decision in every completion."""
    some = decide(meaning, _some_case(way.region)).outcomes[decision].silent
    return tuple(
        rule
        for rule in some
        if way.region.is_within(meaning.boxes[meaning.number[rule]])
        and way.region.is_within(meaning.silencers(decision, meaning.number[rule]))
    )


def _some_case(region: Region) -> Box:
    return tuple(mask & -mask for mask in region.boxes[0])


def common_order(outlook: Outlook) -> tuple[str, ...] | None:
    """The layers that are settled and placed, in order; nothing where not every completion orders them alike."""
    settled = {name: way.outcome for name, way in outlook.settled.items()}
    orders = {
        tuple(name for name in placing_order(outcomes) if name in settled)
        for outcomes in _together(outlook, dict.fromkeys(outlook.ways, NOT_NEEDED) | settled)
    }
    return orders.pop() if len(orders) == 1 else None


def _together(outlook: Outlook, known: dict[str, Outcome]) -> Iterator[dict[str, Outcome]]:
    """What layers come to together in some completion, as far as it can move the order of those that are settled."""
    answers = {name: [way.outcome.answer for way in ways] for name, ways in outlook.ways.items()}
    wishes = [(name, a) for name, some in answers.items() for a in some if a is not None and (a.before or a.after)]
    moving = {other for name, a in wishes for other in (name, a.before, a.after)} & outlook.open.keys()
    for chosen in product(*(outlook.open[name] for name in outlook.ways if name in moving)):
        common = Region((outlook.box,))
        for way in chosen:
            common = common & way.region
        if common:
            names = [name for name in outlook.ways if name in moving]
            yield known | {name: way.outcome for name, way in zip(names, chosen, strict=True)}


def common_threats(meaning: Meaning, outlook: Outlook, advice: Advice) -> tuple[Threat, ...] | None:
    """The irritants and what stops them, where that is the same in every completion in scope; else nothing."""
    decisions = meaning.protocol.decisions
    if any(decisions[name].is_layer for name in outlook.open) or common_order(outlook) is None:
        return None
    scope = outlook.scope
    for entry in (*meaning.protocol.sources, *meaning.protocol.barriers):
        held = Region.any_of(meaning.space.boxes(entry.when))
        if (scope & held) and not scope.is_within(held.boxes):
            return None
    return threats(meaning, _some_case(scope), advice)
