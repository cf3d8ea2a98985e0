"""What might mend a finding: small edits of the rules, none of which moves a threshold or weakens a `never`.

Thought of are a boundary sign (`below` or `at_most`), an `overrides`, a narrower `when`, an override taken out: none
picks a clinical value. Nothing is written here, nor tried out.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product

from liningbook.checks.kinds.conflicts import Meeting
from liningbook.checks.kinds.gaps import Gap
from liningbook.checks.kinds.layers import Contraindicated
from liningbook.checks.kinds.overrides import AvoidOverridden, IdleOverride
from liningbook.meaning.meaning import Meaning
from liningbook.model.rule import Rule
from liningbook.notation.interval import Range
from liningbook.sources.documents import Document, Folder
from liningbook.sources.editing import Edit, flipped_sign, narrowed, with_override, without_override
from liningbook.space.boxes import Box, meets, runs
from liningbook.space.cells import Axis


@dataclass(frozen=True)
class Sign:
    """Write a bound with the other sign: `at_most: 0.5 mm`."""

    rule: str
    bound: str


@dataclass(frozen=True)
class Override:
    """Let one rule override another, or no longer if it is `taken_out`."""

    winner: str
    loser: str
    taken_out: bool = False


@dataclass(frozen=True)
class Narrow:
    """Narrow a rule by conditions; `only_warns` if its advice stays and only its warning goes."""

    rule: str
    conditions: tuple[str, ...]
    only_warns: bool = False


Step = Sign | Override | Narrow


@dataclass(frozen=True)
class Proposal:
    """Edits, and what they come to."""

    steps: tuple[Step, ...]
    edits: tuple[Edit, ...]


def for_meeting(proposer: Proposer, fact: Meeting) -> Iterator[Proposal]:
    """Of two rules that meet: one leaves a boundary to the other, overrides it, or is narrowed."""
    first, second = fact.first, fact.second
    for loser, winner in ((first, second), (second, first)):
        yield from proposer.flip_where_they_touch(loser, winner)
    for winner, loser in ((first, second), (second, first)):
        yield from proposer.override(winner, loser)
    for yielding, standing in ((first, second), (second, first)):
        yield from proposer.narrow(yielding, [standing])


def for_gap(proposer: Proposer, fact: Gap) -> Iterator[Proposal]:
    """Of a gap: its single values are taken in by the ranges beside them."""
    yield from proposer.close_boundaries(fact)


def for_contraindicated(proposer: Proposer, fact: Contraindicated) -> Iterator[Proposal]:
    """Of an agent advised against: the adviser overrides the warning, or one of the two is narrowed."""
    warning, advisers = fact.rule, fact.advisers
    if len(advisers) == 1:
        yield from proposer.override(advisers[0], warning)
    for adviser in advisers:
        yield from proposer.narrow(adviser, [warning])
    forbids_always = any(name.id == fact.agent for name in warning.never.get(fact.decision.id, ()))
    if len(advisers) == 1 and not forbids_always:
        yield from proposer.narrow(warning, list(advisers), only_warns=True)


def for_override(proposer: Proposer, fact: AvoidOverridden | IdleOverride) -> Iterator[Proposal]:
    """Of an override: it is taken out."""
    yield from proposer.take_out(fact.winner, fact.loser)


class Proposer:
    """Makes edits of the rules of one protocol."""

    def __init__(self, meaning: Meaning, folder: Folder) -> None:
        self.meaning = meaning
        self.folder = folder

    def override(self, winner: Rule, loser: Rule) -> Iterator[Proposal]:
        """Let one rule override another."""
        edit = with_override(*self._source(winner), loser.id)
        if edit is not None:
            yield Proposal((Override(winner.id, loser.id),), (edit,))

    def take_out(self, winner: Rule, loser: Rule) -> Iterator[Proposal]:
        """Take an override out."""
        edit = without_override(*self._source(winner), loser.id)
        if edit is not None:
            yield Proposal((Override(winner.id, loser.id, taken_out=True),), (edit,))

    def close_boundaries(self, gap: Gap) -> Iterator[Proposal]:
        """One changed sign for each single value that is left out; every way to choose them."""
        axes = self.meaning.space.axes
        choices: list[list[Proposal]] = []
        for box in gap.cases.region:
            for number, axis in enumerate(axes):
                if axis.factor.kind != "quantity" or box[number] == axis.full:
                    continue
                for first, last in runs(box[number]):
                    hole = Range(axis.cells[first].lower, axis.cells[last].upper)
                    if hole.lower.value == hole.upper.value:
                        choices.append(list(self._signs_beside(gap.decision.id, box, number, hole)))
        distinct = [options for n, options in enumerate(choices) if options and options not in choices[:n]]
        if not distinct or len(distinct) > 3:
            return
        for chosen in product(*distinct):
            steps = dict.fromkeys(step for part in chosen for step in part.steps)
            yield Proposal(tuple(steps), tuple(dict.fromkeys(edit for part in chosen for edit in part.edits)))

    def _signs_beside(self, decision: str, box: Box, number: int, hole: Range) -> Iterator[Proposal]:
        meaning = self.meaning
        name = meaning.space.names[number]
        for index, rule in enumerate(meaning.rules):
            if decision not in rule.advise:
                continue
            for conditions, own in zip(rule.when, meaning.boxes[index], strict=True):
                condition = conditions.conditions.get(name)
                others = all(a & b for at, (a, b) in enumerate(zip(own, box, strict=True)) if at != number)
                if condition is None or not others:
                    continue
                for stretch in condition.stretches:
                    if stretch.range.upper.value == hole.lower.value and not stretch.range.upper.closed:
                        yield from self._flip(rule, stretch.span.line, stretch.span.column, "below")
                    if stretch.range.lower.value == hole.upper.value and not stretch.range.lower.closed:
                        yield from self._flip(rule, stretch.span.line, stretch.span.column, "above")

    def _flip(self, rule: Rule, line: int, column: int, key: str) -> Iterator[Proposal]:
        found = flipped_sign(self.folder.rules[rule.id], line, column, key)
        if found is not None:
            edit, value = found
            yield Proposal((Sign(rule.id, f"{edit.text}: {value}"),), (edit,))

    def flip_where_they_touch(self, yielding: Rule, standing: Rule) -> Iterator[Proposal]:
        """Where two rules share only a boundary value of a quantity: leave it to the other one."""
        for conditions in yielding.when:
            for name, condition in conditions.conditions.items():
                for stretch in condition.stretches:
                    for theirs in standing.when:
                        against = theirs.conditions.get(name)
                        for opposite in against.stretches if against else ():
                            mine, their = stretch.range, opposite.range
                            if mine.upper.closed and mine.upper.value == their.lower.value and their.lower.closed:
                                yield from self._flip(yielding, stretch.span.line, stretch.span.column, "at_most")
                            if mine.lower.closed and mine.lower.value == their.upper.value and their.upper.closed:
                                yield from self._flip(yielding, stretch.span.line, stretch.span.column, "at_least")

    def narrow(self, yielding: Rule, standing: list[Rule], only_warns: bool = False) -> Iterator[Proposal]:
        """Leave to the other rule the cases in which both hold, if one factor's condition can say so."""
        meaning = self.meaning
        number = meaning.number[yielding.id]
        edits: list[Edit] = []
        parts: list[str] = []
        for position, own in enumerate(meaning.boxes[number]):
            for other in (box for rule in standing for box in meaning.boxes[meaning.number[rule.id]]):
                if not meets(own, other):
                    continue
                open_axes = [axis for axis, mask in enumerate(own) if mask & ~other[axis]]
                if len(open_axes) != 1:
                    return
                axis = open_axes[0]
                text = flow_text(meaning.space.axes[axis], own[axis] & ~other[axis])
                edit = narrowed(*self._source(yielding), position, meaning.space.names[axis], text)
                if edit is None:
                    return
                edits.append(edit)
                parts.append(f"{meaning.space.names[axis]}: {text}")
        if edits and len({(e.span.line, e.span.column) for e in edits}) == len(edits):
            yield Proposal((Narrow(yielding.id, tuple(parts), only_warns),), tuple(edits))

    def _source(self, rule: Rule) -> tuple[Document, str]:
        document = self.folder.rules[rule.id]
        return document, self.folder.texts[document.file]


def flow_text(axis: Axis, mask: int) -> str:
    """A condition on one factor on one line, as the sources write it."""
    if axis.factor.kind == "quantity":
        found = axis.notation(mask)
        ranges = [f"{{{', '.join(f'{k}: {v}' for k, v in item.items())}}}" for item in _listed(found)]
        return ranges[0] if len(ranges) == 1 else f"[{', '.join(ranges)}]"
    values = _listed(axis.notation(mask))
    left = [value for value in axis.values if value not in values]
    if axis.factor.kind == "choice" and len(left) < len(values):
        return f"{{not: {left[0]}}}" if len(left) == 1 else f"{{not: [{', '.join(left)}]}}"
    return values[0] if len(values) == 1 else f"[{', '.join(values)}]"


def _listed(value: object) -> list:  # type: ignore[type-arg]
    return value if isinstance(value, list) else [value]
