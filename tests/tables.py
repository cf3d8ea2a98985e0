"""Study tables for tests, from bare figures."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction
from typing import Any

from liningbook.evidence.table import Counts, Means, OutcomeTable, Reported, Study
from liningbook.finding import Span

PLACE = Span("evidence/table.yaml", 1, 1, 1, 2)


def counted(rows: Iterable[Sequence[int]], years: bool = False) -> tuple[Study, ...]:
    """Studies of counts: events and total with the treatment, events and total with the comparator."""
    return tuple(
        Study(f"study{index}", PLACE, Counts(a, n1), Counts(c, n2), year=1950 + index if years else None)
        for index, (a, n1, c, n2) in enumerate(rows)
    )


def measured(rows: Iterable[Sequence[Any]]) -> tuple[Study, ...]:
    """Studies of means: mean, deviation and number with the treatment, the same with the comparator."""
    return tuple(Study(f"study{index}", PLACE, _means(row[:3]), _means(row[3:])) for index, row in enumerate(rows))


def reported(rows: Iterable[Sequence[Any]]) -> tuple[Study, ...]:
    """Studies with an estimate and its standard error."""
    return tuple(
        Study(f"study{index}", PLACE, reported=Reported(Fraction(value), standard_error=Fraction(error)))
        for index, (value, error) in enumerate(rows)
    )


def table(studies: Iterable[Study], **asked: Any) -> OutcomeTable:
    """An outcome with these studies: a harm and a risk ratio, unless something else is asked for."""
    given: dict[str, Any] = {"kind": "harm", "measure": "risk-ratio", **asked}
    return OutcomeTable("outcome", "Outcome", importance=8, span=PLACE, studies=tuple(studies), **given)


def _means(row: Sequence[Any]) -> Means:
    return Means(Fraction(row[0]), Fraction(row[1]), row[2])
