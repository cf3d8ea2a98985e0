"""What is asked beside the pooled effect: whether one study decides it, the usual ways, and what is loaded."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from fractions import Fraction

import pytest

from liningbook.evidence.synthesis.synthesise import pool_only, synthesise
from tests.tables import counted, reported, table

DECIDED_BY_ONE = [(10, 200, 60, 200), (20, 100, 21, 100), (18, 90, 19, 92)]
"""One study shows an effect; the others, which are as exact, do not."""


def test_a_study_without_which_the_conclusion_is_another_decides() -> None:
    found = synthesise(table(counted(DECIDED_BY_ONE), model="fixed"))
    assert found.pooled
    assert found.pooled.high is not None
    assert found.pooled.high < 0
    assert [(without.study, without.decides) for without in found.leave_one_out] == [
        ("study0", True),
        ("study1", False),
        ("study2", False),
    ]
    rest = pool_only(table(counted(DECIDED_BY_ONE)[1:], model="fixed"))
    assert found.leave_one_out[0].pooled == rest.pooled


def test_what_was_known_after_each_year() -> None:
    """Studies of one year come together; the conclusion turns in the year in which the deciding study came."""
    first, second, third = counted([*DECIDED_BY_ONE[1:], DECIDED_BY_ONE[0]], years=True)
    fourth, fifth = (replace(one, study=f"late-{one.study}", year=1960) for one in (first, second))
    found = synthesise(table([fifth, third, first, fourth, second], model="fixed"))
    assert [(step.year, step.study, step.added, step.decides) for step in found.cumulative] == [
        (1950, "study0", ("study0",), False),
        (1951, "study1", ("study1",), False),
        (1952, "study2", ("study2",), True),
        (1960, "late-study0", ("late-study1", "late-study0"), False),
    ]
    assert found.cumulative[-1].pooled == found.pooled
    assert found.cumulative[0].pooled == synthesise(table([first], model="fixed")).pooled


def test_without_all_years_nothing_is_cumulative() -> None:
    found = synthesise(table(counted(DECIDED_BY_ONE)))
    assert found.cumulative == ()
    assert {note.what: note.given for note in found.notes}["no-year"] == {"studies": ("study0", "study1", "study2")}


def test_the_usual_way_is_restricted_likelihood_with_a_normal_interval_and_a_half() -> None:
    rows = [(0, 50, 5, 50), (3, 60, 9, 60), (12, 100, 11, 100)]
    usual, written = (
        synthesise(table(counted(rows), **asked))
        for asked in ({}, {"model": "random", "tau2": "reml", "interval": "normal", "weights": "inverse-variance"})
    )
    assert usual == written
    assert [effect.corrected for effect in usual.effects] == [True, False, False]
    assert {note.what: note.given for note in usual.notes}["zero-cells-added"] == {"studies": ("study0",), "added": 0.5}


@pytest.mark.parametrize("measure", ["risk-ratio", "odds-ratio", "risk-difference"])
def test_mantel_and_haenszel_leave_nobody_out_where_nothing_is_to_be_added(measure: str) -> None:
    """Their effect needs no correction: it is the same whatever is to be added, and what is added is said."""
    rows = [(0, 50, 5, 50), (3, 60, 9, 60), (0, 30, 0, 30), (12, 100, 11, 100)]
    asked = {"measure": measure, "model": "fixed", "weights": "mantel-haenszel"}
    usual = synthesise(table(counted(rows), **asked))
    nothing = synthesise(table(counted(rows), **asked, zero_cells=Fraction(0)))
    assert nothing.pooled == usual.pooled
    assert nothing.left_out == usual.left_out
    assert [one.study for one in usual.left_out] == ([] if measure == "risk-difference" else ["study2"])
    notes = {note.what for note in nothing.notes}
    assert {"zero-cells-added", "counts-as-they-are"} <= notes
    assert "pooled-with-correction" not in notes


def test_where_nothing_is_added_and_no_effect_has_a_value_all_are_left_out() -> None:
    rows = [(0, 50, 5, 50), (0, 60, 9, 60)]
    found = synthesise(table(counted(rows), model="fixed", weights="mantel-haenszel", zero_cells=Fraction(0)))
    assert [one.what for one in found.left_out] == ["zero-cell", "zero-cell"]
    assert found.pooled is None


def test_left_out_in_turn_each_study_leaves_an_effect() -> None:
    rows = [(0, 50, 5, 50), (0, 60, 9, 60), (4, 60, 9, 60)]
    found = synthesise(table(counted(rows), model="fixed", weights="mantel-haenszel", zero_cells=Fraction(0)))
    assert len(found.leave_one_out) == 3


def test_an_interval_of_hartung_and_knapp_that_is_narrower_is_told() -> None:
    alike = reported([("0.50", "0.2"), ("0.51", "0.2"), ("0.49", "0.2")])
    apart = reported([("0.2", "0.2"), ("0.9", "0.2"), ("0.5", "0.2")])
    for studies, is_told in ((alike, True), (apart, False)):
        notes = synthesise(table(studies, interval="hartung-knapp")).notes
        assert ("narrower-than-normal" in {note.what for note in notes}) is is_told


def test_two_studies_have_no_prediction_but_each_is_left_out() -> None:
    found = synthesise(table(counted(DECIDED_BY_ONE[:2])))
    assert [without.study for without in found.leave_one_out] == ["study0", "study1"]
    assert found.prediction is None
    assert {note.what: note.given for note in found.notes}["no-prediction"] == {"studies": 2}
    three = synthesise(table(counted(DECIDED_BY_ONE)))
    assert three.prediction
    assert three.prediction.df == 1


@pytest.mark.parametrize("tau2", ["dersimonian-laird", "reml", "paule-mandel"])
def test_what_check_asks_for_is_what_stands_in_the_whole(tau2: str) -> None:
    outcome = table(counted(DECIDED_BY_ONE, years=True), tau2=tau2)
    quick, whole = pool_only(outcome), synthesise(outcome)
    assert (quick.effects, quick.pooled, quick.absolute) == (whole.effects, whole.pooled, whole.absolute)
    assert quick.heterogeneity
    assert whole.heterogeneity
    assert (quick.heterogeneity.q, quick.heterogeneity.i2, quick.heterogeneity.tau2) == (
        whole.heterogeneity.q,
        whole.heterogeneity.i2,
        whole.heterogeneity.tau2,
    )


def test_pooling_for_check_loads_neither_scipy_nor_numpy() -> None:
    code = """
import sys
sys.modules["scipy"] = sys.modules["numpy"] = None
from liningbook.evidence.synthesis.synthesise import pool_only
from tests.tables import counted, table
for tau2 in ("dersimonian-laird", "reml", "paule-mandel"):
    assert pool_only(table(counted([(1, 9, 5, 9), (5, 80, 1, 90), (7, 80, 9, 90)]), tau2=tau2)).pooled
"""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, env=_paths(), check=False)
    assert done.stderr == ""
    assert done.returncode == 0


def _paths() -> dict[str, str]:
    return {"PYTHONPATH": ":".join(path for path in sys.path if path)}
