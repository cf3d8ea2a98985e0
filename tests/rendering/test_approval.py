"""Only an edition in force that is approved, and unchanged since, comes without the draft mark; outputs say by whom."""

from __future__ import annotations

import json
import re
import shutil
from datetime import date
from pathlib import Path

import pytest

from liningbook.analysis import analyse
from liningbook.cli import main
from liningbook.exchange.bundle import bundle_of
from liningbook.exchange.versions import read_version
from liningbook.show.markup.markdown import to_html
from liningbook.show.paper.copies import copies_view, copy_lines, has_register, takes_down
from liningbook.show.viewer import Viewer
from tests.unit.checks.test_standing import outputs_of, plain

DAY = "2026-10-01"
APPROVED = "  - {name: B. Reed, role: clinical lead, on: 2026-08-20}\n"
COPIES = "copies:\n  - {room: Surgery 1, edition: 2026.1}\n  - {room: Surgery 2}\n"


@pytest.fixture
def practice(demonstration: Path, tmp_path: Path) -> Path:
    """The demonstration with cards to hang, and with an approval that bears no digest."""
    folder = Path(shutil.copytree(demonstration, tmp_path / "practice"))
    protocol = folder / "protocol.yaml"
    text = re.sub("approved:\n(  - .*\n)+", f"approved:\n{APPROVED}", protocol.read_text("utf-8"))
    assert APPROVED in text
    protocol.write_text(text, "utf-8")
    (folder / "copies.yaml").write_text(COPIES, "utf-8")
    return folder


def edit(folder: Path, old: str, new: str, file: str = "protocol.yaml") -> None:
    text = (folder / file).read_text("utf-8")
    assert old in text
    (folder / file).write_text(text.replace(old, new, 1), "utf-8")


def approve(folder: Path) -> None:
    assert main(["approve", str(folder), "--name", "B. Reed", "--role", "clinical lead", "--on", "2026-08-20"]) == 0


def draft(folder: Path) -> None:
    approve(folder)
    edit(folder, "status: in-force", "status: draft")


def unapproved(folder: Path) -> None:
    edit(folder, f"approved:\n{APPROVED}", "")


def changed(folder: Path) -> None:
    approve(folder)
    edit(folder, "contact: ", "contact: Not ")


def changed_in_one_of_two(folder: Path) -> None:
    """Another has approved the text as it is; the first approval is still of an earlier one."""
    changed(folder)
    assert main(["approve", str(folder), "--name", "C. Doyle", "--role", "dentist", "--on", "2026-08-21"]) == 0


def approved(folder: Path) -> None:
    approve(folder)


def at_its_word(_: Path) -> None:
    """An approval without a digest."""


def without_scripts(html: str) -> str:
    return plain(re.sub("<(script|style).*?</\\1>", "", html, flags=re.DOTALL))


