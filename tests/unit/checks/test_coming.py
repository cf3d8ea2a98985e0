"""What a coming day changes: said once, under its day, and only up to the review."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from liningbook.cli import main

FAULTY = Path(__file__).parents[3] / "guidelines" / "faulty"

Coming = Callable[[Path, str], list[dict[str, Any]]]


@pytest.fixture
def coming(capsys: pytest.CaptureFixture[str]) -> Coming:
    def find(folder: Path, day: str) -> list[dict[str, Any]]:
        main(["check", str(folder), "--format", "json", "--on", day])
        findings: list[dict[str, Any]] = json.loads(capsys.readouterr().out)["findings"]
        return [finding for finding in findings if finding["kind"] == "coming"]

    return find


def test_a_law_s_day_is_told_until_it_is_there(coming: Coming, demonstration: Path) -> None:
    early = coming(demonstration, "2025-12-31")
    assert [finding["decision"] for finding in early] == ["management", "liner", "base", "sealer"]
    assert {finding["on"] for finding in early} == {"2026-01-01"}
    assert {tuple(finding["rules"]) for finding in early} == {("no-amalgam-where-law-restricts-it",)}
    assert len({finding["group"] for finding in early}) == 1, "one day is one cause"
    assert coming(demonstration, "2026-01-01") == []


def test_vignettes_that_fail_from_a_day_on_are_told_and_no_others(coming: Coming, tmp_path: Path) -> None:
    folder = Path(shutil.copytree(FAULTY / "coming", tmp_path / "coming"))
    (folder / "vignettes.yaml").write_text(
        "- {name: Lost, case: {rdt: 0.5 mm}, expect: {liner: none}}\n"
        "- {name: Kept, case: {rdt: 0.6 mm}, expect: {liner: none}}\n"
        "- {name: Wrong already, case: {rdt: 0.5 mm}, expect: {liner: gap}}\n"
        "- {name: Right then, case: {rdt: 0.5 mm}, expect: {liner: calcium-hydroxide}}\n",
        "utf-8",
    )
    found = coming(folder, "2034-06-30")
    assert [finding.get("vignette") for finding in found] == [None, "Lost"]
    assert {finding["severity"] for finding in found} == {"note"}
    assert coming(folder, "2034-07-01") == []


@pytest.mark.parametrize(("review", "count"), [("2034-06-30", 0), ("2034-07-01", 1)])
def test_days_after_the_review_are_not_looked_at(review: str, count: int, coming: Coming, tmp_path: Path) -> None:
    folder = Path(shutil.copytree(FAULTY / "coming", tmp_path / "coming"))
    path = folder / "protocol.yaml"
    path.write_text(path.read_text("utf-8").replace("2035-01-01", review), "utf-8")
    assert len(coming(folder, "2026-11-25")) == count


def test_cases_that_a_rule_which_ends_leaves_open_are_told_by_expiring_alone(coming: Coming) -> None:
    assert coming(FAULTY / "expiring", "2026-11-25") == []
