"""What README tells a clinician to type gives what README shows."""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

from tests.limits import HANGS

FENCE = re.compile(r"^```(\w+)(?: (\S+))?\n(.*?)^```$", re.MULTILINE | re.DOTALL)


@pytest.fixture(scope="module")
def blocks(repository: Path) -> list[tuple[str, str, str]]:
    return FENCE.findall((repository / "README.md").read_text(encoding="utf-8"))


def test_the_first_rule_goes_as_told(blocks: list[tuple[str, str, str]], tmp_path: Path) -> None:
    for _, name, text in blocks:
        if name:
            place = tmp_path / name
            place.parent.mkdir(parents=True, exist_ok=True)
            place.write_text(text, encoding="utf-8")
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
