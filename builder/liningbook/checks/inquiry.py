"""What every check is given: the protocol compiled, the time it may take, and the cases it speaks of as few boxes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from fractions import Fraction
from functools import cached_property

from liningbook.checks.facts import Cases, Doubt
from liningbook.finding import Span
from liningbook.meaning.meaning import Meaning
from liningbook.model.protocol import Protocol
from liningbook.model.rule import Condition, Rule
from liningbook.space.boxes import Box, meets
from liningbook.space.budget import Budget, in_force, usual_budget
from liningbook.space.region import Region
from liningbook.space.search import Remainder, Search
from liningbook.space.share import Weights


@dataclass(frozen=True)
class Inquiry:
    """A protocol on a day, compiled, and how long looking at it may take from now on."""

    meaning: Meaning
    budget: Budget = field(default_factory=usual_budget)

    @property
    def protocol(self) -> Protocol:
        """The protocol looked at."""
        return self.meaning.protocol

    @property
    def day(self) -> date:
        """The day looked at."""
        return self.meaning.day

    @property
    def turning_days(self) -> list[date]:
        """All days, up to the review, on which a rule starts or is there no more, in order."""
        review = self.protocol.review_by.on
        starts = {rule.valid_from for rule in self.protocol.rules.values() if rule.valid_from}
        ends = {rule.valid_until for rule in self.protocol.rules.values() if rule.valid_until}
        days = starts | {day + timedelta(days=1) for day in ends if day < review}
        return sorted(day for day in days if day <= review)

    def on(self, day: date) -> Inquiry:
        """This protocol on another day."""
        return Inquiry(self.meaning.on(day), self.budget)

    def rule(self, number: int) -> Rule:
        """A rule by its number."""
        return self.meaning.rules[number]

    # --- cases -------------------------------------------------------------------------------------------------------

    def cases(self, region: Region) -> Cases:
        """The cases of a region, all of which are known."""
        return Cases(self.meaning.space, region.few_large())

    def cases_left(self, remainder: Remainder) -> Cases:
        """The cases that a search has found; if some may be missing, with bounds on their part of all in scope."""
        if remainder.is_complete:
            return self.cases(remainder.region)
        scope = self.meaning.need.known_scope()
        whole = self.weights.of(self.meaning.space.full) if scope is None else self.weights.of_all(scope)
        least = Fraction(remainder.least, whole) if whole else Fraction(0)
        most = Fraction(remainder.most, whole) if whole and scope is not None else Fraction(1)
        doubt = Doubt(least, min(most, Fraction(1)), self.budget.limit)
        return Cases(self.meaning.space, remainder.region, doubt)

    @cached_property
    def weights(self) -> Weights:
        """How large a part of all cases a box is."""
        return Weights(self.meaning.space)

    def search(self, region: Region, covers: Sequence[Box], share: float = 1.0) -> Remainder:
        """What a region holds outside the covers, looked for in a share of the time left."""
        if not covers or not region:
            return Remainder(region.few_large().boxes, True)
        return Search(region.boxes, covers, self.weights).run(in_force().part(share))

    # --- places ------------------------------------------------------------------------------------------------------

    def place_of(self, rule: Rule, region: Region) -> Span:
        """Where in the rule to point for a region of cases: the condition that lets them in, else the title."""
        condition = self._condition_at(rule, region.boxes[0]) if region.boxes else None
        return condition.span if condition else rule.span

    def _condition_at(self, rule: Rule, box: Box) -> Condition | None:
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
