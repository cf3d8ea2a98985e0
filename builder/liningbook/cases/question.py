"""A question put to a protocol: from texts (`rdt` = `0.4 mm`, or `rdt.reading` = `0.6 mm`) to a case and its advice.

A factor may be left out. What is said then holds whatever its value is; "not asked" never counts as "no".
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction

from liningbook.cases.asking import Asking, asking
from liningbook.cases.readings import NoReading, OtherAdvice, Taken, cells_in, doubt, judged_band, take
from liningbook.finding import Refused
from liningbook.meaning.decide import Advice, Outcome, decide
from liningbook.meaning.layers import Threat, threats
from liningbook.meaning.meaning import Meaning
from liningbook.meaning.possible import Outlook, Possible, Way, advice_of, common_threats
from liningbook.model.edition import EditionState, edition_state
from liningbook.model.rule import Factor
from liningbook.model.values import NotAValue, parse_in_unit, read_value
from liningbook.notation.interval import Range
from liningbook.sources.text import near
from liningbook.space.boxes import Box, hull, meet, on_axis

READING = ".reading"
"""What stands after a factor's name where the text is a reading, to be corrected first."""


class BadQuestion(Refused):
    """Why a question cannot be answered."""


@dataclass(frozen=True)
class Question:
    """One case: the text of every factor's value that is known, the cells it can lie in, and what was read off."""

    values: Mapping[str, str]
    case: Box
    taken: Mapping[str, Taken]
    missing: tuple[str, ...] = ()
    """The factors that are not known; the case has every cell of them."""
    judged: Mapping[str, Range] = field(default_factory=dict)
    """For values judged by eye, those within their uncertainty, where a threshold is among them."""

    @property
    def bands(self) -> dict[str, Range]:
        """For what was read off, the values within its uncertainty."""
        return {name: item.band for name, item in self.taken.items()}


@dataclass(frozen=True)
class Reply:
    """What the protocol says to a question.

    `doubt` is what else it could be within the uncertainty of what was read off, nothing where nothing was; `near` the
    same for what was judged by eye, what was read off being as it counts.

    Where factors are missing, `advice` holds the settled decisions, `threats` is nothing where they are not the same
    in every completion, and `rest` says what is still open.
    """

    question: Question
    advice: Advice
    threats: tuple[Threat, ...] | None
    doubt: OtherAdvice | None
    edition_state: EditionState
    rest: Rest | None = None
    near: OtherAdvice | None = None


@dataclass(frozen=True)
class Rest:
    """What is still open in a case of which factors are missing: whether it is in scope (nothing), and each decision.

    `open` maps a decision to what it can come to.
    """

    in_scope: bool | None
    open: Mapping[str, tuple[Outcome, ...]]
    asking: Asking


def put(meaning: Meaning, given: Mapping[str, str], complete: bool = False) -> Question:
    """The case that texts describe, each factor given once, as a value or as a reading. Raises BadQuestion.

    A `complete` one has every factor.
    """
    factors = meaning.protocol.factors
    _check_names(factors, given)
    missing = tuple(name for name in factors if name not in given and name + READING not in given)
    if missing and complete:
        raise BadQuestion("question-missing", missing=missing, example=missing[0])
    values: dict[str, str] = {}
    taken: dict[str, Taken] = {}
    judged: dict[str, Range] = {}
    masks: list[int] = []
    for axis in meaning.space.axes:
        factor = axis.factor
        try:
            if factor.id in given:
                values[factor.id], number = read_value(factor, given[factor.id])
                cell = axis.values.index(values[factor.id]) if number is None else axis.cell_of_number(number)
                band = None if number is None else judged_band(factor, number)
                if band is not None and cells_in(axis, band).bit_count() > 1:
                    judged[factor.id] = band
            elif factor.id in missing:
                masks.append(axis.full)
                continue
            else:
                found = take(axis, _reading(factor, given[factor.id + READING]))
                taken[factor.id] = found
                values[factor.id], cell = axis.text(found.value), found.cell
        except NotAValue as no:
            raise BadQuestion("question-value", factor=factor.id, reason=no) from None
        except NoReading as no:
            raise BadQuestion(no.what, **no.given) from None
        masks.append(1 << cell)
    return Question(values, tuple(masks), taken, missing, judged)


def _reading(factor: Factor, text: str) -> Fraction:
    if factor.unit is None:
        raise BadQuestion("question-not-read-off", label=factor.label, factor=factor.id)
    return parse_in_unit(text, factor.unit)


def _check_names(factors: Mapping[str, Factor], given: Mapping[str, str]) -> None:
    for name in given:
        base = name.removesuffix(READING)
        if base not in factors:
            best = near(base, factors)
            raise BadQuestion("question-unknown-factor", name=base, near=best, known=() if best else tuple(factors))
        if name != base and base in given:
            raise BadQuestion("question-twice", factor=base)


def answer(meaning: Meaning, question: Question, possible: Possible | None = None) -> Reply:
    """Everything that the protocol says to a question. `possible` saves working the tables out for each of many."""
    if question.missing:
        return _answer_partly(meaning, question, possible)
    advice = decide(meaning, question.case)
    doubtful = doubt(meaning, question.case, question.bands, advice) if question.taken else None
    near = doubt(meaning, question.case, question.judged, advice) if question.judged else None
    state = edition_state(meaning.protocol, meaning.day)
    return Reply(question, advice, threats(meaning, question.case, advice), doubtful, state, near=near)


def _answer_partly(meaning: Meaning, question: Question, possible: Possible | None) -> Reply:
    band, beside = (_with_bands(meaning, question.case, bands) for bands in (question.bands, question.judged))
    possible = possible or Possible(meaning, hull((question.case, band, beside)))
    outlook = possible.outlook(question.case)
    advice = advice_of(meaning, outlook)
    rest = Rest(outlook.in_scope, _outcomes(outlook.open), asking(meaning, outlook, question.missing))
    known = None if outlook.in_scope is False else common_threats(meaning, outlook, advice)
    doubtful = _doubt_partly(meaning, outlook, possible.outlook(band)) if question.taken and all(band) else None
    near = _doubt_partly(meaning, outlook, possible.outlook(beside)) if question.judged else None
    state = edition_state(meaning.protocol, meaning.day)
    return Reply(question, advice, known, doubtful, state, rest, near)


def _with_bands(meaning: Meaning, case: Box, bands: Mapping[str, Range]) -> Box:
    """A case with every cell within the bands of some factors."""
    for name, band in bands.items():
        number = meaning.space.index[name]
        case = on_axis(case, number, cells_in(meaning.space.axes[number], band))
    return case


def _outcomes(ways: Mapping[str, tuple[Way, ...]]) -> dict[str, tuple[Outcome, ...]]:
    """What decisions can come to, each with those warnings alone that it has in every completion."""
    said = {name: [replace(way.outcome, warnings=way.shared.warnings) for way in some] for name, some in ways.items()}
    return {name: tuple(some) for name, some in said.items() if some}


def _doubt_partly(meaning: Meaning, outlook: Outlook, wider: Outlook) -> OtherAdvice:
    """What else a settled decision can come to in some completion, within the uncertainty of what was read off."""
    said = {name: way.outcome.said for name, way in outlook.settled.items()}
    others = {
        name: tuple(way for way in ways if way.outcome.said != said.get(name))
        for name, ways in wider.ways.items()
        if name in said or outlook.in_scope is False
    }
    excluded = meaning.protocol.excluded if outlook.in_scope else ()
    met = [e for e in excluded if any(meet(wider.box, box) for box in meaning.space.boxes(e.when))]
    return OtherAdvice(_outcomes(others), tuple(met))
