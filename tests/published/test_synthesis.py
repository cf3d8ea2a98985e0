"""Pooled effects of published trials against printed results.

Data: `data/README.md` names the trials. *Printed*: results as printed by the source named, which were seen: the
documentation of a statistics package for the BCG trials (REML: estimate, standard error, tau², I², H²) and for the
trials of lidocaine; van Houwelingen et al., Stat Med 2002 (doi 10.1002/sim.1040) for odds ratios; DerSimonian and
Kacker 2007, table of estimators. *Calculated*: from the same data by another program, by the published formulas;
every printed decimal is held, but for one: the upper limit of the odds ratio with one effect is printed as 0.703
there, where the same counts give 0.7024. Not held, since Liningbook does not compute it: maximum likelihood, the
ANOVA estimator of tau², Sato's variance.
"""

from __future__ import annotations

import csv
from decimal import Decimal
from functools import cache
from math import exp, sqrt
from pathlib import Path
from statistics import NormalDist
from typing import Any

import pytest

from liningbook.evidence.synthesis.result import Heterogeneity, Pooled, Prediction, Synthesis
from liningbook.evidence.synthesis.synthesise import synthesise
from liningbook.evidence.table import Study
from tests.tables import counted, table

DATA = Path(__file__).parent / "data"

FIXED = {"model": "fixed"}
MH = {"model": "fixed", "weights": "mantel-haenszel"}
DL, REML, PM = ({"tau2": name} for name in ("dersimonian-laird", "reml", "paule-mandel"))
HK = {"interval": "hartung-knapp"}


