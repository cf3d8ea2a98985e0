"""Lost safety, errors and failing vignettes stand first in every report; a card names a referral that has ended."""

from __future__ import annotations

import json
import re
import shutil
from datetime import date
from pathlib import Path

import pytest

from liningbook.cli import main
from liningbook.compare.comparison import Comparison, compare
from liningbook.exchange.versions import read_version
from liningbook.show.changes.changes_card import card_changes
from liningbook.show.changes.changes_page import changes_page
from liningbook.show.views.chart_view import ChartWords
from tests.rendering.measure import page_texts, problems_of, squeeze

pytestmark = pytest.mark.usefixtures("pango")

DAY = date(2026, 11, 25)

EDITS = (
    ("protocol.yaml", "edition: 2026.2", "edition: 2026.3"),
    ("rules/assess-a-pulp-that-will-not-heal.md", "pulp: [irreversible-pulpitis, necrotic]", "pulp: [necrotic]"),
    ("rules/restore-a-healthy-or-irritated-pulp.md", "ible-pulpitis]", "ible-pulpitis, irreversible-pulpitis]"),
    ("rules/varnish-under-amalgam.md", "coats: 2", "coats: 3"),
    ("rules/base-under-metal.md", "at_least: 0.75 mm, at_most: 1 mm", "at_least: 0.5 mm, at_most: 0.7 mm"),
)  # fmt: skip

FIRST = ("Lost safety: look at this first", "A referral ends: Management held back Liner, Base and Cavity sealer.")
FAILS = ("In the new version 1 vignette fails", "'Irreversible pulpitis in a shallow cavity' does not get the advice")
ERRORS = ("The new version has 2 errors and cannot be built", "though a rule says never to use it")


@pytest.fixture(scope="module")
def folders(demonstration: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """The demonstration, and a version in which a referral ends, a base is thinner and a vignette fails."""
    new = Path(shutil.copytree(demonstration, tmp_path_factory.mktemp("changed") / "tern-street"))
    for name, old, text in EDITS:
        whole = (new / name).read_text(encoding="utf-8")
        assert old in whole
        (new / name).write_text(whole.replace(old, text), encoding="utf-8")
    return demonstration, new


@pytest.fixture(scope="module")
def comparison(folders: tuple[Path, Path]) -> Comparison:
    return compare(*(read_version(str(folder), DAY).protocol for folder in folders), DAY)


def told(folders: tuple[Path, Path], capsys: pytest.CaptureFixture[str], *options: str) -> str:
    assert main(["compare", *map(str, folders), "--on", DAY.isoformat(), *options]) == 0
    return capsys.readouterr().out


@pytest.mark.parametrize("form", ["text", "markdown"])
def test_the_report_begins_with_what_matters(
    form: str, folders: tuple[Path, Path], capsys: pytest.CaptureFixture[str]
) -> None:
    said = told(folders, capsys, "--format", form)
    places = [said.index(text) for text in (*FIRST, *FAILS, *ERRORS, "Cases are treated differently")]
    assert places == sorted(places)
    if form == "markdown":
        framed = [line for line in said.splitlines() if line.startswith(">")]
        assert any(FIRST[0] in line for line in framed)
        assert any(ERRORS[1] in line for line in framed)
        assert "\n| 1 (safety lost) | Management | " in said
        assert re.search(r"^- Change 1: So newly needed: Liner, Base and Cavity sealer \(\d+ changes", said, re.M)


def test_the_sheet_carries_them_in_a_frame_on_its_first_page(
    folders: tuple[Path, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sheet = tmp_path / "sheet.pdf"
    told(folders, capsys, "--sheet", str(sheet))
    pages = page_texts(sheet.read_bytes())
    places = [pages[0].index(squeeze(text)) for text in (*FIRST, *FAILS, *ERRORS)]
    assert places == sorted(places)
    listed = pages[0][places[-1] :] + pages[1]
    order = [listed.index(squeeze(text)) for text in ("Cases are treated differently", "1 Management (safety lost)")]
    assert order == sorted(order)
    assert squeeze("2 Base (safety lost)") in listed
    assert {problem for profile in ("3a", "ua1") for problem in problems_of(sheet.read_bytes(), profile)} == set()


def test_the_json_has_all_of_it(folders: tuple[Path, Path], capsys: pytest.CaptureFixture[str]) -> None:
    found = json.loads(told(folders, capsys, "--format", "json"))
    kinds = [loss["kind"] for loss in found["lost_safety"]]
    assert kinds[0] == "referral"
    assert {loss["irritant"] for loss in found["lost_safety"] if loss["kind"] == "protection"} == {
        "thermal", "condensation", "galvanic",
    }  # fmt: skip
    assert [error["kind"] for error in found["new_errors"]].count("vignette") == 1
    assert found["errors"] == len(found["new_errors"])
    assert found["changes"][0]["lost_safety"] == ["referral"]
    assert all(re.fullmatch(r"[01]\.\d{4}", change["share"]) for change in found["changes"])


def test_no_share_of_four_decimals_is_left_in_what_people_read(
    folders: tuple[Path, Path], capsys: pytest.CaptureFixture[str]
) -> None:
    for form in ("text", "markdown"):
        assert not re.search(r"0[.,]\d{4}", told(folders, capsys, "--format", form).replace("&#46;", "."))


def test_what_only_follows_is_counted_and_not_listed(comparison: Comparison) -> None:
    page = changes_page(comparison)
    following = [change for one in comparison.ranking.told for change in one.following]
    assert len(page.rows) + len(following) == len(comparison.differences)
    assert len(following) > 3
    assert page.rows[0].decision == "Management"
    assert any("Liner, Base and Cavity sealer" in text for text in page.rows[0].following)


def test_a_card_names_the_referral_first(comparison: Comparison) -> None:
    first, second, *_ = card_changes(comparison, ChartWords(comparison.new))
    assert first.startswith("Since edition 2026.2 a referral has ended: Management (")
    assert "Irreversible pulpitis" in first
    assert second.startswith("Since edition 2026.2 there is other advice on: Base")
    assert "Management" not in second
