"""A build writes only what changed, and leaves behind what a build from nothing would."""

# A case stands on one line, so that the tables can be read down.

from __future__ import annotations

import hashlib
import io
import json
import re
import shutil
import sys
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import pytest

from liningbook.cli import main, record
from liningbook.cli.common import CannotDo
from liningbook.cli.in_place import LOCK, put
from liningbook.outputs import make
from liningbook.outputs.cannot import CannotMake

SMALLEST = Path(__file__).parent.parent / "protocols" / "pass" / "smallest"
DAY = "2026-11-25"


class Done(NamedTuple):
    code: int
    out: str
    err: str

    def said(self, what: str) -> list[str]:
        """The files of which it was said that they were made, unchanged or removed."""
        return [line.split()[1].rstrip(",:") for line in self.err.splitlines() if line.startswith(f"{what} ")]


Build = Callable[..., Done]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A protocol that may be changed."""
    return Path(shutil.copytree(SMALLEST, tmp_path / "protocol"))


@pytest.fixture
def out(tmp_path: Path) -> Path:
    return tmp_path / "out"


@pytest.fixture
def build(folder: Path, out: Path, capsys: pytest.CaptureFixture[str]) -> Build:
    """Builds what needs no typesetter."""

    def call(*options: str, only: str = "bundle,site", into: Path = out) -> Done:
        code = main(["build", str(folder), "--out", str(into), "--only", only, "--on", DAY, *options])
        return Done(code, *capsys.readouterr())

    return call


def contents(place: Path) -> dict[str, bytes]:
    files = [path for path in place.rglob("*") if path.is_file() and path.name != LOCK]
    return {path.relative_to(place).as_posix(): path.read_bytes() for path in files}


def edit(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")


def edit_record(out: Path, change: Callable[[dict[str, dict[str, str]]], object]) -> None:
    """Changes the files of the record."""
    found = json.loads((out / record.NAME).read_text(encoding="utf-8"))
    change(found["files"])
    (out / record.NAME).write_text(json.dumps(found), encoding="utf-8")


# --- only what changed ------------------------------------------------------------------------------------------------


def test_what_has_not_changed_is_left_alone(build: Build, out: Path) -> None:
    first = build()
    before = {path: path.stat().st_mtime_ns for path in out.rglob("*")}
    again = build()
    assert first.said("made") == again.said("unchanged") == [line[len(f"{out}/") :] for line in first.out.splitlines()]
    assert again.said("made") == []
    assert again.out == first.out
    assert {path: path.stat().st_mtime_ns for path in out.rglob("*")} == before


def test_a_comment_in_a_source_changes_nothing(build: Build, folder: Path) -> None:
    build()
    with (folder / "protocol.yaml").open("a", encoding="utf-8") as stream:
        stream.write("# Looked at again.\n")
    assert build().said("made") == []


def test_what_has_changed_is_made_and_is_what_a_build_from_nothing_makes(
    build: Build, folder: Path, out: Path, tmp_path: Path
) -> None:
    build()
    edit(folder / "protocol.yaml", "title: ", "title: Changed ")
    again = build()
    assert {"bundle.json", "site/index.html"} <= set(again.said("made"))
    build(into=tmp_path / "other")
    assert contents(out) == contents(tmp_path / "other")


@pytest.mark.parametrize("how", ["altered", "missing"])
def test_a_file_that_was_altered_or_is_missing_is_made_again(how: str, build: Build, out: Path) -> None:
    build()
    before = contents(out)
    if how == "altered":
        (out / "bundle.json").write_text("{}", encoding="utf-8")
    else:
        (out / "bundle.json").unlink()
    again = build()
    assert again.said("made") == ["bundle.json"]
    assert contents(out) == before


def test_parts_that_are_not_asked_for_stay_in_the_record(build: Build, out: Path) -> None:
    build()
    assert build(only="bundle").said("unchanged") == ["bundle.json"]
    assert build().said("made") == []
    assert (out / "site" / "index.html").exists()


@pytest.mark.usefixtures("pango")
def test_options_and_the_time_of_the_build_count(build: Build, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1790000000")
    assert build(only="protocol").said("made") == ["protocol.pdf"]
    assert build(only="protocol").said("unchanged") == ["protocol.pdf"]
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1790000001")
    assert build(only="protocol").said("made") == ["protocol.pdf"]


@pytest.mark.usefixtures("pango")
def test_a_printed_output_is_the_same_again(build: Build) -> None:
    build(only="protocol")
    assert build(only="protocol").said("unchanged") == ["protocol.pdf"]


def test_an_output_that_cannot_be_made_leaves_all_as_it_was(
    build: Build, folder: Path, out: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    build()
    before = contents(out)
    edit(folder / "protocol.yaml", "title: ", "title: Changed ")

    def refuse(_: object) -> bytes:
        raise CannotMake("no room")

    with monkeypatch.context() as patch:
        patch.setattr(make.Output, "content", refuse)
        done = build()
    assert (done.code, "no room\nnothing was written" in done.err) == (1, True)
    assert contents(out) == before
    assert build().said("made") != []


# --- the record -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "content",
    [
        b"", b"{", b"[]", b"\xff", b"null", b'{"format": "another", "version": 1, "files": {}}',
        b'{"format": "liningbook-build", "version": 2, "files": {"bundle.json": {}}}',
        b'{"format": "liningbook-build", "version": 1, "files": ["bundle.json"]}',
        b'{"format": "liningbook-build", "version": 1, "files": {"bundle.json": 1, "site/index.html": {"part": 1}}}',
        b"[" * 100_000,
    ],
)  # fmt: skip
def test_a_record_that_is_broken_or_not_ours_is_taken_for_none(content: bytes, build: Build, out: Path) -> None:
    build()
    before = contents(out)
    (out / record.NAME).write_bytes(content)
    assert record.read_record(out) == {}
    again = build()
    assert (again.code, again.said("removed"), again.said("left")) == (0, [], [])
    assert contents(out) == before


def test_a_record_says_nothing_of_the_machine_or_the_hour(build: Build, out: Path, tmp_path: Path) -> None:
    build()
    build(into=tmp_path / "other")
    text = (out / record.NAME).read_text(encoding="utf-8")
    assert text == (tmp_path / "other" / record.NAME).read_text(encoding="utf-8")
    assert str(tmp_path) not in text


# --- what is no longer made -------------------------------------------------------------------------------------------


def leave(out: Path, name: str, part: str = "site", content: bytes = b"of an earlier build") -> Path:
    """A file that the record says an earlier build wrote."""
    place = out / name
    place.write_bytes(content)
    entry = {"part": part, "sha256": hashlib.sha256(b"of an earlier build").hexdigest()}
    edit_record(out, lambda files: files.update({name: entry}))
    return place


@pytest.mark.parametrize("more", [{}, {"key": "0" * 64}], ids=["", "as earlier versions wrote it"])
def test_a_file_that_is_made_no_longer_is_removed(more: dict[str, str], build: Build, out: Path) -> None:
    build()
    before = contents(out)
    leave(out, "site/old.svg")
    edit_record(out, lambda files: files["site/old.svg"].update(more))
    again = build()
    assert again.said("removed") == ["site/old.svg"]
    assert contents(out) == before


def test_it_stays_if_it_was_changed_by_hand(build: Build, out: Path) -> None:
    build()
    place = leave(out, "site/old.svg", content=b"changed by hand")
    for _ in range(2):
        again = build()
        assert (again.said("removed"), again.said("left")) == ([], ["site/old.svg"])
    assert place.read_bytes() == b"changed by hand"


def test_it_stays_while_its_part_is_not_asked_for(build: Build, out: Path) -> None:
    build()
    place = leave(out, "card-copies.pdf", part="card")
    assert build().said("removed") == []
    assert place.exists()


@pytest.mark.parametrize(
    "name", ["../mine.txt", "/tmp/mine.txt", "site/../../mine.txt", "mine.txt", "rules/mine.md", "a//b", ".hidden", ""]
)
def test_a_record_never_reaches_out_of_its_folder(name: str, build: Build, out: Path, tmp_path: Path) -> None:
    build()
    mine = tmp_path / "mine.txt"
    mine.write_bytes(b"of an earlier build")
    entry = {"part": "site", "sha256": hashlib.sha256(b"of an earlier build").hexdigest()}
    edit_record(out, lambda files: files.update({name: entry}))
    assert build().said("removed") == []
    assert mine.exists()
    assert name not in record.read_record(out)


def test_a_failed_build_removes_nothing(build: Build, folder: Path, out: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    build()
    leave(out, "site/old.svg")
    edit(folder / "protocol.yaml", "title: ", "title: Changed ")
    before = contents(out)
    replace = Path.replace

    def locked(self: Path, target: Path) -> Path:
        if target.name == record.NAME and self.name.startswith("new"):
            raise PermissionError(13, "Permission denied", str(target))
        return replace(self, target)

    monkeypatch.setattr(Path, "replace", locked)
    assert build().code == 1
    assert contents(out) == before


def test_what_cannot_be_removed_brings_back_what_was_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "bundle.json").write_bytes(b"old")
    (tmp_path / "card.pdf").write_bytes(b"card.pdf")
    unlink = Path.unlink

    def locked(self: Path, missing_ok: bool = False) -> None:
        if self.name == "card.pdf":
            raise PermissionError(13, "Permission denied", str(self))
        unlink(self, missing_ok)

    monkeypatch.setattr(Path, "unlink", locked)
    with pytest.raises(CannotDo, match="as it was"):
        put(tmp_path, {"bundle.json": b"new", "protocol.pdf": b"protocol.pdf"}, ["card.pdf"])
    assert contents(tmp_path) == {"bundle.json": b"old", "card.pdf": b"card.pdf"}


@pytest.mark.parametrize("place", ["", "inner"])
def test_a_link_into_the_sources_is_no_output_folder(place: str, build: Build, folder: Path, tmp_path: Path) -> None:
    link = tmp_path / "link"
    link.symlink_to(folder)
    before = contents(folder)
    done = build(into=link / place)
    assert done.code == 1
    assert "link into the sources" in done.err
    assert contents(folder) == before


def test_a_link_in_the_output_folder_stops_a_build_before_it_is_made(build: Build, folder: Path, out: Path) -> None:
    out.mkdir()
    (out / "site").symlink_to(folder)
    before = contents(folder)
    done = build()
    assert (done.code, done.said("made"), contents(folder)) == (1, [], before)


# --- progress ---------------------------------------------------------------------------------------------------------


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


@pytest.mark.usefixtures("pango")
def test_a_terminal_is_told_what_is_being_done(build: Build, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("TERM", raising=False)
    terminal = Terminal()
    monkeypatch.setattr(sys, "stderr", terminal)
    build(only="protocol")
    said = terminal.getvalue()
    assert "protocol.pdf: laying out the pages …" in said
    assert re.search(r"protocol\.pdf: setting \d+ pages? …", said)
    lines = [line.rpartition("\x1b[K")[2] for line in said.split("\n")]
    assert lines[0].startswith("made protocol.pdf (")
    assert lines[0].endswith(" s)")


@pytest.mark.parametrize("dumb", [False, True])
def test_elsewhere_there_is_one_plain_line_a_file(dumb: bool, build: Build, monkeypatch: pytest.MonkeyPatch) -> None:
    if dumb:
        monkeypatch.setenv("TERM", "dumb")
        terminal = Terminal()
        monkeypatch.setattr(sys, "stderr", terminal)
        build(only="bundle")
        assert terminal.getvalue() == "made bundle.json\n"
    else:
        assert build(only="bundle").err == "made bundle.json\n"
        assert build(only="bundle").err == "unchanged bundle.json\n"
