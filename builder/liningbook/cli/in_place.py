"""A build put in place whole: a stop leaves the old files or the new ones, never some of each for good.

All files are first written into a folder of our own inside the output folder, with a journal of where they go. Once the
journal has its name the build is made: whoever comes next, the same command or the next build into the folder, carries
out what it says, as often as it takes. A journal is a file like any other, so what it names is checked before it is
believed.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import signal
import threading
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from types import FrameType

from liningbook.cli.common import FOUND, CannotDo
from liningbook.cli.record import NAME
from liningbook.cli.writing import as_it_was, check_below, check_plain, move_in, write
from liningbook.outputs.rows import is_name_of_output
from liningbook.say.command import stops

STAGING = ".liningbook-build"
"""The folder inside the output folder in which a build is made ready."""

LOCK = ".liningbook-build.lock"
"""The file that says that a build is writing; it stays, and is empty."""

MOST_MINUTES = 10
"""How long a build waits for another."""

JOURNAL = "journal.json"
"""The file in it that says where the others go."""

_STAGED = re.compile("(new|old)-[0-9]+")

Moves = dict[str, str]
"""Where each staged file goes: its name in the staging folder, and that below the output folder."""


@contextmanager
def holding(out: Path, waits: Callable[[], None]) -> Iterator[None]:
    """The output folder for one build alone, with what a build before left undone carried out.

    `waits` is called when another build has it. Stops where that takes too long.
    """
    from filelock import FileLock, Timeout

    out.mkdir(parents=True, exist_ok=True)
    check_plain(out / LOCK)
    lock = FileLock(out / LOCK)
    try:
        try:
            lock.acquire(timeout=0)
        except Timeout:
            waits()
            lock.acquire(timeout=60 * MOST_MINUTES)
    except Timeout:
        raise CannotDo(stops.BUILD_IS_STUCK.format(folder=out, minutes=MOST_MINUTES), FOUND) from None
    except NotImplementedError:
        pass  # the file system knows no locks; then the last build that writes is the one that stands
    try:
        _carry_out(out)
        yield
    finally:
        lock.release()


def put(out: Path, files: Mapping[str, bytes], gone: Sequence[str]) -> None:
    """Writes files by their names below a folder that is held, and removes others; all of it or nothing.

    Stops with the reason where that cannot be done; the folder is then as it was.
    """
    check_below(out, [*files, *gone])
    staging = out / STAGING
    new = {f"new-{number}": name for number, name in enumerate(files)}
    old = {f"old-{number}": name for number, name in enumerate([*files, *gone]) if (out / name).exists()}
    try:
        staging.mkdir()
        for staged, name in new.items():
            write(staging / staged, files[name])
        for staged, name in old.items():
            shutil.copy2(out / name, staging / staged)
        _commit(staging, new, gone)
    except BaseException as stop:
        shutil.rmtree(staging, ignore_errors=True)
        if isinstance(stop, OSError):
            raise as_it_was(stop) from None
        raise
    with _undisturbed():
        try:
            _carry_out(out)
        except OSError as error:
            moved = {name for staged, name in new.items() if not (staging / staged).exists()}
            back = {s: name for s, name in old.items() if name in moved or not (out / name).exists()}
            _commit(staging, back, sorted(moved - set(back.values())))
            _carry_out(out)
            raise as_it_was(error) from None


def _commit(staging: Path, moves: Moves, gone: Sequence[str]) -> None:
    """Gives the journal its name, in one step."""
    ready = staging / f"{JOURNAL}.new"
    write(ready, json.dumps({"moves": moves, "gone": list(gone)}).encode())
    ready.replace(staging / JOURNAL)


def _carry_out(out: Path) -> None:
    """Does what the journal says, as far as it is not done yet; without one, what was made ready is thrown away."""
    staging = out / STAGING
    if not os.path.lexists(staging):
        return
    if staging.is_symlink() or not staging.is_dir():
        raise CannotDo(stops.IN_THE_WAY.format(place=staging), FOUND)
    moves, gone = _journal(staging)
    check_below(out, [*moves.values(), *gone])
    for staged, name in moves.items():
        (out / name).parent.mkdir(parents=True, exist_ok=True)
        with suppress(FileNotFoundError):  # moved already
            move_in(staging / staged, out / name)
    for name in gone:
        (out / name).unlink(missing_ok=True)
    (staging / JOURNAL).unlink(missing_ok=True)
    shutil.rmtree(staging)


def _journal(staging: Path) -> tuple[Moves, list[str]]:
    """What the journal says; nothing where there is none, or one that no build of ours has written."""
    try:
        found = json.loads((staging / JOURNAL).read_text("utf-8"))
    except (OSError, ValueError, RecursionError):
        return {}, []
    match found:
        case {"moves": dict(moves), "gone": list(gone)}:
            names = [*moves.values(), *gone]
            if all(_is_staged(staging, staged) for staged in moves) and all(map(_can_be_of_a_build, names)):
                return moves, gone
    return {}, []


def _is_staged(staging: Path, name: str) -> bool:
    """Whether a build can have made a file of this name ready: one that is moved already, or a plain file."""
    place = staging / name
    return bool(_STAGED.fullmatch(name)) and not place.is_symlink() and (place.is_file() or not place.exists())


def _can_be_of_a_build(name: object) -> bool:
    return isinstance(name, str) and (name == NAME or is_name_of_output(name))


@contextmanager
def _undisturbed() -> Iterator[None]:
    """Lets a stop that is asked for meanwhile (INT, TERM) wait until this is done."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    asked: list[int] = []

    def later(number: int, _: FrameType | None) -> None:
        asked.append(number)

    before = {number: signal.signal(number, later) for number in (signal.SIGINT, signal.SIGTERM)}
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
    if asked:
        signal.raise_signal(asked[0])
