"""Overrides: those that do nothing, those that switch off a warning, those that let the weaker rule win."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from liningbook.checks.facts import CaseFact
from liningbook.checks.inquiry import Inquiry
from liningbook.evidence.grade import is_weaker
from liningbook.finding import About, Fact
from liningbook.model.rule import Decision, Name, Rule
from liningbook.space.region import Region


@dataclass(frozen=True)
class AvoidOverridden(CaseFact):
    """An override that switches off what the loser says to avoid under the decisions."""

    winner: Rule
    loser: Rule
    decisions: tuple[Decision, ...]

    def about(self) -> About:
        """Both rules, and the decision if it is one."""
        decision = self.decisions[0].id if len(self.decisions) == 1 else None
        return About(decision, (self.winner.id, self.loser.id))


@dataclass(frozen=True)
class Link(Fact):
    """Something about an override."""

    winner: Rule
    loser: Rule

    def about(self) -> About:
        """Both rules."""
        return About(rules=(self.winner.id, self.loser.id))


@dataclass(frozen=True)
class IdleOverride(Link):
    """An override that changes nothing, whether the rules have a decision in common or not."""

    share_a_decision: bool


class WeakerOverridesStronger(Link):
    """The winner rests on weaker research than the loser."""


def _links(inquiry: Inquiry) -> Iterator[tuple[Rule, Rule, Name]]:
    """Every override between rules in force: the winner, the loser, and the name written."""
    for rule in inquiry.meaning.rules:
        seen = set()
        for name in rule.overrides:
            if name.id in inquiry.meaning.number and name.id not in seen:
                seen.add(name.id)
                yield rule, inquiry.rule(inquiry.meaning.number[name.id]), name


def _meeting(inquiry: Inquiry, decision: str, winner: Rule, loser: Rule) -> Region:
    number = inquiry.meaning.number
    return inquiry.meaning.cases_both(decision, number[winner.id], number[loser.id])


def _decisions_silenced(winner: Rule, loser: Rule) -> list[str]:
    return [decision for decision in loser.advise if decision in winner.advise]


def _decisions_unwarned(winner: Rule, loser: Rule) -> list[str]:
    return [decision for decision in loser.avoid if winner.speaks_under(decision)]


def avoid_overridden(inquiry: Inquiry) -> Iterator[Fact]:
    """An override switches off another rule's `avoid`.

    That may be meant; if so, say it in `accepted`. A warning that must always stand is written as `never`.
    """
    for winner, loser, name in _links(inquiry):
        region = Region()
        decisions = []
        for decision in _decisions_unwarned(winner, loser):
            cases = _meeting(inquiry, decision, winner, loser)
            if cases:
                decisions.append(decision)
            region = region | cases
        if region:
            named = tuple(inquiry.protocol.decisions[decision] for decision in decisions)
            yield AvoidOverridden(name.span, inquiry.cases(region), winner, loser, named)


def idle_override(inquiry: Inquiry) -> Iterator[Fact]:
    """An override that in no case silences a rule or switches off an `avoid`.

    The two rules never meet where it matters, or do not speak on the same decision.
    """
    for winner, loser, name in _links(inquiry):
        shared = dict.fromkeys([*_decisions_silenced(winner, loser), *_decisions_unwarned(winner, loser)])
        if not any(_meeting(inquiry, decision, winner, loser) for decision in shared):
            yield IdleOverride(name.span, winner, loser, bool(shared))


def weaker_overrides_stronger(inquiry: Inquiry) -> Iterator[Fact]:
    """A rule on weaker research overrides a rule on stronger research.

    That can be right (the weaker evidence may fit the case better); the reason belongs into the rule's text.
    """
    for winner, loser, name in _links(inquiry):
        mine, theirs = winner.evidence, loser.evidence
        if mine.basis != "research" or theirs.basis != "research":
            continue
        is_less_sure = mine.certainty and theirs.certainty and is_weaker(mine.certainty, theirs.certainty)
        if is_less_sure or (mine.level and theirs.level and mine.level > theirs.level):
            yield WeakerOverridesStronger(name.span, winner, loser)
