"""Closed forms a second time, with fractions and 50 digits, and written differently: no library has all of them.

The variances of Mantel and Haenszel's effects: of the risk difference as that of a weighted mean of independent
differences; of the logarithm of the risk ratio from (n1 a d + n2 b c) / N², by which the fraction of Greenland and
Robins can be written too.
"""

from __future__ import annotations

import random
from decimal import Decimal, localcontext
from fractions import Fraction

import pytest

from liningbook.evidence.synthesis.result import Synthesis
from liningbook.evidence.synthesis.synthesise import pool_only, synthesise
from tests.seeds import window
from tests.tables import counted, reported, table

Row = tuple[Fraction, Fraction, Fraction, Fraction]

MEASURES = ["risk-ratio", "odds-ratio", "risk-difference"]
CLOSE = 1e-12


def real(value: Fraction | int) -> Decimal:
    return Decimal(value.numerator) / Decimal(value.denominator)


def cells(seed: int) -> list[tuple[int, int, int, int]]:
    """Events and others in both arms: small, large and very unequal, with empty cells."""
    draw = random.Random(seed)
    largest = draw.choice([4, 40, 10**5, 10**9])
    return [
        tuple(draw.choice([0, 1, 2, draw.randint(0, largest)]) for _ in range(4)) for _ in range(draw.randint(1, 9))
    ]


def effect(measure: str, a: Fraction, b: Fraction, c: Fraction, d: Fraction) -> tuple[Decimal, Decimal]:
    n1, n2 = a + b, c + d
    if measure == "risk-ratio":
        return (real(a / n1) / real(c / n2)).ln(), real(1 / a - 1 / n1 + 1 / c - 1 / n2)
    if measure == "odds-ratio":
        return (real(a * d) / real(b * c)).ln(), real(1 / a + 1 / b + 1 / c + 1 / d)
    return real(a / n1 - c / n2), real(a * b / n1**3 + c * d / n2**3)


def corrected(row: tuple[int, ...]) -> Row:
    a, b, c, d = (Fraction(cell) + (Fraction(1, 2) if 0 in row else 0) for cell in row)
    return a, b, c, d


def kept(measure: str, seed: int) -> list[tuple[int, int, int, int]]:
    """The studies that have an effect."""
    rows = [row for row in cells(seed) if row[0] + row[1] and row[2] + row[3]]
    if measure == "risk-difference":
        return rows
    return [row for row in rows if row[0] + row[2] and row[1] + row[3]]


def of(measure: str, seed: int, **asked: str) -> Synthesis:
    rows = [row for row in cells(seed) if row[0] + row[1] and row[2] + row[3]]
    return pool_only(table(counted((a, a + b, c, c + d) for a, b, c, d in rows), measure=measure, **asked))


def near(value: float | None, exact: Decimal, least: float = 0.0) -> None:
    assert value == pytest.approx(float(exact), rel=CLOSE, abs=least)


@pytest.mark.parametrize("measure", MEASURES)
def test_effects_one_effect_and_dersimonian_laird(measure: str) -> None:
    for seed in window(0, 400, 2):
        with localcontext() as context:
            context.prec = 50
            exact = [effect(measure, *corrected(row)) for row in kept(measure, seed)]
            found = of(measure, seed, tau2="dersimonian-laird")
            assert len(found.effects) == len(exact)
            if not exact:
                assert found.pooled is None
                continue
            for one, (value, variance) in zip(found.effects, exact, strict=True):
                near(one.value, value)
                near(one.variance, variance)
            weights = [1 / variance for _, variance in exact]
            total = sum(weights)
            mean = sum(weight * value for weight, (value, _) in zip(weights, exact, strict=True)) / total
            q = sum(weight * (value - mean) ** 2 for weight, (value, _) in zip(weights, exact, strict=True))
            tau2 = Decimal(0)
            if len(exact) > 1:
                excess = q - (len(exact) - 1)
                tau2 = max(Decimal(0), excess / (total - sum(weight**2 for weight in weights) / total))
            again = [1 / (variance + tau2) for _, variance in exact]
            pooled = sum(weight * value for weight, (value, _) in zip(again, exact, strict=True)) / sum(again)
        assert found.pooled
        assert found.heterogeneity
        for one, weight in zip(found.effects, again, strict=True):
            near(one.weight, weight / sum(again))
        scale = float(1 / total.sqrt())
        near(found.heterogeneity.q, q, 1e-13)
        near(found.heterogeneity.tau2 or 0.0, tau2, 1e-12 * float(min(variance for _, variance in exact)))
        near(found.pooled.value, pooled, CLOSE * scale)
        near(found.pooled.standard_error, 1 / sum(again).sqrt())


@pytest.mark.parametrize("measure", ["risk-ratio", "risk-difference"])
def test_mantel_haenszel_with_standard_errors(measure: str) -> None:
    corrections = 0
    for seed in window(0, 400, 2):
        rows: list[Row] = [tuple(map(Fraction, row)) for row in kept(measure, seed)]  # type: ignore[misc]
        found = of(measure, seed, model="fixed", weights="mantel-haenszel")
        if not rows:
            assert found.pooled is None
            continue
        value = exactly(measure, rows)
        if value is None:
            value = exactly(measure, [corrected(row) for row in kept(measure, seed)])
            corrections += 1
            assert "pooled-with-correction" in {note.what for note in found.notes}
        assert value is not None
        assert found.pooled
        near(found.pooled.value, value[0], CLOSE * float(value[1]))
        near(found.pooled.standard_error, value[1])
    assert corrections


