"""Described cases that do not get the advice they must."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from liningbook.checks.inquiry import Inquiry
from liningbook.finding import About, Fact
from liningbook.meaning.decide import Outcome, decide
from liningbook.model.protocol import Exclusion, Protocol, Vignette
from liningbook.model.rule import Decision, Name


@dataclass(frozen=True)
class VignetteFails(Fact):
    """A vignette that is out of scope by an exclusion, or decisions that come to something else than expected."""

    protocol: Protocol = field(repr=False)
    vignette: Vignette
    excluded: Exclusion | None
    wrong: tuple[tuple[Decision, Name, Outcome], ...] = ()

    def about(self) -> About:
        """The vignette with its case, the decision if it is one, and the rules that are heard."""
        decision = self.wrong[0][0].id if len(self.wrong) == 1 else None
        rules = dict.fromkeys(rule for _, _, outcome in self.wrong for c in outcome.candidates for rule in c.rules)
        return About(decision, tuple(rules), {"vignette": self.vignette.name}, case=self.vignette.case)


def vignette(inquiry: Inquiry) -> Iterator[Fact]:
    """A clinical vignette does not get the advice that `vignettes.yaml` expects of it.

    Either a rule has changed what it means for this case, or the expectation is out of date.
    """
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
