"""Readings against JCGM 106:2012 (Evaluation of measurement data: the role of measurement uncertainty in conformity
assessment; also ISO/IEC Guide 98-4), and against a reference library.

Where the figures come from stands beside each: *published* (in a copy of the document or a worked copy of its example),
*from memory* (inputs of 7.3, not confirmed against the document) or *calculated* (from stated inputs, by two methods).
Liningbook takes a normal distribution about the corrected value with u = U/2 and does not cut it off at the factor's
limits; the last tests but one say what cutting it off would change.
Library: `scipy.stats` 1.17.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import pytest

from liningbook.analysis import analyse
from liningbook.cases.question import answer, put
from liningbook.cases.readings import probability_above
from liningbook.show.terminal.reply import reply_json
from tests.oracle.folder import write_folder
from tests.oracle.generate import DAY


def above(threshold: str | float, value: str | float, standard: str | float) -> float:
    """The probability with a standard uncertainty u, for which a protocol states U = 2 u."""
    return probability_above(Fraction(threshold), Fraction(value), 2 * Fraction(standard))


def below(threshold: str | float, value: str | float, standard: str | float) -> float:
    return 1 - above(threshold, value, standard)


# --- conformance probability, clause 7.3 ----------------------------------------------------------------------------


def test_breakdown_voltage_below_an_upper_limit() -> None:
    """At most -5.40 V, y = -5.47 V, u = 0.05 V. Inputs from memory; calculated."""
    assert below("-5.40", "-5.47", "0.05") == pytest.approx(0.919, abs=5e-4)


def test_bursting_strength_above_a_lower_limit() -> None:
    """At least 490 kPa, y = 509.7 kPa, u = 8.6 kPa. Inputs from memory; calculated."""
    assert above("490", "509.7", "8.6") == pytest.approx(0.989, abs=5e-4)


def test_viscosity_between_two_limits() -> None:
    """12.5 to 16.3, y = 13.6, u = 1.8. Inputs from memory; calculated."""
    assert above("12.5", "13.6", "1.8") - above("16.3", "13.6", "1.8") == pytest.approx(0.66, abs=5e-3)


def test_speed_that_proves_a_limit_exceeded() -> None:
    """Limit 100 km/h, u = 2 %, wanted 99.9 %: 106.6, printed as 107. Inputs from memory; calculated."""
    assert above("100", "106.6", str(Fraction("106.6") / 50)) == pytest.approx(0.999, abs=2e-4)
    assert above("100", "107", str(Fraction("107") / 50)) > 0.999


@pytest.mark.parametrize(
    ("z", "probability"), [("0.84", 0.80), ("1.28", 0.90), ("1.64", 0.95), ("2.33", 0.99), ("3.09", 0.999)]
)
def test_one_sided_probabilities_of_the_normal_distribution(z: str, probability: float) -> None:
    """The usual table of z for a single limit, printed to two decimals."""
    assert above("0", z, "1") == pytest.approx(probability, abs=2e-3)


@pytest.mark.parametrize(
    ("guard_band", "least", "most"),
    [("0", 0.5, 0.5), ("0.83", 0.04, 0.05), ("1", 0.02274, 0.02276), ("1.5", 0.0013, 0.0016), ("3", 0, 1e-6)],
)
def test_risk_at_the_edge_of_the_guard_band(guard_band: str, least: float, most: float) -> None:
    """w = r U: 50 %, under 5 %, under 2.5 % (exactly 2.275 %), under 0.16 %, under one in a million.

    Source: ILAC-G8:09/2019, from a secondary listing; 2.275 % calculated.
    """
    assert least <= below("0.5", str(Fraction("0.5") + Fraction(guard_band) * Fraction("0.4")), "0.2") <= most


# --- global risks, clause 9.5: the probability inside an integral ---------------------------------------------------


def integral(of: Callable[[float], float], low: float, high: float, parts: int = 500) -> float:
    """Simpson's rule."""
    width = (high - low) / parts
    inner = sum((4 if n % 2 else 2) * of(low + n * width) for n in range(1, parts))
    return width / 3 * (of(low) + inner + of(high))


def test_ball_bearings() -> None:
    """9.5.4: radial error with prior Gamma(4, rate 4) um, limit 2 um, u = 0.25 um.

    Not conforming without inspection 0.04238, consumer's risk 0.008019 with the acceptance limit at 2 um: published.
    Producer's risk 0.01744, and 1.6718 um for a consumer's risk of 0.1 % with producer's risk 0.0755: calculated.
    """
    from scipy import stats

    prior = stats.gamma(4, scale=1 / 4)
    assert prior.sf(2) == pytest.approx(0.04238, abs=5e-6)
    consumer = integral(lambda y: float(prior.pdf(y)) * below("2", y, "0.25"), 2, 6)
    producer = integral(lambda y: float(prior.pdf(y)) * above("2", y, "0.25"), 0, 2)
    assert consumer == pytest.approx(0.008019, abs=5e-7)
    assert producer == pytest.approx(0.01744, abs=5e-6)
    guarded = integral(lambda y: float(prior.pdf(y)) * below("1.6718", y, "0.25"), 2, 6)
    lost = integral(lambda y: float(prior.pdf(y)) * above("1.6718", y, "0.25"), 0, 2)
    assert guarded == pytest.approx(0.001, abs=1e-6)
    assert lost == pytest.approx(0.0755, abs=5e-5)


