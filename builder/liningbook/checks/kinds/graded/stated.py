"""Grades that the recorded judgements do not give."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from liningbook.checks.inquiry import Inquiry
from liningbook.evidence import grade, ocebm
from liningbook.evidence.overall import Overall, outcome_steps, overall, rated
from liningbook.evidence.table import OutcomeTable, StudyTable
from liningbook.finding import About, Fact
from liningbook.model.protocol import Protocol
from liningbook.model.rule import Evidence, Rule

GRADED = ("certainty", "lowered", "raised")
"""Where an outcome is graded."""


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
    design: str
    """The one that is recorded; where none is, the one that leaves the certainty highest."""


@dataclass(frozen=True)
class TablesMismatch(Graded):
    """The certainty is stated otherwise than the critical outcomes of the rule's tables give it."""

    overall: Overall


class NothingCritical(Graded):
    """No outcome of the rule's tables is critical, so that none gives a certainty."""


@dataclass(frozen=True)
class OfOutcome(Fact):
    """Something about the grade of an outcome."""

    table: StudyTable
    outcome: OutcomeTable

    def about(self) -> About:
        """The table and the outcome."""
        return About(further={"table": self.table.id, "outcome": self.outcome.id})


@dataclass(frozen=True)
class OutcomeMismatch(OfOutcome):
    """The certainty of an outcome is stated otherwise than its judgements give it."""

    steps: tuple[grade.GradeStep, ...]


class OutcomeUngraded(OfOutcome):
    """A critical outcome on which a rule rests has no certainty, and no design that would give one."""


class OutcomeWithoutDesign(OfOutcome):
    """The certainty of an outcome is stated, lowered or raised, and no design says where it starts."""


@dataclass(frozen=True)
class LevelMismatch(Graded):
    """The level is none of those that are allowed, of which there may be none."""

    allowed: tuple[int, ...]


@dataclass(frozen=True)
class MovedWrongly(Graded):
    """The level is moved up by a reason that only moves it down, or down by the one that moves it up."""

    way: Literal["up", "down"]
    reason: str


def of_research(inquiry: Inquiry) -> Iterator[Rule]:
    """The rules that rest on research."""
    return (rule for rule in inquiry.meaning.rules if rule.evidence.basis == "research")


def tables_of(protocol: Protocol, evidence: Evidence) -> tuple[StudyTable, ...]:
    """The study tables on which a rule rests."""
    return tuple(protocol.tables[name.id] for name in evidence.tables if name.id in protocol.tables)


def certainty_mismatch(inquiry: Inquiry) -> Iterator[Fact]:
    """The stated certainty is not the one that the recorded judgements give.

    Evidence starts at high (randomised) or low (observational), goes down a level for each point under `lowered`, and
    up for `raised` only if it is observational and nothing lowers it. The same holds for each outcome of a study table.
    A rule that rests on tables takes the lowest certainty among their critical outcomes. `because` says why another is
    stated. Method: GRADE, as sourced in `evidence/grade.py` and `evidence/overall.py`.
    """
    protocol = inquiry.protocol
    for rule in of_research(inquiry):
        evidence = rule.evidence
        tables = tables_of(protocol, evidence)
        if evidence.certainty is None or (evidence.because and tables):
            continue
        if mismatch := _mismatch(protocol, rule, evidence.certainty):
            yield mismatch
        elif tables:
            found = overall(rated(tables, protocol.rating_up))
            if found is not None and found.level != evidence.certainty:
                yield TablesMismatch(evidence.places["certainty"], rule, found)
    yield from _of_tables(inquiry)


def _mismatch(protocol: Protocol, rule: Rule, stated: str) -> CertaintyMismatch | None:
    """Whether the judgements give another level; without a design or tables, whether even the best start gives less."""
    evidence = rule.evidence
    manner = grade.Manner(evidence.risk_of_bias_tool, protocol.rating_up)
    designs = (evidence.design,) if evidence.design is not None else () if evidence.tables else tuple(grade.START)
    given = {name: grade.certainty(name, evidence.lowered, evidence.raised, manner) for name in designs}
    if not given or stated in given.values():
        return None
    best = max(given, key=lambda name: grade.LEVELS.index(given[name]))
    if evidence.design is None and grade.is_weaker(stated, given[best]):
        return None
    return CertaintyMismatch(evidence.places["certainty"], rule, given[best], manner, best)


def _of_tables(inquiry: Inquiry) -> Iterator[Fact]:
    """Outcomes stated otherwise than judged; critical ones without a certainty, rules without a critical outcome."""
    protocol, used = inquiry.protocol, set()
    for rule in of_research(inquiry):
        tables = tables_of(protocol, rule.evidence)
        used |= {table.id for table in tables}
        outcomes = [outcome for table in tables for outcome in table.outcomes.values()]
        if outcomes and not any(outcome.is_critical for outcome in outcomes):
            yield NothingCritical(rule.evidence.places["tables"], rule)
    for table in protocol.tables.values():
        for outcome in table.outcomes.values():
            steps = outcome_steps(outcome, protocol.rating_up)
            if not steps and (outcome.certainty or outcome.lowered or outcome.raised):
                if not outcome.because:
                    place = next(outcome.places[key] for key in GRADED if key in outcome.places)
                    yield OutcomeWithoutDesign(place, table, outcome)
            elif outcome.certainty and steps and not outcome.because and steps[-1].level != outcome.certainty:
                yield OutcomeMismatch(outcome.places.get("certainty", outcome.span), table, outcome, steps)
            elif not outcome.certainty and not steps and outcome.is_critical and table.id in used:
                yield OutcomeUngraded(outcome.span, table, outcome)


def level_mismatch(inquiry: Inquiry) -> Iterator[Fact]:
    """The stated level of evidence is not the one of the OCEBM 2011 table, nor a level that is reached with a reason.

    The table gives the level by question and design; `adjusted` states another level with the reason. Only a large
    effect moves a level up.
    """
    for rule in of_research(inquiry):
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
