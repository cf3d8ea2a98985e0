"""What changes on a coming day without anybody changing the protocol: rules start and end (`valid`)."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import date

from liningbook.checks.facts import CaseFact
from liningbook.checks.inquiry import Inquiry
from liningbook.checks.kinds.validity import change_days
from liningbook.checks.kinds.vignettes import VignetteFails, failing
from liningbook.finding import About, Fact
from liningbook.meaning.decide import Outcome
from liningbook.meaning.difference import changes
from liningbook.model.protocol import Protocol
from liningbook.model.rule import Decision, Rule
from liningbook.space.boxes import Box
from liningbook.space.budget import OutOfTime, in_force
from liningbook.space.region import Region


@dataclass(frozen=True)
class AdvisedOtherwise(CaseFact):
    """Cases in which a decision comes to something else than on the day before; what it came and comes to, in turn.

    `starting` and `ending` are the rules that apply from that day on, or no longer.
    """

    protocol: Protocol = field(repr=False)
    decision: Decision
    day: date
    turns: tuple[tuple[Outcome, Outcome], ...]
    starting: tuple[Rule, ...]
    ending: tuple[Rule, ...]

    def about(self) -> About:
        """The decision, the rules that start or end, and the day."""
        return About(self.decision.id, tuple(rule.id for rule in (*self.starting, *self.ending)), on=self.day)

    def blamed(self) -> tuple[str, ...]:
        """The day: all that it brings has one cause."""
        return (self.day.isoformat(),)


@dataclass(frozen=True)
class FailsThen(Fact):
    """A vignette that gets the advice it expects until a day, and no longer from then on."""

    fact: VignetteFails
    day: date

    def about(self) -> About:
        """What the vignette itself is about, with the day."""
        return replace(self.fact.about(), on=self.day)


def coming(inquiry: Inquiry) -> Iterator[Fact]:
    """From a coming day on the same sources say something else: a rule starts or ends (`valid`), a law's day, say.

    For every such day up to the review, and for each decision, the cases in which it comes to something else than on
    the day before; and the vignettes that get the advice they expect until then and no longer afterwards. Print anew
    for that day, and tell the team. What is an error from that day on is reported as one as well, with its day; cases
    that are left without an answer because a rule ends are told by `expiring` alone.
    """
    before = inquiry
    known = _failing(inquiry)
    for day in change_days(inquiry):
        if in_force().is_spent:
            raise OutOfTime
        now = inquiry.on(day)
        yield from _other_advice(before, now)
        then = _failing(now)
        fresh = (replace(fact, right_until=day) for name, fact in then.items() if name not in known)
        yield from (FailsThen(fact.span, fact, day) for fact in fresh)
        before, known = now, then


def _failing(inquiry: Inquiry) -> dict[str, VignetteFails]:
    return {fact.vignette.name: fact for fact in failing(inquiry)}


def _other_advice(before: Inquiry, now: Inquiry) -> Iterator[Fact]:
    old, new = before.meaning, now.meaning
    starting = tuple(rule for rule in new.rules if rule.id not in old.number)
    ending = tuple(rule for rule in old.rules if rule.id not in new.number)
    first = (*starting, *ending)[0]
    turns: dict[str, list[tuple[Outcome, Outcome, Region]]] = {}
    for change in changes(old, new):
        told = _told_as_expiring(now, change.decision, ending) if change.after.state == "gap" else []
        if left := change.region.minus(told):
            turns.setdefault(change.decision, []).append((change.before, change.after, left))
    for name, found in turns.items():
        cases = now.cases(Region.any_of(box for *_, region in found for box in region))
        decision = now.protocol.decisions[name]
        pairs = tuple((one, other) for one, other, _ in found)
        span = first.valid_span or first.span
        yield AdvisedOtherwise(span, cases, now.protocol, decision, now.day, pairs, starting, ending)


def _told_as_expiring(now: Inquiry, decision: str, ending: tuple[Rule, ...]) -> list[Box]:
    """The cases of the rules that end with advice on a decision."""
    return [box for rule in ending if decision in rule.advise for box in now.meaning.space.boxes(rule.when)]
