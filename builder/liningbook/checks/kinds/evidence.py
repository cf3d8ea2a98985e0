"""Grades that the recorded judgements do not give, and strong words on weak evidence."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from liningbook.checks.inquiry import Inquiry
from liningbook.evidence import grade, ocebm
from liningbook.finding import About, Fact
from liningbook.model.rule import Rule


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


@dataclass(frozen=True)
class LevelMismatch(Graded):
    """The level is none of those that are allowed, of which there may be none."""

    allowed: tuple[int, ...]


class StrongOnWeak(Graded):
    """Strong on weak certainty, without a note."""


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
        computed = grade.certainty(evidence.design, evidence.lowered, evidence.raised)
        if computed != evidence.certainty:
            yield CertaintyMismatch(evidence.places["certainty"], rule, computed)


def level_mismatch(inquiry: Inquiry) -> Iterator[Fact]:
    """The stated level of evidence is not the one of the OCEBM 2011 table, nor a level that is reached with a reason.

    The table gives the level by question and design; `adjusted` states another level with the reason.
    """
    for rule in _research(inquiry):
        evidence = rule.evidence
        if evidence.level is None or evidence.question is None or evidence.design is None:
            continue
        reached = evidence.adjusted.to if evidence.adjusted else None
        allowed = sorted(ocebm.levels(evidence.question, evidence.design, reached))
        if evidence.level not in allowed:
            yield LevelMismatch(evidence.places["level"], rule, tuple(allowed))


def strong_on_weak(inquiry: Inquiry) -> Iterator[Fact]:
    """A strong recommendation rests on low or very low certainty, and no `note` says why.

    There are good reasons for it, but few; the reader must be told which it is.
    """
    for rule in _research(inquiry):
        evidence = rule.evidence
        if evidence.strength == "strong" and evidence.certainty in grade.WEAK_LEVELS and not evidence.note:
            yield StrongOnWeak(evidence.places["strength"], rule)
