"""Days: those of the edition that cannot be so, rules that end, and what goes wrong on a later day."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta

from liningbook.checks.facts import CaseFact, Dated, same_thing
from liningbook.checks.inquiry import Inquiry
from liningbook.checks.kinds.gaps import Gap
from liningbook.finding import About, Fact, Finding, Span
from liningbook.model.edition import outdated
from liningbook.model.protocol import Approval, Protocol, Status
from liningbook.model.rule import Rule
from liningbook.space.budget import stop_if_spent
from liningbook.space.region import Region


@dataclass(frozen=True)
class Standing(Fact):
    """What is wrong, by a code, with the two days that it speaks of; `place` is where the second is written."""

    what: str
    status: Status
    first: date | None = None
    second: date | None = None
    place: Span | None = None
    is_yet_to_come: bool = False
    """Whether it is so because the edition's first day is still to come, and no fault before then."""
    is_renewed: bool = False
    """Whether the approval is of this very text, as that of a change of wording in an edition in force is."""

    def about(self) -> About:
        """What is wrong, by its code."""
        return About(further={"what": self.what})


@dataclass(frozen=True)
class ChangedSince(Fact):
    """An approval of something else than the sources say now."""

    protocol: Protocol
    approval: Approval

    def about(self) -> About:
        """Whose approval it is, and both digests."""
        one = self.approval
        further = {"name": one.name, "role": one.role, "approved": one.digest, "now": self.protocol.sealed}
        return About(further=further)


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


def is_slight(fact: Standing) -> bool:
    """Whether it is no more than a warning: nobody is told to follow the edition, or not yet."""
    return fact.status != "in-force" or fact.is_yet_to_come or fact.is_renewed


def status(inquiry: Inquiry) -> Iterator[Fact]:
    """Status and dates do not go together: a reader cannot tell who approved the edition, or from when it holds.

    An edition in force names who approved it (`approved`) and its first day (`in_force_from`). It is approved first,
    then in force, then reviewed; nobody approves it on a day to come. All of this is an error in an edition that is
    said to be in force, and a warning in a draft or a withdrawn one. A first day that is still to come, and until then
    an approval that is, are warnings only, and so is an approval after the first day whose digest is that of this text,
    as a change of wording has it: if the advice is another, the edition has a new first day. The next edition is
    rightly made ready before its day, and every output then says from when it is in force. Until that day the edition
    before it is the one to follow.
    """
    protocol, day = inquiry.protocol, inquiry.day
    state, first, review = protocol.status, protocol.in_force_from, protocol.review_by
    said, starts = (protocol.written.get(name, protocol.span) for name in ("status", "in_force_from"))
    if state == "in-force" and not protocol.approved:
        yield Standing(said, "not-approved", state)
    if state == "in-force" and first is None:
        yield Standing(said, "no-first-day", state)
    is_early = first is not None and first > day
    if state == "in-force" and is_early:
        yield Standing(starts, "not-yet", state, first, day, is_yet_to_come=True)
    for approval in protocol.approved:
        if approval.on > day:
            yield Standing(approval.span, "approved-later", state, approval.on, day, is_yet_to_come=is_early)
        if first is not None and approval.on > first:
            is_renewed = bool(approval.digest) and approval.digest == protocol.sealed
            yield Standing(
                approval.span, "approved-after-start", state, approval.on, first, starts, is_renewed=is_renewed
            )
        elif first is None and approval.on > review.on:
            yield Standing(approval.span, "approved-after-review", state, approval.on, review.on, review.span)
    if first is not None and first > review.on:
        yield Standing(starts, "starts-after-review", state, first, review.on, review.span)


def is_not_followed(fact: ChangedSince) -> bool:
    """Whether nobody is told to follow the edition, so that it may still be approved anew."""
    return fact.protocol.status != "in-force"


def changed_since_approval(inquiry: Inquiry) -> Iterator[Fact]:
    """The protocol has changed since it was approved: the digest approved is not that of what the sources say now.

    Whoever signed an edition signed what it said on that day. The digest covers all that a reader meets: every file but
    `copies.yaml` and the appraisals, and in protocol.yaml all but `approved`, `status` and `in_force_from`. Comments,
    blank space, quotation marks and the order of fields may change freely. In an edition in force this is an error, so
    nothing of it is printed but a draft; else a warning. Only an approval that bears a digest can be held to it.
    """
    for approval in outdated(inquiry.protocol):
        yield ChangedSince(approval.digest_span or approval.span, inquiry.protocol, approval)


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
