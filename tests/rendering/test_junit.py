"""Findings as the XML of test runners: well formed, and its counts add up."""

from __future__ import annotations

import json
from pathlib import Path
from xml.etree import ElementTree

import pytest

from liningbook.cli import main
from tests.oracle.folder import write_folder
from tests.oracle.generate import random_protocol

ROOT = Path(__file__).resolve().parents[2]
FOLDERS = sorted(path.parent for path in (ROOT / "guidelines").rglob("protocol.yaml"))
FOLDERS += sorted(path.parent for path in (ROOT / "tests" / "protocols").rglob("protocol.yaml"))


def report(
    folder: Path, capsys: pytest.CaptureFixture[str], *more: str
) -> tuple[int, ElementTree.Element, dict[str, int]]:
    code = main(["check", str(folder), "--format", "junit", "--on", "2026-11-25", *more])
    text = capsys.readouterr().out
    assert text.startswith('<?xml version="1.0" encoding="UTF-8"?>\n')
    assert main(["check", str(folder), "--format", "json", "--on", "2026-11-25", *more]) == code
    found = json.loads(capsys.readouterr().out)
    return code, ElementTree.fromstring(text.encode()), found


@pytest.mark.parametrize("strict", [False, True])
@pytest.mark.parametrize("folder", FOLDERS, ids=lambda path: str(path.relative_to(ROOT)))
def test_counts_add_up(folder: Path, strict: bool, capsys: pytest.CaptureFixture[str]) -> None:
    code, root, told = report(folder, capsys, *(["--strict"] if strict else []))
    assert root.tag == "testsuites"
    everything = failures = 0
    findings = []
    for suite in root:
        assert suite.tag == "testsuite"
        cases = list(suite)
        assert {case.tag for case in cases} == {"testcase"}
        failed = [case for case in cases if case.find("failure") is not None]
        skipped = [case for case in cases if case.find("skipped") is not None]
        assert (suite.get("tests"), suite.get("failures")) == (str(len(cases)), str(len(failed)))
        assert (suite.get("errors"), suite.get("skipped")) == ("0", str(len(skipped)))
        everything, failures = everything + len(cases), failures + len(failed)
        findings += [(suite.get("name"), case.get("file"), case.get("line")) for case in cases if case.get("file")]
    assert (root.get("tests"), root.get("failures")) == (str(everything), str(failures))
    wanted = [(f["kind"], f["file"], str(f["line"])) for f in told["findings"]]
    assert sorted(findings) == sorted(wanted)
    counts = told["counts"]
    assert failures == counts["error"] + (counts["warning"] if strict else 0)
    assert code == int(failures > 0)


def test_random_protocols(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for seed in range(8):
        _, root, told = report(write_folder(random_protocol(seed, 2_000), tmp_path / str(seed)), capsys)
        assert root.get("failures") == str(told["counts"]["error"])


def test_a_warning_fails_only_under_strict_and_an_accepted_one_never(capsys: pytest.CaptureFixture[str]) -> None:
    folder = ROOT / "guidelines" / "faulty" / "accepted"
    _, root, told = report(folder, capsys, "--strict")
    skipped = root.findall(".//skipped")
    assert len(skipped) == told["counts"]["accepted"] > 0
    assert all(element.get("message") for element in skipped)


@pytest.mark.parametrize("text", ["]]> <!-- & \" ' < >", "\x0b\x01 \ufffe \ud800", "µ ≤ 🦷"])
def test_what_authors_write_stays_text(text: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = write_folder(random_protocol(1, 2_000), tmp_path / "p")
    path = folder / "protocol.yaml"
    path.write_bytes(path.read_bytes().replace(b"A random protocol", f'"{text}"'.encode("utf-8", "surrogatepass")))
    main(["check", str(folder), "--format", "junit"])
    root = ElementTree.fromstring(capsys.readouterr().out.encode())
    assert root.get("tests")
