"""Absolute effects and numbers needed to treat against printed worked examples.

Handbook   Cochrane Handbook 5.1, section 12.5: a risk ratio of 0.92 and an odds ratio of 0.73 at a risk of 0.3, a
           difference of -0.133.
Otitis     antibiotics for acute otitis media, a table printed with the GRADE series, as reproduced in a later
           publication, not seen in the original.
Stockings  CD004002 as summarised in a later publication.
"""

from __future__ import annotations

from fractions import Fraction
from math import sqrt

import pytest

from liningbook.evidence.synthesis.result import Absolute, NumberNeeded, Synthesis
from liningbook.evidence.synthesis.synthesise import synthesise
from liningbook.evidence.table import Reported, Study
from tests.tables import PLACE, counted, reported, table


def people(found: Synthesis) -> Absolute:
    assert found.absolute is not None
    return found.absolute


def of(
    measure: str, estimate: str, low: str = "", high: str = "", risk: str | None = None, kind: str = "harm"
) -> Absolute:
    given = Reported(Fraction(estimate), Fraction(low), Fraction(high)) if low else None
    study = Study("study", PLACE, reported=given or Reported(Fraction(estimate), standard_error=Fraction(1, 50)))
    stated = None if risk is None else Fraction(risk)
    return people(synthesise(table([study], measure=measure, kind=kind, comparator_risk=stated)))


@pytest.mark.parametrize(
    ("measure", "estimate", "risk", "fewer", "needed"),
    [
        ("risk-ratio", "0.92", "0.3", 24, 42),
        ("odds-ratio", "0.73", "0.3", 62, 17),
        ("risk-difference", "-0.133", None, 133, 8),
    ],
)
def test_the_handbook_s_examples(measure: str, estimate: str, risk: str | None, fewer: int, needed: int) -> None:
    found = of(measure, estimate, risk=risk)
    assert round(-found.per_1000) == fewer
    assert found.number_needed == NumberNeeded(needed, "benefit")
    assert (found.comparator_risk, found.is_stated) == ((0.3, True) if risk else (None, False))


@pytest.mark.parametrize(
    ("estimate", "low", "high", "risk", "per_1000"),
    [
        pytest.param("0.72", "0.62", "0.83", "0.257", (-72, -98, -44), id="otitis: pain at 2 to 7 days"),
        pytest.param("1.38", "1.09", "1.76", "0.113", (43, 10, 86), id="otitis: adverse effects"),
    ],
)
def test_printed_differences_by_the_risk_ratio(
    estimate: str, low: str, high: str, risk: str, per_1000: tuple[int, int, int]
) -> None:
    found = of("risk-ratio", estimate, low, high, risk)
    assert (round(found.per_1000), round(found.low or 0), round(found.high or 0)) == per_1000


@pytest.mark.parametrize(
    ("odds", "risk", "printed"),
    [
        ("0.10", "0.010", 1),
        ("0.04", "0.010", 0),
        ("0.25", "0.010", 3),
        ("0.45", "0.013", 6),
        ("0.18", "0.013", 2),
        ("1.13", "0.013", 15),
    ],
)
def test_printed_risks_by_the_odds_ratio(odds: str, risk: str, printed: int) -> None:
    """Stockings: how many of 1000 have it with the treatment, for each estimate and limit."""
    assert round(1000 * float(risk) + of("odds-ratio", odds, risk=risk).per_1000) == printed


def test_the_number_needed_goes_through_infinity_where_the_interval_crosses_no_effect() -> None:
    """Calculated: 40 fewer to 20 more in 1000 is from 25 for one to gain, through infinity, to 50 for one harmed."""
    found = of("risk-difference", "-0.01", "-0.04", "0.02")
    assert found.through_infinity
    assert found.number_low == NumberNeeded(25, "benefit")
    assert found.number_high == NumberNeeded(50, "harm")
    assert found.number_needed == NumberNeeded(100, "benefit")
    one_sided = of("risk-difference", "-0.03", "-0.05", "-0.01")
    assert not one_sided.through_infinity
    assert (one_sided.number_low, one_sided.number_high) == (NumberNeeded(20, "benefit"), NumberNeeded(100, "benefit"))


def test_numbers_needed_are_rounded_up_and_a_whole_number_stays() -> None:
    """Calculated: 1/0.03 is 33.3; 0.02, 0.07 × 0.1 and others are no exact binary numbers."""
    for difference, needed in [
        ("-0.03", 34),
        ("-0.02", 50),
        ("-0.1", 10),
        ("-0.6", 2),
        ("-1", 1),
        ("-0.000001", 10**6),
    ]:
        assert of("risk-difference", difference).number_needed == NumberNeeded(needed, "benefit")
    for ratio, risk, needed in [("0.9", "0.1", 100), ("0.93", "0.1", 143), ("0.75", "0.04", 100), ("0.5", "0.02", 100)]:
        assert of("risk-ratio", ratio, risk=risk).number_needed == NumberNeeded(needed, "benefit")


