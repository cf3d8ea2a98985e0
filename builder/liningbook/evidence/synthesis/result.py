"""What is computed from the studies of one outcome. Estimates are of double precision: they are no thresholds.

For ratios `value`, `low` and `high` are logarithms; `shown` turns them into what is read.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Literal


@dataclass(frozen=True)
class Caveat:
    """Something that could not be computed, or was done otherwise than usual: a code, and what its words need.

    The codes, with what is given: `no-effects` (no study has an effect), `one-study`, `zero-cells-added` (studies,
    added), `lopsided-interval` (studies whose reported estimate lies far from the middle of its limits),
    `pooled-with-correction` (added), `no-such-interval` (Hartung-Knapp with Mantel-Haenszel),
    `one-study-no-interval` and `no-spread` (Hartung-Knapp has no limits), `narrower-than-normal` (Hartung-Knapp's
    interval is), `interval-out-of-range`, `no-tau2-interval` (the studies agree too well for one), `no-prediction`
    (studies: fewer than 3), `prediction-out-of-range`, `no-comparator-risk`, `comparator-risk-at-end` (risk: 0, or
    1 with odds; nothing absolute), `risk-out-of-range` and `difference-out-of-range` (of a ratio, of a difference: the
    risk was kept within 0 and 1), `counts-as-they-are` (the pooled effect has no correction),
    `number-too-large` (no number needed), `no-year` (studies; hence nothing cumulative),
    `too-many-to-leave-out` (studies, most).
    """

    what: str
    given: dict[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class Effect:
    """The effect in one study: on the scale on which it is pooled, with the limits of its 95 % interval."""

    study: str
    value: float
    variance: float
    low: float
    high: float
    weight: float
    """Its part of the pooled effect; those of all studies add up to 1."""
    corrected: bool = False
    """Whether something was added to its cells because one of them is zero."""


@dataclass(frozen=True)
class LeftOut:
    """A study without an effect, by a code that says why.

    `no-events` and `all-events` (in both arms, for a ratio), `zero-cell` (an empty cell, and nothing is added),
    `no-counts` and `no-means` (the measure needs them), `no-variance` (it would be 0), `out-of-range` (too large or too
    small for double precision), `impossible` (its figures cannot be true).
    """

    study: str
    what: str


@dataclass(frozen=True)
class Pooled:
    """The effect of all studies together. The limits are absent where the interval cannot be computed."""

    value: float
    standard_error: float
    low: float | None
    high: float | None


@dataclass(frozen=True)
class Heterogeneity:
    """How much the studies differ: Cochran's Q, tau² with its Q-profile interval, and I² by its definition."""

    q: float
    df: int
    p: float | None
    i2: float
    i2_from: Literal["q", "tau2"]
    tau2: float | None = None
    """Nothing where one effect is assumed for all studies (fixed)."""
    tau2_low: float | None = None
    tau2_high: float | None = None


@dataclass(frozen=True)
class Prediction:
    """Where the effect of a further study like these is to be expected, by Student's t with `df` degrees of freedom."""

    low: float
    high: float
    df: int


@dataclass(frozen=True)
class NumberNeeded:
    """How many are treated for one more to gain by it (benefit) or to be harmed (harm); rounded up."""

    number: int
    of: Literal["benefit", "harm"]


@dataclass(frozen=True)
class Absolute:
    """The effect in people: how many more (or fewer, if negative) in 1000 than with the comparator.

    The number needed runs through infinity where the interval crosses no effect; it is absent where the effect is 0.
    """

    comparator_risk: float | None
    is_stated: bool
    """Whether the comparator's risk was stated; else it is the median of the studies'."""
    per_1000: float
    low: float | None
    high: float | None
    number_needed: NumberNeeded | None
    number_low: NumberNeeded | None = None
    number_high: NumberNeeded | None = None
    through_infinity: bool = False


@dataclass(frozen=True)
class Without:
    """The pooled effect when one study is left out, or (cumulative) of the studies up to a year."""

    study: str
    pooled: Pooled
    year: int | None = None
    decides: bool = False
    """Whether the conclusion (on which side of no effect the interval lies, or that it crosses it) is another than with
    all studies; cumulative: than a year before."""
    added: tuple[str, ...] = ()
    """Cumulative: the studies of that year, of which `study` is the last."""


@dataclass(frozen=True)
class Synthesis:
    """All that is computed of one outcome. What cannot be is absent, and `notes` say why."""

    is_ratio: bool
    effects: tuple[Effect, ...]
    left_out: tuple[LeftOut, ...] = ()
    pooled: Pooled | None = None
    heterogeneity: Heterogeneity | None = None
    prediction: Prediction | None = None
    absolute: Absolute | None = None
    leave_one_out: tuple[Without, ...] = ()
    cumulative: tuple[Without, ...] = ()
    notes: tuple[Caveat, ...] = ()

    def shown(self, value: float) -> float:
        """A value on the scale of pooling as it is read: a ratio, or the difference itself."""
        from math import exp

        return exp(value) if self.is_ratio else value
