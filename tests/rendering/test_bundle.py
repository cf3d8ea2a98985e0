"""The bundle: valid, self-contained, the same twice, and enough to answer a case."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from liningbook.analysis import Analysis, analyse
from liningbook.digest import digest_of
from liningbook.exchange.bundle import bundle_bytes, bundle_of
from liningbook.exchange.from_bundle import NotABundle, read_bundle, sources_of
from liningbook.exchange.outcomes import outcome_json
from liningbook.meaning.decide import decide
from liningbook.resources import schema
from tests.oracle.boxes import box_from

DAY = date(2026, 11, 25)

FOLDERS = sorted(folder for folder in (Path(__file__).resolve().parents[2] / "guidelines").glob("**/protocol.yaml"))


def analysed(protocol: Path) -> Analysis:
    return analyse(protocol.parent, DAY)


@pytest.fixture(scope="module")
def bundle(demonstration: Path) -> dict[str, Any]:
    return bundle_of(analyse(demonstration, DAY))


@pytest.mark.parametrize("protocol", FOLDERS, ids=lambda path: path.parent.name)
def test_every_bundle_fits_its_schema(protocol: Path) -> None:
    analysis = analysed(protocol)
    if analysis.protocol is None:
        return  # what is no protocol has no bundle; `check` says so
    made = bundle_of(analysis)
    jsonschema.Draft202012Validator(schema("bundle")).validate(json.loads(bundle_bytes(made)))
    assert made["draft"] == analysis.has_errors


def test_what_is_asked_first_and_always_stands_in_the_bundle_and_comes_back_from_it(
    bundle: dict[str, Any], tmp_path: Path
) -> None:
    asked = bundle["protocol"]["stop_questions"]
    assert asked[0] == "Is the pulp exposed?"
    assert bundle["protocol"]["screens"][0] == {"question": 0, "when": [{"exposed": "yes"}]}
    always = [factor["id"] for factor in bundle["factors"] if factor.get("always_ask")]
    assert always == ["methacrylate-allergy", "eugenol-allergy", "rosin-allergy", "amalgam-metal-allergy"]
    for name, text in sources_of(bundle, DAY).items():
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_text(text, encoding="utf-8")
    again = bundle_of(analyse(tmp_path, DAY))
    assert again["protocol"] == bundle["protocol"]
    assert again["factors"] == bundle["factors"]


def test_a_bundle_that_screens_by_a_question_it_has_not_is_refused(bundle: dict[str, Any]) -> None:
    protocol = {**bundle["protocol"], "screens": [{"question": 99, "when": [{}]}]}
    wrong = {**bundle, "protocol": protocol}
    with pytest.raises(NotABundle, match="screens"):
        read_bundle(json.dumps({**wrong, "digest": digest_of(wrong)}).encode(), "it")


def test_the_digest_covers_everything_else(bundle: dict[str, Any]) -> None:
    assert bundle["digest"] == digest_of(bundle)
    changed = {**bundle, "protocol": {**bundle["protocol"], "edition": "another"}}
    assert digest_of(changed) != bundle["digest"]


def test_two_bundles_are_the_same_to_the_byte(demonstration: Path) -> None:
    assert bundle_bytes(bundle_of(analyse(demonstration, DAY))) == bundle_bytes(bundle_of(analyse(demonstration, DAY)))


def test_the_bundle_does_not_name_the_day_of_the_build(demonstration: Path) -> None:
    assert bundle_of(analyse(demonstration, DAY)) == bundle_of(analyse(demonstration, date(2027, 3, 1)))


def test_the_span_of_days_ends_where_a_rule_starts_or_ends(demonstration: Path) -> None:
    assert bundle_of(analyse(demonstration, DAY))["holds"] == {"from": "2026-01-01", "until": None}
    assert bundle_of(analyse(demonstration, date(2025, 6, 1)))["holds"] == {"from": None, "until": "2025-12-31"}


def test_every_case_has_one_row_in_each_table_and_gets_its_advice(demonstration: Path) -> None:
    meaning = analyse(demonstration, DAY).meaning
    assert meaning is not None
    made = bundle_of(analyse(demonstration, DAY))
    space = meaning.space
    tables = {
        table["decision"]: [(box_from(space, row["when"]), row) for row in table["rows"]] for table in made["tables"]
    }
    rows = [row for table in tables.values() for row in table]
    for box, _ in rows:
        case = tuple(mask & -mask for mask in box)
        advice = decide(meaning, case)
        for decision, outcome in advice.outcomes.items():
            fitting = [row for own, row in tables[decision] if all(a & b for a, b in zip(own, case, strict=True))]
            assert len(fitting) == 1
            told = {key: value for key, value in outcome_json(outcome).items() if key in fitting[0]}
            assert told == {key: value for key, value in fitting[0].items() if key != "when"}
