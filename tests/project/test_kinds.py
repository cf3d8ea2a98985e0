"""What stands about the kinds of findings outside their rows: one that is left out there would fail in silence."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from liningbook.checks.registry import KINDS
from liningbook.finding import Severity
from liningbook.resources import schema
from liningbook.say.kinds import ACCEPTABLE

WARNINGS_AND_NOTES = {row.kind for row in KINDS if row.severity is not Severity.ERROR or row.warns is not None}


def enums(whole: Any) -> list[set[str]]:
    """Every closed list of words within a schema."""
    if isinstance(whole, list):
        return [found for part in whole for found in enums(part)]
    if not isinstance(whole, dict):
        return []
    own = [set(whole["enum"])] if isinstance(whole.get("enum"), list) else []
    return own + [found for part in whole.values() for found in enums(part)]


def test_every_warning_and_note_and_nothing_else_can_be_accepted() -> None:
    assert WARNINGS_AND_NOTES in enums(schema("protocol"))


def test_every_kind_that_can_be_accepted_has_its_printed_name() -> None:
    assert set(ACCEPTABLE) == WARNINGS_AND_NOTES


def test_every_kind_has_its_page_in_the_corpus(repository: Path) -> None:
    assert {row.kind for row in KINDS} == {page.stem for page in (repository / "tests" / "corpus").glob("*.md")}
