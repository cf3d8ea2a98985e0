"""What every check is given, and the one way to say a finding about a region of cases."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from liningbook.finding import Finding, Label, Severity, Span
from liningbook.logic.boxes import Box, bits
from liningbook.logic.meaning import Meaning
from liningbook.logic.region import Region
from liningbook.model.protocol import Condition, Decision, Protocol, Rule
from liningbook.wording import box_words, count_words, where_words, witness_words

MOST_NAMED = 4
"""How many sets of cases a message lists; the rest is counted (JSON has them all)."""


@dataclass(frozen=True)
class Inquiry:
    """A protocol on a day, compiled."""

    meaning: Meaning

    @property
    def protocol(self) -> Protocol:
        """The protocol looked at."""
        return self.meaning.protocol

    @property
    def day(self) -> date:
        """The day looked at."""
        return self.meaning.day

    def on(self, day: date) -> Inquiry:
        """The same protocol on another day."""
        return Inquiry(self.meaning.on(day))

    def about_cases(
        self,
        kind: str,
        severity: Severity,
        message: str,
        span: Span,
        region: Region,
        *,
        label: str = "",
        related: Sequence[Label] = (),
        notes: Sequence[str] = (),
        advice: Sequence[str] = (),
        decision: Decision | None = None,
        rules: Sequence[Rule] = (),
        extra: dict[str, Any] | None = None,
    ) -> Finding:
        """A finding about a region: the cases as few large boxes, in words, and one of them as an example."""
        boxes = region.few_large().boxes
        space = self.meaning.space
        cases = tuple(space.notation(box) for box in boxes)
        witness = space.witness(boxes[0])
        words = [box_words(self.protocol.factors, case) for case in cases[:MOST_NAMED]]
        more = len(cases) - len(words)
        where = [] if len(cases) == 1 else [f"cases: {words[0]}", *(f"   or: {text}" for text in words[1:])]
        if more > 0:
            where.append(f"   and {count_words(more, 'further set')} of cases")
        example = f"for example {witness_words(self.protocol.factors, witness)}"
        return Finding(
            kind,
            severity,
            message,
            span,
            label,
            tuple(related),
            (*where, example, *notes),
            tuple(advice),
            decision.id if decision else None,
            tuple(rule.id for rule in rules),
            cases,
            witness,
            extra or {},
        )

    def in_brief(self, region: Region) -> str:
        """The first set of cases in a few words, for a title."""
        boxes = region.few_large().boxes
        words = where_words(self.protocol.factors, self.meaning.space.notation(boxes[0]))
        return words if len(boxes) == 1 else f"{words}, and elsewhere"

    def condition_at(self, rule: Rule, box: Box) -> Condition | None:
        """The rule's condition that says most about a box of cases: its quantity if it has one, else its first."""
        number = self.meaning.number[rule.id]
        for conditions, own in zip(rule.when, self.meaning.boxes[number], strict=True):
            if all(a & b for a, b in zip(own, box, strict=True)) and conditions.conditions:
                ordered = sorted(conditions.conditions.values(), key=lambda c: (c.numbers is None, c.span))
                return ordered[0]
        return None

    def place_of(self, rule: Rule, region: Region) -> Span:
        """Where in the rule to point for a region of cases: the condition that lets them in, else the title."""
        condition = self.condition_at(rule, region.boxes[0]) if region.boxes else None
        return condition.span if condition else rule.span

    def rule(self, number: int) -> Rule:
        """A rule by its number."""
        return self.meaning.rules[number]

    def rules_in(self, rules: int) -> list[Rule]:
        """The rules of a set."""
        return [self.meaning.rules[index] for index in bits(rules)]
