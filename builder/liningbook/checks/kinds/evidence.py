"""Grades that the recorded judgements do not give, and strong words on weak evidence."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from liningbook.checks.inquiry import Inquiry
from liningbook.evidence import grade, ocebm
from liningbook.evidence.recommending import Missed, Way, missed
from liningbook.finding import About, Fact
from liningbook.model.rule import Rule, Situation


@dataclass(frozen=True)
class Graded(Fact):
    """Something about the grade of a rule."""

    rule: Rule

    def about(self) -> About:
        """The rule."""
        return About(rules=(self.rule.id,))


@dataclass(frozen=True)
class CertaintyMismatch(Graded):
    """The certainty is stated otherwise than the judgements give it."""

    computed: str
    manner: grade.Manner


@dataclass(frozen=True)
class LevelMismatch(Graded):
    """The level is none of those that are allowed, of which there may be none."""

    allowed: tuple[int, ...]


@dataclass(frozen=True)
class MovedWrongly(Graded):
    """The level is moved up by a reason that only moves it down, or down by the one that moves it up."""

    way: Literal["up", "down"]
    reason: str


class StrongOnWeak(Graded):
    """Strong on weak certainty, without a note or a situation."""


@dataclass(frozen=True)
class NotTheSituation(Graded):
    """Strong on weak certainty, in a situation whose conditions do not hold."""

    situation: Situation
    missed: tuple[Missed, ...]


def _research(inquiry: Inquiry) -> Iterator[Rule]:
    return (rule for rule in inquiry.meaning.rules if rule.evidence.basis == "research")


def certainty_mismatch(inquiry: Inquiry) -> Iterator[Fact]:
    """The stated certainty is not the one that the recorded judgements give.

    Evidence starts at high (randomised) or low (observational), goes down a level for each point under `lowered`, and
    up for `raised` only if it is observational and nothing lowers it. Method: GRADE, as sourced in
    `evidence/grade.py`.
    """
    for rule in _research(inquiry):
        evidence = rule.evidence
        if evidence.certainty is None or evidence.design is None:
            continue
        manner = grade.Manner(evidence.risk_of_bias_tool, inquiry.protocol.rating_up)
        computed = grade.certainty(evidence.design, evidence.lowered, evidence.raised, manner)
        if computed != evidence.certainty:
            yield CertaintyMismatch(evidence.places["certainty"], rule, computed, manner)


def level_mismatch(inquiry: Inquiry) -> Iterator[Fact]:
    """The stated level of evidence is not the one of the OCEBM 2011 table, nor a level that is reached with a reason.

    The table gives the level by question and design; `adjusted` states another level with the reason. Only a large
    effect moves a level up.
    """
    for rule in _research(inquiry):
        evidence = rule.evidence
        if evidence.level is None or evidence.question is None or evidence.design is None:
            continue
        reached = evidence.adjusted.to if evidence.adjusted else None
        allowed = sorted(ocebm.levels(evidence.question, evidence.design, reached))
        if evidence.level not in allowed:
            yield LevelMismatch(evidence.places["level"], rule, tuple(allowed))
        elif moved := evidence.adjusted:
            way = ocebm.wrong_way(evidence.question, evidence.design, moved.to, moved.reason)
            if way is not None:
                yield MovedWrongly(moved.span, rule, way, moved.reason)


def strong_on_weak(inquiry: Inquiry) -> Iterator[Fact]:
    """A strong recommendation rests on low or very low certainty, and nothing allows it.

    Either one of five `situation`s is named and its conditions on the certainty of benefit and harm, and on the way
    of the recommendation, hold; or a `note` says why. There are good reasons for it, but few. Source: as in
    `evidence/recommending.py`.
    """
    for rule in _research(inquiry):
        evidence = rule.evidence
        if evidence.strength != "strong" or evidence.certainty not in grade.WEAK_LEVELS:
            continue
        situation = evidence.situation
        if situation is not None:
            failing = tuple(one for one in situation_missed(rule, situation) if not one.is_doubt)
            if failing:
                yield NotTheSituation(situation.span, rule, situation, failing)
        elif not evidence.note:
            yield StrongOnWeak(evidence.places["strength"], rule)


def situation_missed(rule: Rule, situation: Situation) -> tuple[Missed, ...]:
    """The conditions of a rule's situation that do not hold, doubts among them."""
    ways = frozenset[Way]({situation.way}) if situation.way else rule.ways
    return missed(situation.name, situation.benefit, situation.harm, ways)
