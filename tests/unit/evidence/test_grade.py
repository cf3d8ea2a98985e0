"""Certainty from judgements: the laws of the arithmetic and the steps told to the reader."""

from __future__ import annotations

import itertools
import json
from collections.abc import Mapping
from pathlib import Path
from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from liningbook.evidence.grade import (
    BIAS_AT_MOST,
    LEVELS,
    LOWERED_AT_MOST,
    RAISED_AT_MOST,
    START,
    STARTS_HIGH,
    Manner,
    RaiseIgnored,
    RatingUp,
    certainty,
    explain,
    is_weaker,
    raising_ignored,
)
from liningbook.say.findings.grades import step_words


def words(design: str, lowered: dict[str, int], raised: dict[str, int]) -> tuple[str, ...]:
    return tuple(map(step_words, explain(design, lowered, raised)))


designs = st.sampled_from(sorted(START))
manners = st.builds(Manner, st.sampled_from(("", STARTS_HIGH)), st.sampled_from(get_args(RatingUp)))


def judgements(most: Mapping[str, int]) -> st.SearchStrategy[dict[str, int]]:
    return st.fixed_dictionaries({}, optional={reason: st.integers(0, top) for reason, top in most.items()})


lowerings = judgements({**LOWERED_AT_MOST, "risk-of-bias": BIAS_AT_MOST})
raisings = judgements(RAISED_AT_MOST)


@given(designs, lowerings, raisings)
def test_nothing_lowers_above_the_start_and_every_level_is_one(
    design: str, lowered: dict[str, int], raised: dict[str, int]
) -> None:
    level = certainty(design, lowered, raised)
    assert level in LEVELS
    assert not is_weaker(level, certainty(design, {**lowered, "indirectness": 2}, raised))
    if any(lowered.values()) or design == "randomised":
        assert level == certainty(design, lowered, {})


@given(designs, lowerings, raisings)
def test_judgements_of_zero_count_for_nothing(design: str, lowered: dict[str, int], raised: dict[str, int]) -> None:
    zeros = dict.fromkeys(LOWERED_AT_MOST, 0), dict.fromkeys(RAISED_AT_MOST, 0)
    assert certainty(design, {**zeros[0], **lowered}, {**zeros[1], **raised}) == certainty(design, lowered, raised)
    assert explain(design, {**zeros[0], **lowered}, {**zeros[1], **raised}) == explain(design, lowered, raised)


@given(designs, lowerings, raisings, manners)
def test_explanation_ends_with_the_level(
    design: str, lowered: dict[str, int], raised: dict[str, int], manner: Manner
) -> None:
    steps = explain(design, lowered, raised, manner)
    assert steps[-1].level == certainty(design, lowered, raised, manner)
    assert all(map(step_words, steps))


@given(designs, lowerings, raisings, manners, st.sampled_from(sorted(LOWERED_AT_MOST)))
def test_lowering_by_more_never_gives_a_higher_level(
    design: str, lowered: dict[str, int], raised: dict[str, int], manner: Manner, reason: str
) -> None:
    most = BIAS_AT_MOST if reason == "risk-of-bias" else LOWERED_AT_MOST[reason]
    levels = [certainty(design, {**lowered, reason: by}, raised, manner) for by in range(most + 1)]
    assert levels == sorted(levels, key=LEVELS.index, reverse=True)


@given(designs, lowerings, raisings, manners, st.sampled_from(sorted(RAISED_AT_MOST)))
def test_raising_by_more_never_gives_a_lower_level(
    design: str, lowered: dict[str, int], raised: dict[str, int], manner: Manner, reason: str
) -> None:
    levels = [certainty(design, lowered, {**raised, reason: by}, manner) for by in range(RAISED_AT_MOST[reason] + 1)]
    assert levels == sorted(levels, key=LEVELS.index)


@given(designs, lowerings, raisings)
def test_the_older_arithmetic_is_never_stricter(design: str, lowered: dict[str, int], raised: dict[str, int]) -> None:
    older = Manner(rating_up="arithmetic-2004")
    assert not is_weaker(certainty(design, lowered, raised, older), certainty(design, lowered, raised))


