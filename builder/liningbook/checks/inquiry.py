"""What every check is given, and the one way to say a finding about a region of cases."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from functools import cached_property
from typing import Any

from liningbook.checks.telling import Telling
from liningbook.finding import Finding, Label, Severity, Span
from liningbook.meaning.meaning import Meaning
from liningbook.model.protocol import Condition, Decision, Protocol, Rule
from liningbook.say.answers import answer_words
from liningbook.say.cases import count_words, line_words, sentence_words, shortened
from liningbook.space.boxes import Box, bits, meets
from liningbook.space.budget import Budget, OutOfTime, default_budget, in_force
from liningbook.space.region import Region
from liningbook.space.search import Remainder, Search
from liningbook.space.share import Weights, share_text

MOST_IN_TITLE = 3
"""How many factors the title of a finding names; the cases listed below it name all."""

MOST_NAMED = 4
"""How many sets of cases a message lists; the rest is counted (JSON has them all)."""

FOR_A_CHECK = 0.5
"""The share of the time left that may go into one check."""


@dataclass(frozen=True)
class Inquiry:
    """A protocol on a day, compiled, and how long looking at it may take from now on."""

    meaning: Meaning
    budget: Budget = field(default_factory=default_budget)

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
        return Inquiry(self.meaning.on(day), self.budget)

    def settled(self, kind: str, severity: Severity, look: Callable[[Inquiry], Iterable[Finding]]) -> list[Finding]:
        """What is found in half of the time left; if that was not enough to settle everything, that is said."""
        found: list[Finding] = []
        try:
            with self.budget.part(FOR_A_CHECK):
                found.extend(look(self))
        except OutOfTime:
            undecided = Severity.ERROR if severity is Severity.ERROR else Severity.NOTE
            found.append(self.undecided(kind, undecided, "whether there is more of this kind"))
        return found

    @cached_property
    def telling(self) -> Telling:
        """Boxes of cases as notation and as words."""
        return Telling(self.meaning.space)

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
        told = [self.telling.told(box) for box in boxes]
        cases = tuple(one.notation for one in told)
        witness = self.telling.witness(boxes[0])
        words = (
            [line_words(one.parts) for one in told[:MOST_NAMED]]
            if len(cases) > 1 or len(cases[0]) > MOST_IN_TITLE
            else []
        )
        more = len(cases) - MOST_NAMED
        where = [f"{'   or' if number else 'cases'}: {text}" for number, text in enumerate(words)]
        if more > 0:
            where.append(f"   and {count_words(more, 'further set')} of cases")
        example = f"for example {line_words(witness.parts)}"
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
            witness.notation,
            extra or {},
        )

    def about_remainder(
        self,
        kind: str,
        severity: Severity,
        remainder: Remainder,
        message: str,
        doubt: str,
        span: Span,
        **more: Any,
    ) -> Finding:
        """The same about what a search has found; `doubt` is the message where it may only have missed cases.

        If cases may be missing, that is said, with bounds on the part of all cases in scope (`bounds` in JSON).
        """
        if remainder.is_complete:
            words = f"{message} {self.in_brief(remainder.region)}"
            return self.about_cases(kind, severity, words, span, remainder.region, **more)
        least, most = self._share(remainder)
        extra = {**more.pop("extra", {}), "complete": False, "bounds": {"least": least, "most": most}}
        more["advice"] = [*more.get("advice", ()), self.more_time]
        bounds = f"the part of all cases that this concerns is at least {least} and at most {most}"
        if remainder.boxes:
            more["notes"] = [*more.get("notes", ()), "these are the largest sets of cases; there may be others", bounds]
            words = f"{message} {self.in_brief(remainder.region)}, and perhaps elsewhere"
            return self.about_cases(kind, severity, words, span, remainder.region, extra=extra, **more)
        decision, rules = more.get("decision"), more.get("rules", ())
        return Finding(
            kind,
            severity,
            f"{doubt}; that could not be settled in the time given",
            span,
            notes=(bounds,),
            help=tuple(more["advice"]),
            decision=decision.id if decision else None,
            rules=tuple(rule.id for rule in rules),
            extra=extra,
        )

    def undecided(self, kind: str, severity: Severity, what: str, rules: Sequence[Rule] = ()) -> Finding:
        """That something could not be settled in the time given."""
        return Finding(
            kind,
            severity,
            f"{what} could not be settled in the time given",
            self.protocol.span,
            help=(self.more_time,),
            related=tuple(Label(rule.span, "not settled for this rule") for rule in rules[:MOST_NAMED]),
            extra={"complete": False, "undecided": [rule.id for rule in rules]} if rules else {"complete": False},
        )

    @property
    def more_time(self) -> str:
        """How to ask for more time."""
        return f"give more time (`--budget`; this time {self.budget.seconds:g} seconds)"

    @cached_property
    def weights(self) -> Weights:
        """How large a part of all cases a box is."""
        return Weights(self.meaning.space)

    def search(self, region: Region, covers: Sequence[Box], share: float = 1.0) -> Remainder:
        """What a region holds outside the covers, looked for in a share of the time left."""
        if not covers or not region:
            return Remainder(region.few_large().boxes, True)
        return Search(region.boxes, covers, self.weights).run(in_force().part(share))

    def _share(self, remainder: Remainder) -> tuple[str, str]:
        """Bounds on the part of the cases in scope that is left, as decimals rounded outwards."""
        scope = self.meaning.need.known_scope()
        whole = self.weights.of(self.meaning.space.full) if scope is None else self.weights.of_all(scope)
        least = Fraction(remainder.least, whole) if whole else Fraction(0)
        most = Fraction(remainder.most, whole) if whole and scope is not None else Fraction(1)
        return share_text(least, upwards=False), share_text(min(most, Fraction(1)), upwards=True)

    def answer_words(self, decision: Decision, number: int) -> str:
        """What a rule advises on a decision, in full."""
        key = (decision.id, number)
        if key not in self._answer_words:
            self._answer_words[key] = answer_words(self.protocol, decision, self.rule(number).advise[decision.id])
        return self._answer_words[key]

    @cached_property
    def _answer_words(self) -> dict[tuple[str, int], str]:
        return {}

    def in_brief(self, region: Region) -> str:
        """The first set of cases in a few words, for a title."""
        boxes = region.few_large().boxes
        parts = self.telling.told(boxes[0]).parts
        words = sentence_words([(label, shortened(text)) for label, text in parts[:MOST_IN_TITLE]])
        if len(parts) > MOST_IN_TITLE:
            words += ", …"
        return words if len(boxes) == 1 else f"{words}, and elsewhere"

    def condition_at(self, rule: Rule, box: Box) -> Condition | None:
        """The rule's condition that says most about a box of cases: its quantity if it has one, else its first."""
        boxes = self.meaning.boxes[self.meaning.number[rule.id]]
        for which, conditions in enumerate(rule.when):
            if conditions.conditions and (len(boxes) == 1 or meets(boxes[which], box)):
                return self._telling_most(rule, which)
        return None

    def _telling_most(self, rule: Rule, which: int) -> Condition:
        key = (rule.id, which)
        if key not in self._main_conditions:
            conditions = rule.when[which].conditions.values()
            self._main_conditions[key] = min(conditions, key=lambda c: (c.numbers is None, c.span))
        return self._main_conditions[key]

    @cached_property
    def _main_conditions(self) -> dict[tuple[str, int], Condition]:
        return {}

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
