"""A stop at any moment leaves the old files or the new ones, and two builds never write at once."""

from __future__ import annotations

import json
import os
import signal
import stat
import sys
import threading
import time
from pathlib import Path

import pytest

from liningbook.cli import in_place
from liningbook.cli.common import CannotDo
from liningbook.cli.in_place import JOURNAL, LOCK, STAGING, holding, put
from liningbook.cli.record import NAME
from liningbook.cli.writing import check_places, write_all

OLD = {"bundle.json": b"old bundle", "site/index.html": b"old page", "site/gone.svg": b"old picture"}
NEW = {"bundle.json": b"new bundle", "site/index.html": b"new page", "site/new.svg": b"new card"}
GONE = ["site/gone.svg"]


def contents(out: Path) -> dict[str, bytes]:
    files = [path for path in out.rglob("*") if path.is_file() and path.name != LOCK]
    return {path.relative_to(out).as_posix(): path.read_bytes() for path in files}


def results(out: Path) -> dict[str, bytes]:
    return {name: content for name, content in contents(out).items() if not name.startswith(STAGING)}


def old_build(out: Path) -> None:
    with holding(out, lambda: None):
        put(out, OLD, [])


def stopped_at(out: Path, step: int, number: int) -> int:
    """Puts the new files in a process of its own, which sends itself a signal before so many operations on files.

    Says how it ended: 0 where there are fewer operations.
    """
    child = os.fork()
    if child == 0:
        seen = 0

        def hook(event: str, arguments: tuple[object, ...]) -> None:
            nonlocal seen
            if event in ("open", "os.rename", "os.remove", "os.mkdir", "os.rmdir") and str(out) in str(arguments[0]):
                seen += 1
                if seen == step:
                    os.kill(os.getpid(), number)

        signal.signal(signal.SIGINT, signal.default_int_handler)
        with open(os.devnull, "w") as nowhere:
            os.dup2(nowhere.fileno(), 2)
        sys.addaudithook(hook)
        try:
            with holding(out, lambda: None):
                put(out, NEW, GONE)
        except KeyboardInterrupt:
            os._exit(130)
        except BaseException:
            os._exit(99)
        os._exit(0)
    _, status = os.waitpid(child, 0)
    return os.waitstatus_to_exitcode(status)


@pytest.mark.parametrize("number", [signal.SIGKILL, signal.SIGTERM, signal.SIGINT], ids=["kill", "term", "int"])
def test_a_stop_at_any_operation_leaves_the_old_or_the_new_whole(number: int, tmp_path: Path) -> None:
    ends = set()
    for step in range(1, 200):
        out = tmp_path / str(step)
        old_build(out)
        code = stopped_at(out, step, number)
        assert code in (0, 130, -number)
        if number != signal.SIGKILL:
            assert results(out) in (OLD, NEW), f"stopped at operation {step}"
        with holding(out, lambda: None):
            pass
        assert contents(out) in (OLD, NEW), f"not put right after a stop at operation {step}"
        ends.add(contents(out) == NEW)
        if code == 0:
            break
    else:
        pytest.fail("it never came to its end")
    assert ends == {True, False}


def test_what_cannot_be_moved_in_leaves_the_old_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    old_build(tmp_path)
    move_in = in_place.move_in

    def locked(new: Path, place: Path) -> None:
        if place.name == "new.svg" and new.name.startswith("new"):
            raise PermissionError(13, "Permission denied", str(place))
        move_in(new, place)

    monkeypatch.setattr(in_place, "move_in", locked)
    with holding(tmp_path, lambda: None), pytest.raises(CannotDo, match="as it was"):
        put(tmp_path, NEW, GONE)
    assert contents(tmp_path) == OLD


@pytest.mark.parametrize(
    "journal",
    [
        {"moves": {"new-0": "../protocol.yaml"}, "gone": []},
        {"moves": {}, "gone": ["../protocol.yaml"]},
        {"moves": {"../../protocol.yaml": "a"}, "gone": []},
        {"moves": {"new-0": "mine.txt"}, "gone": []},
        {"moves": {"new-0": "rules/mine.md"}, "gone": []},
        {"moves": {}, "gone": ["mine.txt"]},
        {"moves": {"link": "bundle.json"}, "gone": []},
        {"moves": {"new-1": "bundle.json"}, "gone": []},
        {"moves": {"new-0": "bundle.json/x"}, "gone": ["site"]},
        {"moves": {"new-0": 3}, "gone": []},
        {"moves": [], "gone": []},
        [],
    ],
)
def test_a_journal_that_no_build_wrote_is_not_believed(journal: object, tmp_path: Path) -> None:
    out = tmp_path / "out"
    staging = out / STAGING
    staging.mkdir(parents=True)
    before = {
        "protocol.yaml": b"mine",
        "out/mine.txt": b"mine",
        "out/rules/mine.md": b"mine",
        "out/bundle.json": b"mine",
    }
    (out / "rules").mkdir()
    for name, content in before.items():
        (tmp_path / name).write_bytes(content)
    (tmp_path / "protocol.yaml").chmod(0o640)
    (staging / "new-0").write_bytes(b"harm")
    for name in ("new-1", "link"):
        (staging / name).symlink_to(tmp_path / "protocol.yaml")
    (staging / JOURNAL).write_text(json.dumps(journal), "utf-8")
    with holding(out, lambda: None):
        pass
    assert contents(tmp_path) == before
    assert stat.S_IMODE(os.stat(tmp_path / "protocol.yaml").st_mode) == 0o640


