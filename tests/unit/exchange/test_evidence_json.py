"""The JSON of study tables: its keys are literal, its numbers whole, and what cannot be computed is absent and said."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from fractions import Fraction
from math import exp, isfinite
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from liningbook.analysis import understand
from liningbook.control.weighed import WeighedTable, weigh, weighed_tables
from liningbook.evidence.table import Judgement, OutcomeTable, StudyTable
from liningbook.exchange.evidence_json import evidence_json
from liningbook.model.protocol import Protocol
from liningbook.resources import schema
from tests.saying import messages_of
from tests.tables import PLACE, counted, measured, reported, table

TWO_TABLES = Path(__file__).parents[2] / "protocols" / "pass" / "two-study-tables"

BCG = [
    (4, 123, 11, 139),
    (6, 306, 29, 303),
    (3, 231, 11, 220),
    (62, 13598, 248, 12867),
    (33, 5069, 47, 5808),
    (180, 1541, 372, 1451),
    (8, 2545, 10, 629),
    (505, 88391, 499, 88391),
    (29, 7499, 45, 7277),
    (17, 1716, 65, 1665),
    (186, 50634, 141, 27338),
    (5, 2498, 3, 2341),
    (27, 16913, 29, 17854),
]
"""Trials of a vaccine: Colditz et al., JAMA 1994;271:698-702 (10.1001/jama.1994.03510330076038)."""


@pytest.fixture(scope="module")
def protocol() -> Protocol:
    found = understand(TWO_TABLES, date(2026, 11, 28))
    assert found.protocol is not None, messages_of(found.findings)
    return found.protocol


def told(protocol: Protocol, outcome: OutcomeTable) -> dict[str, Any]:
    """The JSON of one outcome, which the published schema allows."""
    where = StudyTable("one", "evidence/one.yaml", PLACE, "People", "This", "That", {"it": outcome})
    whole = evidence_json(protocol, [WeighedTable(where, {"it": weigh(outcome)})])
    Draft202012Validator(schema("evidence_result")).validate(whole)
    text = json.dumps(whole, allow_nan=False)
    assert json.loads(text) == whole
    found: dict[str, Any] = whole["tables"]["one"]["outcomes"]["it"]
    return found


def judged(outcome: OutcomeTable, **further: Any) -> OutcomeTable:
    lowered = {"inconsistency": Judgement(1, "They differ.", PLACE), "imprecision": Judgement(1, "", PLACE)}
    return replace(outcome, design="randomised", certainty="moderate", because="All agree.", lowered=lowered, **further)


def test_the_keys_and_numbers_of_the_contract(protocol: Protocol) -> None:
    """The figures printed by `metafor` 4 for these trials (REML), to their decimals."""
    one = told(protocol, judged(table(counted(BCG, years=True), comparator_risk=Fraction("0.12"))))
    first = one["studies"][0]
    assert set(first) == {"study", "estimate", "log_estimate", "variance", "low", "high", "weight"}
    assert (round(first["log_estimate"], 7), round(first["variance"], 7)) == (-0.8893113, 0.3255848)
    assert sum(study["weight"] for study in one["studies"]) == pytest.approx(1)
    assert set(one["pooled"]) == {"estimate", "log_estimate", "standard_error", "low", "high"}
    pooled = {key: round(value, 4) for key, value in one["pooled"].items()}
    assert pooled == {
        "estimate": 0.4894,
        "log_estimate": -0.7145,
        "standard_error": 0.1798,
        "low": 0.3441,
        "high": 0.6962,
    }
    spread = one["heterogeneity"]
    assert set(spread) == {"q", "df", "p", "tau2", "tau2_low", "tau2_high", "i2", "i2_from"}
    assert (round(spread["q"], 2), spread["df"], round(spread["tau2"], 4)) == (152.23, 12, 0.3132)
    assert (round(spread["i2"], 4), spread["i2_from"]) == (0.9222, "tau2")
    assert set(one["prediction"]) == {"low", "high", "df"}
    assert one["prediction"]["df"] == 11
    people = one["absolute"]
    assert {"comparator_risk", "per_1000", "low", "high", "number_needed"} < set(people)
    assert (round(people["per_1000"]), round(people["low"]), round(people["high"])) == (-61, -79, -36)
    assert (people["number_needed"], people["number_needed_for"], people["comparator_risk_from"]) == (
        17,
        "benefit",
        "stated",
    )
    assert one["certainty"] == {
        "level": "low",
        "stated": "moderate",
        "because": "All agree.",
        "steps": [
            "starts at high (randomised)",
            "lowered by 1 for inconsistency: They differ.",
            "lowered by 1 for imprecision",
            "ends at low",
        ],
    }
    assert one["left_out"] == one["decides"] == one["notes"] == []
    assert [step["studies"] for step in one["cumulative"]] == [[f"study{index}"] for index in range(13)]
    assert [step["without"] for step in one["leave_one_out"]] == [f"study{index}" for index in range(13)]


def test_estimates_are_as_they_are_read_and_differences_have_no_logarithm(protocol: Protocol) -> None:
    ratio = told(protocol, table(counted(BCG)))
    for part in (*ratio["studies"], ratio["pooled"]):
        assert part["estimate"] == exp(part["log_estimate"])
        assert part["low"] < part["estimate"] < part["high"]
    for measure, studies in (
        ("risk-difference", counted(BCG)),
        ("mean-difference", measured([(1, 1, 30, 2, 1, 30), (2, 1, 20, 2, 1, 20)])),
    ):
        one = told(protocol, table(studies, measure=measure))
        assert not any("log_estimate" in part for part in (*one["studies"], one["pooled"]))
    assert "absolute" not in one


@pytest.mark.parametrize(
    ("asked", "by"),
    [
        ({"tau2": "dersimonian-laird"}, "q"),
        ({"model": "fixed"}, "q"),
        ({"model": "fixed", "weights": "mantel-haenszel"}, "q"),
        ({"tau2": "paule-mandel"}, "tau2"),
        ({"interval": "hartung-knapp"}, "tau2"),
    ],
)
def test_i2_says_from_what_it_is(protocol: Protocol, asked: dict[str, Any], by: str) -> None:
    one = told(protocol, table(counted(BCG), **asked))
    assert one["heterogeneity"]["i2_from"] == by
    assert ("tau2" in one["heterogeneity"]) == ("tau2" in one["method"]) == (asked.get("model") != "fixed")
    assert ("prediction" in one) == (asked.get("model") != "fixed")


def test_what_cannot_be_computed_is_absent_and_said(protocol: Protocol) -> None:
    two = told(protocol, table(counted([(0, 20, 0, 20), (1, 20, 3, 20), (2, 20, 3, 20)])))
    assert two["left_out"] == [{"study": "study0", "because": "no event in either arm"}]
    assert "prediction" not in two
    assert any("three studies" in note for note in two["notes"])
    none = told(protocol, table(counted([(0, 20, 0, 20)])))
    assert not {"pooled", "heterogeneity", "prediction", "absolute"} & set(none)
    assert none["notes"]
    assert none["certainty"] == {"steps": []}
    stated = told(protocol, table(counted([(1, 20, 3, 20)]), certainty="low"))
    assert stated["certainty"] == {"level": "low", "stated": "low", "steps": []}


@pytest.mark.parametrize(
    "studies",
    [
        counted([(10**9 - 1, 10**9, 1, 10**9)] * 3),
        counted([(1, 1, 1, 1), (0, 1, 1, 1)]),
        reported([("1e300", "1e-9"), ("1e-300", "1e-9"), ("1", "1e9")]),
        reported([("5", "400")] * 2),
        counted([(5, 50, 5, 50)] * 4),
    ],
)
@pytest.mark.parametrize("interval", ["normal", "hartung-knapp"])
def test_no_number_is_ever_none_or_endless(protocol: Protocol, studies: Any, interval: str) -> None:
    def numbers(value: Any) -> list[float]:
        if isinstance(value, dict | list):
            return [
                number for child in (value.values() if isinstance(value, dict) else value) for number in numbers(child)
            ]
        return [value] if isinstance(value, float) else []

    one = told(protocol, table(studies, interval=interval))
    assert all(map(isfinite, numbers(one)))
    assert None not in one["absolute"].values() if "absolute" in one else True


def test_a_protocols_tables_stand_by_their_names(protocol: Protocol) -> None:
    found = evidence_json(protocol, weighed_tables(protocol))
    Draft202012Validator(schema("evidence_result")).validate(found)
    assert (found["protocol"], found["edition"]) == (protocol.title, protocol.edition)
    assert list(found["tables"]) == ["liner-in-deep-cavities", "no-liner-in-shallow-cavities"]
    for name, one in found["tables"].items():
        assert one["file"] == f"evidence/{name}.yaml"
        assert list(one["question"]) == ["population", "intervention", "comparator"]
        assert set(one["outcomes"]) == set(protocol.tables[name].outcomes)
