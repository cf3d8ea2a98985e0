"""The worked example of the page about study tables is what the command prints, with the demonstration's own tables."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from liningbook.cli import main


def blocks(text: str, language: str) -> list[str]:
    return re.findall(rf"^```{language}\n(.*?)^```$", text, re.MULTILINE | re.DOTALL)


def test_the_worked_example_is_what_is_printed(
    repository: Path, demonstration: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    page = (repository / "site" / "docs" / "evidence.md").read_text("utf-8")
    (study,), (printed,) = blocks(page, "yaml"), blocks(page, "text")
    (tmp_path / "new.yaml").write_text(study, "utf-8")
    assert main(["evidence", str(demonstration), "--on", "2026-11-28", "--with", str(tmp_path / "new.yaml")]) == 0
    first, _, rest = printed.partition("    […]\n")
    said = capsys.readouterr().out
    assert len(first.splitlines()) > 20
    assert said.startswith(first)
    assert rest in said