def test_what_is_no_folder_where_a_build_is_made_ready_is_told(tmp_path: Path) -> None:
    (tmp_path / STAGING).write_bytes(b"mine")
    with pytest.raises(CannotDo, match="remove it"), holding(tmp_path, lambda: None):
        pass


def test_a_staging_folder_that_is_a_link_is_not_followed(tmp_path: Path) -> None:
    mine = tmp_path / "mine"
    mine.mkdir()
    (mine / "file").write_bytes(b"mine")
    out = tmp_path / "out"
    out.mkdir()
    (out / STAGING).symlink_to(mine)
    with pytest.raises(CannotDo), holding(out, lambda: None):
        put(out, NEW, [])
    assert (mine / "file").read_bytes() == b"mine"


def test_a_second_build_waits_for_the_first_and_says_so(tmp_path: Path) -> None:
    said: list[str] = []
    order: list[str] = []
    entered = threading.Event()

    def first() -> None:
        with holding(tmp_path, lambda: said.append("first waits")):
            entered.set()
            while not said:
                time.sleep(0.01)
            order.append("first")

    other = threading.Thread(target=first)
    other.start()
    entered.wait()
    with holding(tmp_path, lambda: said.append("second waits")):
        order.append("second")
    other.join()
    assert (order, said) == (["first", "second"], ["second waits"])


def test_it_does_not_wait_for_ever(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(in_place, "MOST_MINUTES", 0)
    with (
        holding(tmp_path, lambda: None),
        pytest.raises(CannotDo, match="another build"),
        holding(tmp_path, lambda: None),
    ):
        pass


# --- what is never replaced ------------------------------------------------------------------------------------------


def special(place: Path, sort: str, target: Path) -> None:
    if sort == "pipe":
        os.mkfifo(place)
    elif sort == "folder":
        place.mkdir()
    else:
        place.symlink_to(target)


@pytest.mark.parametrize("sort", ["link", "pipe", "folder"])
@pytest.mark.parametrize("name", ["bundle.json", NAME])
def test_a_build_replaces_no_link_pipe_or_folder(sort: str, name: str, tmp_path: Path) -> None:
    mine = tmp_path / "mine"
    mine.write_bytes(b"mine")
    out = tmp_path / "out"
    out.mkdir()
    special(out / name, sort, mine)
    before = os.lstat(out / name).st_ino
    with holding(out, lambda: None), pytest.raises(CannotDo):
        put(out, {"first.txt": b"first", name: b"new"}, [])
    assert (os.lstat(out / name).st_ino, mine.read_bytes()) == (before, b"mine")
    assert not (out / "first.txt").exists()


def test_nothing_is_written_through_a_link_below_the_folder(tmp_path: Path) -> None:
    sources = tmp_path / "sources"
    sources.mkdir()
    out = tmp_path / "out"
    out.mkdir()
    (out / "site").symlink_to(sources)
    with holding(out, lambda: None), pytest.raises(CannotDo, match="link"):
        put(out, {"site/index.html": b"page"}, [])
    assert contents(sources) == {}


@pytest.mark.parametrize("sort", ["link", "pipe", "folder"])
def test_a_named_file_is_never_one_that_stands_for_something_else(sort: str, tmp_path: Path) -> None:
    special(tmp_path / "out.csv", sort, tmp_path / "mine")
    with pytest.raises(CannotDo):
        check_places([tmp_path / "out.csv"], [], [])
    with pytest.raises(CannotDo):
        check_places([Path("/dev/null")], [], [])


def test_an_existing_file_keeps_its_mode(tmp_path: Path) -> None:
    old_build(tmp_path)
    for name, mode in (("bundle.json", 0o640), ("site/index.html", 0o604)):
        (tmp_path / name).chmod(mode)
    (tmp_path / "out.svg").write_bytes(b"old")
    (tmp_path / "out.svg").chmod(0o600)
    with holding(tmp_path, lambda: None):
        put(tmp_path, NEW, GONE)
    write_all({tmp_path / "out.svg": b"new"})
    modes = [stat.S_IMODE(os.stat(tmp_path / name).st_mode) for name in ("bundle.json", "site/index.html", "out.svg")]
    assert modes == [0o640, 0o604, 0o600]
    assert (tmp_path / "out.svg").read_bytes() == b"new"
