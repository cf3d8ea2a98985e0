"""Described cases that do not get the advice they must."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

from liningbook.checks.inquiry import Inquiry
from liningbook.finding import About, Fact
from liningbook.meaning.decide import Outcome, decide
from liningbook.model.protocol import Exclusion, Protocol, Vignette
from liningbook.model.rule import Decision, Name
from liningbook.space.budget import in_force


@dataclass(frozen=True)
class VignetteFails(Fact):
    """A vignette that is out of scope by an exclusion, or decisions that come to something else than expected.

    It may be right until a day, on which a rule starts or ends, or from one on.
    """

    protocol: Protocol = field(repr=False)
    vignette: Vignette
    excluded: Exclusion | None
    wrong: tuple[tuple[Decision, Name, Outcome], ...] = ()
    right_until: date | None = None
    right_from: date | None = None

    def about(self) -> About:
        """The vignette with its case, the decision if it is one, and the rules that are heard."""
        decision = self.wrong[0][0].id if len(self.wrong) == 1 else None
        rules = dict.fromkeys(rule for _, _, outcome in self.wrong for c in outcome.candidates for rule in c.rules)
        return About(decision, tuple(rules), {"vignette": self.vignette.name}, case=self.vignette.case)


def vignette(inquiry: Inquiry) -> Iterator[Fact]:
    """A clinical vignette does not get the advice that `vignettes.yaml` expects of it.

    Either a rule has changed what it means for this case, or the expectation is out of date. One that is right until
    the day of a law, say, or only from then on, is in the file on the days on which it is right.
    """
    facts = list(failing(inquiry))
    if not facts:
        return
    last = max((day for day in inquiry.turning_days if day <= inquiry.day), default=None)
    before = set() if last is None else _wrong_on(inquiry, last - timedelta(days=1))
    turns: dict[str, date] = {}
    for day in inquiry.turning_days:
        if day > inquiry.day and len(turns) < len(facts) and not in_force().is_spent:
            wrong = _wrong_on(inquiry, day)
            turns |= {name: day for fact in facts if (name := fact.vignette.name) not in wrong and name not in turns}
    for fact in facts:
        name = fact.vignette.name
        until = None if last is None or name in before else last
        yield replace(fact, right_until=until, right_from=turns.get(name))


def _wrong_on(inquiry: Inquiry, day: date) -> set[str]:
    return {fact.vignette.name for fact in failing(inquiry.on(day))}


def failing(inquiry: Inquiry) -> Iterator[VignetteFails]:
    """The vignettes that fail on the day, whatever they do on others."""
    meaning = inquiry.meaning
    for item in inquiry.protocol.vignettes:
        advice = decide(meaning, meaning.space.cell(item.case, item.numbers))
        if advice.excluded is not None:
            if item.expect:
                yield VignetteFails(item.span, inquiry.protocol, item, advice.excluded)
            continue
        wrong = tuple(
            (inquiry.protocol.decisions[name], expected, advice.outcomes[name])
            for name, expected in item.expect.items()
            if not fits(advice.outcomes[name], expected.id)
        )
        if wrong:
            yield VignetteFails(item.span, inquiry.protocol, item, None, wrong)


def fits(outcome: Outcome, expected: str) -> bool:
    """Whether an outcome is what one word of `expect` asks for: an agent, `none`, an answer, `judgement` or a state."""
    if outcome.state == expected:
        return True
    answer = outcome.answer
    if outcome.state != "answered" or answer is None:
        return False
    return expected == (answer.name if answer.kind in ("layer", "choice") else answer.kind)