def exactly(measure: str, rows: list[Row]) -> tuple[Decimal, Decimal] | None:
    """The effect and its standard error, or nothing."""
    with localcontext() as context:
        context.prec = 50
        if measure == "risk-difference":
            weights = [(a + b) * (c + d) / (a + b + c + d) for a, b, c, d in rows]
            parts = [weight / sum(weights) for weight in weights]
            mean = sum((part * (a / (a + b) - c / (c + d)) for part, (a, b, c, d) in zip(parts, rows, strict=True)))
            variance = sum(
                part**2 * (a * b / (a + b) ** 3 + c * d / (c + d) ** 3)
                for part, (a, b, c, d) in zip(parts, rows, strict=True)
            )
            return (real(mean), real(variance).sqrt()) if variance else None
        above = sum(a * (c + d) / (a + b + c + d) for a, b, c, d in rows)
        below = sum(c * (a + b) / (a + b + c + d) for a, b, c, d in rows)
        if not above or not below:
            return None
        spread = sum(((a + b) * a * d + (c + d) * b * c) / (a + b + c + d) ** 2 for a, b, c, d in rows)
        return real(Fraction(above / below)).ln(), real(Fraction(spread / (above * below))).sqrt()


def spread_and_slope(pairs: list[tuple[Decimal, Decimal]], tau2: Decimal) -> tuple[Decimal, Decimal]:
    """The generalised Q, and twice the slope of the restricted log-likelihood."""
    weights = [1 / (variance + tau2) for _, variance in pairs]
    total = sum(weights)
    mean = sum(weight * value for weight, (value, _) in zip(weights, pairs, strict=True)) / total
    parts = [weight * (value - mean) for weight, (value, _) in zip(weights, pairs, strict=True)]
    spread = sum(part**2 / weight for part, weight in zip(parts, weights, strict=True))
    slope = sum(part**2 for part in parts) - total + sum(weight**2 for weight in weights) / total
    return Decimal(spread), Decimal(slope)


def test_iterated_estimates_solve_their_equations() -> None:
    """In 50 digits: the spread is what it is to be, and the likelihood turns within a part in 10⁹ of the estimate."""
    from scipy.stats import chi2

    turned = 0
    for seed in window(0, 400, 4):
        draw = random.Random(seed)
        differ = draw.choice([0.0, 0.1, 1.0, 30.0])
        rows = []
        for _ in range(draw.choice([2, 3, 5, 9, 20])):
            error = 10 ** draw.uniform(-3, 0.5)
            rows.append((draw.gauss(0, (error**2 + differ**2) ** 0.5), error))
        outcome = table(reported(rows), measure="mean-difference", tau2="reml")
        whole = synthesise(outcome).heterogeneity
        mandel = pool_only(table(reported(rows), measure="mean-difference", tau2="paule-mandel")).heterogeneity
        assert whole
        assert mandel
        with localcontext() as context:
            context.prec = 50
            pairs = [(Decimal(value), Decimal(error * error)) for value, error in rows]
            at_none = spread_and_slope(pairs, Decimal(0))
            for found, target in [
                (mandel.tau2, len(rows) - 1),
                (whole.tau2_low, chi2.ppf(0.975, len(rows) - 1)),
                (whole.tau2_high, chi2.ppf(0.025, len(rows) - 1)),
            ]:
                if found:
                    near(float(target), spread_and_slope(pairs, Decimal(found))[0])
                elif found is not None:
                    assert at_none[0] <= target
            assert whole.tau2 is not None
            if whole.tau2 == 0:
                assert at_none[1] <= 0
                continue
            tau2, part = Decimal(whole.tau2), Decimal(whole.tau2) / 10**9
            assert spread_and_slope(pairs, tau2 - part)[1] > 0 > spread_and_slope(pairs, tau2 + part)[1]
            turned += 1
    assert turned > 20


def test_a_tiny_effect_keeps_its_digits() -> None:
    """Near no effect the logarithm is of a ratio that double precision cannot tell from 1."""
    found = of_counts(500_000_001, 10**9, 500_000_000, 10**9)
    with localcontext() as context:
        context.prec = 50
        near(found.effects[0].value, (Decimal(500_000_001) / 500_000_000).ln())


def test_absolute_effects_keep_their_digits_at_every_risk() -> None:
    for ratio in ("1e-9", "0.5", "0.999999999", "1.000000001", "3", "1e9"):
        for risk in ("1e-12", "0.25", "0.999999999999"):
            given = {"comparator_risk": Fraction(risk), "model": "fixed"}
            r, times = Fraction(risk), Fraction(ratio)
            digits = 1e-4 if r > 0.9 else 1e-9  # what double precision leaves of 1 less a risk near 1
            for measure, treated in [
                ("odds-ratio", times * r / (1 - r + times * r)),
                ("risk-ratio", min(times * r, Fraction(1))),
            ]:
                found = pool_only(table(reported([(ratio, "0.1")]), measure=measure, **given)).absolute
                assert found
                assert found.per_1000 == pytest.approx(float(1000 * (treated - r)), rel=digits)


def of_counts(*row: int) -> Synthesis:
    return pool_only(table(counted([row])))