@cache
def studies(name: str) -> tuple[Study, ...]:
    with (DATA / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return counted([[int(row[column]) for column in ("a", "n1", "c", "n2")] for row in csv.DictReader(file)])


def together(name: str, measure: str, **asked: Any) -> Synthesis:
    return synthesise(table(studies(name), measure=measure, **asked))


def holds(value: float | None, *printed: str) -> None:
    """The value, rounded to the digits that are printed, is what is printed."""
    assert value is not None
    for text in printed:
        number = Decimal(text)
        half = Decimal(5).scaleb(int(number.as_tuple().exponent) - 1)
        assert abs(Decimal(value) - number) <= half, f"{value!r} is not {text}"


def pooled_of(found: Synthesis) -> Pooled:
    assert found.pooled is not None
    return found.pooled


def limits(found: Synthesis, low: str, high: str) -> None:
    pooled = pooled_of(found)
    assert pooled.low is not None
    assert pooled.high is not None
    holds(found.shown(pooled.low), low)
    holds(found.shown(pooled.high), high)


def among(found: Synthesis) -> Heterogeneity:
    assert found.heterogeneity is not None
    return found.heterogeneity


# Printed: yi and vi of the BCG trials, in the documentation of the data set.
BCG_TRIALS = [
    ("-0.8893113", "0.3255848"),
    ("-1.5853887", "0.1945811"),
    ("-1.3480731", "0.4153680"),
    ("-1.4415512", "0.0200100"),
    ("-0.2175473", "0.0512102"),
    ("-0.7861156", "0.0069056"),
    ("-1.6208982", "0.2230172"),
    ("0.0119523", "0.0039616"),
    ("-0.4694176", "0.0564342"),
    ("-1.3713448", "0.0730248"),
    ("-0.3393588", "0.0124122"),
    ("0.4459134", "0.5325058"),
    ("-0.0173139", "0.0714047"),
]


def test_the_effect_and_variance_of_each_bcg_trial() -> None:
    effects = together("bcg", "risk-ratio").effects
    assert len(effects) == 13
    for effect, (value, variance) in zip(effects, BCG_TRIALS, strict=True):
        holds(effect.value, value)
        holds(effect.variance, variance)


@pytest.mark.parametrize(
    ("measure", "asked", "value", "error", "shown", "low", "high"),
    [
        # Calculated.
        ("risk-ratio", FIXED, "-0.43028516", "0.04049875", "0.6503236", "0.6007", "0.7040"),
        ("risk-ratio", DL, "-0.71411722", "0.17874209", "0.489624", "0.344919", "0.695038"),
        ("risk-ratio", DL | HK, "-0.71411722", "0.18069663", "0.489624", "0.330278", "0.725849"),
        ("risk-ratio", REML, "-0.71453234", "0.17978152", "0.489421", "0.344074", "0.696166"),
        ("risk-ratio", REML | HK, "-0.71453234", "0.18079174", "0.489421", "0.330072", "0.725698"),
        ("risk-ratio", PM, "-0.71496815", "0.18089219", "", "", ""),
        ("risk-ratio", MH, "-0.45370960", "0.03933737", "0.6352672", "0.5881287", "0.6861838"),
        ("odds-ratio", FIXED, "-0.43613908", "0.04226546", "0.6465278", "0.5951285", "0.7023662"),
        ("odds-ratio", DL, "-0.74739235", "", "0.473600", "0.324906", "0.690345"),
        ("odds-ratio", REML, "", "", "0.474650", "0.329630", "0.683472"),
        ("odds-ratio", MH, "-0.47341099", "0.04100778", "0.6228740", "0.5747703", "0.6750036"),
        ("risk-difference", FIXED, "-0.00091426", "0.00022603", "", "", ""),
        ("risk-difference", DL, "-0.00705526", "0.00156339", "", "-0.010119", "-0.003991"),
        ("risk-difference", REML, "-0.02517329", "0.01082811", "", "-0.046396", "-0.003951"),
        # Calculated, with the variance of Greenland and Robins, which Liningbook takes.
        ("risk-difference", MH, "-0.00328818", "0.000284516", "", "", ""),
        # Printed.
        ("risk-ratio", REML, "-0.7145", "0.1798", "", "", ""),
        ("odds-ratio", FIXED, "", "", "0.647", "0.595", "0.7024"),
    ],
)
def test_pooled_effects_of_the_bcg_trials(
    measure: str, asked: dict[str, str], value: str, error: str, shown: str, low: str, high: str
) -> None:
    found = together("bcg", measure, **asked)
    pooled = pooled_of(found)
    if value:
        holds(pooled.value, value)
    if error:
        holds(pooled.standard_error, error)
    if shown:
        holds(found.shown(pooled.value), shown)
    if low:
        limits(found, low, high)


@pytest.mark.parametrize(
    ("measure", "asked", "tau2", "q"),
    [
        ("risk-ratio", FIXED, "", "152.2330081"),
        ("risk-ratio", DL, "0.30876026", "152.2330081"),
        ("risk-ratio", REML, "0.31324326", "152.2330081"),
        ("risk-ratio", PM, "0.31806845", "152.2330081"),
        ("risk-ratio", MH, "", "152.56755"),
        ("odds-ratio", FIXED, "", "163.16492"),
        ("odds-ratio", DL, "0.36634341", "163.16492"),
        ("odds-ratio", REML, "0.33777203", "163.16492"),
        ("odds-ratio", MH, "", "163.94258"),
        ("risk-difference", FIXED, "", "276.47371"),
        ("risk-difference", DL, "0.00001873", "276.47371"),
        ("risk-difference", REML, "0.00142140", "276.47371"),
        ("risk-difference", MH, "", "386.77594"),
    ],
)
def test_how_much_the_bcg_trials_differ(measure: str, asked: dict[str, str], tau2: str, q: str) -> None:
    """Calculated; tau² of the risk ratio by REML is printed to four decimals as well."""
    found = among(together("bcg", measure, **asked))
    holds(found.q, q)
    assert found.df == 12
    if tau2:
        holds(found.tau2, tau2)
    else:
        assert found.tau2 is None


def test_i2_by_its_two_definitions() -> None:
    """Printed: I² 92.22 % and H² 12.86 by REML; calculated: the further digits, and those by Q."""
    by_q = among(together("bcg", "risk-ratio", **FIXED))
    assert by_q.i2_from == "q"
    holds(100 * by_q.i2, "92.11735")
    holds(by_q.q / by_q.df, "12.68608")
    by_laird = among(together("bcg", "risk-ratio", **DL))
    assert (by_laird.i2, by_laird.i2_from) == (by_q.i2, "q")
    by_tau2 = among(together("bcg", "risk-ratio", **REML))
    assert by_tau2.i2_from == "tau2"
    holds(100 * by_tau2.i2, "92.22138", "92.22")
    holds(1 / (1 - by_tau2.i2), "12.85576", "12.86")
    holds(by_tau2.tau2, "0.3132")
    holds(100 * among(together("bcg", "odds-ratio", **FIXED)).i2, "92.64548")


def test_the_q_profile_interval_of_the_bcg_trials() -> None:
    """Calculated; as an interval of I² too, by the typical variance of the studies."""
    found = among(together("bcg", "risk-ratio", **REML))
    holds(found.tau2_low, "0.1197")
    holds(found.tau2_high, "1.1115")
    assert found.tau2 is not None
    assert found.tau2_low is not None
    assert found.tau2_high is not None
    typical = found.tau2 * (1 / found.i2 - 1)
    holds(100 * found.tau2_low / (found.tau2_low + typical), "81.92")
    holds(100 * found.tau2_high / (found.tau2_high + typical), "97.68")


@pytest.mark.parametrize(
    ("asked", "quantile", "low", "high"),
    [
        (DL, None, "0.135493", "1.769335"),
        (REML, None, "0.134206", "1.784809"),
        # By other quantiles, from the same spread: normal, and Student's t with 12 degrees of freedom.
        (DL, NormalDist().inv_cdf(0.975), "0.155960", "1.537133"),
        (DL, 2.1788128296634177, "0.137258", "1.746584"),
        (REML, NormalDist().inv_cdf(0.975), "0.154634", "1.549028"),
        (REML, 2.1788128296634177, "0.135967", "1.761697"),
    ],
)
def test_prediction_intervals_of_the_bcg_trials(
    asked: dict[str, str], quantile: float | None, low: str, high: str
) -> None:
    """Calculated; the first two, with k − 2 degrees of freedom, are those that Liningbook gives."""
    found = together("bcg", "risk-ratio", **asked)
    assert isinstance(found.prediction, Prediction)
    assert found.prediction.df == 11
    ends = (found.prediction.low, found.prediction.high)
    if quantile is not None:
        tau2 = among(found).tau2
        assert tau2 is not None
        half = quantile * sqrt(tau2 + pooled_of(found).standard_error ** 2)
        ends = (pooled_of(found).value - half, pooled_of(found).value + half)
    holds(exp(ends[0]), low)
    holds(exp(ends[1]), high)


def test_how_many_standard_errors_the_pooled_effects_are_from_none() -> None:
    """Calculated; 11.56 is printed by another package for the risk difference by Mantel-Haenszel."""
    for measure, asked, z in [
        ("risk-ratio", FIXED, "-10.6247"),
        ("risk-ratio", MH, "-11.5338"),
        ("risk-difference", MH, "-11.5571"),
        ("risk-difference", MH, "-11.56"),
    ]:
        pooled = pooled_of(together("bcg", measure, **asked))
        holds(pooled.value / pooled.standard_error, z)


@pytest.mark.parametrize(
    ("asked", "tau", "value", "error"),
    [
        (PM, "0.3681", "-0.3811", "0.2060"),
        (DL, "0.2323", "-0.3240", "0.1540"),
        (REML, "0.1843", "-0.2980", "0.1343"),
        (FIXED, "", "-0.19734696", "0.06936832"),
    ],
)
def test_estimators_of_tau2_as_printed(asked: dict[str, str], tau: str, value: str, error: str) -> None:
    """Printed by DerSimonian and Kacker 2007 (tau, not squared); the fixed effect, Q and I² are calculated."""
    found = together("dk2007", "odds-ratio", **asked)
    holds(pooled_of(found).value, value)
    holds(pooled_of(found).standard_error, error)
    if tau:
        holds(sqrt(among(found).tau2 or 0), tau)
    else:
        holds(among(found).q, "9.677867")
        holds(100 * among(found).i2, "48.3357")


def test_the_lidocaine_trials() -> None:
    """Printed: a risk difference of 2.94 % (0.4 to 5.5); calculated: further digits, and risk ratios."""
    for asked in (FIXED, DL):
        difference = together("lidocaine", "risk-difference", **asked)
        holds(pooled_of(difference).value, "0.02944432", "0.0294")
        limits(difference, "0.003831", "0.055058")
        limits(difference, "0.004", "0.055")
    assert among(together("lidocaine", "risk-difference", **DL)).tau2 == 0
    fixed = together("lidocaine", "risk-ratio", **FIXED)
    holds(exp(pooled_of(fixed).value), "1.698910")
    limits(fixed, "1.001090", "2.883153")
    by_counts = together("lidocaine", "risk-ratio", **MH)
    holds(exp(pooled_of(by_counts).value), "1.7345277")
    limits(by_counts, "1.0286671", "2.9247427")
