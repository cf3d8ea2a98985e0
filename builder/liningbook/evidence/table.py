"""A study table as it was read: what was asked, and for each outcome the studies with their figures and judgements.

Figures are exact as written; what is computed from them is of double precision and stands in `synthesis`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal

from liningbook.finding import Span

Measure = Literal["risk-ratio", "odds-ratio", "risk-difference", "mean-difference"]

RATIOS: frozenset[str] = frozenset({"risk-ratio", "odds-ratio"})
"""Measures that are pooled as their logarithms, with no effect at 1; the others have it at 0."""

CRITICAL = 7
"""From this importance on, of 1 to 9, an outcome is critical (GRADE)."""


@dataclass(frozen=True)
class Counts:
    """An arm of which events are counted: how many had it, of how many."""

    events: int
    total: int


@dataclass(frozen=True)
class Means:
    """An arm of which a mean is known, with the standard deviation and the number measured."""

    mean: Fraction
    deviation: Fraction
    number: int


@dataclass(frozen=True)
class Reported:
    """An effect as a study reports it: with the limits of its 95 % interval, or its standard error.

    The estimate and limits of a ratio are ratios; its standard error is that of the logarithm.
    """

    estimate: Fraction
    low: Fraction | None = None
    high: Fraction | None = None
    standard_error: Fraction | None = None


Setting = Literal["patients", "animals", "laboratory"]


@dataclass(frozen=True)
class Study:
    """One study of an outcome: two arms of counts or of means, or the effect as it was reported.

    `study` is a key of the reference list. `places` maps `events`, `comparator`, `mean`, `estimate`, `low`, `high`,
    `standard_error` to where each is written, and `events.0`, `events.1`, ... to the single cells.
    """

    study: str
    span: Span
    treated: Counts | Means | None = None
    comparator: Counts | Means | None = None
    reported: Reported | None = None
    year: int | None = None
    """As written beside the study, else that of the reference."""
    setting: Setting = "patients"
    places: Mapping[str, Span] = field(default_factory=dict)


@dataclass(frozen=True)
class Judgement:
    """Levels that a domain lowers or raises the certainty by (0 where it was looked at and left), and why."""

    level: int
    because: str
    span: Span


@dataclass(frozen=True)
class OutcomeTable:
    """The studies of one outcome, how they are to be put together, and what was judged of them.

    `tau2`, `interval` and `weights` are what the author wrote or the usual one: REML (random only), normal,
    inverse variance. `zero_cells` is added to all four cells of a study with a zero.
    """

    id: str
    label: str
    kind: Literal["benefit", "harm"]
    importance: int
    measure: Measure
    span: Span
    studies: tuple[Study, ...]
    model: Literal["fixed", "random"] = "random"
    tau2: Literal["dersimonian-laird", "reml", "paule-mandel"] = "reml"
    interval: Literal["normal", "hartung-knapp"] = "normal"
    weights: Literal["inverse-variance", "mantel-haenszel"] = "inverse-variance"
    zero_cells: Fraction = Fraction(1, 2)
    comparator_risk: Fraction | None = None
    unit: str = ""
    """Of a mean difference, as it is to be read: `mm`."""
    threshold: Fraction | None = None
    """The smallest effect that would matter, on the scale of the measure; left out, no effect."""
    design: str = ""
    risk_of_bias_tool: str = ""
    """`robins-i` where observational studies were judged with a tool that starts them high."""
    lowered: Mapping[str, Judgement] = field(default_factory=dict)
    raised: Mapping[str, Judgement] = field(default_factory=dict)
    certainty: str = ""
    because: str = ""
    """Why the stated certainty is another than the one that the judgements give."""
    places: Mapping[str, Span] = field(default_factory=dict)

    @property
    def is_critical(self) -> bool:
        """Whether the outcome decides the certainty of what rests on the table."""
        return self.importance >= CRITICAL

    @property
    def is_ratio(self) -> bool:
        """Whether effects are pooled as logarithms."""
        return self.measure in RATIOS

    @property
    def no_effect(self) -> int:
        """The value of the measure that means no difference."""
        return 1 if self.is_ratio else 0


@dataclass(frozen=True)
class Searched:
    """Where studies were looked for, until which day, and what else is to be said of it."""

    sources: tuple[str, ...]
    until: str = ""
    note: str = ""


@dataclass(frozen=True)
class StudyTable:
    """One file of `evidence/`: a question and its outcomes."""

    id: str
    file: str
    span: Span
    population: str
    intervention: str
    comparator: str
    outcomes: Mapping[str, OutcomeTable]
    search: Searched | None = None

    @property
    def studies(self) -> tuple[str, ...]:
        """The keys of all studies in the order of their first use."""
        return tuple(dict.fromkeys(study.study for outcome in self.outcomes.values() for study in outcome.studies))
