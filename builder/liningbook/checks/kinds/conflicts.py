"""Rules that meet: different answers for one case, or the same answer twice."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from liningbook.checks.facts import CaseFact
from liningbook.checks.inquiry import Inquiry
from liningbook.finding import About, Fact, Span
from liningbook.model.protocol import Protocol
from liningbook.model.rule import Decision, Rule
from liningbook.space.boxes import bits
from liningbook.space.budget import Limit, in_force
from liningbook.space.search import Remainder

ALWAYS_LISTED = 200
"""So many pairs of rules are told one by one however late it is."""

FOR_LISTING = 0.5
"""The share of the time left that may go into the pairs under one decision."""

STEPS_OF_A_PAIR = 400
"""The steps that it takes to tell one pair, so that of rules that all meet some ten thousand pairs are told."""

FOR_A_PAIR = 0.1
"""The share of the time left that may go into one pair."""


@dataclass(frozen=True)
class Meeting(CaseFact):
    """Two rules whose advice on a decision is left in one case; each place is the condition that lets the cases in."""

    other: Span
    protocol: Protocol = field(repr=False)
    decision: Decision
    first: Rule
    second: Rule

    def about(self) -> About:
        """The decision and both rules."""
        return About(self.decision.id, (self.first.id, self.second.id))


class Conflict(Meeting):
    """Their answers are different."""


class Duplicate(Meeting):
    """Their answers are the same."""


@dataclass(frozen=True)
class NotListed(Fact):
    """How many further pairs of rules meet; they were not looked at one by one."""

    decision: Decision
    alike: bool
    pairs: int
    limit: Limit

    def about(self) -> About:
        """The decision, and how many pairs."""
        return About(self.decision.id, further={"complete": False, "pairs": self.pairs})


def conflict(inquiry: Inquiry) -> Iterator[Fact]:
    """Two rules give different answers for the same case, and neither is silenced.

    Whoever looks the case up finds two answers and cannot know which one is meant. Change where one of the rules
    applies, or say in one of them that it `overrides` the other.
    """
    for decision in inquiry.protocol.decisions.values():
        yield from _pairs(inquiry, decision, Conflict)


def duplicate(inquiry: Inquiry) -> Iterator[Fact]:
    """Two rules give the same answer for the same case.

    No case is treated wrongly, but whoever changes one of the rules later must think of the other.
    """
    for decision in inquiry.protocol.decisions.values():
        yield from _pairs(inquiry, decision, Duplicate)


def _pairs(inquiry: Inquiry, decision: Decision, sort: type[Meeting]) -> Iterator[Fact]:
    """Each pair of rules that is left in a case; if the time is up, how many more pairs there are."""
    time = in_force().part(FOR_LISTING)
    alike = sort is Duplicate
    rows = inquiry.meaning.partners_left(decision.id, alike)
    listed = 0
    for first, partners in rows:
        for second in bits(partners):
            if listed >= ALWAYS_LISTED and time.is_spent:
                more = (partners >> second).bit_count() + sum(others.bit_count() for _, others in rows)
                yield NotListed(decision.span, decision, alike, more, inquiry.budget.limit)
                return
            left = left_both(inquiry, decision, first, second)
            if left.boxes or not left.is_complete:
                listed += 1
                time.spend(STEPS_OF_A_PAIR)
                cases, one, two = inquiry.cases_left(left), inquiry.rule(first), inquiry.rule(second)
                place, other = inquiry.place_of(one, cases.region), inquiry.place_of(two, cases.region)
                yield sort(place, cases, other, inquiry.protocol, decision, one, two)


def left_both(inquiry: Inquiry, decision: Decision, first: int, second: int) -> Remainder:
    """The cases in which the decision is needed and the advice of both rules is left."""
    meaning = inquiry.meaning
    held = meaning.cases_both(decision.id, first, second)
    return inquiry.search(held, meaning.silencing_either(decision.id, first, second), FOR_A_PAIR)
