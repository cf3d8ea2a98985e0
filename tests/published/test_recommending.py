"""Strong recommendations on weak evidence, and the certainty of the whole, against published examples.

The five situations with their examples: BMJ Open 2017;7:e018593, table 1 (PMC5701989), after Andrews et al., J Clin
Epidemiol 2013;66:726-35. The benefit in the last situation stands there as modest, of high or moderate certainty; that
another version has any certainty is from memory. Overall certainty: ACIP GRADE handbook (CDC), April 2024; the derived
rows follow Guyatt et al., J Clin Epidemiol 2013 (10.1016/j.jclinepi.2012.01.006).
"""

from __future__ import annotations

import itertools

import pytest

from liningbook.evidence.grade import LEVELS, WEAK_LEVELS
from liningbook.evidence.overall import RatedOutcome, exception_doubts, overall
from liningbook.evidence.recommending import SITUATIONS, Way, missed

EXAMPLES = [
    pytest.param("life-at-stake", "low", "very-low", "for", id="oseltamivir in avian influenza"),
    pytest.param("life-at-stake", "low", "high", "for", id="plasma or vitamin K in bleeding under warfarin"),
    pytest.param("harm-surer-than-benefit", "low", "high", "against", id="azathioprine in pulmonary fibrosis"),
    pytest.param("harm-surer-than-benefit", "very-low", "moderate", "against", id="whole-body screening by CT or MRI"),
    pytest.param("alike-but-surely-safer", "low", "high", "for", id="H. pylori eradication in early MALT lymphoma"),
    pytest.param("surely-alike-perhaps-riskier", "high", "low", "against", id="ACE inhibitors in planned pregnancy"),
    pytest.param("possible-disaster", "moderate", "low", "against", id="testosterone at risk of prostate cancer"),
]


@pytest.mark.parametrize(("name", "benefit", "harm", "way"), EXAMPLES)
def test_published_example_fits_its_situation_and_only_one_way(name: str, benefit: str, harm: str, way: Way) -> None:
    assert missed(name, benefit, harm, frozenset({way})) == ()
    assert missed(name, benefit, harm, frozenset({"for", "against"})) == ()
    other: Way = "against" if way == "for" else "for"
    assert [one.what for one in missed(name, benefit, harm, frozenset({other}))] == ["way"]


def test_each_situation_takes_the_certainties_of_the_table_and_no_others() -> None:
    sure = set(LEVELS) - WEAK_LEVELS
    table = {
        "life-at-stake": (WEAK_LEVELS, set(LEVELS)),
        "harm-surer-than-benefit": (WEAK_LEVELS, sure),
        "alike-but-surely-safer": (WEAK_LEVELS, sure),
        "surely-alike-perhaps-riskier": (sure, WEAK_LEVELS),
        "possible-disaster": (sure, WEAK_LEVELS),
    }
    assert set(table) == set(SITUATIONS)
    ways: frozenset[Way] = frozenset({"for", "against"})
    for name, (benefits, harms) in table.items():
        for benefit, harm in itertools.product(LEVELS, repeat=2):
            wrong = {one.what for one in missed(name, benefit, harm, ways)}
            assert ("benefit" in wrong) == (benefit not in benefits), (name, benefit)
            assert ("harm" in wrong) == (harm not in harms), (name, harm)


def test_another_certainty_of_the_benefit_is_only_asked_about_where_a_disaster_is_possible() -> None:
    doubts = {name: missed(name, "", "low", frozenset({SITUATIONS[name].way})) for name in SITUATIONS}
    assert {name for name, found in doubts.items() for one in found if one.is_doubt} == {"possible-disaster"}
    assert [one.what for one in doubts["possible-disaster"]] == ["benefit"]


@pytest.mark.parametrize(
    ("rated", "level", "deciding"),
    [
        pytest.param(
            [("mortality", 9, "high"), ("hospital", 8, "moderate"), ("well-being", 5, "low"), ("harm", 8, "moderate")],
            "moderate",
            ("hospital", "harm"),
            id="ACIP",
        ),
        pytest.param([("a", 7, "high"), ("b", 6, "very-low")], "high", ("a",), id="important does not count"),
        pytest.param([("a", 9, "high"), ("b", 7, "low")], "low", ("b",), id="lowest of two critical"),
    ],
)  # fmt: skip
def test_the_lowest_critical_outcome_decides(
    rated: list[tuple[str, int, str]], level: str, deciding: tuple[str, ...]
) -> None:
    found = overall(RatedOutcome(*one) for one in rated)
    assert found is not None
    assert (found.level, found.deciding) == (level, deciding)


def test_without_a_critical_outcome_there_is_no_overall_certainty() -> None:
    assert overall([RatedOutcome("a", 6, "high"), RatedOutcome("b", 1, "low")]) is None
    assert overall([]) is None


def test_the_exception_needs_one_direction_a_critical_outcome_of_that_level_and_no_weaker_harm() -> None:
    high, low = RatedOutcome("a", 9, "high", "better"), RatedOutcome("b", 8, "low", "better")
    assert exception_doubts([high, low], "high") == ()
    assert exception_doubts([high, low], "moderate") == ("no-outcome",)
    worse = RatedOutcome("c", 8, "low", "worse")
    assert exception_doubts([high, worse], "high") == ("other-way", "above-harm")
    assert exception_doubts([high, RatedOutcome("c", 8, "low", None)], "high") == ()
    assert exception_doubts([high, low], "low") == ()
    assert exception_doubts([RatedOutcome("a", 5, "high")], "high") == ()
