"""What an edition says of itself that cannot be so, such as its first day; and a card that asks nothing first."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from liningbook.checks.inquiry import Inquiry
from liningbook.finding import About, Fact, Span
from liningbook.meaning.chart import has_chart
from liningbook.model.protocol import Status


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

    def about(self) -> About:
        """What is wrong, by its code."""
        return About(further={"what": self.what})


class NothingAsked(Fact):
    """Nothing is asked before the card's chart is used."""


def is_slight(fact: Standing) -> bool:
    """Whether it is no more than a warning: nobody is told to follow the edition, or not yet."""
    return fact.status != "in-force" or fact.is_yet_to_come


def status(inquiry: Inquiry) -> Iterator[Fact]:
    """Status and dates do not go together: a reader cannot tell who approved the edition, or from when it holds.

    An edition in force names who approved it (`approved`) and its first day (`in_force_from`). It is approved first,
    then in force, then reviewed; nobody approves it on a day to come. All of this is an error in an edition that is
    said to be in force, and a warning in a draft or a withdrawn one. A first day that is still to come, and until then
    an approval that is, are warnings only: the next edition is rightly made ready before its day, and every output then
    says from when it is in force. Until that day the edition before it is the one to follow.
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
            yield Standing(approval.span, "approved-after-start", state, approval.on, first, starts)
        elif first is None and approval.on > review.on:
            yield Standing(approval.span, "approved-after-review", state, approval.on, review.on, review.span)
    if first is not None and first > review.on:
        yield Standing(starts, "starts-after-review", state, first, review.on, review.span)


def no_stop_questions(inquiry: Inquiry) -> Iterator[Fact]:
    """A card is printed and nothing is asked first: whoever picks it up goes straight to the chart.

    The chart of a card holds for the usual case only. The stop questions (`stop_questions` in protocol.yaml) stand
    above it and catch the case that is not usual: an exposed pulp, pain that lingers, an allergy. A protocol without a
    quantity or without a choice has no chart and so no card, and nothing is said.
    """
    protocol = inquiry.protocol
    if not protocol.stop_questions and has_chart(inquiry.meaning):
        yield NothingAsked(protocol.written.get("stop_questions", protocol.span))
