"""What README tells a clinician to type gives what README shows."""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
from pathlib import Path
from textwrap import dedent

import pytest

from tests.limits import HANGS

FENCE = re.compile(r"^```(\w+)(?: (\S+))?\n(.*?)^```$", re.MULTILINE | re.DOTALL)


@pytest.fixture(scope="module")
def blocks(repository: Path) -> list[tuple[str, str, str]]:
    return FENCE.findall((repository / "README.md").read_text(encoding="utf-8"))


def test_the_first_rule_goes_as_told(blocks: list[tuple[str, str, str]], tmp_path: Path) -> None:
    _write(blocks, tmp_path)
    steps = [step for language, _, text in blocks if language == "console" for step in _steps(text)]
    assert len(steps) == 5
    for command, shown in steps:
        if " build " in command:
            command += " --only bundle,site"  # the printed files have tests of their own
        done = subprocess.run(
            _argv(command), cwd=tmp_path, capture_output=True, text=True, encoding="utf-8", timeout=HANGS
        )
        _assert_shows(done.stdout, shown, command)
    assert (tmp_path / "my-output/bundle.json").exists()


def test_a_draft_comes_into_force_as_told(
    blocks: list[tuple[str, str, str]], repository: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1795132800")  # 20 November 2026
    _write(blocks, tmp_path)
    rule, source = tmp_path / "my-practice/rules/line-a-deep-cavity.md", tmp_path / "my-practice/protocol.yaml"
    rule.write_text(rule.read_text("utf-8").replace("{below: 0.5 mm}", "{at_most: 0.5 mm}", 1), "utf-8")
    told = re.search(r"^ +(status: in-force\n.*?)^ +```", (repository / "README.md").read_text("utf-8"), re.M | re.S)
    assert told is not None
    approve = re.search(r"^ +(liningbook approve my-practice .*)$", (repository / "README.md").read_text("utf-8"), re.M)
    assert approve is not None
    assert _run(shlex.split(approve[1])[1:], tmp_path).returncode == 0
    source.write_text(source.read_text("utf-8").replace("status: draft\n", dedent("   " + told[1])), "utf-8")
    case = ["case", "my-practice", "rdt=0.5mm", "restoration=amalgam", "--on"]
    assert "Not yet in force" in _run([*case, "2026-11-25"], tmp_path).stdout
    assert "Not yet in force" not in _run([*case, "2026-12-01"], tmp_path).stdout
    assert _run(["check", "my-practice", "--strict", "--on", "2026-12-01"], tmp_path).returncode == 0


def _run(call: list[str], folder: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "liningbook", *call],
        cwd=folder, capture_output=True, text=True, encoding="utf-8", timeout=HANGS,
    )  # fmt: skip


def _write(blocks: list[tuple[str, str, str]], folder: Path) -> None:
    for _, name, text in blocks:
        if name:
            place = folder / name
            place.parent.mkdir(parents=True, exist_ok=True)
            place.write_text(text, encoding="utf-8")


def _steps(text: str) -> list[tuple[str, str]]:
    found = []
    for part in re.split(r"^\$ ", text, flags=re.MULTILINE)[1:]:
        command, _, shown = part.partition("\n")
        found.append((command, shown))
    return found


def _argv(command: str) -> list[str]:
    words = shlex.split(command)
    if words[0].endswith("liningbook"):
        return [sys.executable, "-m", "liningbook", *words[1:]]
    return words


def _assert_shows(printed: str, shown: str, command: str) -> None:
    """What is printed begins with what is shown; a line `…` in what is shown stands for the rest."""
    whole, _, _ = shown.partition("…\n")
    assert printed.startswith(whole), f"{command} prints\n{printed}"
    if "…\n" not in shown:
        assert printed == shown, command
