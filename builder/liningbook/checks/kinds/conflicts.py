"""Rules that meet: different answers for one case, or the same answer twice."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from liningbook.checks.inquiry import Inquiry
from liningbook.finding import Finding, Label, Severity
from liningbook.model.protocol import Decision
from liningbook.say.cases import count_words
from liningbook.space.boxes import bits
from liningbook.space.budget import in_force
from liningbook.space.search import Remainder

ALWAYS_LISTED = 200
"""So many pairs of rules are told one by one however late it is."""

FOR_LISTING = 0.5
"""The share of the time left that may go into the pairs under one decision."""

FOR_A_PAIR = 0.1
"""The share of the time left that may go into one pair."""

Told = Callable[[Inquiry, Decision, int, int, Remainder], Finding]


def conflict(inquiry: Inquiry) -> Iterator[Finding]:
    """Two rules give different answers for the same case, and neither is silenced.

    Whoever looks the case up finds two answers and cannot know which one is meant. Change where one of the rules
    applies, or say in one of them that it `overrides` the other.
    """
    for decision in inquiry.protocol.decisions.values():
        yield from _pairs(inquiry, decision, False, _conflict)


def duplicate(inquiry: Inquiry) -> Iterator[Finding]:
    """Two rules give the same answer for the same case.

    No case is treated wrongly, but whoever changes one of the rules later must think of the other.
    """
    for decision in inquiry.protocol.decisions.values():
        yield from _pairs(inquiry, decision, True, _duplicate)


def _pairs(inquiry: Inquiry, decision: Decision, alike: bool, told: Told) -> Iterator[Finding]:
    """What is told of each pair of rules that is left in a case; if the time is up, how many more pairs there are."""
    time = in_force().part(FOR_LISTING)
    rows = inquiry.meaning.partners_left(decision.id, alike)
    listed = 0
    for first, partners in rows:
        for second in bits(partners):
            if listed >= ALWAYS_LISTED and time.is_spent:
                more = (partners >> second).bit_count() + sum(others.bit_count() for _, others in rows)
                yield _not_listed(inquiry, decision, alike, more)
                return
            left = left_both(inquiry, decision, first, second)
            if left.boxes or not left.is_complete:
                listed += 1
                yield told(inquiry, decision, first, second, left)


def left_both(inquiry: Inquiry, decision: Decision, first: int, second: int) -> Remainder:
    """The cases in which the decision is needed and the advice of both rules is left."""
    meaning = inquiry.meaning
    held = meaning.cases_both(decision.id, first, second)
    return inquiry.search(held, meaning.silencing_either(decision.id, first, second), FOR_A_PAIR)


def _conflict(inquiry: Inquiry, decision: Decision, first: int, second: int, left: Remainder) -> Finding:
    one, two, region = inquiry.rule(first), inquiry.rule(second), left.region
    return inquiry.about_remainder(
        "conflict",
        Severity.ERROR,
        left,
        f"two rules disagree on {decision.label}",
        f"two rules may disagree on {decision.label}",
        inquiry.place_of(one, region),
        label=f"here: {inquiry.answer_words(decision, first)}",
        related=[Label(inquiry.place_of(two, region), f"here: {inquiry.answer_words(decision, second)}")],
        advice=[
            f"change the conditions of `{one.id}` or of `{two.id}` so that they no longer meet",
            f"or write `overrides: [{two.id}]` in `{one.id}`, or `overrides: [{one.id}]` in `{two.id}`",
        ],
        decision=decision,
        rules=[one, two],
    )


def _duplicate(inquiry: Inquiry, decision: Decision, first: int, second: int, left: Remainder) -> Finding:
    one, two, region = inquiry.rule(first), inquiry.rule(second), left.region
    return inquiry.about_remainder(
        "duplicate",
        Severity.NOTE,
        left,
        f"two rules say the same on {decision.label}",
        f"two rules may say the same on {decision.label}",
        inquiry.place_of(one, region),
        label=f"here: {inquiry.answer_words(decision, first)}",
        related=[Label(inquiry.place_of(two, region), "and here the same")],
        advice=["leave these cases to one of the two rules"],
        decision=decision,
        rules=[one, two],
    )


def _not_listed(inquiry: Inquiry, decision: Decision, alike: bool, more: int) -> Finding:
    """That further pairs of rules meet; they are counted and were not looked at one by one."""
    pairs = count_words(more, "further pair")
    return Finding(
        "duplicate" if alike else "conflict",
        Severity.NOTE if alike else Severity.ERROR,
        f"{pairs} of rules with {'the same answer' if alike else 'different answers'} on {decision.label} meet, "
        "too many to be told one by one in the time given",
        decision.span,
        "advised on by all these rules",
        help=("mend first what is listed", inquiry.more_time),
        decision=decision.id,
        extra={"complete": False, "pairs": more},
    )
