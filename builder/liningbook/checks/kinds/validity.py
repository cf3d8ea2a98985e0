"""Rules that end, and what goes wrong on a later day on which a rule starts or ends."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta

from liningbook.checks.facts import CaseFact, Dated, same_thing
from liningbook.checks.inquiry import Inquiry
from liningbook.checks.kinds.gaps import Gap
from liningbook.finding import About, Fact, Finding
from liningbook.model.rule import Rule
from liningbook.space.budget import stop_if_spent
from liningbook.space.region import Region


@dataclass(frozen=True)
class Expiring(CaseFact):
    """A rule that ends before the review; the cases are those that no rule answers from `day` on, which may be none."""

    rule: Rule
    last: date

    @property
    def day(self) -> date:
        """The first day without the rule."""
        return self.last + timedelta(days=1)

    def about(self) -> About:
        """The rule and the day."""
        return About(rules=(self.rule.id,), on=self.day)


def expiring(inquiry: Inquiry) -> Iterator[Fact]:
    """A rule ends (`valid`) before the protocol is to be reviewed; the cases are those left without an answer then.

    No case may be listed: then other rules answer from that day on. Renew the rule, write the one that follows it, or
    review the protocol earlier.
    """
    review = inquiry.protocol.review_by.on
    for rule in inquiry.protocol.rules.values():
        last = rule.valid_until
        if last is None or last < inquiry.day or last >= review:
            continue
        after = inquiry.on(last + timedelta(days=1))
        yield Expiring(rule.valid_span or rule.span, after.cases(_left_open(after, rule)), rule, last)


def _left_open(after: Inquiry, rule: Rule) -> Region:
    """The cases of a rule that no rule answers any more."""
    meaning = after.meaning
    held = Region.any_of(meaning.space.boxes(rule.when))
    found = Region()
    for decision in rule.advise:
        found = found | (meaning.gap(decision) & held)
    return found


def change_days(inquiry: Inquiry) -> list[date]:
    """The later days, up to the review, on which a rule starts or is there no more."""
    return [day for day in inquiry.turning_days if day > inquiry.day]


def later(inquiry: Inquiry, look: Callable[[Inquiry], Iterator[Finding]]) -> Iterator[Finding]:
    """What is found on later days and was not so on the day before, each with its date.

    Cases left open because a rule ends are left to `expiring`.
    """
    before = inquiry
    for day in change_days(inquiry):
        stop_if_spent(0)
        now = inquiry.on(day)
        known = {same_thing(finding): finding.fact for finding in look(before)}
        for finding in look(now):
            fact = _fresh(now, before, finding.fact, known.get(same_thing(finding)))
            if fact is not None:
                yield replace(finding, fact=fact)
        before = now


def _fresh(now: Inquiry, before: Inquiry, fact: Fact, known: Fact | None) -> Dated | None:
    """The fact only of the cases that are new, or nothing if none is."""
    if not isinstance(fact, CaseFact):
        return None
    region = fact.cases.region
    if isinstance(known, CaseFact):
        region = region.minus(known.cases.region.boxes)
    if isinstance(fact, Gap):
        ended = [r for r in before.meaning.rules if r.id not in now.meaning.number and fact.decision.id in r.advise]
        region = region.minus([box for rule in ended for box in now.meaning.space.boxes(rule.when)])
    if not region:
        return None
    cases = replace(fact.cases, region=region.few_large())
    return Dated(fact.span, replace(fact, cases=cases), now.day)
