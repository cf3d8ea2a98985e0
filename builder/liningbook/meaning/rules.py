"""The rules in force on a day, compiled: where each holds, and which of them say what.

Rules are numbered in the order of their ids; a set of rules is a whole number, one bit a rule.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from liningbook.model.protocol import Protocol
from liningbook.model.rule import Answer, Rule
from liningbook.space.boxes import Box, bits
from liningbook.space.cells import Space
from liningbook.space.overlap import OwnerIndex
from liningbook.space.region import Region


@dataclass(frozen=True)
class Warned:
    """A rule that says to avoid an agent (or an answer) under a decision, and whether nothing can override it."""

    rule: int
    agent: str
    always: bool


class RulesInForce:
    """The rules that are valid on a day, each with its boxes in the space of cases."""

    def __init__(self, protocol: Protocol, day: date, space: Space | None = None) -> None:
        self.protocol = protocol
        self.day = day
        self.rules: tuple[Rule, ...] = tuple(rule for rule in protocol.rules.values() if rule.holds_on(day))
        self.number: dict[str, int] = {rule.id: index for index, rule in enumerate(self.rules)}
        self.space = space or Space.of(protocol)
        self.boxes: tuple[tuple[Box, ...], ...] = tuple(self.space.boxes(rule.when) for rule in self.rules)
        self.overrides: tuple[int, ...] = tuple(
            sum(1 << index for index in {self.number[name.id] for name in rule.overrides if name.id in self.number})
            for rule in self.rules
        )
        self._answers: dict[str, dict[Answer, int]] = {}
        self._cases_of_rule: dict[int, Region] = {}

    # --- which rules say what ---------------------------------------------------------------------------------------

    def advising(self, decision: str) -> int:
        """The rules that advise on a decision."""
        return self._advising[decision]

    def speaking(self, decision: str) -> int:
        """The rules that say anything under a decision: advise, avoid or never."""
        return self._speaking[decision]

    @cached_property
    def _advising(self) -> dict[str, int]:
        return {
            name: sum(1 << index for index, rule in enumerate(self.rules) if name in rule.advise)
            for name in self.protocol.decisions
        }

    @cached_property
    def _speaking(self) -> dict[str, int]:
        return {
            name: sum(1 << index for index, rule in enumerate(self.rules) if rule.speaks_under(name))
            for name in self.protocol.decisions
        }

    @cached_property
    def overridden_by(self) -> tuple[int, ...]:
        """For each rule the rules that name it in their overrides."""
        found = [0] * len(self.rules)
        for index, losers in enumerate(self.overrides):
            for loser in bits(losers):
                found[loser] |= 1 << index
        return tuple(found)

    def answers(self, decision: str) -> dict[Answer, int]:
        """The distinct answers advised under a decision, each with the rules that advise it, in rule order."""
        if decision not in self._answers:
            found: dict[Answer, int] = {}
            by_meaning: dict[object, Answer] = {}
            for index in bits(self.advising(decision)):
                answer = self.rules[index].advise[decision]
                first = by_meaning.setdefault(answer.meaning, answer)
                found[first] = found.get(first, 0) | 1 << index
            self._answers[decision] = found
        return self._answers[decision]

    def warned(self, decision: str) -> Iterator[Warned]:
        """What rules say to avoid under a decision."""
        for index in bits(self.speaking(decision)):
            yield from self.warned_by(decision, index)

    def warned_by(self, decision: str, index: int) -> Iterator[Warned]:
        """What one rule says to avoid under a decision."""
        rule = self.rules[index]
        for always, table in ((False, rule.avoid), (True, rule.never)):
            for agent in dict.fromkeys(name.id for name in table.get(decision, ())):
                yield Warned(index, agent, always)

    def boxes_of(self, rules: int) -> list[Box]:
        """The boxes of a set of rules."""
        return [box for index in bits(rules) for box in self.boxes[index]]

    def answering(self, decision: str, words: Collection[str]) -> int:
        """The rules whose answer under a decision is one of the words that `needed_when` uses."""
        return sum(rules for answer, rules in self.answers(decision).items() if answer_word(answer) in words)

    # --- where they hold ---------------------------------------------------------------------------------------------

    def cases_of_rule(self, index: int) -> Region:
        """The cases in which a rule holds, in scope or not."""
        if index not in self._cases_of_rule:
            self._cases_of_rule[index] = Region.any_of(self.boxes[index])
        return self._cases_of_rule[index]

    def silencers(self, decision: str, index: int) -> list[Box]:
        """The boxes in which a rule is silenced under a decision: those of rules that advise on it and override it."""
        return self.boxes_of(self.overridden_by[index] & self.advising(decision))

    @cached_property
    def rows(self) -> OwnerIndex:
        """All the boxes of all the rules, indexed."""
        return OwnerIndex(self.space.full, self.boxes)

    def rules_meeting(self, region: Region, among: int) -> list[int]:
        """Those of a set of rules that hold somewhere in a region."""
        found = 0
        for box in region:
            found |= self.rows.owners_meeting(box, among)
        return list(bits(found))

    def partners_left(self, decision: str, alike: bool) -> Iterator[tuple[int, int]]:
        """Rules that both advise on a decision, meet, and do not override one another, in rule order.

        Each rule comes with the set of its partners of a higher number: those that give the same answer if `alike`,
        else those that give another.
        """
        advising = self.advising(decision)
        same_answer = {answer.meaning: rules for answer, rules in self.answers(decision).items()}
        for index in bits(advising):
            same = same_answer[self.rules[index].advise[decision].meaning]
            others = advising & ~((2 << index) - 1) & ~self.overrides[index] & ~self.overridden_by[index]
            others &= same if alike else ~same
            met = 0
            for box in self.boxes[index]:
                met |= self.rows.owners_meeting(box, others)
            if met:
                yield index, met


def answer_word(answer: Answer) -> str:
    """The word by which `needed_when` names an answer: its agent, `none` or the answer; nothing for a judgement."""
    return {"none": "none", "judgement": ""}.get(answer.kind, answer.name)
