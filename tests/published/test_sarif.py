"""SARIF logs against the schema of the standard.

Source: OASIS, Static Analysis Results Interchange Format (SARIF) Version 2.1.0; `data/README.md` says where the
schema is from. What no schema can hold is checked beside it: regions (3.30), URI references (3.4), suppressions (3.35)
and rule indices (3.52), section numbers from memory.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any
from urllib.parse import unquote

import jsonschema
import pytest

from liningbook.cli import main

ROOT = Path(__file__).resolve().parents[2]
SCHEMA = json.loads((Path(__file__).parent / "data" / "sarif-2.1.0-rtm.5.json").read_text("utf-8"))
VALIDATOR = jsonschema.validators.validator_for(SCHEMA)(SCHEMA)
FAULTY = sorted(path.parent for path in (ROOT / "guidelines" / "faulty").rglob("protocol.yaml"))


def log_of(folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> dict[str, Any]:
    monkeypatch.chdir(ROOT)
    code = main(["check", str(folder.relative_to(ROOT)), "--format", "sarif", "--on", "2026-11-25"])
    log: dict[str, Any] = json.loads(capsys.readouterr().out)
    assert code == int(any(r["level"] == "error" for r in log["runs"][0]["results"]))
    return log


@pytest.mark.parametrize("folder", [ROOT / "guidelines" / "tern-street", *FAULTY], ids=lambda path: path.name)
def test_a_log_is_valid_and_its_places_are_there(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    log = log_of(folder, capsys, monkeypatch)
    VALIDATOR.validate(log)
    run = log["runs"][0]
    rules = run["tool"]["driver"]["rules"]
    assert run["columnKind"] == "unicodeCodePoints"
    for result in run["results"]:
        assert rules[result["ruleIndex"]]["id"] == result["ruleId"]
        for location in [*result["locations"], *result.get("relatedLocations", [])]:
            place = location["physicalLocation"]
            file = ROOT / unquote(place["artifactLocation"]["uri"])
            region = place["region"]
            if not file.exists():  # a finding that says that a file is missing
                assert result["ruleId"] == "unreadable"
                continue
            lines = file.read_text("utf-8", "replace").split("\n")
            assert 1 <= region["startLine"] <= region["endLine"] <= len(lines)
            assert region["startColumn"] <= len(lines[region["startLine"] - 1]) + 1
            assert (region["startLine"], region["startColumn"]) < (region["endLine"], region["endColumn"])


def test_an_accepted_warning_is_suppressed_with_its_reason(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    results = log_of(ROOT / "guidelines" / "tern-street", capsys, monkeypatch)["runs"][0]["results"]
    suppressed = [result for result in results if "suppressions" in result]
    assert len(suppressed) == 4
    assert all("B. Reed" in result["suppressions"][0]["justification"] for result in suppressed)


def test_the_schema_refuses_a_log_that_is_wrong(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    log = log_of(FAULTY[0], capsys, monkeypatch)
    log["runs"][0]["results"][0]["level"] = "fatal"
    assert not VALIDATOR.is_valid(log)
