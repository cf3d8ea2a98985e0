"""Tables on which sums, logarithms or iterations go wrong: an answer, or nothing and why; never NaN or infinity."""

from __future__ import annotations

import dataclasses
import itertools
import json
from collections.abc import Iterator
from fractions import Fraction
from math import isfinite
from typing import Any

import pytest

from liningbook.evidence.synthesis.result import Synthesis
from liningbook.evidence.synthesis.synthesise import pool_only, synthesise
from liningbook.evidence.table import Reported, Study
from tests.tables import PLACE, counted, measured, reported, table

BILLION = 10**9

COUNTS = {
    "one study": [(3, 40, 8, 41)],
    "one study, empty cell": [(0, 40, 8, 41)],
    "one study, no events": [(0, 40, 0, 41)],
    "two": [(3, 40, 8, 41), (5, 60, 6, 55)],
    "no events at all": [(0, 40, 0, 41), (0, 10, 0, 12), (0, 7, 0, 7)],
    "events in all": [(40, 40, 41, 41), (10, 10, 12, 12)],
    "all or none": [(40, 40, 0, 41), (10, 10, 0, 12), (30, 30, 0, 30)],
    "none or all": [(0, 40, 41, 41), (0, 10, 12, 12)],
    "treated never": [(0, 40, 3, 41), (0, 50, 4, 51), (0, 60, 5, 61)],
    "comparator never": [(3, 40, 0, 41), (4, 50, 0, 51)],
    "identical": [(5, 50, 9, 50)] * 6,
    "identical, no effect": [(9, 50, 9, 50)] * 4,
    "one person in each arm": [(1, 1, 0, 1), (0, 1, 1, 1), (1, 1, 1, 1), (0, 1, 0, 1)],
    "a thousand million": [(BILLION // 3, BILLION, BILLION // 2, BILLION), (1, BILLION, BILLION - 1, BILLION)],
    "few in a thousand million": [(1, BILLION, 3, BILLION), (0, BILLION, 2, BILLION), (5, BILLION, 9, BILLION)],
    "one huge study": [
        (BILLION // 10, BILLION, BILLION // 5, BILLION),
        *[(2, 9, 1, 8), (1, 5, 3, 6), (0, 4, 2, 4)] * 3,
    ],
    "one huge study that says otherwise": [(BILLION // 5, BILLION, BILLION // 10, BILLION), *[(1, 9, 5, 8)] * 9],
    "opposite extremes": [(BILLION - 1, BILLION, 1, BILLION), (1, BILLION, BILLION - 1, BILLION)],
}

WAYS: list[dict[str, Any]] = [
    {"model": "fixed"},
    {"model": "fixed", "interval": "hartung-knapp"},
    {"model": "fixed", "weights": "mantel-haenszel"},
    {"model": "fixed", "weights": "mantel-haenszel", "interval": "hartung-knapp"},
    *(
        {"tau2": estimator, "interval": interval}
        for estimator in ("dersimonian-laird", "reml", "paule-mandel")
        for interval in ("normal", "hartung-knapp")
    ),
]
ZEROS = [Fraction(1, 2), Fraction(0), Fraction(1, 10**9), Fraction(10**9), Fraction(1, 10**400), Fraction(10**400)]

RISKS = [None, Fraction(0), Fraction(1, 10**400), Fraction(1, 10), 1 - Fraction(1, 10**15), Fraction(1)]


def numbers(value: Any) -> Iterator[float]:
    """Every number in a value."""
    if dataclasses.is_dataclass(value):
        for part in dataclasses.fields(value):
            yield from numbers(getattr(value, part.name))
    elif isinstance(value, tuple):
        for each in value:
            yield from numbers(each)
    elif isinstance(value, dict):
        yield from numbers(tuple(value.values()))
    elif isinstance(value, int | float):
        yield value


def sound(found: Synthesis) -> None:
    """No number is NaN or infinite, as a ratio neither; limits are in their order; what is absent has its reason."""
    assert all(isfinite(number) for number in numbers(found))
    json.dumps(dataclasses.asdict(found), allow_nan=False)
    for effect in found.effects:
        assert effect.low <= effect.value <= effect.high
        assert effect.variance > 0
        assert all(isfinite(found.shown(each)) for each in (effect.low, effect.value, effect.high))
    if found.effects:
        assert sum(effect.weight for effect in found.effects) == pytest.approx(1, abs=1e-12)
    said = {note.what for note in found.notes}
    if found.pooled is None:
        assert "no-effects" in said
        return
    assert found.pooled.standard_error > 0 or "no-spread" in said
    if found.pooled.low is None or found.pooled.high is None:
        assert said & {"one-study-no-interval", "no-spread", "no-such-interval", "interval-out-of-range"}
    else:
        assert found.pooled.low <= found.pooled.value <= found.pooled.high
        assert isfinite(found.shown(found.pooled.low) + found.shown(found.pooled.high))
    if found.prediction is not None:
        assert found.prediction.low <= found.pooled.value <= found.prediction.high
    assert found.heterogeneity is not None
    assert found.heterogeneity.q >= 0
    assert 0 <= found.heterogeneity.i2 <= 1
    if found.heterogeneity.tau2_low is not None:
        assert found.heterogeneity.tau2_high is not None
        assert 0 <= found.heterogeneity.tau2_low <= found.heterogeneity.tau2_high
    if found.absolute is not None:
        assert -1000 <= found.absolute.per_1000 <= 1000
        assert found.absolute.per_1000 * found.pooled.value >= 0
        if found.absolute.low is not None and found.absolute.high is not None:
            assert found.absolute.low <= found.absolute.per_1000 <= found.absolute.high


def right_sign(found: Synthesis, way: dict[str, Any]) -> None:
    """Where all studies point one way, so does the pooled effect; Mantel and Haenszel pool what was not corrected."""
    values = [effect.value for effect in found.effects]
    if found.pooled is None or ("weights" in way and any(effect.corrected for effect in found.effects)):
        return
    if min(values) > 0:
        assert found.pooled.value > 0
    if max(values) < 0:
        assert found.pooled.value < 0


@pytest.mark.parametrize("name", COUNTS)
@pytest.mark.parametrize("measure", ["risk-ratio", "odds-ratio", "risk-difference"])
def test_counts(measure: str, name: str) -> None:
    for way, added in itertools.product(WAYS, ZEROS):
        found = synthesise(table(counted(COUNTS[name], years=True), measure=measure, zero_cells=added, **way))
        sound(found)
        right_sign(found, way)
        assert len(found.effects) + len(found.left_out) == len(COUNTS[name])


@pytest.mark.parametrize(("name", "treated_is_worse"), [("all or none", True), ("none or all", False)])
def test_the_sign_where_every_event_lies_in_one_arm(name: str, treated_is_worse: bool) -> None:
    for measure, way in itertools.product(["risk-ratio", "odds-ratio", "risk-difference"], WAYS):
        found = pool_only(table(counted(COUNTS[name]), measure=measure, **way))
        assert found.pooled
        assert (found.pooled.value > 0) is treated_is_worse
        assert (found.absolute is None) is ("comparator-risk-at-end" in {note.what for note in found.notes})
        if found.absolute is None:
            continue
        assert (found.absolute.per_1000 > 0) is treated_is_worse
        assert found.absolute.number_needed
        assert found.absolute.number_needed.of == ("harm" if treated_is_worse else "benefit")


OTHERS: dict[str, tuple[str, tuple[Study, ...]]] = {
    "means, huge": (
        "mean-difference",
        measured([[10**40, 1, 2, 0, 1, 2], [0, 10**40, 5, 1, 1, 5], [1, 1, 9, 2, 1, 9]]),
    ),
    "means, tiny spread": (
        "mean-difference",
        measured([["1.2", f"1e-{digits}", 30, "1.0", f"1e-{digits}", 28] for digits in (1, 5, 20, 24)]),
    ),
    "means beyond double precision": (
        "mean-difference",
        measured([[10**400, 1, 2, 0, 1, 2], ["1", "1e-200", 5, "2", "1e-200", 5], [1, 1, 9, 2, 1, 9]]),
    ),
    "ratios, extreme": ("odds-ratio", reported([("1e290", "0.1"), ("1e-290", "0.1"), ("3", "300"), ("1", "1e-20")])),
    "ratios, out of range": ("risk-ratio", reported([("1e400", "0.1"), ("1e-400", "0.1"), ("3", "400"), ("2", "0")])),
    "wide as can be": ("risk-ratio", reported([("3", "350"), ("2", "350"), ("5", "350")])),
    "wide and far": ("risk-ratio", reported([("1e300", "0.01"), ("1e-300", "0.01"), ("1e280", "0.01")])),
    "exact and vague": ("mean-difference", reported([("5", "1e-20"), ("-3", "1e40"), ("2", "1")])),
    "all the same": ("mean-difference", reported([("5", "1"), ("5", "2"), ("5", "3")])),
    "differ in the last digit": ("mean-difference", reported([("5", "1e-9"), ("5.000000000000001", "1e-9")])),
}


@pytest.mark.parametrize("name", OTHERS)
def test_means_and_reported_effects(name: str) -> None:
    measure, studies = OTHERS[name]
    for way in WAYS:
        if "weights" not in way:
            for risk in RISKS:
                found = synthesise(table(studies, measure=measure, comparator_risk=risk, **way))
                sound(found)
                right_sign(found, way)


def test_one_huge_study_decides_and_the_others_still_count() -> None:
    """The pooled effect is that of the huge study but for what the small ones add, in the digits where they do."""
    found = pool_only(
        table(reported([("1", "1e-9"), ("3", "1"), ("2", "1")]), measure="mean-difference", model="fixed")
    )
    assert found.pooled
    assert found.pooled.value == 1.0
    assert found.heterogeneity
    assert found.heterogeneity.q == pytest.approx(5, rel=1e-12)


def test_one_study_is_its_own_pooled_effect() -> None:
    for way in WAYS[:1] + WAYS[4:]:
        found = synthesise(table(counted([(3, 40, 8, 41)]), **way))
        assert found.pooled
        assert found.heterogeneity
        assert found.pooled.value == found.effects[0].value
        assert found.pooled.standard_error == pytest.approx(found.effects[0].variance ** 0.5, rel=1e-15)
        assert (found.heterogeneity.q, found.heterogeneity.df, found.heterogeneity.p) == (0, 0, None)
        assert (found.heterogeneity.tau2, found.heterogeneity.tau2_high, found.prediction) == (None, None, None)
        assert "one-study" in {note.what for note in found.notes}
        assert found.leave_one_out == found.cumulative == ()


def test_identical_studies_do_not_differ() -> None:
    for name in ("dersimonian-laird", "reml", "paule-mandel"):
        found = synthesise(table(counted(COUNTS["identical"]), tau2=name))
        assert found.heterogeneity
        assert (found.heterogeneity.q, found.heterogeneity.i2, found.heterogeneity.tau2) == (0, 0, 0)
        assert found.heterogeneity.p == 1
        assert found.heterogeneity.tau2_high is None
        assert "no-tau2-interval" in {note.what for note in found.notes}
        knapp = pool_only(table(counted(COUNTS["identical"]), tau2=name, interval="hartung-knapp"))
        assert knapp.pooled
        assert knapp.pooled.low is None
        assert "no-spread" in {note.what for note in knapp.notes}


def test_what_cannot_be_true_or_computed_is_left_out_by_name() -> None:
    rows = [(0, 9, 0, 9), (9, 9, 9, 9), (5, 4, 1, 9), (1, 0, 1, 9), (2, 9, 3, 9), (1, 10**13, 1, 9), (-1, 9, 1, 9)]
    found = pool_only(table(counted(rows)))
    assert [(left.study, left.what) for left in found.left_out] == [
        ("study0", "no-events"),
        ("study1", "all-events"),
        ("study2", "impossible"),
        ("study3", "impossible"),
        ("study5", "impossible"),
        ("study6", "impossible"),
    ]
    assert [effect.study for effect in found.effects] == ["study4"]
    bare = pool_only(table(counted([(0, 9, 1, 9), (2, 9, 3, 9)]), zero_cells=Fraction(0)))
    assert [left.what for left in bare.left_out] == ["zero-cell"]
    means = pool_only(table(counted([(1, 9, 2, 9)]), measure="mean-difference"))
    assert [left.what for left in means.left_out] == ["no-means"]
    by_counts = pool_only(table(reported([("0.5", "0.1")]), model="fixed", weights="mantel-haenszel"))
    assert [left.what for left in by_counts.left_out] == ["no-counts"]
    assert [note.what for note in by_counts.notes] == ["no-effects"]


@pytest.mark.parametrize(
    "figures",
    [
        Reported(Fraction(0), standard_error=Fraction(1)),
        Reported(Fraction(-1), standard_error=Fraction(1)),
        Reported(Fraction(1), standard_error=Fraction(-1)),
        Reported(Fraction(1), Fraction(0), Fraction(2)),
        Reported(Fraction(1), Fraction(2), Fraction(3)),
        Reported(Fraction(3), Fraction(1), Fraction(2)),
        Reported(Fraction(1)),
        Reported(Fraction(1), Fraction(1, 2)),
    ],
)
def test_a_reported_ratio_that_cannot_be_true_is_left_out(figures: Reported) -> None:
    found = pool_only(table([Study("study", PLACE, reported=figures)]))
    assert [left.what for left in found.left_out] == ["impossible"]
    assert found.effects == ()


def test_many_studies_are_pooled_in_time_and_none_is_left_out_in_turn() -> None:
    found = synthesise(table(counted([(3 + index % 5, 40, 8 + index % 3, 41) for index in range(2000)])))
    sound(found)
    assert found.leave_one_out == ()
    assert "too-many-to-leave-out" in {note.what for note in found.notes}
