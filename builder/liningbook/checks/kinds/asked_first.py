"""What is asked before the card's chart is used: whether it catches every case for which the chart is wrong."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from liningbook.checks.facts import CaseFact, Cases
from liningbook.checks.inquiry import Inquiry
from liningbook.finding import About, Fact, Span
from liningbook.meaning.chart import has_chart
from liningbook.meaning.decide import Outcome, decide
from liningbook.meaning.screening import Screening, Trigger
from liningbook.model.protocol import Protocol, StopQuestion
from liningbook.model.rule import Decision, Factor
from liningbook.space.boxes import Box, hull
from liningbook.space.region import Region


class NothingAsked(Fact):
    """Nothing is asked before the card's chart is used."""


@dataclass(frozen=True)
class Differing:
    """What a decision comes to in the case shown, and what the chart says of it, if anything."""

    decision: Decision
    true: Outcome
    charted: Outcome | None


@dataclass(frozen=True)
class Unscreened(CaseFact):
    """Unusual values of some factors, with which the chart is wrong, and no stop question asks for them.

    `unusual` asks about these values alone. `differing` are the decisions with which it is so in the first case shown;
    `decisions` all with which it is in any.
    """

    protocol: Protocol
    factors: tuple[Factor, ...]
    unusual: Box
    decisions: tuple[Decision, ...]
    differing: tuple[Differing, ...]

    def about(self) -> About:
        """The factors, and the decisions of which the chart says something else."""
        factors = [factor.id for factor in self.factors]
        one = {"factor": factors[0]} if len(factors) == 1 else {}
        return About(further={**one, "factors": factors, "decisions": [one.id for one in self.decisions]})


@dataclass(frozen=True)
class ScreensUsual(CaseFact):
    """A stop question, by its number, that takes off cases for which the chart stands."""

    number: int
    question: StopQuestion

    def about(self) -> About:
        """The question, counted from 0."""
        return About(further={"question": self.number})


def no_stop_questions(inquiry: Inquiry) -> Iterator[Fact]:
    """A card is printed and nothing is asked first: whoever picks it up goes straight to the chart.

    The chart of a card holds for the usual case only. The stop questions (`stop_questions` in protocol.yaml) stand
    above it and catch the case that is not usual: an exposed pulp, pain that lingers, an allergy. A protocol without a
    quantity or without a choice has no chart and so no card, and nothing is said.
    """
    protocol = inquiry.protocol
    if not protocol.stop_questions and has_chart(inquiry.meaning):
        yield NothingAsked(protocol.written.get("stop_questions", protocol.span))


def unscreened(inquiry: Inquiry) -> Iterator[Fact]:
    """The chart is wrong for a case, and no stop question takes that case off it: honest noes lead to wrong advice.

    The chart stands for the usual values of all that makes neither its bands nor its columns. A case departs from it if
    a decision is needed in it and comes to something else than in the same case with the usual values. Each stop
    question says in `screens` which cases a yes, or not knowing, takes off the chart; a plain text takes off none that
    could be known. There is one finding for the unusual values of each factor that make the chart wrong by themselves,
    and one for each set of factors that do so only together; all of them together are exactly the departures that no
    question takes off. The chart is that of card.yaml, if there is one, and cases that it does not show are none of its
    departures. Where nothing at all is asked, only that is said (`no-stop-questions`).
    """
    screening = Screening.of(inquiry.meaning) if inquiry.protocol.stop_questions else None
    if screening is None:
        return
    place = inquiry.protocol.written.get("stop_questions", inquiry.protocol.span)
    for trigger in screening.triggers():
        yield _unscreened(inquiry, screening, trigger, place)


def _unscreened(inquiry: Inquiry, screening: Screening, trigger: Trigger, place: Span) -> Unscreened:
    protocol, space = inquiry.protocol, screening.meaning.space
    cases = Cases(space, trigger.region.few_large())
    values = hull(trigger.region)
    unusual = tuple(values[number] if number in trigger.axes else whole for number, whole in enumerate(space.full))
    return Unscreened(
        place,
        cases,
        protocol,
        tuple(space.axes[number].factor for number in trigger.axes),
        unusual,
        tuple(protocol.decisions[name] for name in trigger.decisions),
        _differing(screening, space.case_in(cases.region.boxes[0])),
    )


def _differing(screening: Screening, case: Box) -> tuple[Differing, ...]:
    meaning = screening.meaning
    true, charted = decide(meaning, case).outcomes, decide(meaning, screening.reference(case)).outcomes
    return tuple(
        Differing(meaning.protocol.decisions[name], outcome, charted.get(name))
        for name, outcome in true.items()
        if name in screening.decisions
        and outcome.state != "not-needed"
        and (name not in charted or charted[name].said != outcome.said)
    )


def screens_usual(inquiry: Inquiry) -> Iterator[Fact]:
    """A stop question takes off cases for which the chart stands: a yes forbids the advice that the chart gives.

    What a question screens (`screens`) should be unusual: something for which the chart has not the answer. If it also
    takes off cases with all the usual values, the chart shows an answer that nobody may use. No advice is wrong by it,
    so it is a note: some practices want deep cavities, say, looked up and not read off the chart.
    """
    screening = Screening.of(inquiry.meaning) if inquiry.protocol.stop_questions else None
    if screening is None:
        return
    charted = screening.charted()
    for number, question in enumerate(inquiry.protocol.stop_questions):
        region = charted & Region.any_of(screening.screened(question))
        if region:
            cases = Cases(screening.meaning.space, region.few_large())
            yield ScreensUsual(question.span or inquiry.protocol.span, cases, number, question)
