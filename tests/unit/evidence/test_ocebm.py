"""The OCEBM table: spellings of designs, adjusted levels."""

from __future__ import annotations

import pytest

from liningbook.evidence.ocebm import (
    ALIASES,
    DESIGNS,
    TABLE,
    canonical_design,
    levels,
)


@pytest.mark.parametrize(
    ("written", "name"),
    [
        ("sr_rct", "sr-rct"),
        ("sr_nof1", "sr-n-of-1"),
        ("rct", "rct"),
        ("randomised", "rct"),
        ("obs_dramatic", "observational-dramatic"),
        ("cohort_controlled", "cohort-controlled"),
        ("case_series", "case-series"),
        ("case_control", "case-control"),
        ("historical_control", "historical-control"),
        ("mechanism", "mechanism"),
        ("sr_nested_cc", "sr-nested-case-control"),
        ("nof1_patient", "n-of-1-patient"),
        (" Case Series ", "case-series"),
    ],
)
def test_other_spelling_is_the_same_design(written: str, name: str) -> None:
    assert canonical_design(written) == name
    assert all(levels(question, written) == levels(question, name) for question in TABLE)


@pytest.mark.parametrize("written", ["expert-opinion", "cohort", "observational", ""])
def test_unknown_design_has_no_name(written: str) -> None:
    assert canonical_design(written) is None


def test_aliases_lead_to_designs_and_hide_none() -> None:
    assert set(ALIASES.values()) <= set(DESIGNS)
    assert not set(ALIASES) & set(DESIGNS)


def test_question_that_the_table_does_not_ask_has_no_level() -> None:
    assert levels("diagnosis", "rct") == frozenset()


def test_stated_adjustment_takes_the_place_of_the_table() -> None:
    assert levels("benefit", "rct") == {2}
    assert levels("benefit", "rct", 3) == {3}
    assert levels("harm", "observational-dramatic") == {1, 2}
    assert levels("harm", "observational-dramatic", 4) == {4}


def test_the_table_reaches_every_level_of_a_question() -> None:
    for question in TABLE:
        assert set().union(*(levels(question, design) for design in DESIGNS)) == {1, 2, 3, 4, 5}
