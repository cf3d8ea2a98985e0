"""Git revisions of repositories that nobody need trust: nothing that their configuration names is ever run."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from liningbook.cli import main
from liningbook.exchange import from_git
from liningbook.exchange.from_git import NotInGit, read_revision
from liningbook.sources.files import CannotOpen, GivenFiles

DEMONSTRATION = Path(__file__).resolve().parents[3] / "guidelines" / "tern-street"

Configure = Callable[[Path, Path], dict[str, str]]

WAYS: dict[str, Configure] = {
    "uploadpack": lambda script, here: {"remote.origin.url": str(here), "remote.origin.uploadpack": str(script)},
    "ssh": lambda script, _: {"remote.origin.url": "ssh://localhost/x", "core.sshCommand": str(script)},
    "proxy": lambda script, _: {"remote.origin.url": "git://localhost/x", "core.gitProxy": str(script)},
    "ext": lambda script, _: {"remote.origin.url": f"ext::{script}", "protocol.ext.allow": "always"},
    "vcs": lambda _, here: {"remote.origin.url": str(here), "remote.origin.vcs": "marking"},
    "vcs without a name": lambda _, here: {"remote.origin.url": str(here), "remote.origin.vcs": ""},
    "vcs none": lambda _, here: {"remote.origin.url": str(here), "remote.origin.vcs": "none"},
    "vcs of a folder": lambda _, here: {"remote.origin.url": str(here), "remote.origin.vcs": "/"},
}
"""What makes git run a script when it fetches an object that is missing."""


def git(repository: Path, *arguments: str) -> str:
    author = {"GIT_AUTHOR_NAME": "A", "GIT_AUTHOR_EMAIL": "a@example", "GIT_COMMITTER_NAME": "A"}
    environment = {**os.environ, **author, "GIT_COMMITTER_EMAIL": "a@example", "GIT_CONFIG_GLOBAL": os.devnull}
    call = ["git", "-C", str(repository), *arguments]
    return subprocess.run(call, capture_output=True, text=True, check=True, env=environment).stdout.strip()


def committed(folder: Path) -> Path:
    """A repository with the demonstration at its top."""
    shutil.copytree(DEMONSTRATION, folder)
    git(folder, "init", "-q", "-b", "main")
    git(folder, "add", "-A")
    git(folder, "commit", "-qm", "Edition")
    return folder


@pytest.fixture
def marker(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """What only the hostile script writes; the script is also a helper on the path."""
    home = tmp_path / "scripts"
    home.mkdir()
    for name in ("script", "git-remote-marking", "git-remote-none", "git-remote-"):
        (home / name).write_text(f"#!/bin/sh\ntouch '{tmp_path}/marker'\nexit 1\n", "utf-8")
        (home / name).chmod(0o755)
    monkeypatch.setenv("PATH", str(home), prepend=os.pathsep)
    return tmp_path / "marker"


def make_hostile(repository: Path, way: str, lost: str) -> None:
    """A partial clone that lacks an object and names commands for fetching it; bare or with a work folder."""
    here = Path(git(repository, "rev-parse", "--absolute-git-dir"))
    name = git(repository, "rev-parse", lost)
    settings = {"core.repositoryformatversion": "1", "extensions.partialClone": "origin"}
    settings |= {"remote.origin.promisor": "true", "remote.origin.fetch": "+refs/heads/*:refs/remotes/origin/*"}
    settings |= WAYS[way](repository.parent / "scripts" / "script", here)
    (here / "objects" / name[:2] / name[2:]).unlink()
    for key, value in settings.items():
        git(repository, "config", key, value)


def said(capsys: pytest.CaptureFixture[str], verb: str, repository: Path, tmp_path: Path) -> str:
    """The one line with which a command stops."""
    sound = str(DEMONSTRATION)
    build = ["build", sound, "--out", str(tmp_path / "out"), "--only", "bundle", "--draft", "--since", "main"]
    code = main([*({"compare": ["compare", "main", sound], "build": build}[verb]), "--repo", str(repository)])
    told = [line for line in capsys.readouterr().err.splitlines() if line.startswith("liningbook: ")]
    assert (code, len(told)) == (2, 1)
    return told[0]


@pytest.mark.parametrize("way", WAYS)
def test_an_object_that_a_partial_clone_lacks_is_a_complaint(
    way: str, marker: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    clone = committed(tmp_path / "clone")
    make_hostile(clone, way, "main:protocol.yaml")
    for verb in ("compare", "build"):
        assert "lacks a part of this revision" in said(capsys, verb, clone, tmp_path)
    assert not marker.exists()


@pytest.mark.parametrize("lost", ["main:rules", "main^{tree}", "main"])
def test_a_folder_or_a_revision_may_be_missing_too(
    lost: str, marker: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    clone = committed(tmp_path / "clone")
    make_hostile(clone, "uploadpack", lost)
    for verb in ("compare", "build"):
        assert "lacks a part of this revision" in said(capsys, verb, clone, tmp_path)
    assert not marker.exists()


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("guard", ["GIT_NO_LAZY_FETCH", "GIT_ALLOW_PROTOCOL"])
def test_each_guard_against_fetching_holds_alone(
    guard: str, way: str, marker: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    clone = committed(tmp_path / "clone")
    make_hostile(clone, way, "main:protocol.yaml")
    git_knows = guard == "GIT_ALLOW_PROTOCOL" or b"GIT_NO_LAZY_FETCH" in Path(shutil.which("git") or "").read_bytes()
    if not git_knows:
        pytest.skip("this git is too old for it")
    others = {name for name in ("GIT_NO_LAZY_FETCH", "GIT_ALLOW_PROTOCOL") if name != guard}
    monkeypatch.setattr(
        from_git, "ENVIRONMENT", {name: value for name, value in from_git.ENVIRONMENT.items() if name not in others}
    )
    with pytest.raises(NotInGit):
        read_revision(clone, "main")
    assert not marker.exists()


def embedded(tmp_path: Path) -> Path:
    """A plain clone whose protocol folder is a bare repository too, as any author of its files can make it."""
    bare = tmp_path / "bare.git"
    git(tmp_path, "clone", "-q", "--bare", str(committed(tmp_path / "source")), str(bare))
    place = tmp_path / "clone" / "protocol"
    shutil.copytree(DEMONSTRATION, place)
    shutil.copytree(bare, place, dirs_exist_ok=True)
    git(place.parent, "init", "-q", "-b", "main")
    git(place.parent, "add", "-A")
    git(place.parent, "commit", "-qm", "Edition")
    return place


@pytest.mark.parametrize("way", WAYS)
def test_a_bare_repository_among_the_files_of_a_clone_is_refused(
    way: str, marker: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    place = embedded(tmp_path)
    shutil.move(tmp_path / "scripts", place.parent / "scripts")
    make_hostile(place, way, "main:protocol.yaml")
    shutil.move(place.parent / "scripts", tmp_path / "scripts")
    for verb in ("compare", "build"):
        for folder in (place, place / "rules"):  # found from below too
            assert "is in a bare repository" in said(capsys, verb, folder, tmp_path)
    assert not marker.exists()


def test_a_bare_repository_is_read_where_it_is_named_itself(
    marker: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    source = committed(tmp_path / "source")
    shutil.copytree(source / ".git", tmp_path / "bare.git")
    git(tmp_path / "bare.git", "config", "core.bare", "true")
    wanted = read_revision(source, "main")
    assert wanted.contents["protocol.yaml"] == (DEMONSTRATION / "protocol.yaml").read_bytes()
    assert read_revision(tmp_path / "bare.git", "main") == wanted == read_revision(source / ".git", "main")
    monkeypatch.chdir(tmp_path / "bare.git")
    assert read_revision(Path(), "main:") == wanted
    with pytest.raises(NotInGit, match="name the repository itself"):
        read_revision(Path("objects"), "main")
    make_hostile(tmp_path / "bare.git", "uploadpack", "main:protocol.yaml")
    for verb in ("compare", "build"):
        assert "lacks a part of this revision" in said(capsys, verb, tmp_path / "bare.git", tmp_path)
    assert not marker.exists()


@pytest.mark.parametrize("damage", [b"", b"no object", "cut"])
def test_a_damaged_object_is_one_line(damage: bytes | str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    clone = committed(tmp_path / "clone")
    for lost in ("main:protocol.yaml", "main:rules", "main"):
        name = git(clone, "rev-parse", lost)
        path = clone / ".git" / "objects" / name[:2] / name[2:]
        sound = path.read_bytes()
        path.chmod(0o644)
        path.write_bytes(damage if isinstance(damage, bytes) else sound[: len(sound) // 2])
        for verb in ("compare", "build"):
            assert re.search("is damaged|is corrupt", said(capsys, verb, clone, tmp_path))
        path.write_bytes(sound)
    assert read_revision(clone, "main").contents


def test_every_call_of_git_has_all_guards(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    clone = committed(tmp_path / "clone")
    for name in ("DIR", "CONFIG_COUNT", "CONFIG_PARAMETERS", "SSH", "SSH_COMMAND", "EXTERNAL_DIFF", "PAGER", "X"):
        monkeypatch.setenv(f"GIT_{name}", "hostile")
    monkeypatch.setenv("GIT_ALLOW_PROTOCOL", "ext")
    calls: list[Any] = []

    def run(call: list[str], **given: Any) -> Any:
        calls.append((call, {k: v for k, v in given["env"].items() if k.startswith("GIT_")}))
        return run_it(call, **given)

    run_it = subprocess.run
    monkeypatch.setattr(subprocess, "run", run)
    read_revision(clone, "main")
    read_revision(clone, "main:protocol.yaml")
    assert len(calls) > 5
    guards = {"--no-pager", "--no-replace-objects", "--no-optional-locks"}
    settings = {"safe.bareRepository=explicit", "core.hooksPath=/dev/null", "core.fsmonitor=false"}
    for call, environment in calls:
        assert environment == {
            "GIT_NO_LAZY_FETCH": "1",
            "GIT_ALLOW_PROTOCOL": "/",
            "GIT_TERMINAL_PROMPT": "0",
            "GIT_OPTIONAL_LOCKS": "0",
        }
        at = next(n for n, word in enumerate(call) if word in ("rev-parse", "ls-tree", "cat-file"))
        assert guards <= set(call[:at])
        assert settings <= {call[n + 1] for n in range(at) if call[n] == "-c"}
        assert not {"--textconv", "--filters"} & set(call)


def test_only_one_function_calls_git() -> None:
    package = Path(from_git.__file__).parents[1]
    callers = {path.name: path.read_text("utf-8").count('"git"') for path in package.rglob("*.py")}
    assert {name: count for name, count in callers.items() if count} == {"from_git.py": 1}


def test_links_are_followed_within_the_folder_and_told_else(tmp_path: Path) -> None:
    clone = committed(tmp_path / "clone")
    (clone / "deep" / "er").mkdir(parents=True)
    (clone / "deep" / "er" / "rule.text").write_text("deep", "utf-8")
    targets = {"a": "../deep/er/rule.text", "b": "a.md", "c": "b.md", "up": "../../x", "root": "/x", "none": "nothing"}
    targets |= {"circle": "circle.md", "dots": "..x"}
    for name, target in targets.items():
        (clone / "rules" / f"{name}.md").symlink_to(target)
    (clone / "rules" / "..x").write_text("dots", "utf-8")
    git(clone, "add", "-A")
    git(clone, "commit", "-qm", "Links")
    held = read_revision(clone, "main").contents
    found = {name: held[f"rules/{name}.md"] for name in targets}
    told = {name: value.what if isinstance(value, CannotOpen) else value for name, value in found.items()}
    assert told == {
        "a": b"deep", "b": b"deep", "c": b"deep", "dots": b"dots",
        "up": "file-outside", "root": "file-outside", "none": "link-to-nowhere", "circle": "link-to-nowhere",
    }  # fmt: skip


def test_a_link_in_the_place_of_the_rules_is_told(tmp_path: Path) -> None:
    clone = committed(tmp_path / "clone")
    shutil.move(clone / "rules", tmp_path / "rules")
    (clone / "rules").symlink_to(tmp_path / "rules")
    git(clone, "add", "-A")
    git(clone, "commit", "-qm", "Rules from elsewhere")
    with pytest.raises(CannotOpen) as told:
        GivenFiles(read_revision(clone, "main").contents).names("rules")
    assert told.value.what == "folder-outside"
