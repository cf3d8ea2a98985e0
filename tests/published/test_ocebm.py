"""Levels of evidence against the OCEBM 2011 table, version 2.1 (CC BY 4.0).

OCEBM Levels of Evidence Working Group, The Oxford 2011 Levels of Evidence, rows `Does this intervention help?` and
`What are the common harms?`. The table is also reproduced in PMC4530008, table 4.
"""

from __future__ import annotations

import pytest

from liningbook.evidence.ocebm import levels


@pytest.mark.parametrize(
    ("question", "design", "printed"),
    [
        ("benefit", "sr-rct", {1}),
        ("benefit", "sr-n-of-1", {1}),
        ("benefit", "rct", {2}),
        ("benefit", "observational-dramatic", {2}),
        ("benefit", "cohort-controlled", {3}),
        ("benefit", "case-series", {4}),
        ("benefit", "case-control", {4}),
        ("benefit", "historical-control", {4}),
        ("benefit", "mechanism", {5}),
        ("harm", "sr-rct", {1}),
        ("harm", "sr-nested-case-control", {1}),
        ("harm", "n-of-1-patient", {1}),
        ("harm", "observational-dramatic", {1, 2}),  # printed under 1, and "exceptionally" under 2
        ("harm", "rct", {2}),
        ("harm", "cohort-controlled", {3}),
        ("harm", "case-series", {4}),
        ("harm", "case-control", {4}),
        ("harm", "historical-control", {4}),
        ("harm", "mechanism", {5}),
    ],
)
def test_design_stands_at_the_level_of_the_table(question: str, design: str, printed: set[int]) -> None:
    assert levels(question, design) == printed


@pytest.mark.parametrize(
    ("question", "design"),
    [
        ("benefit", "sr-nested-case-control"),
        ("benefit", "n-of-1-patient"),
        ("benefit", "expert-opinion"),  # a level of the 2009 scheme, none of 2011
        ("harm", "expert-opinion"),
    ],
)
def test_design_without_a_row_has_no_level(question: str, design: str) -> None:
    assert levels(question, design) == set()
