"""Rules that nobody ever hears."""

from __future__ import annotations

from collections.abc import Iterator

from liningbook.checks.inquiry import Inquiry
from liningbook.finding import Finding, Label, Severity
from liningbook.logic.boxes import bits


def unreachable(inquiry: Inquiry) -> Iterator[Finding]:
    """A rule is heard in no case: each is out of scope, not needed, or left to a rule that overrides it.

    Either its conditions are not what was meant, or the rule can go.
    """
    meaning = inquiry.meaning
    for index, rule in enumerate(meaning.rules):
        if _is_heard(inquiry, index):
            continue
        winners = [meaning.rules[other] for other in bits(meaning.overridden_by[index])]
        note = (
            f"it is overridden by {', '.join(f'`{w.id}`' for w in winners)}"
            if winners
            else "every case it speaks of is excluded, or its decisions are not needed there"
        )
        yield Finding(
            "unreachable",
            Severity.WARNING,
            f"the rule '{rule.title}' is heard in no case",
            rule.span,
            "never heard",
            tuple(Label(name.span, "overridden here") for w in winners for name in w.overrides if name.id == rule.id),
            (note,),
            ("check its conditions", "or take the rule out"),
            rules=(rule.id, *(w.id for w in winners)),
        )


def _is_heard(inquiry: Inquiry, index: int) -> bool:
    meaning, rule = inquiry.meaning, inquiry.rule(index)
    if any(meaning.cases_heard(decision, index) for decision in rule.advise):
        return True
    return any(
        meaning.cases_warned(decision, warned)
        for decision in dict.fromkeys([*rule.avoid, *rule.never])
        for warned in meaning.warned(decision)
        if warned.rule == index
    )
