"""Every kind of finding has one file in tests/corpus: prose, the smallest protocol that shows it, findings, the text.

In such a file a fenced block whose info string ends in a file name is that file. `json findings` lists all findings
with all their keys but the message; `text report` is what `liningbook check` prints. Both are written by hand from
the contract: where the program says something else, one of the two is wrong, and a person decides which.
"""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from liningbook.checks.registry import KINDS as ROWS
from liningbook.cli import main

CORPUS = Path(__file__).parent / "corpus"
DAY = "2026-11-25"
KINDS = tuple(row.kind for row in ROWS)
BLOCK = re.compile(r"^```([a-z]+) (\S+)\n(.*?)^```$", re.MULTILINE | re.DOTALL)


@dataclass(frozen=True)
class Entry:
    """One file of the corpus."""

    kind: str
    prose: str
    files: dict[str, str]
    findings: list[dict[str, Any]]
    report: str


def entry(path: Path) -> Entry:
    text = path.read_text(encoding="utf-8")
    heading, _, rest = text.partition("\n")
    blocks = {name: content for _, name, content in BLOCK.findall(rest)}
    assert len(blocks) == rest.count("\n```") // 2, f"{path.name}: a block without a name, or two of one name"
    return Entry(
        kind=heading.removeprefix("# "),
        prose=rest[: rest.index("\n```")].strip(),
        findings=json.loads(blocks.pop("findings")),
        report=blocks.pop("report"),
        files=blocks,
    )


ENTRIES = [pytest.param(entry(path), id=path.stem) for path in sorted(CORPUS.glob("*.md"))]


def written(files: dict[str, str], folder: Path) -> Path:
    for name, content in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(content, encoding="utf-8")
    return folder


def test_every_kind_has_a_file_and_every_file_a_kind() -> None:
    assert sorted(path.stem for path in CORPUS.iterdir()) == sorted(KINDS)


@pytest.mark.parametrize("shown", ENTRIES)
def test_a_file_is_named_after_its_kind_explains_it_and_shows_it(shown: Entry) -> None:
    assert (CORPUS / f"{shown.kind}.md").exists()
    assert len(shown.prose) > 40
    assert shown.kind in [finding["kind"] for finding in shown.findings]
    assert {"protocol.yaml", "materials.yaml"} < shown.files.keys()


@pytest.mark.parametrize("shown", ENTRIES)
def test_the_findings_are_those_written_down(shown: Entry, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = written(shown.files, tmp_path)
    code = main(["check", str(folder), "--format", "json", "--on", DAY])
    printed = json.loads(capsys.readouterr().out)
    messages = [finding.pop("message") for finding in printed["findings"]]
    assert printed["findings"] == shown.findings
    assert all(message and "\n" not in message for message in messages)
    severities = [finding["severity"] for finding in shown.findings]
    assert code == int("error" in severities)
    assert {name: printed["counts"][name] for name in ("error", "warning", "note")} == {
        name: severities.count(name) for name in ("error", "warning", "note")
    }


@pytest.mark.parametrize("shown", ENTRIES)
def test_the_report_is_that_written_down(shown: Entry, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = written(shown.files, tmp_path)
    main(["check", str(folder), "--on", DAY])
    assert capsys.readouterr().out == shown.report


@pytest.mark.parametrize("shown", ENTRIES)
def test_strict_changes_only_the_exit_code(shown: Entry, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = written(shown.files, tmp_path)
    code = main(["check", str(folder), "--strict", "--on", DAY])
    assert capsys.readouterr().out == shown.report
    assert code == int(any(finding["severity"] in ("error", "warning") for finding in shown.findings))
