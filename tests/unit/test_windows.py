"""What another system does differently, as far as this one can show it.

Consoles without UTF-8 are tried in `test_terminal.py`, files that a viewer has locked in `test_in_place.py`.
"""

from __future__ import annotations

import ntpath
import os
import shutil
import subprocess
import sys
from pathlib import Path, PureWindowsPath
from types import SimpleNamespace

import pytest

from liningbook.cli import check, main
from tests.limits import HANGS
from tests.usual import USUAL_CASE

DAY = "2026-11-25"


def copied(source: Path, folder: Path) -> Path:
    return Path(shutil.copytree(source, folder))


def test_line_ends_and_a_byte_order_mark_change_no_byte_of_what_is_built(demonstration: Path, tmp_path: Path) -> None:
    there = copied(demonstration, tmp_path / "there")
    for file in there.rglob("*"):
        if file.is_file():
            file.write_bytes(b"\xef\xbb\xbf" + file.read_bytes().replace(b"\n", b"\r\n"))
    built = []
    for folder in (demonstration, there):
        out = tmp_path / f"out-{folder.name}"
        assert main(["build", str(folder), "--out", str(out), "--only", "bundle,site", "--on", DAY]) == 0
        built.append({p.relative_to(out): p.read_bytes() for p in out.rglob("*") if p.is_file()})
    assert built[0] == built[1]


@pytest.mark.parametrize("command", ["check", "build", "compare", "compare --repo", "case", "cases", "table"])
def test_no_text_is_read_or_written_in_the_encoding_of_the_machine(
    command: str, demonstration: Path, tmp_path: Path
) -> None:
    """PEP 597: Python warns wherever a file, or a program that is started, is read without naming the encoding."""
    folder = copied(demonstration, tmp_path / "protocol")
    git = ["git", "-c", "user.name=A", "-c", "user.email=a@b.example", "-C", str(tmp_path)]
    if "--repo" in command:
        for call in (["init", "-q", "-b", "main"], ["add", "."], ["commit", "-qm", "One"]):
            subprocess.run([*git, *call], check=True)
    (tmp_path / "cases.csv").write_text(",".join(USUAL_CASE) + "\n" + ",".join(USUAL_CASE.values()) + "\n", "utf-8")
    call = {
        "check": ["check", folder, "--mend"],
        "build": ["build", folder, "--out", tmp_path / "out", "--only", "bundle,site"],
        "compare": ["compare", folder, folder, "--format", "markdown", "--chart", tmp_path / "chart.svg"],
        "compare --repo": ["compare", "main", folder, "--repo", folder],
        "case": ["case", folder, *map("=".join, USUAL_CASE.items()), "--section", tmp_path / "section.svg"],
        "cases": ["case", folder, "--cases", tmp_path / "cases.csv", "--out", tmp_path / "advice.csv"],
        "table": ["table", folder, "--decision", "base", "--format", "html"],
    }[command]
    strict = ["-X", "warn_default_encoding", "-W", "error::EncodingWarning"]
    done = subprocess.run(
        [sys.executable, *strict, "-m", "liningbook", *map(str, call), "--on", DAY],
        capture_output=True, encoding="utf-8", timeout=HANGS,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
    )  # fmt: skip
    assert "EncodingWarning" not in done.stderr
    assert done.returncode == 0, done.stderr


@pytest.mark.parametrize(
    ("folder", "named"),
    [("guidelines\\ours", "guidelines/ours"), (".\\ours\\.", "ours"), (".", ""), ("..\\ours", ""), ("C:\\ours", "")],
)
def test_findings_name_a_folder_of_the_repository_with_slashes(
    folder: str, named: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(check, "os", SimpleNamespace(path=ntpath))
    monkeypatch.setattr(check, "Path", PureWindowsPath)
    assert check._relative(PureWindowsPath(folder)) == named  # type: ignore[arg-type]
