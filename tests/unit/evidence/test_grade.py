"""Certainty from judgements: the laws of the arithmetic and the steps told to the reader."""

from __future__ import annotations

import itertools
import json
from pathlib import Path
from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from liningbook.evidence.grade import (
    LEVELS,
    LOWERED_AT_MOST,
    RAISED_AT_MOST,
    START,
    RaiseIgnored,
    certainty,
    explain,
    is_weaker,
    raising_ignored,
)
from liningbook.say.findings.grades import step_words


def words(design: str, lowered: dict[str, int], raised: dict[str, int]) -> tuple[str, ...]:
    return tuple(map(step_words, explain(design, lowered, raised)))


designs = st.sampled_from(sorted(START))
lowerings = st.dictionaries(st.sampled_from(sorted(LOWERED_AT_MOST)), st.integers(0, 3))
raisings = st.dictionaries(st.sampled_from(sorted(RAISED_AT_MOST)), st.integers(0, 2))


@given(designs, lowerings, raisings)
def test_nothing_lowers_above_the_start_and_every_level_is_one(
    design: str, lowered: dict[str, int], raised: dict[str, int]
) -> None:
    level = certainty(design, lowered, raised)
    assert level in LEVELS
    assert not is_weaker(level, certainty(design, {**lowered, "indirectness": 3}, raised))
    if any(lowered.values()) or design == "randomised":
        assert level == certainty(design, lowered, {})


@given(designs, lowerings, raisings)
def test_judgements_of_zero_count_for_nothing(design: str, lowered: dict[str, int], raised: dict[str, int]) -> None:
    zeros = dict.fromkeys(LOWERED_AT_MOST, 0), dict.fromkeys(RAISED_AT_MOST, 0)
    assert certainty(design, {**zeros[0], **lowered}, {**zeros[1], **raised}) == certainty(design, lowered, raised)
    assert explain(design, {**zeros[0], **lowered}, {**zeros[1], **raised}) == explain(design, lowered, raised)


@given(designs, lowerings, raisings)
def test_explanation_ends_with_the_level(design: str, lowered: dict[str, int], raised: dict[str, int]) -> None:
    assert explain(design, lowered, raised)[-1].level == certainty(design, lowered, raised)
    assert step_words(explain(design, lowered, raised)[-1])


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
