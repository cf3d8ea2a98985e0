"""`check --explain` says of every kind that is found what it means."""

from __future__ import annotations

from pathlib import Path

import pytest

from liningbook.checks.registry import KINDS, Kind
from liningbook.cli import main
from liningbook.say.pages import help_page


@pytest.mark.parametrize("row", KINDS, ids=lambda row: row.kind)
def test_every_kind_has_a_help_page_of_more_than_a_line_if_it_is_looked_for(row: Kind) -> None:
    assert len(help_page(row).splitlines()) >= (2 if row.find else 1)


def test_the_page_of_a_kind_found_stands_below_the_report(repository: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = repository / "guidelines" / "faulty" / "gap"
    assert main(["check", str(folder)]) == 1
    plain = capsys.readouterr().out
    assert main(["check", str(folder), "--explain"]) == 1
    explained = capsys.readouterr().out
    assert explained.startswith(plain)
    assert "Single boundary values count" in explained