def test_what_is_gained_and_what_is_harm() -> None:
    more = {"estimate": "1.5", "risk": "0.2"}
    assert of("risk-ratio", **more, kind="harm").number_needed == NumberNeeded(10, "harm")
    assert of("risk-ratio", **more, kind="benefit").number_needed == NumberNeeded(10, "benefit")
    none = of("risk-ratio", "1", risk="0.2")
    assert (none.per_1000, none.number_needed, none.through_infinity) == (0, None, True)


def test_without_a_stated_risk_the_median_of_all_studies_with_counts_is_taken() -> None:
    rows = [(0, 10, 0, 10), (1, 10, 2, 10), (3, 10, 4, 10), (3, 10, 5, 10)]
    found = people(synthesise(table(counted(rows))))
    assert (found.comparator_risk, found.is_stated) == (pytest.approx(0.3), False)
    unknown = synthesise(table(reported([("0.5", "0.2")])))
    assert unknown.absolute is None
    assert "no-comparator-risk" in {note.what for note in unknown.notes}


def test_the_treated_risk_stays_within_0_and_1() -> None:
    study = reported([("3", "0.2")])
    found = synthesise(table(study, comparator_risk=Fraction(1, 2)))
    assert people(found).per_1000 == 500
    assert "risk-out-of-range" in {note.what for note in found.notes}
    odds = synthesise(table(study, measure="odds-ratio", comparator_risk=Fraction(1, 2)))
    assert people(odds).per_1000 == pytest.approx(250)
    assert "risk-out-of-range" not in {note.what for note in odds.notes}


@pytest.mark.parametrize(
    ("measure", "risk", "is_none"),
    [
        ("risk-ratio", 0, True),
        ("odds-ratio", 0, True),
        ("odds-ratio", 1, True),
        ("risk-ratio", 1, False),
        ("risk-difference", 0, False),
    ],
)
def test_a_ratio_at_the_end_of_the_risks_gives_no_absolute_effect(measure: str, risk: int, is_none: bool) -> None:
    """Nothing times any ratio is nothing, which would read as no effect; stated or the median of the studies."""
    counts = [(30, 60, 60 * risk, 60), (8, 50, 50 * risk, 50), (5, 44, 1, 43)]
    for found in (
        synthesise(table(reported([("0.5", "0.2")]), measure=measure, comparator_risk=Fraction(risk))),
        synthesise(table(counted(counts), measure=measure)),
    ):
        assert (found.absolute is None) is is_none
        assert ("comparator-risk-at-end" in {note.what for note in found.notes}) is is_none


def test_a_difference_leaves_the_treated_risk_within_0_and_1() -> None:
    found = synthesise(table(reported([("-0.3", "0.05")]), measure="risk-difference", comparator_risk=Fraction(1, 5)))
    assert people(found).per_1000 == people(found).low == pytest.approx(-200)
    assert people(found).high == pytest.approx(-200, abs=3)
    notes = [note.what for note in found.notes]
    assert "difference-out-of-range" in notes
    assert "risk-out-of-range" not in notes


def test_the_number_needed_runs_through_infinity_where_the_effect_does_though_its_risk_cannot() -> None:
    found = of("risk-ratio", "0.5", "0.2", "1.25", risk="1")
    assert (found.low, found.high) == (pytest.approx(-800), 0)
    assert found.through_infinity
    assert (found.number_low, found.number_high) == (NumberNeeded(2, "benefit"), None)


def test_the_standard_error_of_a_reported_interval() -> None:
    """Calculated: (ln 1.01 - ln 0.5) / (2 × 1.959964) is 0.179365."""
    study = Study("study", PLACE, reported=Reported(Fraction("0.71"), Fraction("0.5"), Fraction("1.01")))
    effect = synthesise(table([study])).effects[0]
    assert sqrt(effect.variance) == pytest.approx(0.179365, abs=5e-7)


def test_a_difference_too_small_for_a_number_needed_is_told_and_none_is_not() -> None:
    for difference, is_told in [("1e-10", True), ("0", False), ("1e-8", False)]:
        found = synthesise(table(reported([(difference, "0.01")]), measure="risk-difference"))
        assert ("number-too-large" in {note.what for note in found.notes}) is is_told
        assert (people(found).number_needed is None) is (difference != "1e-8")


@pytest.mark.parametrize(
    ("measure", "figures", "is_told"),
    [
        ("risk-ratio", ("0.71", "0.5", "1.01"), False),
        ("risk-ratio", ("0.9", "0.5", "1.01"), True),
        ("mean-difference", ("5", "4", "6"), False),
        ("mean-difference", ("5.9", "4", "6"), True),
        ("mean-difference", ("-5.9", "-6", "-4"), True),
    ],
)
def test_an_estimate_far_from_the_middle_of_its_limits_is_told(
    measure: str, figures: tuple[str, str, str], is_told: bool
) -> None:
    study = Study("study", PLACE, reported=Reported(*map(Fraction, figures)))
    found = synthesise(table([study], measure=measure))
    assert ("lopsided-interval" in {note.what for note in found.notes}) is is_told
    assert found.pooled
    assert (found.shown(found.pooled.low or 0), found.shown(found.pooled.high or 0)) == pytest.approx(
        (float(figures[1]), float(figures[2]))
    )
