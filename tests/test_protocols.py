"""Whole folders whose place is the verdict: `pass` passes even under --strict, `fail` does not pass at all.

The first line of each `protocol.yaml` says what the folder shows. The demonstration passes without a word, and each
faulty protocol beside it has exactly the finding that its folder is named after.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from liningbook.checks.registry import KINDS
from liningbook.cli import main

DAY = "2026-11-25"
HERE = Path(__file__).parent
FAULTY = HERE.parent / "guidelines" / "faulty"
FOUND = {
    "a-reason-is-no-override": ["conflict"],
    "boundary-left-out": ["gap"],
    "boundary-twice": ["conflict"],
    "clash-in-a-conflict": ["clash", "conflict"],
    "hole-in-a-combination": ["gap"],
    "many-mistakes": [
        "empty-range", "not-read", "override-circle", "schema", "schema", "unit", "unknown-name", "unreadable",
    ],
    "needed-in-a-conflict": ["conflict", "gap"],
    "never-stays": ["contraindicated", "idle-override"],
    "no-rule-today": ["coming", "gap"],
    "silenced-on-one-decision-only": ["conflict"],
}  # fmt: skip
"""What is found in each folder under `fail`."""


def folders(verdict: str) -> list[Any]:
    return [pytest.param(path, id=path.name) for path in sorted((HERE / "protocols" / verdict).iterdir())]


def check(folder: Path, capsys: pytest.CaptureFixture[str], *options: str) -> tuple[int, list[dict[str, Any]]]:
    """The exit code and the findings."""
    code = main(["check", str(folder), "--format", "json", "--on", DAY, *options])
    printed = capsys.readouterr()
    assert printed.err == ""
    findings: list[dict[str, Any]] = json.loads(printed.out)["findings"]
    return code, findings


@pytest.mark.parametrize("folder", [*folders("pass"), *folders("fail")])
def test_a_folder_says_what_it_shows(folder: Path) -> None:
    first = (folder / "protocol.yaml").read_text(encoding="utf-8").splitlines()[0]
    assert first.startswith("# ")
    assert len(first) > 20


@pytest.mark.parametrize("folder", folders("pass"))
def test_it_passes(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, findings = check(folder, capsys, "--strict")
    assert [finding for finding in findings if finding["severity"] != "note" and "accepted" not in finding] == []
    assert code == 0


@pytest.mark.parametrize("folder", folders("fail"))
def test_it_does_not_pass(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, findings = check(folder, capsys)
    assert code == 1
    assert sorted(finding["kind"] for finding in findings) == FOUND[folder.name]


def test_every_folder_that_must_not_pass_is_listed() -> None:
    assert {path.name for path in (HERE / "protocols" / "fail").iterdir()} == FOUND.keys()


def test_the_demonstration_passes_with_no_error_warning_or_note(
    demonstration: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, findings = check(demonstration, capsys, "--strict")
    assert [finding for finding in findings if "accepted" not in finding] == []
    assert code == 0


@pytest.mark.parametrize(
    "folder", [pytest.param(path, id=path.name) for path in sorted(FAULTY.iterdir()) if path.is_dir()]
)
def test_a_faulty_protocol_has_the_one_finding_it_is_named_after(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, findings = check(folder, capsys)
    accepted = folder.name == "accepted"
    assert len(findings) == 1, findings
    assert findings[0]["kind"] == ("avoid-overridden" if accepted else folder.name)
    assert findings[0].get("accepted", False) is accepted
    assert code == int(findings[0]["severity"] == "error")


def test_each_faulty_protocol_shows_a_kind_that_there_is() -> None:
    kinds = {row.kind for row in KINDS}
    assert {path.name for path in FAULTY.iterdir() if path.is_dir()} <= {*kinds, "accepted"}
