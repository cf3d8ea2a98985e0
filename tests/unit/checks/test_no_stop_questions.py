"""What is asked first: a card without stop questions is asked about, and nothing else is."""

from __future__ import annotations

import shutil
from datetime import date
from pathlib import Path

import pytest

from liningbook.analysis import analyse
from liningbook.cli import main

DAY = date(2026, 11, 25)
KIND = "no-stop-questions"


@pytest.fixture
def folder(repository: Path, tmp_path: Path) -> Path:
    return shutil.copytree(repository / "guidelines" / "faulty" / KIND, tmp_path / "protocol")


def rewrite(folder: Path, old: str, new: str) -> None:
    place = folder / "protocol.yaml"
    text = place.read_text("utf-8")
    assert old in text
    place.write_text(text.replace(old, new), "utf-8")


def found(folder: Path) -> list[tuple[str, int, bool]]:
    return [(one.kind, one.span.line, bool(one.accepted)) for one in analyse(folder, DAY).findings]


def test_a_card_on_which_nothing_is_asked_first_is_asked_about_and_fails_a_strict_check(folder: Path) -> None:
    assert found(folder) == [(KIND, 1, False)]
    call = ["check", str(folder), "--on", DAY.isoformat()]
    assert (main(call), main([*call, "--strict"])) == (0, 1)
    rewrite(folder, "scope:", "stop_questions: []\nscope:")
    assert found(folder) == [(KIND, 7, False)]


def test_one_question_is_enough(folder: Path) -> None:
    rewrite(folder, "scope:", "stop_questions: [Is the pulp exposed?]\nscope:")
    assert found(folder) == []


def test_where_no_card_can_be_printed_nothing_need_be_asked(folder: Path) -> None:
    rewrite(folder, "  restoration: {label: Restoration, kind: choice, ", "  # ")
    assert found(folder) == []


def test_a_choice_that_has_its_usual_value_by_the_card_makes_no_chart(folder: Path) -> None:
    rewrite(
        folder, "decisions:", "  tooth: {label: Tooth, kind: choice, values: {milk: Milk, other: Other}}\ndecisions:"
    )
    (folder / "card.yaml").write_text("usual: {tooth: other}\n", "utf-8")
    assert found(folder) == [(KIND, 1, False)], "the restorations still make columns"


def test_it_is_accepted_like_any_warning(folder: Path) -> None:
    rewrite(folder, "factors:", f"accepted:\n  - {{kind: {KIND}, because: Only one of us places fillings.}}\nfactors:")
    assert found(folder) == [(KIND, 1, True)]
    assert main(["check", str(folder), "--strict", "--on", DAY.isoformat()]) == 0
