"""Pooled effects of 300 random tables against two libraries, each where it is right.

statsmodels 0.15: effects and variances of counts (of tables without an empty cell: its correction adds to all
studies, but to the totals of some), one effect for all, DerSimonian-Laird (where tau² is not below 0, which it does
not cut off), Paule-Mandel (where its last step does not pass the root by a rounding, which makes it give 0), the
standard error of Hartung and Knapp, Q with its p, and I² by Q; the odds ratio of Mantel and Haenszel with its
variance, and the point estimate of their risk ratio. PyMARE 0.0.13: DerSimonian-Laird and restricted likelihood (with
Wald's standard error, which is not its usual one), and the Q-profile interval. Closed forms agree to 1e-9, iterated
ones to 1e-6.
"""

from __future__ import annotations

import random
import warnings
from collections.abc import Callable
from math import exp, sqrt
from types import SimpleNamespace
from typing import Any, NoReturn

import pytest

from liningbook.evidence.synthesis.synthesise import pool_only, synthesise
from liningbook.evidence.table import Study
from tests.tables import counted, reported, table

CLOSED, ITERATED = 1e-9, 1e-6
MINIMISED = 1e-7
"""How near to the peak PyMARE's minimiser stops."""
TABLES = 300
MEASURES = {"risk-ratio": "risk-ratio", "odds-ratio": "odds-ratio", "risk-difference": "diff"}


@pytest.fixture(scope="module")
def libraries(lacking: Callable[[str], NoReturn]) -> SimpleNamespace:
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # a file that PyMARE leaves open
            import numpy
            import pymare.estimators as pymare
            import statsmodels.stats.contingency_tables as contingency
            import statsmodels.stats.meta_analysis as meta
            from pymare import Dataset
            from scipy import stats
    except ImportError as missing:
        lacking(f"{missing.name}, which pools effects too (pip install 'liningbook[test]')")
    return SimpleNamespace(numpy=numpy, pymare=pymare, contingency=contingency, meta=meta, dataset=Dataset, stats=stats)


def near(value: float | None, other: Any, relative: float = CLOSED, least: float = 1e-12) -> None:
    assert value == pytest.approx(float(other), rel=relative, abs=least)


def counts(seed: int) -> list[tuple[int, int, int, int]]:
    """Random arms without an empty cell: few or many studies, small or large, alike or not."""
    draw = random.Random(seed)
    base, effect, differ = draw.uniform(0.02, 0.6), draw.gauss(0, 0.5), draw.choice([0, 0.1, 0.6])
    largest = draw.choice([30, 300, 30_000])
    rows = []
    for _ in range(draw.choice([2, 3, 5, 8, 13, 20])):
        n1, n2 = draw.randint(5, largest), draw.randint(5, largest)
        risk = min(0.95, max(0.01, base * exp(effect + draw.gauss(0, differ))))
        a, c = (min(n - 1, max(1, round(draw.gauss(n * p, sqrt(n * p))))) for n, p in ((n1, risk), (n2, base)))
        rows.append((a, n1, c, n2))
    return rows


@pytest.mark.parametrize("measure", MEASURES)
def test_effects_and_closed_forms(libraries: SimpleNamespace, measure: str) -> None:
    """A third of the tables for each measure: effects, one effect, DerSimonian-Laird, Hartung-Knapp, Q and I²."""
    for seed in range(list(MEASURES).index(measure), TABLES, len(MEASURES)):
        rows = counts(seed)
        studies = counted(rows)
        columns = [libraries.numpy.array(column) for column in zip(*rows, strict=True)]
        values, variances = libraries.meta.effectsize_2proportions(*columns, statistic=MEASURES[measure])
        with libraries.numpy.errstate(invalid="ignore"):
            theirs = libraries.meta.combine_effects(values, variances, method_re="dl", use_t=False)
        fixed = pool_only(table(studies, measure=measure, model="fixed"))
        for effect, value, variance, weight in zip(
            fixed.effects, values, variances, theirs.weights_rel_fe, strict=True
        ):
            near(effect.value, value)
            near(effect.variance, variance)
            near(effect.weight, weight)
        assert fixed.pooled
        assert fixed.heterogeneity
        near(fixed.pooled.value, theirs.mean_effect_fe)
        near(fixed.pooled.standard_error, theirs.sd_eff_w_fe)
        near(fixed.heterogeneity.q, theirs.q, least=1e-9)
        near(fixed.heterogeneity.i2, max(0.0, theirs.i2), least=1e-9)
        laird = pool_only(table(studies, measure=measure, tau2="dersimonian-laird"))
        assert laird.pooled
        assert laird.heterogeneity
        near(laird.heterogeneity.tau2, max(0.0, theirs.tau2), least=1e-9 * float(min(variances)))
        if theirs.tau2 < 0:
            assert laird.pooled.value == fixed.pooled.value
            continue
        near(laird.pooled.value, theirs.mean_effect_re)
        near(laird.pooled.standard_error, theirs.sd_eff_w_re)
        low, high = theirs.conf_int(use_t=False)[1]
        near(laird.pooled.low, low)
        near(laird.pooled.high, high)
        knapp = pool_only(table(studies, measure=measure, tau2="dersimonian-laird", interval="hartung-knapp"))
        assert knapp.pooled
        near(knapp.pooled.standard_error, theirs.sd_eff_w_re_hksj)
        low, high = theirs.conf_int(use_t=True)[3]
        near(knapp.pooled.low, low)
        near(knapp.pooled.high, high)


