"""Levels of evidence against the OCEBM 2011 table, version 2.1 (CC BY 4.0).

OCEBM Levels of Evidence Working Group, The Oxford 2011 Levels of Evidence. Benefit and harm as reproduced in
PMC4530008, table 4; prevalence, diagnosis and prognosis as in PMC6251059, table 1, and Br J Sports Med, table 117566.
Rare harms and screening are from memory. Where the table has no level 5 (prevalence, prognosis) it says that none
applies.
"""

from __future__ import annotations

import pytest

from liningbook.evidence.ocebm import TABLE, levels


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
        ("prevalence", "local-random-survey", {1}),
        ("prevalence", "sr-surveys", {2}),
        ("prevalence", "local-survey", {3}),
        ("prevalence", "case-series", {4}),
        ("diagnosis", "sr-diagnostic", {1}),
        ("diagnosis", "diagnostic-consecutive", {2}),
        ("diagnosis", "diagnostic-selected", {3}),
        ("diagnosis", "case-control", {4}),
        ("diagnosis", "diagnostic-poor-reference", {4}),
        ("diagnosis", "mechanism", {5}),
        ("prognosis", "sr-inception-cohort", {1}),
        ("prognosis", "inception-cohort", {2}),
        ("prognosis", "prognostic-cohort", {3}),
        ("prognosis", "trial-control-arm", {3}),
        ("prognosis", "case-series", {4}),
        ("prognosis", "case-control", {4}),
        ("prognosis", "poor-prognostic-cohort", {4}),
        ("rare-harm", "sr-rct", {1}),
        ("rare-harm", "n-of-1-patient", {1}),
        ("rare-harm", "rct", {2}),
        ("rare-harm", "observational-dramatic", {2}),
        ("rare-harm", "cohort-controlled", {3}),
        ("rare-harm", "case-series", {4}),
        ("rare-harm", "case-control", {4}),
        ("rare-harm", "historical-control", {4}),
        ("rare-harm", "mechanism", {5}),
        ("screening", "sr-rct", {1}),
        ("screening", "rct", {2}),
        ("screening", "cohort-controlled", {3}),
        ("screening", "case-series", {4}),
        ("screening", "case-control", {4}),
        ("screening", "historical-control", {4}),
        ("screening", "mechanism", {5}),
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
        ("prevalence", "mechanism"),
        ("prognosis", "mechanism"),
        ("diagnosis", "rct"),
        ("screening", "observational-dramatic"),
        ("rare-harm", "sr-nested-case-control"),
    ],
)
def test_design_without_a_row_has_no_level(question: str, design: str) -> None:
    assert levels(question, design) == set()


def test_every_cell_of_the_table_is_looked_at_above() -> None:
    marks = [mark for mark in getattr(test_design_stands_at_the_level_of_the_table, "pytestmark", []) if mark.args]
    looked_at = {(question, design) for question, design, _ in marks[0].args[1]}
    assert looked_at == {(q, d) for q, rows in TABLE.items() for designs in rows.values() for d in designs}
