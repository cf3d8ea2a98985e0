"""A question put to a protocol: from texts (`rdt` = `0.4 mm`, or `rdt.reading` = `0.6 mm`) to a case and its advice."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from liningbook.cases.readings import NoReading, OtherAdvice, Taken, doubt, take
from liningbook.finding import Refused
from liningbook.meaning.decide import Advice, decide
from liningbook.meaning.layers import Threat, threats
from liningbook.meaning.meaning import Meaning
from liningbook.model.edition import EditionState, edition_state
from liningbook.model.rule import Factor
from liningbook.model.values import NotAValue, parse_in_unit, read_value
from liningbook.sources.text import near
from liningbook.space.boxes import Box

READING = ".reading"
"""What stands after a factor's name where the text is a reading, to be corrected first."""


class BadQuestion(Refused):
    """Why a question cannot be answered."""


@dataclass(frozen=True)
class Question:
    """One case: the text of every factor's value, the cell it lies in, and what was read off."""

    values: Mapping[str, str]
    case: Box
    taken: Mapping[str, Taken]


@dataclass(frozen=True)
class Reply:
    """What the protocol says to a question. `doubt` is nothing where no value was read off."""

    question: Question
    advice: Advice
    threats: tuple[Threat, ...]
    doubt: OtherAdvice | None
    edition_state: EditionState


def put(meaning: Meaning, given: Mapping[str, str]) -> Question:
    """The case that texts describe; every factor must be given once, as a value or as a reading. Raises BadQuestion."""
    factors = meaning.protocol.factors
    _check_names(factors, given)
    values: dict[str, str] = {}
    taken: dict[str, Taken] = {}
    masks: list[int] = []
    for axis in meaning.space.axes:
        factor = axis.factor
        try:
            if factor.id in given:
                values[factor.id], number = read_value(factor, given[factor.id])
                cell = axis.values.index(values[factor.id]) if number is None else axis.cell_of_number(number)
            else:
                found = take(axis, _reading(factor, given[factor.id + READING]))
                taken[factor.id] = found
                values[factor.id], cell = axis.text(found.value), found.cell
        except NotAValue as no:
            raise BadQuestion("question-value", factor=factor.id, reason=no) from None
        except NoReading as no:
            raise BadQuestion(no.what, **no.given) from None
        masks.append(1 << cell)
    return Question(values, tuple(masks), taken)


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
    missing = [name for name in factors if name not in given and name + READING not in given]
    if missing:
        raise BadQuestion("question-missing", missing=tuple(missing), example=missing[0])


def answer(meaning: Meaning, question: Question) -> Reply:
    """Everything that the protocol says to a question."""
    advice = decide(meaning, question.case)
    doubtful = doubt(meaning, question.case, question.taken, advice) if question.taken else None
    state = edition_state(meaning.protocol, meaning.day)
    return Reply(question, advice, threats(meaning, question.case, advice), doubtful, state)
