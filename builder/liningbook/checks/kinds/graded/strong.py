"""Strong words on weak evidence."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from liningbook.checks.inquiry import Inquiry
from liningbook.checks.kinds.graded.stated import Graded, of_research, tables_of
from liningbook.evidence import grade
from liningbook.evidence.overall import given, of_kind, rated
from liningbook.evidence.recommending import Missed, Way, missed
from liningbook.finding import Fact
from liningbook.model.protocol import Protocol
from liningbook.model.rule import Evidence, Rule, Situation


@dataclass(frozen=True)
class StrongOnWeak(Graded):
    """Strong on weak certainty, without a note or a situation."""

    level: str


@dataclass(frozen=True)
class NotTheSituation(Graded):
    """Strong on weak certainty, in a situation whose conditions do not hold."""

    situation: Situation
    missed: tuple[Missed, ...]
    level: str


def strong_on_weak(inquiry: Inquiry) -> Iterator[Fact]:
    """A strong recommendation rests on low or very low certainty, and nothing allows it.

    Either one of five `situation`s is named and its conditions on the certainty of benefit and harm, and on the way
    of the recommendation, hold; or a `note` says why. There are good reasons for it, but few. Source: as in
    `evidence/recommending.py`.
    """
    for rule, level in strong_rules(inquiry):
        situation = rule.evidence.situation
        if situation is not None:
            failing = tuple(one for one in situation_missed(inquiry.protocol, rule, situation) if not one.is_doubt)
            if failing:
                yield NotTheSituation(situation.span, rule, situation, failing, level)
        elif not rule.evidence.note:
            yield StrongOnWeak(rule.evidence.places["strength"], rule, level)


def strong_rules(inquiry: Inquiry) -> Iterator[tuple[Rule, str]]:
    """The rules that recommend strongly on low or very low certainty, which is given beside."""
    for rule in of_research(inquiry):
        if rule.evidence.strength == "strong":
            level = _level(inquiry.protocol, rule.evidence)
            if level in grade.WEAK_LEVELS:
                yield rule, level


def _level(protocol: Protocol, evidence: Evidence) -> str:
    """The certainty that is stated, else the lowest that the tables and the recorded judgements give."""
    if evidence.certainty is not None:
        return evidence.certainty
    manner = grade.Manner(evidence.risk_of_bias_tool, protocol.rating_up)
    return given(tables_of(protocol, evidence), evidence.design or "", evidence.lowered, evidence.raised, manner)


def situation_missed(protocol: Protocol, rule: Rule, situation: Situation) -> tuple[Missed, ...]:
    """The conditions of a rule's situation that do not hold, doubts among them.

    A certainty left out is that of the rule's tables; one that is stated must be theirs, unless the rule says
    `because`.
    """
    outcomes = rated(tables_of(protocol, rule.evidence), protocol.rating_up)
    found: list[Missed] = []
    levels: dict[str, str] = {}
    kinds: tuple[Literal["benefit", "harm"], ...] = ("benefit", "harm")
    for kind, stated in zip(kinds, (situation.benefit, situation.harm), strict=True):
        given = of_kind(outcomes, kind)
        levels[kind] = stated or given
        if stated and given and stated != given and not rule.evidence.because:
            found.append(Missed(kind, (stated,), (given,), by_tables=True))
    ways = frozenset[Way]({situation.way}) if situation.way else rule.ways
    return (*found, *missed(situation.name, levels["benefit"], levels["harm"], ways))