def effects(seed: int) -> tuple[tuple[Study, ...], list[float], list[float]]:
    """Random effects and variances, as they are reported: the most exact up to a thousand times as exact as others."""
    draw = random.Random(seed)
    differ = draw.choice([0.0, 0.1, 0.5, 2.0])
    pairs = []
    for _ in range(draw.choice([2, 3, 5, 8, 13, 20])):
        error = 10 ** draw.uniform(-1.5, 0.0)
        pairs.append((draw.gauss(0, sqrt(error**2 + differ**2)), error))
    return reported(pairs), [value for value, _ in pairs], [error * error for _, error in pairs]


def test_iterated_forms(libraries: SimpleNamespace) -> None:
    numpy = libraries.numpy
    given_up = 0
    for seed in range(TABLES):
        studies, values, variances = effects(seed)
        y, v, x = numpy.array(values), numpy.array(variances), numpy.ones((len(values), 1))
        asked = {"measure": "mean-difference"}
        mandel = pool_only(table(studies, tau2="paule-mandel", **asked))
        theirs = libraries.meta.combine_effects(y, v, method_re="iterated", atol=1e-9, maxiter=1000)
        assert mandel.pooled
        assert mandel.heterogeneity
        if theirs.tau2 == 0 and theirs.q > len(values) - 1:
            given_up += 1
            again = 1 / (v + (mandel.heterogeneity.tau2 or 0))
            near((again * (y - numpy.average(y, weights=again)) ** 2).sum(), len(values) - 1)
        else:
            near(mandel.heterogeneity.tau2, theirs.tau2, ITERATED, 1e-9)
            near(mandel.pooled.value, theirs.mean_effect_re, ITERATED, ITERATED * mandel.pooled.standard_error)
            near(mandel.pooled.standard_error, theirs.sd_eff_w_re, ITERATED)

        dataset = libraries.dataset(y=y, v=v, X=x, add_intercept=False)
        moments = libraries.pymare.DerSimonianLaird(small_sample_correction="wald").fit_dataset(dataset).summary()
        laird = pool_only(table(studies, tau2="dersimonian-laird", **asked))
        assert laird.pooled
        assert laird.heterogeneity
        near(laird.heterogeneity.tau2, moments.tau2.item(), CLOSED, CLOSED * min(variances))
        near(laird.pooled.standard_error, moments.fe_se.item())

        estimator = libraries.pymare.VarianceBasedLikelihoodEstimator(method="reml", small_sample_correction="wald")
        summary = estimator.fit_dataset(dataset).summary()
        ours = synthesise(table(studies, tau2="reml", **asked))
        assert ours.pooled
        assert ours.heterogeneity
        near(ours.heterogeneity.tau2, summary.tau2.item(), ITERATED, MINIMISED)
        near(ours.pooled.value, summary.fe_params.item(), ITERATED, ITERATED * ours.pooled.standard_error)
        near(ours.pooled.standard_error, summary.fe_se.item(), ITERATED)
        near(ours.heterogeneity.p, theirs.test_homogeneity().pvalue, least=1e-300)
        if len(values) > 2:
            assert ours.prediction
            spread = sqrt((ours.heterogeneity.tau2 or 0) + ours.pooled.standard_error**2)
            half = libraries.stats.t.ppf(0.975, len(values) - 2) * spread
            near(ours.prediction.high - ours.pooled.value, half)
            near(ours.pooled.value - ours.prediction.low, half)
        if ours.heterogeneity.tau2_high is None:
            assert summary.get_re_stats()["ci_u"].item() == 0
        else:
            interval = summary.get_re_stats()
            near(ours.heterogeneity.tau2_low, interval["ci_l"].item(), ITERATED, 1e-8)
            near(ours.heterogeneity.tau2_high, interval["ci_u"].item(), ITERATED, 1e-8)
    assert given_up <= TABLES // 10


def test_mantel_haenszel(libraries: SimpleNamespace) -> None:
    """The odds ratio with its standard error, and the risk ratio, with empty cells among the tables."""
    for seed in range(TABLES):
        rows = [(a - 1, n1, c, n2) for a, n1, c, n2 in counts(seed)]
        tables = [libraries.numpy.array([[a, n1 - a], [c, n2 - c]]) for a, n1, c, n2 in rows]
        if not sum(a for a, *_ in rows):
            continue
        theirs = libraries.contingency.StratifiedTable(tables)
        asked = {"model": "fixed", "weights": "mantel-haenszel"}
        odds = pool_only(table(counted(rows), measure="odds-ratio", **asked)).pooled
        assert odds
        near(odds.value, theirs.logodds_pooled)
        near(odds.standard_error, theirs.logodds_pooled_se)
        risk = pool_only(table(counted(rows), measure="risk-ratio", **asked)).pooled
        assert risk
        near(exp(risk.value), theirs.riskratio_pooled)
