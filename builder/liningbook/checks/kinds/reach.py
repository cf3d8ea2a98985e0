"""Rules that nobody ever hears."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from liningbook.checks.facts import Unsettled
from liningbook.checks.inquiry import Inquiry
from liningbook.finding import About, Fact
from liningbook.model.rule import Rule
from liningbook.space.boxes import bits
from liningbook.space.budget import OutOfTime, in_force

FOR_A_RULE = 0.1
"""The share of the time left that may go into one rule."""


@dataclass(frozen=True)
class Unreachable(Fact):
    """A rule that is heard in no case, and the rules that override it."""

    rule: Rule
    winners: tuple[Rule, ...]

    def about(self) -> About:
        """The rule, then those that override it."""
        return About(rules=(self.rule.id, *(winner.id for winner in self.winners)))


@dataclass(frozen=True)
class PerhapsUnreachable(Unsettled):
    """Rules of which it could not be said in time whether they are heard in any case."""

    rules: tuple[Rule, ...]

    def about(self) -> About:
        """That it is not complete, and the rules."""
        return About(further={"complete": False, "undecided": [rule.id for rule in self.rules]})


def unreachable(inquiry: Inquiry) -> Iterator[Fact]:
    """A rule is heard in no case: each is out of scope, not needed, or left to a rule that overrides it.

    Either its conditions are not what was meant, or the rule can go.
    """
    meaning = inquiry.meaning
    undecided: list[Rule] = []
    for index, rule in enumerate(meaning.rules):
        try:
            if _is_heard(inquiry, index):
                continue
        except OutOfTime:
            undecided.append(rule)
            continue
        winners = tuple(meaning.rules[other] for other in bits(meaning.overridden_by[index]))
        yield Unreachable(rule.span, rule, winners)
    if undecided:
        yield PerhapsUnreachable(inquiry.protocol.span, inquiry.budget.limit, tuple(undecided))


def _is_heard(inquiry: Inquiry, index: int) -> bool:
    meaning, rule = inquiry.meaning, inquiry.rule(index)
    with in_force().part(FOR_A_RULE):
        return any(meaning.is_ever_heard(decision, index) for decision in rule.advise) or any(
            meaning.is_ever_warned(decision, warned)
            for decision in dict.fromkeys([*rule.avoid, *rule.never])
            for warned in meaning.warned_by(decision, index)
        )
