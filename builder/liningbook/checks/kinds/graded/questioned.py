"""Judgements that the figures, or what the studies were done on, put in question. Nothing here grades."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from liningbook.checks.inquiry import Inquiry
from liningbook.checks.kinds.graded.stated import Graded, OfOutcome, of_research, tables_of
from liningbook.checks.kinds.graded.strong import situation_missed, strong_rules
from liningbook.evidence.overall import NoException, Overall, exception_doubts, overall, rated
from liningbook.evidence.questioning import OpenQuestion, questions, setting_in
from liningbook.evidence.recommending import Missed
from liningbook.evidence.synthesis.synthesise import pool_only
from liningbook.finding import About, Fact
from liningbook.model.protocol import Protocol
from liningbook.model.rule import Evidence, Rule, Situation

GOOD_LEVEL = 2
"""From this level of OCEBM on, upwards, laboratory work is called better than it is."""

NotPatients = Literal["animals", "laboratory"]


@dataclass(frozen=True)
class OutcomeQuestioned(OfOutcome):
    """Figures of an outcome question the judgement of one of its domains."""

    question: OpenQuestion

    def about(self) -> About:
        """The table, the outcome and the domain."""
        return About(further={**super().about().further, "domain": self.question.domain})


@dataclass(frozen=True)
class NotFromPatients(Graded):
    """Evidence from animals or a laboratory that is not lowered for it, or is called good."""

    setting: NotPatients
    is_stated: bool
    """Whether the rule says so; else the titles of all that it cites do."""


@dataclass(frozen=True)
class ExceptionDoubted(Graded):
    """A certainty above the lowest of the critical outcomes, for which the published exception may not hold."""

    overall: Overall
    doubts: tuple[NoException, ...]


@dataclass(frozen=True)
class SituationDoubted(Graded):
    """A situation of which versions of the source differ on a condition that is not met."""

    situation: Situation
    missed: tuple[Missed, ...]


def questioned(inquiry: Inquiry) -> Iterator[Fact]:
    """The figures of a study table, or what the studies were done on, question a judgement.

    Few events or participants, a single study or an interval that crosses what matters, where nothing is lowered for
    imprecision; studies that differ (I² of 50 % or more) where nothing is lowered for inconsistency; work in a
    laboratory or on animals where nothing is lowered for indirectness; a rise for a large effect that is not large; a
    certainty above the lowest critical outcome where the published exception does not seem to hold. A `because` beside
    the judgement answers. Nothing is graded here. Rules of thumb: as sourced in `evidence/questioning.py`.
    """
    protocol = inquiry.protocol
    for table in protocol.tables.values():
        titles = {study: _title(protocol, study) for study in table.studies}
        for outcome in table.outcomes.values():
            for question in questions(outcome, pool_only(outcome), titles):
                judged = outcome.lowered.get(question.domain) or outcome.raised.get(question.domain)
                place = judged.span if judged else outcome.places.get("lowered", outcome.span)
                yield OutcomeQuestioned(place, table, outcome, question)
    for rule in of_research(inquiry):
        yield from _not_from_patients(protocol, rule)
        yield from _exception(protocol, rule)
    for rule, _ in strong_rules(inquiry):
        situation = rule.evidence.situation
        if situation is not None:
            open_to_doubt = tuple(one for one in situation_missed(protocol, rule, situation) if one.is_doubt)
            if open_to_doubt:
                yield SituationDoubted(situation.span, rule, situation, open_to_doubt)


def _not_from_patients(protocol: Protocol, rule: Rule) -> Iterator[Fact]:
    evidence = rule.evidence
    judged = evidence.judged.get("indirectness")
    if judged is not None and (judged.level or judged.because):
        return
    setting: str | None = evidence.setting
    if not setting and _is_good(evidence):
        places = {setting_in(_title(protocol, name.id)) for name in evidence.cites}
        setting = min((place for place in places if place), default="") if None not in places else ""
    if evidence.adjusted or evidence.tables or setting not in ("animals", "laboratory"):
        return
    if evidence.setting and evidence.level is not None and evidence.design == "mechanism":
        return
    place = (
        judged.span
        if judged
        else next(
            (evidence.places[key] for key in ("lowered", "setting", "certainty", "level") if key in evidence.places),
            evidence.span,
        )
    )
    yield NotFromPatients(place, rule, "animals" if setting == "animals" else "laboratory", bool(evidence.setting))


def _is_good(evidence: Evidence) -> bool:
    return evidence.certainty == "high" or (evidence.level is not None and evidence.level <= GOOD_LEVEL)


def _exception(protocol: Protocol, rule: Rule) -> Iterator[Fact]:
    """Asked where `because` gives a certainty above the lowest critical one, and the conditions do not seem to hold."""
    evidence = rule.evidence
    tables = tables_of(protocol, evidence)
    if not tables or not evidence.because or evidence.certainty is None:
        return
    outcomes = rated(tables, protocol.rating_up)
    doubts, found = exception_doubts(outcomes, evidence.certainty), overall(outcomes)
    if doubts and found is not None:
        yield ExceptionDoubted(evidence.places["certainty"], rule, found, doubts)


def _title(protocol: Protocol, key: str) -> str:
    entry = protocol.references.get(key)
    return str(entry.data.get("title", "")) if entry is not None else ""
