"""What is said of a protocol's folder that is not as it was committed; and that git runs nothing to find it."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from liningbook.cli import main
from liningbook.exchange.uncommitted import Uncommitted, uncommitted
from liningbook.exchange.versions import compare_versions, read_version, uncommitted_edits
from liningbook.show.changes.changes_page import changes_page
from tests.unit.exchange.test_from_git import committed, git

DAY = date(2026, 11, 25)
RULE = "rules/varnish-under-amalgam.md"


def rewrite(file: Path, old: str, new: str) -> None:
    text = file.read_text("utf-8")
    assert old in text
    file.write_text(text.replace(old, new), "utf-8")


def told(capsys: pytest.CaptureFixture[str], *arguments: str) -> Any:
    assert main(["compare", *arguments, "--on", "2026-11-25", "--format", "json"]) == 0
    return json.loads(capsys.readouterr().out)


@pytest.fixture
def edited(tmp_path: Path) -> Path:
    """A rule edited, one new, one taken away; and what is no source of the protocol."""
    clone = committed(tmp_path / "clone")
    rewrite(clone / RULE, "coats: 2", "coats: 3")
    (clone / "rules" / "zinc.md").write_text("---\ntitle: New\n---\n", "utf-8")
    (clone / "evidence").mkdir(exist_ok=True)
    (clone / "evidence" / "zinc.yaml").write_text("question: new\n", "utf-8")
    (clone / "rules" / "no-base-in-a-shallow-cavity.md").unlink()
    for name in ("README.md", "notes.txt", "rules/README.md", "rules/_draft.md", "evidence/_draft.yaml"):
        (clone / name).write_text("x", "utf-8")
    return clone


FILES = ("evidence/zinc.yaml", "rules/no-base-in-a-shallow-cavity.md", RULE, "rules/zinc.md")


def test_sources_edited_new_and_gone_are_told_and_no_other_file(edited: Path) -> None:
    assert uncommitted(edited, "", []) == Uncommitted(FILES, is_compared=False)
    assert uncommitted(edited / "rules", "", [str(edited)]) == Uncommitted(FILES, is_compared=True)


def test_comparing_revisions_says_plainly_what_is_left_out(edited: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert told(capsys, "main", "HEAD", "--repo", str(edited))["uncommitted"] == list(FILES)
    for form in ("text", "markdown"):
        assert main(["compare", "main", "HEAD", "--repo", str(edited), "--format", form]) == 0
        said = capsys.readouterr().out
        heading = "Left out: edits that are not committed, in these files of the folder"
        assert said.index(heading) < said.index(RULE) < said.index("No case is treated differently")


def test_a_folder_that_is_compared_is_said_to_have_edits(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    clone = committed(tmp_path / "clone")
    rewrite(clone / RULE, "coats: 2", "coats: 3")
    assert told(capsys, "main", str(clone), "--repo", str(clone))["uncommitted"] == [RULE]
    assert main(["compare", "main", str(clone), "--repo", str(clone)]) == 0
    assert "With edits that are not committed" in capsys.readouterr().out


def test_the_sheet_says_so_too(edited: Path) -> None:
    old = read_version("main", DAY, edited)
    comparison = compare_versions(old, old, DAY)
    edits = uncommitted_edits([old], edited)
    assert edits is not None
    [group] = changes_page(comparison, uncommitted=edits).first
    assert group.heading == "Left out: edits that are not committed, in these files of the folder"
    assert group.lines == FILES
    assert uncommitted_edits([old], None) is None
    many = changes_page(comparison, uncommitted=Uncommitted(tuple(f"rules/{n}.md" for n in range(30)), True)).first
    assert many[0].lines[-1] == "and 22 further files"


def test_line_ends_and_a_mark_of_order_are_no_edits(tmp_path: Path) -> None:
    clone = committed(tmp_path / "clone")
    for file in (clone / RULE, clone / "protocol.yaml"):
        file.write_bytes(b"\xef\xbb\xbf" + file.read_bytes().replace(b"\n", b"\r\n"))
    assert uncommitted(clone, "", []) is None


def test_nothing_is_told_of_what_is_committed_bare_or_elsewhere(tmp_path: Path) -> None:
    clone = committed(tmp_path / "clone")
    bare = tmp_path / "bare.git"
    git(tmp_path, "clone", "-q", "--bare", str(clone), str(bare))
    (tmp_path / "protocol.yaml").write_text("title: elsewhere\n", "utf-8")
    assert uncommitted(clone, "", []) is None
    assert uncommitted(bare, "", []) is None
    assert uncommitted(clone, "nowhere", []) is None
    assert uncommitted(clone, "..", []) is None


def test_no_watcher_filter_or_hook_of_the_repository_is_run(
    edited: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    marker, script = tmp_path / "marker", tmp_path / "script"
    script.write_text(f"#!/bin/sh\ntouch '{marker}'\ncat\n", "utf-8")
    script.chmod(0o755)
    (edited / ".gitattributes").write_text("* filter=evil diff=evil text eol=crlf\n", "utf-8")
    hooks = edited / ".git" / "hooks"
    hooks.mkdir(exist_ok=True)
    (hooks / "post-index-change").symlink_to(script)
    settings = (
        "core.fsmonitor",
        "filter.evil.clean",
        "filter.evil.smudge",
        "filter.evil.process",
        "diff.evil.textconv",
    )
    for name in settings:
        git(edited, "config", name, str(script))
    found = told(capsys, "main", "HEAD", "--repo", str(edited))
    assert main(["compare", "main", str(edited / "nowhere"), "--repo", str(edited)]) == 2
    assert found["uncommitted"] == list(FILES)
    assert not marker.exists()
    git(edited, "config", "--unset", "filter.evil.process")
    git(edited, "status")
    assert marker.exists(), "otherwise the test shows nothing"
