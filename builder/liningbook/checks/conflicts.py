"""Rules that meet: different answers for one case, or the same answer twice."""

from __future__ import annotations

from collections.abc import Iterator

from liningbook.checks.inquiry import Inquiry
from liningbook.finding import Finding, Label, Severity
from liningbook.wording import answer_words


def conflict(inquiry: Inquiry) -> Iterator[Finding]:
    """Two rules give different answers for the same case, and neither is silenced.

    Whoever looks the case up finds two answers and cannot know which one is meant. Change where one of the rules
    applies, or say in one of them that it `overrides` the other.
    """
    meaning, protocol = inquiry.meaning, inquiry.protocol
    for decision in protocol.decisions.values():
        for first, second in meaning.pairs_left(decision.id):
            one, two = inquiry.rule(first), inquiry.rule(second)
            a, b = one.advise[decision.id], two.advise[decision.id]
            if a.meaning == b.meaning:
                continue
            region = meaning.cases_left_both(decision.id, first, second)
            if not region:
                continue
            region = region.few_large()
            yield inquiry.about_cases(
                "conflict",
                Severity.ERROR,
                f"two rules disagree on {decision.label} {inquiry.in_brief(region)}",
                inquiry.place_of(one, region),
                region,
                label=f"here: {answer_words(protocol, decision, a)}",
                related=[
                    Label(inquiry.place_of(two, region), f"here: {answer_words(protocol, decision, b)}"),
                ],
                advice=[
                    f"change the conditions of `{one.id}` or of `{two.id}` so that they no longer meet",
                    f"or write `overrides: [{two.id}]` in `{one.id}`, or `overrides: [{one.id}]` in `{two.id}`",
                ],
                decision=decision,
                rules=[one, two],
            )


def duplicate(inquiry: Inquiry) -> Iterator[Finding]:
    """Two rules give the same answer for the same case.

    No case is treated wrongly, but whoever changes one of the rules later must think of the other.
    """
    meaning, protocol = inquiry.meaning, inquiry.protocol
    for decision in protocol.decisions.values():
        for first, second in meaning.pairs_left(decision.id):
            one, two = inquiry.rule(first), inquiry.rule(second)
            a, b = one.advise[decision.id], two.advise[decision.id]
            if a.meaning != b.meaning:
                continue
            region = meaning.cases_left_both(decision.id, first, second)
            if not region:
                continue
            region = region.few_large()
            yield inquiry.about_cases(
                "duplicate",
                Severity.NOTE,
                f"two rules say the same on {decision.label} {inquiry.in_brief(region)}",
                inquiry.place_of(one, region),
                region,
                label=f"here: {answer_words(protocol, decision, a)}",
                related=[Label(inquiry.place_of(two, region), "and here the same")],
                advice=["leave these cases to one of the two rules"],
                decision=decision,
                rules=[one, two],
            )
