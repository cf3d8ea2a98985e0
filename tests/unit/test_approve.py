"""`liningbook approve`: what it writes, what it refuses, and what it says to do next."""

from __future__ import annotations

import codecs
import shutil
from datetime import date
from pathlib import Path

import pytest

from liningbook.analysis import analyse
from liningbook.cli import main
from liningbook.finding import Severity

SMALLEST = Path(__file__).parents[1] / "protocols" / "pass" / "smallest"
DAY = date(2026, 11, 25)


@pytest.fixture(autouse=True)
def _today(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1795564800")  # 25 November 2026


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    folder = Path(shutil.copytree(SMALLEST, tmp_path / "protocol"))
    path = folder / "protocol.yaml"
    text = path.read_text("utf-8")
    assert "review_by" in text
    lines = [line for line in text.splitlines() if not line.startswith(("status", "review_by"))]
    path.write_text("\n".join([*lines, "status: draft  # for now", "review_by: 2028-09-01", ""]), "utf-8")
    return folder


def approve(folder: Path, *more: str, name: str = "B. Reed", role: str = "clinical lead") -> int:
    return main(["approve", str(folder), "--name", name, "--role", role, *more])


def kinds(folder: Path, severity: Severity) -> list[str]:
    return [finding.kind for finding in analyse(folder, DAY).findings if finding.severity is severity]


def edit(folder: Path, old: str, new: str, file: str = "protocol.yaml") -> None:
    path = folder / file
    text = path.read_bytes().decode("utf-8")
    assert old in text
    path.write_bytes(text.replace(old, new).encode("utf-8"))


def rule_of(folder: Path) -> str:
    return f"rules/{next((folder / 'rules').iterdir()).name}"


def test_an_approval_is_written_with_the_digest_and_a_change_since_is_found(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = (folder / "protocol.yaml").read_text("utf-8")
    assert approve(folder, "--on", "2026-11-20") == 0
    after = (folder / "protocol.yaml").read_text("utf-8")
    new = [line for line in after.splitlines() if line not in before.splitlines()]
    protocol = analyse(folder, DAY).protocol
    assert protocol is not None
    assert protocol.approved[0].digest == protocol.sealed != ""
    assert new == [
        "approved:",
        f"  - {{name: B. Reed, role: clinical lead, on: 2026-11-20, digest: {protocol.sealed}}}",
    ]
    said = capsys.readouterr().out
    assert f"approves edition {protocol.edition} on 20 November 2026" in said
    assert protocol.sealed[:8] in said
    assert "`status: in-force`" in said
    assert "`in_force_from`" in said
    assert kinds(folder, Severity.WARNING) == kinds(folder, Severity.ERROR) == []
    edit(folder, "status: draft  # for now", "status: in-force\nin_force_from: 2026-11-24")
    assert kinds(folder, Severity.ERROR) == []
    edit(folder, "title:", "# read again\ntitle:", rule_of(folder))
    assert kinds(folder, Severity.ERROR) == [], "a comment is no change"
    with (folder / rule_of(folder)).open("a", encoding="utf-8") as rule:
        rule.write("\nAnd more.\n")
    assert kinds(folder, Severity.ERROR) == ["changed-since-approval"]
    edit(folder, "status: in-force", "status: draft")
    assert kinds(folder, Severity.ERROR) == []
    assert "changed-since-approval" in kinds(folder, Severity.WARNING)


def test_who_approves_again_is_written_once_and_another_who_approved_an_earlier_text_is_named(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert approve(folder, "--on", "2026-11-01") == approve(folder, "--on", "2026-11-02", name="C. Doyle") == 0
    with (folder / rule_of(folder)).open("a", encoding="utf-8") as rule:
        rule.write("\nAnd more.\n")
    capsys.readouterr()
    assert approve(folder) == 0
    said = capsys.readouterr().out
    assert "The approval by C. Doyle, clinical lead of 2 November 2026 is of an earlier text" in said
    protocol = analyse(folder, DAY).protocol
    assert protocol is not None
    assert [(p.name, p.on.isoformat(), p.digest == protocol.sealed) for p in protocol.approved] == [
        ("B. Reed", "2026-11-25", True),
        ("C. Doyle", "2026-11-02", False),
    ]
    assert "changed-since-approval" in kinds(folder, Severity.WARNING)
    assert approve(folder, name="C. Doyle") == 0
    assert "earlier text" not in capsys.readouterr().out
    assert kinds(folder, Severity.WARNING) == []


def test_small_letters_and_blanks_make_no_other_person(folder: Path) -> None:
    assert approve(folder, "--on", "2026-11-01") == 0
    assert approve(folder, "--on", "2026-11-02", name="b.reed", role="Clinical  Lead") == 0
    assert approve(folder, "--on", "2026-11-03", role="dentist") == 0
    protocol = analyse(folder, DAY).protocol
    assert protocol is not None
    assert [p.on.day for p in protocol.approved] == [2, 3]
    assert [(p.name, p.role) for p in protocol.approved] == [("B. Reed", "clinical lead"), ("B. Reed", "dentist")]


def test_a_protocol_with_errors_is_not_approved_and_they_are_named(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    edit(folder, "title:", "titel:", rule_of(folder))
    before = (folder / "protocol.yaml").read_bytes()
    assert approve(folder) == 1
    said = capsys.readouterr().err
    assert "titel" in said
    assert "nothing was approved" in said
    assert (folder / "protocol.yaml").read_bytes() == before


def test_an_error_of_the_analysis_is_named_too_and_nothing_is_written(
    repository: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = Path(shutil.copytree(repository / "guidelines" / "faulty" / "gap", tmp_path / "gap"))
    before = (folder / "protocol.yaml").read_bytes()
    assert approve(folder) == 1
    said = capsys.readouterr().err
    assert "(gap)" in said
    assert (folder / "protocol.yaml").read_bytes() == before


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("status: draft", "status: withdrawn", "is withdrawn"),
        ("review_by: 2028-09-01", "review_by: 2026-09-01", "was to be reviewed by 1 September 2026"),
    ],
)
def test_an_edition_that_nobody_may_follow_is_not_approved(
    folder: Path, old: str, new: str, said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    edit(folder, old, new)
    before = (folder / "protocol.yaml").read_bytes()
    assert approve(folder) == 1
    assert said in capsys.readouterr().err
    assert (folder / "protocol.yaml").read_bytes() == before


def test_an_earlier_day_is_no_way_round_the_review(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    edit(folder, "review_by: 2028-09-01", "review_by: 2026-11-20")
    before = (folder / "protocol.yaml").read_bytes()
    assert approve(folder, "--on", "2026-11-19") == 1
    assert "was to be reviewed by 20 November 2026" in capsys.readouterr().err
    assert (folder / "protocol.yaml").read_bytes() == before


def test_an_approval_of_this_text_after_the_first_day_is_a_warning_and_one_without_digest_an_error(
    folder: Path,
) -> None:
    edit(folder, "status: draft", "status: in-force\nin_force_from: 2026-11-20")
    assert approve(folder, "--on", "2026-11-24") == 0
    assert (kinds(folder, Severity.ERROR), kinds(folder, Severity.WARNING)) == ([], ["status"])
    text = (folder / "protocol.yaml").read_text("utf-8")
    edit(folder, f", digest: {text.partition('digest: ')[2][:64]}", "")
    assert kinds(folder, Severity.ERROR) == ["status"]


@pytest.mark.parametrize(
    ("more", "name", "said"),
    [
        (["--on", "2026-11-26"], "B. Reed", "still to come"),
        (["--on", "yesterday"], "B. Reed", "is not a day"),
        ([], "  ", "--name is empty"),
        ([], "B. \u202eReed", "<U+202E>"),
        ([], "B.\x07", "<U+0007>"),
        ([], "B.\udc80", "<U+DC80>"),
    ],
)
def test_a_day_or_a_name_that_cannot_be_is_refused(
    folder: Path, more: list[str], name: str, said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    before = (folder / "protocol.yaml").read_bytes()
    assert approve(folder, *more, name=name) == 2
    assert said in capsys.readouterr().err
    assert (folder / "protocol.yaml").read_bytes() == before


def test_a_name_over_two_lines_becomes_one(folder: Path) -> None:
    assert approve(folder, name="B.\n\tReed") == 0
    assert "name: B. Reed," in (folder / "protocol.yaml").read_text("utf-8")


def test_an_edition_in_force_may_be_approved_anew_and_what_is_left_is_said(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    edit(folder, "status: draft", "status: in-force")
    assert "status" in kinds(folder, Severity.ERROR)
    assert approve(folder) == 0
    assert (
        "Still to be settled: this edition is said to be in force, but not from which day." in capsys.readouterr().out
    )


def test_the_byte_order_mark_and_the_line_ends_stay(folder: Path) -> None:
    path = folder / "protocol.yaml"
    path.write_bytes(codecs.BOM_UTF8 + path.read_bytes().replace(b"\n", b"\r\n"))
    assert approve(folder) == 0
    content = path.read_bytes()
    assert content.startswith(codecs.BOM_UTF8)
    assert content.count(b"\r\n") == content.count(b"\n")
    assert kinds(folder, Severity.WARNING) == []


def test_a_link_is_not_replaced(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (folder / "protocol.yaml").rename(folder / "mine.yaml")
    (folder / "protocol.yaml").symlink_to("mine.yaml")
    assert approve(folder) == 1
    assert "is a link" in capsys.readouterr().err
    assert "digest" not in (folder / "mine.yaml").read_text("utf-8")


def test_a_full_disk_leaves_the_file_as_it_was(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    before = (folder / "protocol.yaml").read_bytes()

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("liningbook.cli.writing.write", full)
    assert approve(folder) == 1
    assert (folder / "protocol.yaml").read_bytes() == before
    assert sorted(path.name for path in folder.iterdir()) == sorted(p.name for p in SMALLEST.iterdir())


def test_name_and_role_are_asked_for(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as stop:
        main(["approve", str(folder)])
    assert stop.value.code == 2
    assert "--name, --role is missing" in capsys.readouterr().err


def test_there_must_be_a_protocol(tmp_path: Path) -> None:
    assert approve(tmp_path) == 2
