"""A pull request, played through with git on a copy of the demonstration: three changes, compare, comment, build."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest

from liningbook.cli import main

DEMONSTRATION = Path(__file__).resolve().parents[1] / "guidelines" / "tern-street"
PLACE = "protocols/tern-street"


def git(repository: Path, *arguments: str) -> str:
    author = {"GIT_AUTHOR_NAME": "A", "GIT_AUTHOR_EMAIL": "a@example", "GIT_COMMITTER_NAME": "A"}
    environment = {**os.environ, **author, "GIT_COMMITTER_EMAIL": "a@example", "GIT_CONFIG_GLOBAL": os.devnull}
    done = subprocess.run(
        ["git", "-C", str(repository), *arguments], capture_output=True, text=True, check=True, env=environment
    )
    return done.stdout


def edit(repository: Path, file: str, old: str, new: str, message: str) -> None:
    path = repository / PLACE / file
    text = path.read_text("utf-8")
    assert text.count(old) == 1, (file, old)
    path.write_text(text.replace(old, new), "utf-8")
    git(repository, "commit", "-qam", message)


@pytest.fixture(scope="module")
def repository(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """`main` with edition 2026.2 (tagged), and a branch with three changes in as many commits."""
    root = tmp_path_factory.mktemp("practice")
    shutil.copytree(DEMONSTRATION, root / PLACE)
    git(root, "init", "-q", "-b", "main")
    git(root, "add", ".")
    git(root, "commit", "-qm", "Edition 2026.2")
    git(root, "tag", "edition-2026.2")
    git(root, "switch", "-qc", "thicker")
    rules = root / PLACE / "rules"
    edit(root, "protocol.yaml", "edition: 2026.2", "edition: 2026.3", "The next edition")
    for name, old, new in (
        ("line-a-deep-cavity", "at_most: 0.5 mm", "at_most: 0.6 mm"),
        ("no-liner-in-a-middle-cavity", "above: 0.5 mm", "above: 0.6 mm"),
    ):
        assert (rules / f"{name}.md").exists()
        edit(root, f"rules/{name}.md", old, new, "Line cavities up to 0.6 mm")
    edit(root, "rules/varnish-under-amalgam.md", "coats: 2", "coats: 3", "A third coat")
    edit(root, "rules/no-base-in-a-shallow-cavity.md", "\n---\n", "\n---\nSaid once more.\n\n", "Words")
    return root


def state(repository: Path) -> Any:
    files = {path: path.stat().st_mtime_ns for path in sorted((repository / PLACE).rglob("*")) if path.is_file()}
    return git(repository, "status", "--porcelain"), (repository / ".git" / "index").read_bytes(), files


def told(capsys: pytest.CaptureFixture[str], *arguments: str) -> Any:
    assert main(["compare", *arguments, "--on", "2026-11-25", "--format", "json"]) == 0
    return json.loads(capsys.readouterr().out)


def test_the_request_says_which_cases_change(repository: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = state(repository)
    found = told(capsys, "main", "thicker", "--repo", str(repository))
    assert state(repository) == before
    assert (found["old"]["edition"], found["new"]["edition"]) == ("2026.2", "2026.3")
    changed = {(c["decision"], repr(c["cases"][0].get("rdt"))) for c in found["changes"]}
    assert ("liner", "{'above': '0.5 mm', 'at_most': '0.6 mm'}") in changed
    assert {decision for decision, _ in changed} >= {"liner", "sealer"}
    for change in found["changes"]:
        if change["decision"] == "liner" and change["before"]["state"] == change["after"]["state"] == "answered":
            assert change["cases"][0]["rdt"] == {"above": "0.5 mm", "at_most": "0.6 mm"}
            assert change["before"]["answer"] == "none"
        if change["decision"] == "sealer":
            assert (change["before"]["answer"]["coats"], change["after"]["answer"]["coats"]) == (2, 3)
    assert [(note["name"], note["field"]) for note in found["words"]] == [("no-base-in-a-shallow-cavity", "reasons")]
    assert found["edition_step"]["step"] == "treatment"


def refused(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    """The findings of a version that is no protocol, up to the line that names it."""
    assert main(["compare", *arguments, "--on", "2026-11-25"]) == 1
    said = capsys.readouterr()
    assert "secret" not in said.out + said.err
    return "\n".join(line for line in said.err.splitlines() if "the protocol of" not in line)


def test_every_way_to_name_a_version_says_the_same(
    repository: Path, capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    changes = told(capsys, "main", "thicker", "--repo", str(repository))["changes"]
    shutil.copytree(DEMONSTRATION, tmp_path / "old")
    assert main(["build", str(tmp_path / "old"), "--only", "bundle", "--out", str(tmp_path), "--on", "2026-11-25"]) == 0
    capsys.readouterr()
    place = str(repository / PLACE)
    for old in ("edition-2026.2", f"thicker~5:{PLACE}", git(repository, "rev-parse", "main").strip()):
        assert told(capsys, old, place, "--repo", place)["changes"] == changes
    assert told(capsys, str(tmp_path / "bundle.json"), place)["changes"] == changes
    assert told(capsys, str(tmp_path / "old"), "HEAD", "--repo", str(repository))["changes"] == changes
    # As in a hook, where git names another repository.
    monkeypatch.setenv("GIT_DIR", str(tmp_path / "nowhere"))
    monkeypatch.setenv("GIT_INDEX_FILE", str(tmp_path / "index"))
    assert told(capsys, "main", "thicker", "--repo", str(repository))["changes"] == changes


def test_a_bundle_may_lie_in_a_revision(repository: Path, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    clone = tmp_path / "clone"
    git(repository, "clone", "-q", "-b", "main", str(repository), str(clone))
    build = ["build", str(clone / PLACE), "--only", "bundle", "--out", str(clone / "issued"), "--on", "2026-11-25"]
    assert main(build) == 0
    capsys.readouterr()
    git(clone, "add", "-f", "issued/bundle.json")
    git(clone, "commit", "-qm", "Issued")
    shutil.rmtree(clone / "issued")
    wanted = told(capsys, "main", "thicker", "--repo", str(repository))["changes"]
    found = told(capsys, "HEAD:issued/bundle.json", "origin/thicker", "--repo", str(clone))
    assert found["changes"] == wanted
    assert found["old"]["edition"] == "2026.2"


def test_links_and_odd_names_in_a_revision_do_no_harm(
    repository: Path, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    clone = tmp_path / "clone"
    git(repository, "clone", "-q", "-b", "thicker", str(repository), str(clone))
    (tmp_path / "secret").write_text("---\ntitle: secret\n---\n", "utf-8")
    place = clone / PLACE
    rule = place / "rules" / "varnish-under-amalgam.md"
    moved = place / "varnish.text"
    rule.rename(moved)
    rule.symlink_to("../varnish.text")  # within the folder: has the content that it leads to
    (place / "notes").symlink_to(tmp_path)
    (place / "rules" / "_out.md").symlink_to(tmp_path / "secret")
    (place / "rules" / "_up.md").symlink_to("../../../.git/config")
    for name in ("-rf.md", "a b\nc.md", "$(touch pwned).md", "%2e%2e.md"):
        (clone / name).write_text("x", "utf-8")
    Path(os.fsdecode(bytes(clone) + b"/\xff\xfe.md")).write_text("x", "utf-8")
    git(clone, "add", "-A")
    git(clone, "commit", "-qm", "Odd")
    wanted = told(capsys, "main", "thicker", "--repo", str(repository))["changes"]
    assert told(capsys, "origin/main", "HEAD", "--repo", str(clone))["changes"] == wanted
    link = place / "rules" / "no-base-in-a-shallow-cavity.md"
    link.unlink()
    link.symlink_to(tmp_path / "secret")  # leads out of the folder
    git(clone, "commit", "-qam", "A rule from elsewhere")
    on_disk = refused(capsys, "HEAD~1", str(place), "--repo", str(clone))
    assert refused(capsys, "HEAD~1", "HEAD", "--repo", str(clone)) == on_disk
    assert "\n    rules/no-base-in-a-shallow-cavity.md\n" in on_disk
    assert not (clone / "pwned").exists()


def test_neither_the_files_nor_the_index_are_touched_whatever_is_asked(
    repository: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    place = repository / PLACE / "rules" / "no-base-in-a-shallow-cavity.md"
    text = place.read_text("utf-8")
    try:
        place.write_text(text + "\nNot yet committed.\n", "utf-8")
        (repository / "new.txt").write_text("x", "utf-8")
        before = state(repository)
        head = (repository / ".git" / "HEAD").read_bytes()
        for arguments in (["main", "thicker"], ["HEAD~2", str(repository / PLACE)], ["main", "HEAD", "--cases", "no"]):
            main(["compare", *arguments, "--repo", str(repository), "--format", "markdown"])
        assert state(repository) == before
        assert (repository / ".git" / "HEAD").read_bytes() == head
        found = told(capsys_after(capsys), "HEAD", str(repository / PLACE), "--repo", str(repository))
        assert [(note["name"], note["field"]) for note in found["words"]] == [
            ("no-base-in-a-shallow-cavity", "reasons")
        ]
    finally:
        place.write_text(text, "utf-8")
        (repository / "new.txt").unlink()
        git(repository, "update-index", "--refresh")


def capsys_after(capsys: pytest.CaptureFixture[str]) -> pytest.CaptureFixture[str]:
    """Nothing left of what was printed before."""
    capsys.readouterr()
    return capsys


@pytest.mark.parametrize(
    ("old", "words"),
    [
        ("nope", "there is no revision 'nope'"),
        ("main:nowhere", "holds no 'nowhere'"),
        ("--upload-pack=x", "NEW is missing"),
        ("main:protocols", "holds no protocol.yaml in protocols"),
        (f"main:{PLACE}/protocol.yaml", "is not JSON, so it is not a bundle"),
        ("", "is not a revision"),
    ],
)
def test_a_wrong_revision_is_said_in_one_line(
    old: str, words: str, repository: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    try:
        code = main(["compare", old, "main", "--repo", str(repository)])
    except SystemExit as stop:
        code = stop.code if isinstance(stop.code, int) else 1
    assert code == 2
    said = capsys.readouterr().err
    assert words in said
    assert said.count("\n") == 1


def test_comment_chart_and_build(
    repository: Path, capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1795600000")
    chart = tmp_path / "change.svg"
    arguments = ["compare", "main", "thicker", "--repo", str(repository), "--format", "markdown", "--chart", str(chart)]
    assert main(arguments) == 0
    comment = capsys.readouterr().out
    assert comment.startswith("## Pulp protection under restorations: what changes for which cases")
    assert "<details><summary>" in comment
    assert "more than 0.5 mm, at most 0.6 mm" in comment
    assert "Changed" in chart.read_text("utf-8")
    place, out = str(repository / PLACE), tmp_path / "out"
    build = ["build", place, "--out", str(out), "--only", "bundle,site", "--draft"]
    assert main([*build, "--since", "edition-2026.2", "--repo", str(repository)]) == 0
    page = (out / "site" / "index.html").read_text("utf-8")
    assert "since edition 2026.2" in page