@pytest.mark.parametrize(("accepted", "consumer", "producer"), [("0.18", 0.009878, 0.06903), ("0.2", 0.01894, 0.03721)])
def test_resistors(accepted: str, consumer: float, producer: float) -> None:
    """Y ~ N(1500, 0.12) ohm, limits 1500 -/+ 0.2, u = 0.04, accepted within -/+ 0.18, or -/+ 0.2 without guard band.

    Inputs published in a worked copy; results calculated. Both sides are alike, so twice one side.
    """
    from scipy import stats

    prior = stats.norm(0, 0.12)

    def passes(y: float) -> float:
        return above(f"-{accepted}", y, "0.04") - above(accepted, y, "0.04")

    assert 2 * prior.cdf(0.2) - 1 == pytest.approx(0.9044, abs=5e-5)
    assert 2 * integral(lambda y: float(prior.pdf(y)) * passes(y), 0.2, 1) == pytest.approx(consumer, abs=5e-6)
    assert 2 * integral(lambda y: float(prior.pdf(y)) * (1 - passes(y)), 0, 0.2) == pytest.approx(producer, abs=5e-6)


# --- remaining dentine thickness ------------------------------------------------------------------------------------


@pytest.mark.parametrize(("y", "probability"), [("0.6", 0.6915), ("0.8", 0.9332), ("0.9", 0.9772), ("1.0", 0.9938)])
def test_probability_of_enough_dentine(y: str, probability: float) -> None:
    """At least 0.5 mm, u = 0.2 mm. Calculated."""
    assert above("0.5", y, "0.2") == pytest.approx(probability, abs=5e-5)


@pytest.mark.parametrize(
    ("guard_band", "y", "accepted"),
    [
        ("1", "0.8", False), ("1", "0.899", False), ("1", "0.9", True), ("1", "1", True),
        ("0.83", "0.831", False), ("0.83", "0.832", True), ("0", "0.499", False), ("0", "0.5", True),
    ],
)  # fmt: skip
def test_a_reading_is_accepted_from_the_limit_and_the_guard_band_on(
    guard_band: str, y: str, accepted: bool, tmp_path: Path
) -> None:
    """T = 0.5 mm and U = 0.4 mm: accepted from A = 0.9 mm with w = U, 0.832 mm with w = 0.83 U, 0.5 mm without.

    w = U is the choice of JCGM 106 and ILAC-G8; 0.83 U the default of ISO 14253-1:2017 (from a secondary source).
    """
    assert (treated(tmp_path, guard_band, y) == "enough") == accepted


def treated(folder: Path, guard_band: str, y: str) -> str:
    """The advice for a reading, in a protocol that asks for 0.5 mm of dentine."""
    reading = {"uncertainty": "0.4 mm", "guard_band": guard_band, "cautious": "below"}
    limits = {"kind": "quantity", "unit": "mm", "at_least": "0 mm", "at_most": "6 mm"}
    shared = {"title": "One", "evidence": {"basis": "good-practice", "note": "Invented."}}
    plain = {
        "protocol": {
            "title": "One limit", "practice": "Invented", "edition": "1", "status": "draft", "review_by": "2099-01-01",
            "authors": [{"name": "Nobody", "role": "none", "interests": "none"}], "scope": "Tests",
            "cautions": ["Mind this."], "evidence_scheme": "grade", "factors": {"rdt": {**limits, "reading": reading}},
            "decisions": {"dentine": {"answers": {"enough": "Enough", "little": "Too little"}}},
        },
        "materials": {"agents": {}},
        "rules": {
            "enough": {**shared, "when": {"rdt": {"at_least": "0.5 mm"}}, "advise": {"dentine": "enough"}},
            "little": {**shared, "when": {"rdt": {"below": "0.5 mm"}}, "advise": {"dentine": "little"}},
        },
    }  # fmt: skip
    analysis = analyse(write_folder(plain, folder), DAY)
    assert analysis.meaning is not None
    assert analysis.protocol is not None
    reply = reply_json(analysis.protocol, answer(analysis.meaning, put(analysis.meaning, {"rdt.reading": f"{y} mm"})))
    found: str = reply["advice"]["dentine"]["answer"]
    return found


def test_the_distribution_is_not_cut_off_at_nothing() -> None:
    """Dentine has no negative thickness: y = 0.6 mm, u = 0.3 mm gives 0.6306, cut off at 0 mm 0.6452. Calculated.

    Cutting off raises the probability, so that without it Liningbook errs on the side of care at a lower limit.
    """
    plain = above("0.5", "0.6", "0.3")
    assert plain == pytest.approx(0.6306, abs=5e-5)
    assert plain / above("0", "0.6", "0.3") == pytest.approx(0.6452, abs=5e-5)


def test_without_uncertainty_a_value_is_on_its_side() -> None:
    assert [above("0.5", y, "0") for y in ("0.4", "0.6")] == [0, 1]


# --- reference library ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("threshold", ["-5.4", "0", "0.5", "2"])
@pytest.mark.parametrize("standard", ["0.001", "0.2", "3"])
def test_probabilities_are_those_of_the_reference_library(threshold: str, standard: str) -> None:
    from scipy import stats

    for step in range(-40, 41):
        value = Fraction(threshold) + Fraction(step, 8) * Fraction(standard)
        true = stats.norm.sf(float(Fraction(threshold)), loc=float(value), scale=float(standard))
        got = probability_above(Fraction(threshold), value, 2 * Fraction(standard))
        assert got == pytest.approx(true, rel=1e-9, abs=1e-12)
