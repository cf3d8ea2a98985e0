"""`check --explain` says of every kind that is found what it means."""

from __future__ import annotations

from pathlib import Path

import pytest

from liningbook.checks.registry import CHECKS, help_page
from liningbook.cli import main


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.kind)
def test_every_kind_has_a_help_page_of_more_than_a_line(check: object) -> None:
    assert len(help_page(getattr(check, "kind", "")).splitlines()) >= 2


def test_the_page_of_a_kind_found_stands_below_the_report(repository: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = repository / "guidelines" / "faulty" / "gap"
    assert main(["check", str(folder)]) == 1
    plain = capsys.readouterr().out
    assert main(["check", str(folder), "--explain"]) == 1
    explained = capsys.readouterr().out
    assert explained.startswith(plain)
    assert "Single boundary values count" in explained
