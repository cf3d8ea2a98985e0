"""The effects of studies put together, as the table asks: one effect for all, or effects that vary.

Sources: Cochrane Handbook, chapter 10; the interval of Hartung and Knapp, Stat Med 2001;20:3875-89, which is that of
Sidik and Jonkman too; the prediction interval of Higgins, Thompson and Spiegelhalter, J R Stat Soc A 2009;172:137-59.
(The volume and pages of the former from memory.)
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import fsum, sqrt

from liningbook.evidence.synthesis.effects import FARTHEST_LOG, HALF, Cells, Estimate
from liningbook.evidence.synthesis.installed import is_installed
from liningbook.evidence.synthesis.mantel_haenszel import combine
from liningbook.evidence.synthesis.quantiles import Z, t_quantile
from liningbook.evidence.synthesis.result import Caveat, Pooled, Prediction
from liningbook.evidence.synthesis.sample import Sample
from liningbook.evidence.synthesis.tau2 import ESTIMATORS
from liningbook.evidence.table import OutcomeTable


@dataclass(frozen=True)
class Pooling:
    """A pooled effect, the studies' parts of it in their order, and what later steps need."""

    sample: Sample
    pooled: Pooled
    weights: tuple[float, ...]
    tau2: float | None
    usual_error: float
    """The standard error of the normal interval (Wald's), whichever interval is given."""
    notes: tuple[Caveat, ...] = ()
    about: float | None = None
    """The effect that Q is about, where it is not that by inverse variance."""


def pool(outcome: OutcomeTable, estimates: Sequence[Estimate]) -> Pooling:
    """The pooled effect of at least one study; of one alone with the limits that it has, reported or computed."""
    sample = Sample.of(estimates)
    if outcome.weights == "mantel-haenszel":
        return _by_counts(outcome, estimates, sample)
    tau2 = None
    if outcome.model == "random":
        tau2 = ESTIMATORS[outcome.tau2](sample) if len(sample) > 1 else 0.0
    sums = sample.sums(tau2 or 0.0)
    weights = tuple(1 / (estimate.variance + (tau2 or 0.0)) for estimate in estimates)
    total = fsum(weights)
    value, error = sample.origin + sums.mean, 1 / sqrt(sums.weight)
    if len(sample) == 1 and outcome.interval == "normal":
        return Pooling(sample, Pooled(value, error, estimates[0].low, estimates[0].high), (1.0,), tau2, error)
    pooled, notes = _with_limits(outcome, value, error, len(sample) - 1, sums.spread)
    return Pooling(sample, pooled, tuple(weight / total for weight in weights), tau2, error, notes)


def prediction(outcome: OutcomeTable, pooling: Pooling) -> tuple[Prediction | None, list[Caveat]]:
    """Where a further study's effect is to be expected: with effects that vary and three studies or more."""
    if pooling.tau2 is None:
        return None, []
    df = len(pooling.sample) - 2
    if df < 1:
        return None, [Caveat("no-prediction", {"studies": len(pooling.sample)})]
    half = t_quantile(df) * sqrt(pooling.tau2 + pooling.usual_error**2)
    limits = limits_of(outcome, pooling.pooled.value, half)
    return (Prediction(*limits, df), []) if limits else (None, [Caveat("prediction-out-of-range")])


def limits_of(outcome: OutcomeTable, value: float, half: float) -> tuple[float, float] | None:
    """The limits of an interval, unless a ratio of double precision cannot be had of them."""
    if outcome.is_ratio and abs(value) + half > FARTHEST_LOG:
        return None
    return value - half, value + half


def _with_limits(
    outcome: OutcomeTable, value: float, error: float, df: int, spread: float
) -> tuple[Pooled, tuple[Caveat, ...]]:
    """The pooled effect with the interval that the table asks for; without limits where they cannot be computed."""
    notes: list[Caveat] = []
    quantile = Z
    if outcome.interval == "hartung-knapp":
        if not df or not spread > 0:
            what = "no-spread" if df else "one-study-no-interval"
            return Pooled(value, error, None, None), (Caveat(what),)
        if not is_installed():
            return Pooled(value, error, None, None), (Caveat("not-installed"),)
        usual, error = error * Z, error * sqrt(spread / df)
        quantile = t_quantile(df)
        if quantile * error < usual:
            notes.append(Caveat("narrower-than-normal"))
    limits = limits_of(outcome, value, quantile * error)
    if limits is None:
        notes.append(Caveat("interval-out-of-range"))
    return Pooled(value, error, *(limits or (None, None))), tuple(notes)


def _by_counts(outcome: OutcomeTable, estimates: Sequence[Estimate], sample: Sample) -> Pooling:
    """One effect for all studies, by Mantel and Haenszel's weights."""
    tables: list[Cells] = [estimate.cells for estimate in estimates if estimate.cells]
    added = outcome.zero_cells or HALF  # of some of the studies alone, left out in turn, there may be no value else
    found = combine(outcome.measure, tables, added)
    notes = []
    if found.corrected:
        notes.append(Caveat("pooled-with-correction", {"added": float(added)}))
    elif any(estimate.corrected for estimate in estimates):
        notes.append(Caveat("counts-as-they-are"))
    if outcome.interval == "hartung-knapp":
        pooled = Pooled(found.value, found.standard_error, None, None)
        notes.append(Caveat("no-such-interval"))
    else:
        pooled, more = _with_limits(outcome, found.value, found.standard_error, 0, 0.0)
        notes += more
    return Pooling(sample, pooled, found.weights, None, found.standard_error, tuple(notes), found.value)
