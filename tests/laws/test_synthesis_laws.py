"""Laws of pooled effects, on random tables: what changes with the arms, the events and the order, and what must not."""

from __future__ import annotations

import random
from math import exp, sqrt
from typing import Any

import pytest

from liningbook.evidence.synthesis.result import Synthesis
from liningbook.evidence.synthesis.synthesise import pool_only, synthesise
from tests.seeds import window
from tests.tables import counted, measured, reported, table

Row = tuple[int, int, int, int]

MEASURES = ["risk-ratio", "odds-ratio", "risk-difference"]
ESTIMATORS = ["dersimonian-laird", "reml", "paule-mandel"]
WAYS: list[dict[str, Any]] = [
    {"model": "fixed"},
    {"model": "fixed", "weights": "mantel-haenszel"},
    *({"tau2": name} for name in ESTIMATORS),
    {"tau2": "reml", "interval": "hartung-knapp"},
]
SEEDS = window(0, 200, 4)


def rows(seed: int) -> list[Row]:
    """Random arms, with empty cells now and then."""
    draw = random.Random(seed)
    risk, effect, differ = draw.uniform(0.01, 0.7), draw.gauss(0, 0.6), draw.choice([0, 0.2, 0.8])
    found = []
    for _ in range(draw.randint(2, 12)):
        n1, n2 = draw.randint(3, 200), draw.randint(3, 200)
        treated = min(0.98, risk * exp(effect + draw.gauss(0, differ)))
        a, c = (sum(draw.random() < chance for _ in range(n)) for n, chance in ((n1, treated), (n2, risk)))
        found.append((a, n1, c, n2))
    return found


def turned(drawn: list[Row]) -> list[Row]:
    """Those without the event counted."""
    return [(n1 - a, n1, n2 - c, n2) for a, n1, c, n2 in drawn]


def near(value: float | None, other: float | None, least: float = 1e-12) -> None:
    assert (value is None) == (other is None)
    if value is not None:
        assert value == pytest.approx(other, rel=1e-9, abs=least)


def pooled(drawn: list[Row], measure: str, way: dict[str, Any]) -> Synthesis:
    return pool_only(table(counted(drawn), measure=measure, **way))


def mirrored(found: Synthesis, other: Synthesis, error: float = 1e-9) -> None:
    """One is the other with the sign of every effect turned."""
    assert [left.study for left in found.left_out] == [left.study for left in other.left_out]
    for one, two in zip(found.effects, other.effects, strict=True):
        near(one.value, -two.value)
        near(one.variance, two.variance)
        near(one.low, -two.high)
    if found.pooled is None or other.pooled is None:
        assert found.pooled is other.pooled
        return
    near(found.pooled.value, -other.pooled.value, error)
    near(found.pooled.standard_error, other.pooled.standard_error)
    if found.pooled.low is not None:
        assert other.pooled.high is not None
        near(found.pooled.low, -other.pooled.high, error)
    assert found.heterogeneity
    assert other.heterogeneity
    near(found.heterogeneity.q, other.heterogeneity.q, 1e-9)
    near(found.heterogeneity.tau2, other.heterogeneity.tau2, 1e-10)


@pytest.mark.parametrize("way", WAYS, ids=lambda way: "-".join(way.values()))
@pytest.mark.parametrize("measure", MEASURES)
def test_arms_swapped_turn_the_sign_and_keep_the_variance(measure: str, way: dict[str, Any]) -> None:
    for seed in SEEDS:
        drawn = rows(seed)
        swapped = [(c, n2, a, n1) for a, n1, c, n2 in drawn]
        mirrored(pooled(drawn, measure, way), pooled(swapped, measure, way))


@pytest.mark.parametrize("way", WAYS, ids=lambda way: "-".join(way.values()))
@pytest.mark.parametrize("measure", ["odds-ratio", "risk-difference"])
def test_events_for_their_absence_turn_the_sign_of_odds_ratio_and_difference(measure: str, way: dict[str, Any]) -> None:
    for seed in SEEDS:
        drawn = rows(seed)
        mirrored(pooled(drawn, measure, way), pooled(turned(drawn), measure, way))


