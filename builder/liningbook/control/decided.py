"""The cases that a rule decides: those in which it is among the rules that give the advice, or what it avoids stands.

A rule that holds but is silenced (step 3), or whose decision is not needed (step 4), decides nothing there.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import partial

from liningbook.meaning.meaning import Meaning
from liningbook.model.rule import Rule
from liningbook.space.budget import OutOfTime, usual_budget
from liningbook.space.region import Region


@dataclass(frozen=True)
class RuleCases:
    """What a rule decides on one day, by decision: where its advice is heard, and where what it avoids is avoided.

    A region is of few, large, disjoint boxes; it is empty where the rule is silent throughout, and nothing where it
    could not be worked out in the work allowed. Out of force, a rule decides nothing.
    """

    rule: Rule
    in_force: bool
    advises: Mapping[str, Region | None] = field(default_factory=dict)
    avoids: Mapping[str, Region | None] = field(default_factory=dict)

    @property
    def is_silent(self) -> bool:
        """Whether the rule decides no case at all."""
        return all(region == Region() for region in (*self.advises.values(), *self.avoids.values()))


def cases_decided(meaning: Meaning, rule: Rule) -> RuleCases:
    """The cases that a rule decides on the day of a meaning."""
    index = meaning.number.get(rule.id)
    if index is None:
        return RuleCases(rule, in_force=False)
    avoiding = dict.fromkeys([*rule.avoid, *rule.never])
    return RuleCases(
        rule,
        True,
        {name: _worked_out(meaning.cases_heard, name, index) for name in rule.advise},
        {name: _worked_out(partial(_avoided, meaning), name, index) for name in avoiding},
    )


def _avoided(meaning: Meaning, decision: str, index: int) -> Region:
    return Region.union(meaning.cases_warned(decision, warned) for warned in meaning.warned_by(decision, index))


def _worked_out(cases: Callable[[str, int], Region], decision: str, index: int) -> Region | None:
    try:
        with usual_budget():
            return cases(decision, index).few_large()
    except OutOfTime:
        return None
