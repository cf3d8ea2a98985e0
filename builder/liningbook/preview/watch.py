"""Hears of every change in a protocol folder, whatever an editor does to save a file.

The system tells of changes (library watchfiles). Twice a second the folder is looked at as well: it may have been moved
away and made anew, or lie on a drive of which the system tells nothing.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from pathlib import Path
from threading import Event

LOOK_EVERY = 0.5
"""Seconds between two looks."""

QUIET = 0.025
"""Seconds without a further change after which a save is taken to be done."""

AT_LATEST = 0.2
"""Seconds after which a change is told although more are coming."""

MOST_FILES = 5000

Look = tuple[tuple[str, int, int, int], ...]


def watch(folder: Path, seen: Look, changed: Callable[[], None], stop: Event) -> None:
    """Calls `changed` after every change below the folder until `stop` is set; the folder may come and go.

    `seen` is a look at the folder from before it was first read: what was saved since is a change as well.
    """
    while not stop.is_set():
        for told in _alarms(folder, stop):
            now = look(folder)
            if told or now != seen:
                seen = now
                changed()


def _alarms(folder: Path, stop: Event) -> Iterator[bool]:
    """Whether the system told of a change, at each change and at each look; ends when the folder is another one."""
    from watchfiles import watch as changes_in

    place = _identity(folder)
    if place is None:
        stop.wait(LOOK_EVERY / 2)
        yield False
        return
    try:
        for changes in changes_in(
            folder,
            watch_filter=None,
            debounce=int(AT_LATEST * 1000),
            step=int(QUIET * 1000),
            rust_timeout=int(LOOK_EVERY * 1000),
            yield_on_timeout=True,
            stop_event=stop,
            raise_interrupt=True,
            ignore_permission_denied=True,
        ):
            yield bool(changes)
            if _identity(folder) != place:
                return
    except (OSError, RuntimeError):
        # It is gone, or the system watches no more folders: the looks remain.
        stop.wait(LOOK_EVERY / 2)
        yield False


def _identity(folder: Path) -> tuple[int, int] | None:
    try:
        status = os.stat(folder)
    except OSError:
        return None
    return status.st_dev, status.st_ino


def look(folder: Path) -> Look:
    """Name, time of the last change, size and number of every file of the folder and of the folders in it."""
    found: list[tuple[str, int, int, int]] = []
    for path in (str(folder), *_folders(folder)):
        try:
            with os.scandir(path) as entries:
                for entry in entries:
                    found.append(_entry(entry))
                    if len(found) == MOST_FILES:
                        return tuple(sorted(found))
        except OSError:
            found.append((path, -1, -1, -1))
    return tuple(sorted(found))


def _folders(folder: Path) -> list[str]:
    try:
        with os.scandir(folder) as entries:
            return sorted(entry.path for entry in entries if entry.is_dir())
    except OSError:
        return []


def _entry(entry: os.DirEntry[str]) -> tuple[str, int, int, int]:
    try:
        status = entry.stat()
    except OSError:
        return entry.path, 0, 0, 0
    return entry.path, status.st_mtime_ns, status.st_size, status.st_ino