def test_events_for_their_absence_give_another_risk_ratio() -> None:
    drawn = [(5, 50, 10, 50), (9, 60, 20, 70)]
    found, other = (pooled(each, "risk-ratio", WAYS[0]) for each in (drawn, turned(drawn)))
    assert found.pooled
    assert other.pooled
    assert found.pooled.value < -0.6
    assert 0 < other.pooled.value < 0.3


@pytest.mark.parametrize("way", WAYS, ids=lambda way: "-".join(way.values()))
@pytest.mark.parametrize("measure", MEASURES)
def test_the_order_of_the_studies_changes_nothing_not_even_the_last_digit(measure: str, way: dict[str, Any]) -> None:
    for seed in SEEDS:
        studies = counted(rows(seed), years=True)
        found = pool_only(table(studies, measure=measure, **way))
        mixed = random.Random(seed).sample(studies, len(studies))
        other = pool_only(table(mixed, measure=measure, **way))
        assert (other.pooled, other.heterogeneity, other.absolute) == (
            found.pooled,
            found.heterogeneity,
            found.absolute,
        )
        assert {effect.study: effect for effect in other.effects} == {effect.study: effect for effect in found.effects}


def test_order_does_not_change_what_needs_quantiles_and_leaving_out() -> None:
    for seed in SEEDS[:10]:
        studies = counted(rows(seed), years=True)
        found, other = synthesise(table(studies)), synthesise(table(studies[::-1]))
        assert other.heterogeneity == found.heterogeneity
        assert other.prediction == found.prediction
        assert other.leave_one_out == found.leave_one_out[::-1]
        assert other.cumulative == found.cumulative


@pytest.mark.parametrize("estimator", ESTIMATORS)
@pytest.mark.parametrize("measure", MEASURES)
def test_without_variation_random_effects_are_one_effect(measure: str, estimator: str) -> None:
    seen = 0
    for seed in SEEDS:
        found = pooled(rows(seed), measure, {"tau2": estimator})
        if found.heterogeneity is not None and found.heterogeneity.tau2 == 0:
            fixed = pooled(rows(seed), measure, {"model": "fixed"})
            assert found.pooled == fixed.pooled
            assert found.effects == fixed.effects
            seen += 1
    assert seen > 5


@pytest.mark.parametrize("measure", MEASURES)
def test_paule_and_mandel_s_tau2_makes_the_two_standard_errors_equal(measure: str) -> None:
    seen = 0
    for seed in SEEDS:
        asked = {"tau2": "paule-mandel"}
        usual, knapp = (pooled(rows(seed), measure, asked | more) for more in ({}, {"interval": "hartung-knapp"}))
        if usual.heterogeneity is not None and usual.heterogeneity.tau2:
            assert usual.pooled
            assert knapp.pooled
            assert knapp.pooled.standard_error == pytest.approx(usual.pooled.standard_error, rel=1e-9)
            seen += 1
    assert seen > 5


@pytest.mark.parametrize("measure", MEASURES)
def test_i2_by_q_is_i2_by_tau2_with_dersimonian_and_laird(measure: str) -> None:
    seen = 0
    for seed in SEEDS:
        found = pooled(rows(seed), measure, {"tau2": "dersimonian-laird"})
        if found.heterogeneity is None or not found.heterogeneity.tau2:
            continue
        assert found.heterogeneity.i2_from == "q"
        weights = [1 / effect.variance for effect in found.effects]
        total, squares = sum(weights), sum(weight**2 for weight in weights)
        typical = found.heterogeneity.df * total / (total**2 - squares)
        near(found.heterogeneity.i2, found.heterogeneity.tau2 / (found.heterogeneity.tau2 + typical), 1e-9)
        seen += 1
    assert seen > 5