@pytest.mark.parametrize("make", [draft, unapproved, changed, changed_in_one_of_two, approved, at_its_word])
def test_what_bears_the_draft_mark(
    practice: Path, make: object, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert callable(make)
    make(practice)
    is_marked, is_error = make not in (approved, at_its_word), make not in (draft, approved, at_its_word)
    made = outputs_of(practice, DAY)
    for name in ("protocol", "card"):
        assert ("DRAFT" in without_scripts(made[name])) == is_marked, name
        assert ("Draft, not in force" in without_scripts(made[name])) == is_marked, name
    assert ("Draft: do not use for patients." in made["page"].partition("<script")[0]) == is_marked
    analysis = analyse(practice, date.fromisoformat(DAY))
    bundle = bundle_of(analysis)
    viewer = Viewer(analysis, bundle["digest"], to_html)
    assert bundle["draft"] == is_error
    view = copies_view(viewer)
    assert takes_down(view) == has_register(view) == bool(copy_lines(viewer)) == (not is_marked)
    capsys.readouterr()
    call = ["build", str(practice), "--out", str(tmp_path / "out"), "--only", "bundle,site", "--on", DAY]
    assert main(call) == (1 if is_error else 0)
    said = capsys.readouterr().err
    assert ("changed-since-approval" in said) == (make in (changed, changed_in_one_of_two))
    assert (tmp_path / "out" / "bundle.json").exists() == (not is_error)
    assert main([*call, "--draft"]) == 0
    page = (tmp_path / "out" / "site" / "index.html").read_text("utf-8")
    assert ("Draft: do not use for patients." in page.partition("<script")[0]) == is_marked


def test_the_record_says_who_approved_which_text(practice: Path) -> None:
    def said(name: str) -> str:
        return " ".join(without_scripts(outputs_of(practice, DAY)[name]).split())

    record = "B. Reed, clinical lead, 20 August 2026"
    for name in ("protocol", "page"):
        assert f"{record}; no digest was recorded, so a change since cannot be seen" in said(name)
    approve(practice)
    protocol = analyse(practice, date.fromisoformat(DAY)).protocol
    assert protocol is not None
    for name in ("protocol", "page"):
        assert f"{record}, this text (digest {protocol.sealed[:8]})" in said(name)
    edit(practice, "contact: ", "contact: Not ")
    for name in ("protocol", "page"):
        assert f"{record}, an earlier text (digest {protocol.sealed[:8]})" in said(name)


def test_a_case_is_answered_with_the_notice_of_a_draft_once_the_edition_has_changed(
    practice: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    call = ["case", str(practice), "rdt=1mm", "--on", DAY]
    approve(practice)
    capsys.readouterr()
    assert main(call) == 0
    assert "do not use for patients" not in capsys.readouterr().out
    edit(practice, "contact: ", "contact: Not ")
    assert main(call) == 0
    assert "Draft: do not use for patients." in capsys.readouterr().out
    assert main([*call, "--format", "json"]) == 0
    assert json.loads(capsys.readouterr().out)["edition_state"] == "draft"


def test_a_bundle_bears_the_digest_and_one_read_back_is_not_held_to_it(practice: Path, tmp_path: Path) -> None:
    call = ["build", str(practice), "--only", "bundle", "--on", DAY, "--out"]
    assert main([*call, str(tmp_path / "old")]) == 0
    approve(practice)
    assert main([*call, str(tmp_path / "new")]) == 0
    old, new = (tmp_path / name / "bundle.json" for name in ("old", "new"))
    approvals = [json.loads(path.read_text("utf-8"))["protocol"]["approved"] for path in (old, new)]
    protocol = analyse(practice, date.fromisoformat(DAY)).protocol
    assert protocol is not None
    assert approvals[0] == [{"name": "B. Reed", "role": "clinical lead", "on": "2026-08-20"}]
    assert approvals[1] == [{**approvals[0][0], "digest": protocol.sealed}]
    for path in (old, new):
        read = read_version(str(path), date.fromisoformat(DAY)).protocol
        assert [(p.name, p.digest) for p in read.approved] == [("B. Reed", "")]
        assert read.sealed == ""


def test_two_bundles_of_one_approval_differ_in_nothing(
    practice: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    approve(practice)
    assert main(["build", str(practice), "--only", "bundle", "--on", DAY, "--out", str(tmp_path)]) == 0
    capsys.readouterr()
    assert main(["compare", str(practice), str(tmp_path / "bundle.json"), "--on", DAY, "--format", "json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert (found["no_case_changed"], found["new_errors"]) == (True, [])


def test_a_change_since_the_approval_is_an_error_that_a_comparison_tells(
    practice: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    approve(practice)
    before = shutil.copytree(practice, tmp_path / "before")
    edit(practice, "contact: ", "contact: Not ")
    capsys.readouterr()
    assert main(["compare", str(before), str(practice), "--on", DAY, "--format", "json"]) == 0
    assert [error["kind"] for error in json.loads(capsys.readouterr().out)["new_errors"]] == ["changed-since-approval"]


def test_a_mend_is_not_said_to_bring_that_the_edition_has_changed(
    repository: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = Path(shutil.copytree(repository / "guidelines" / "faulty" / "idle-override", tmp_path / "faulty"))
    approve(folder)
    capsys.readouterr()
    assert main(["check", str(folder), "--mend", "--on", DAY]) == 0
    said = capsys.readouterr().out
    assert "idle-override" in said
    assert "changed-since-approval" not in said
    assert "has changed since" not in said


def test_a_rule_past_its_own_review_says_so_and_the_edition_stays_in_use(practice: Path) -> None:
    rule = next(
        path for path in sorted((practice / "rules").iterdir()) if "review_by: 2028-06-01" in path.read_text("utf-8")
    )
    name = f"rules/{rule.name}"
    later = outputs_of(practice, DAY)
    assert all("its review was due" not in plain(text) for text in later.values())
    edit(practice, "review_by: 2028-06-01", "review_by: 2026-09-30", name)
    made = outputs_of(practice, DAY)
    assert plain(made["protocol"]).count("its review was due by 30 September 2026") == 1
    assert plain(made["page"]).count("Its review was due by 30 September 2026.") == 1
    for output in ("protocol", "card", "page"):
        assert "DRAFT" not in without_scripts(made[output])
        assert "1 September 2028" in without_scripts(made[output]), "the edition is in use until its own review"
    findings = analyse(practice, date.fromisoformat(DAY)).findings
    assert ("review-overdue", name) in [(finding.kind, finding.span.file) for finding in findings]
    assert "review-overdue" not in [f.kind for f in analyse(practice, date(2026, 9, 30)).findings], (
        "on its last day it is not"
    )
