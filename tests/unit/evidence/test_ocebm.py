"""The OCEBM table: spellings of designs, adjusted levels."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from liningbook.evidence.ocebm import (
    ALIASES,
    DESIGNS,
    TABLE,
    canonical_design,
    levels,
    wrong_way,
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
    assert levels("taste", "rct") == frozenset()


def test_stated_adjustment_takes_the_place_of_the_table() -> None:
    assert levels("benefit", "rct") == {2}
    assert levels("benefit", "rct", 3) == {3}
    assert levels("harm", "observational-dramatic") == {1, 2}
    assert levels("harm", "observational-dramatic", 4) == {4}


def test_the_table_reaches_every_level_of_a_question() -> None:
    for question in TABLE:
        last = set() if question in ("prevalence", "prognosis") else {5}
        assert set().union(*(levels(question, design) for design in DESIGNS)) == {1, 2, 3, 4} | last


@pytest.mark.parametrize(
    ("design", "to", "reason", "way"),
    [
        ("rct", 1, "imprecision", "up"),
        ("rct", 1, "large-effect", None),
        ("rct", 3, "imprecision", None),
        ("rct", 3, "large-effect", "down"),
        ("rct", 1, "", None),
        ("rct", 2, "large-effect", None),
        ("expert-opinion", 1, "imprecision", None),
    ],
)
def test_only_a_large_effect_moves_a_level_up(design: str, to: int, reason: str, way: str | None) -> None:
    assert wrong_way("benefit", design, to, reason) == way


def test_the_schema_lists_every_design_question_and_reason(repository: Path) -> None:
    parts = json.loads((repository / "schema" / "rule.schema.json").read_text(encoding="utf-8"))["$defs"]
    fields = parts["evidence"]["properties"]
    assert set(fields["question"]["enum"]) == set(TABLE)
    assert {canonical_design(name) for name in fields["design"]["enum"]} - {None} == set(DESIGNS)
    assert [name for name in fields["design"]["enum"] if canonical_design(name) is None] == ["observational"]
