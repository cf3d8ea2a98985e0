"""Rules that nobody ever hears."""

from __future__ import annotations

from collections.abc import Iterator

from liningbook.checks.inquiry import Inquiry
from liningbook.finding import Finding, Label, Severity
from liningbook.model.protocol import Rule
from liningbook.say.cases import count_words
from liningbook.space.boxes import bits
from liningbook.space.budget import OutOfTime, in_force

FOR_A_RULE = 0.1
"""The share of the time left that may go into one rule."""


def unreachable(inquiry: Inquiry) -> Iterator[Finding]:
    """A rule is heard in no case: each is out of scope, not needed, or left to a rule that overrides it.

    Either its conditions are not what was meant, or the rule can go.
    """
    meaning = inquiry.meaning
    undecided: list[Rule] = []
    for index, rule in enumerate(meaning.rules):
        try:
            if _is_heard(inquiry, index):
                continue
        except OutOfTime:
            undecided.append(rule)
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
    if undecided:
        count = count_words(len(undecided), "rule")
        yield inquiry.undecided("unreachable", Severity.NOTE, f"whether {count} can be heard in any case", undecided)


def _is_heard(inquiry: Inquiry, index: int) -> bool:
    meaning, rule = inquiry.meaning, inquiry.rule(index)
    with in_force().part(FOR_A_RULE):
        return any(meaning.is_ever_heard(decision, index) for decision in rule.advise) or any(
            meaning.is_ever_warned(decision, warned)
            for decision in dict.fromkeys([*rule.avoid, *rule.never])
            for warned in meaning.warned_by(decision, index)
        )
