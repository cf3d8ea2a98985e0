"""What the figures of an outcome ask of the judgements: questions for the author, never a grade.

A judgement whose author says why (`because`), of 0 levels too, is answered. Rules of thumb: 300 events or 400
participants (from memory, after Guyatt et al., J Clin Epidemiol 2011;64:1283-93); an I² of 50 % or more (the Cochrane
handbook calls that perhaps substantial, on purpose with overlaps); a large effect is a risk ratio of at least 2 or at
most 0.5, a very large one of 5 or 0.2 (Guyatt et al., J Clin Epidemiol 2011;64:1311-6).
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import log
from typing import Any, Literal

from liningbook.evidence.synthesis.concluded import matters_from
from liningbook.evidence.synthesis.result import Synthesis
from liningbook.evidence.table import Counts, Judgement, Means, OutcomeTable, Study

USUAL_EVENTS = 300
USUAL_PEOPLE = 400
MUCH_I2 = 0.5
LARGE: Mapping[int, int] = {1: 2, 2: 5}
"""By levels of raising, the least risk ratio (or its inverse)."""

_LABORATORY = re.compile(
    r"\b(in[ -]vitro|ex[ -]vivo|laborator(y|ies)|extracted (human )?(pre)?(teeth|molars?|incisors?)|cell cultures?)\b",
    re.IGNORECASE,
)
_ANIMALS = re.compile(
    r"\b(animals?|rats?|mice|mouse|dogs?|beagles?|rabbits?|ferrets?|monkeys?|macaques?|swine|(mini)?pigs?|porcine|"
    r"sheep|ovine|bovine|calf|calves|goats?|hamsters?|guinea pigs?)\b",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class Cause:
    """Something about the studies that raises a question: a code, and the figures that its words need."""

    what: Literal["nothing-pooled", "events", "people", "one-study", "crosses", "spread", "not-patients", "not-large"]
    given: Mapping[str, Any]


@dataclass(frozen=True)
class OpenQuestion:
    """What is asked of one domain of an outcome, with all that raises it."""

    domain: str
    causes: tuple[Cause, ...]


def questions(
    outcome: OutcomeTable, synthesis: Synthesis, titles: Mapping[str, str] | None = None
) -> tuple[OpenQuestion, ...]:
    """What the figures ask, one question a domain at most; `titles` maps a study to the title of its reference.

    Nothing is asked of an outcome of which no design and no certainty is stated: nobody has judged it yet.
    """
    if not outcome.design and not outcome.certainty:
        return ()
    asked = (
        ("imprecision", outcome.lowered, _imprecision(outcome, synthesis)),
        ("inconsistency", outcome.lowered, _inconsistency(synthesis)),
        ("indirectness", outcome.lowered, _not_patients(outcome, titles or {})),
    )
    found = [
        OpenQuestion(domain, causes)
        for domain, judged, made in asked
        if _is_open(judged.get(domain)) and (causes := tuple(made))
    ]
    if causes := tuple(_not_large(outcome, synthesis)):
        found.append(OpenQuestion("large-effect", causes))
    return tuple(found)


def setting_in(title: str) -> Literal["laboratory", "animals"] | None:
    """Where the work of a title was done, if its words say that it was in a laboratory or on animals."""
    if _LABORATORY.search(title):
        return "laboratory"
    return "animals" if _ANIMALS.search(title) else None


def _is_open(judgement: Judgement | None) -> bool:
    """Whether a domain takes nothing away, and nobody says why not."""
    return judgement is None or (judgement.level == 0 and not judgement.because)


def _imprecision(outcome: OutcomeTable, synthesis: Synthesis) -> Iterator[Cause]:
    left_out = {one.study for one in synthesis.left_out}
    studies = [study for study in outcome.studies if study.study not in left_out]
    telling = [study for study in studies if study.treated is not None]
    arms = [arm for study in telling for arm in (study.treated, study.comparator)]
    counts = [arm.events for arm in arms if isinstance(arm, Counts)]
    means = [arm.number for arm in arms if isinstance(arm, Means)]
    told = {"studies": len(telling), "all": len(studies)}
    if synthesis.pooled is None and outcome.certainty:
        yield Cause("nothing-pooled", {})
    elif counts and sum(counts) < USUAL_EVENTS:
        yield Cause("events", {"number": sum(counts), **told, "usual": USUAL_EVENTS})
    elif means and sum(means) < USUAL_PEOPLE:
        yield Cause("people", {"number": sum(means), **told, "usual": USUAL_PEOPLE})
    elif len(studies) == 1:
        yield Cause("one-study", {})
    pooled = synthesis.pooled
    if pooled is None or pooled.low is None or pooled.high is None:
        return
    low, high, margin = pooled.low, pooled.high, matters_from(outcome)
    if crossed := [end for end in (-margin, margin) if low < end < high]:
        ends = {"low": synthesis.shown(low), "high": synthesis.shown(high)}
        yield Cause("crosses", {**ends, "matters": synthesis.shown(crossed[0] + 0.0), "is_stated": margin > 0})


def _inconsistency(synthesis: Synthesis) -> Iterator[Cause]:
    spread = synthesis.heterogeneity
    if spread is not None and spread.df > 0 and spread.i2 >= MUCH_I2:
        yield Cause("spread", {"i2": spread.i2, "studies": spread.df + 1})


def _not_patients(outcome: OutcomeTable, titles: Mapping[str, str]) -> Iterator[Cause]:
    places = [_setting(study, titles) for study in outcome.studies]
    found = next((place for place in places if place is not None), None)
    if found is not None:
        number = sum(place is not None for place in places)
        yield Cause("not-patients", {"setting": found, "number": number, "studies": len(places)})


def _setting(study: Study, titles: Mapping[str, str]) -> str | None:
    return study.setting if study.setting != "patients" else setting_in(titles.get(study.study, ""))


def _not_large(outcome: OutcomeTable, synthesis: Synthesis) -> Iterator[Cause]:
    """A rise for a large effect that the pooled ratio does not show; the others measures have no such rule."""
    judgement, pooled = outcome.raised.get("large-effect"), synthesis.pooled
    if judgement is None or judgement.level not in LARGE or judgement.because:
        return
    if pooled is None or not synthesis.is_ratio:
        return
    least = LARGE[judgement.level]
    if abs(pooled.value) < log(least) * (1 - 1e-12):
        yield Cause("not-large", {"effect": synthesis.shown(pooled.value), "least": least, "levels": judgement.level})