def test_a_tool_that_starts_observational_studies_high_lowers_by_up_to_three_for_bias() -> None:
    robins = Manner(STARTS_HIGH)
    assert certainty("observational", {}, {}, robins) == "high"
    assert certainty("observational", {"risk-of-bias": 3}, {}, robins) == "very-low"
    assert certainty("randomised", {}, {}, robins) == "high"
    with pytest.raises(ValueError, match="counts levels from 0 to 2"):
        certainty("observational", {"risk-of-bias": 3}, {})


def test_with_such_a_tool_raising_looks_at_the_other_domains_only() -> None:
    robins, bias = Manner(STARTS_HIGH), {"risk-of-bias": 2}
    assert certainty("observational", bias, {"large-effect": 1}, robins) == "moderate"
    assert certainty("observational", {**bias, "imprecision": 1}, {"large-effect": 1}, robins) == "very-low"
    steps = explain("observational", {**bias, "imprecision": 1}, {"large-effect": 1}, robins)
    assert [step_words(step) for step in (steps[0], steps[-2])] == [
        "starts at high (observational, risk of bias judged with robins-i)",
        "not raised by 1 for large effect: raising counts only where nothing but risk of bias is lowered",
    ]


def test_explanation_of_a_plain_lowering() -> None:
    assert words("observational", {"indirectness": 1}, {}) == (
        "starts at low (observational)",
        "lowered by 1 for indirectness",
        "ends at very low",
    )


def test_explanation_at_the_floor() -> None:
    assert words("observational", {"imprecision": 1, "risk-of-bias": 2}, {}) == (
        "starts at low (observational)",
        "lowered by 2 for risk of bias",
        "lowered by 1 for imprecision",
        "stays at very low: it cannot go lower",
    )


def test_explanation_at_the_ceiling() -> None:
    assert words("observational", {}, {"dose-response": 1, "large-effect": 2}) == (
        "starts at low (observational)",
        "raised by 2 for large effect",
        "raised by 1 for dose response",
        "stays at high: it cannot go higher",
    )


@pytest.mark.parametrize(
    ("design", "lowered", "why", "reason"),
    [
        ("randomised", {}, "randomised", "raising counts for observational studies only"),
        ("observational", {"inconsistency": 1}, "lowered", "raising counts only where nothing is lowered"),
    ],
)
def test_explanation_says_why_a_raise_does_not_count(
    design: str, lowered: dict[str, int], why: str, reason: str
) -> None:
    assert raising_ignored(design, lowered, {"large-effect": 1}) == why
    assert why in get_args(RaiseIgnored)
    assert f"not raised by 1 for large effect: {reason}" in words(design, lowered, {"large-effect": 1})


def test_no_raise_is_ignored_where_there_is_none() -> None:
    assert raising_ignored("randomised", {"imprecision": 1}, {"large-effect": 0}) is None
    assert raising_ignored("observational", {}, {"large-effect": 2}) is None


def test_schema_of_rules_has_the_same_ranges(repository: Path) -> None:
    parts = json.loads((repository / "schema" / "rule.schema.json").read_text(encoding="utf-8"))["$defs"]
    for name, table in (("lowered", LOWERED_AT_MOST), ("raised", RAISED_AT_MOST)):
        kinds = {reason: parts[part["$ref"].rpartition("/")[2]] for reason, part in parts[name]["properties"].items()}
        assert {reason: kind["maximum"] for reason, kind in kinds.items()} == table
        assert all(kind["properties"]["level"]["maximum"] == kind["maximum"] for kind in kinds.values())


def test_levels_are_ordered() -> None:
    weaker = [(a, b) for a, b in itertools.product(LEVELS, repeat=2) if is_weaker(a, b)]
    assert weaker == list(itertools.combinations(LEVELS, 2))
    assert is_weaker("very-low", "high")


@pytest.mark.parametrize(
    ("design", "lowered", "raised"),
    [
        ("expert-opinion", {}, {}),
        ("randomised", {"taste": 1}, {}),
        ("randomised", {"imprecision": -1}, {}),
        ("observational", {}, {"indirectness": 1}),
    ],
)
def test_what_is_no_judgement_is_refused(design: str, lowered: dict[str, int], raised: dict[str, int]) -> None:
    with pytest.raises(ValueError, match=r"no design|no reason|counts levels"):
        certainty(design, lowered, raised)