@pytest.mark.parametrize("way", [way for way in WAYS if "weights" not in way], ids=lambda way: "-".join(way.values()))
def test_the_pooled_effect_lies_among_the_effects_and_weights_add_up(way: dict[str, Any]) -> None:
    for seed in SEEDS:
        for measure in MEASURES:
            found = pooled(rows(seed), measure, way)
            if found.pooled is None:
                continue
            values = [effect.value for effect in found.effects]
            assert min(values) - 1e-12 <= found.pooled.value <= max(values) + 1e-12
            assert sum(effect.weight for effect in found.effects) == pytest.approx(1, abs=1e-12)
            assert all(effect.weight > 0 for effect in found.effects)


def test_means_shifted_and_scaled() -> None:
    """Adding to both arms changes nothing; other units multiply the effect, and tau² by their square."""
    for seed in SEEDS:
        draw = random.Random(seed)
        arms = [[draw.randint(10, 99), draw.randint(1, 20), draw.randint(3, 90)] for _ in range(2 * draw.randint(2, 9))]
        drawn = [[*one, *other] for one, other in zip(arms[::2], arms[1::2], strict=True)]
        shifted = [[m1 + 1000, s1, n1, m2 + 1000, s2, n2] for m1, s1, n1, m2, s2, n2 in drawn]
        larger = [[m1 * 8, s1 * 8, n1, m2 * 8, s2 * 8, n2] for m1, s1, n1, m2, s2, n2 in drawn]
        found, same, scaled = (
            pool_only(table(measured(each), measure="mean-difference")) for each in (drawn, shifted, larger)
        )
        assert same == found
        assert found.pooled
        assert scaled.pooled
        near(scaled.pooled.value, 8 * found.pooled.value)
        near(scaled.pooled.standard_error, 8 * found.pooled.standard_error)
        assert found.heterogeneity
        assert scaled.heterogeneity
        assert found.heterogeneity.tau2 is not None
        near(scaled.heterogeneity.tau2, 64 * found.heterogeneity.tau2)
        near(scaled.heterogeneity.i2, found.heterogeneity.i2)


def test_restricted_likelihood_has_no_higher_peak_on_a_grid() -> None:
    """Variances of very different sizes, which give several peaks; the likelihood is that of the contrasts."""
    import numpy

    several = 0
    for seed in window(0, 400, 4):
        draw = random.Random(seed)
        pairs = []
        for _ in range(draw.choice([2, 3, 4, 6, 9])):
            error = 10 ** draw.uniform(-3, 1)
            pairs.append((draw.gauss(0, error * draw.choice([0.1, 1, 2, 4])), error))
        found = pool_only(table(reported(pairs), measure="mean-difference")).heterogeneity
        assert found
        assert found.tau2 is not None
        y, v = numpy.array([value for value, _ in pairs]), numpy.array([error**2 for _, error in pairs])

        def likelihood(tau2: Any, y: Any = y, v: Any = v) -> Any:
            total = v[:, None] + tau2
            weight = 1 / total
            mean = (weight * y[:, None]).sum(0) / weight.sum(0)
            away = (weight * (y[:, None] - mean) ** 2).sum(0)
            return -(numpy.log(total).sum(0) + numpy.log(weight.sum(0)) + away) / 2

        grid = numpy.concatenate([[0.0], v.min() * numpy.geomspace(1e-6, 1e12, 3000)])
        heights = likelihood(grid)
        assert likelihood(numpy.array([found.tau2]))[0] >= heights.max() - 1e-9
        inner = heights[1:-1]
        several += int(((inner > heights[:-2]) & (inner > heights[2:])).sum() + (heights[0] > heights[1])) > 1
    assert several > 3


def test_a_difference_of_means_and_its_variance() -> None:
    effect = pool_only(table(measured([["1.2", "0.4", 30, "1.0", "0.5", 28]]), measure="mean-difference")).effects[0]
    assert effect.value == pytest.approx(0.2, rel=1e-15)
    assert effect.variance == pytest.approx(0.4**2 / 30 + 0.5**2 / 28, rel=1e-15)
    assert effect.high - effect.value == pytest.approx(1.959963984540054 * sqrt(effect.variance), rel=1e-12)
