"""Where a command may write, and writing whole files: never over a source, a link, a device or a pipe."""

from __future__ import annotations

import os
import re
import shutil
import stat
from collections.abc import Iterable, Mapping
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from liningbook.cli.common import FOUND, CannotDo, os_words
from liningbook.say.command import stops

if TYPE_CHECKING:
    from liningbook.sources.csv_rows import Rows

SOURCES = (".md", ".yaml", ".yml", ".json", ".bib")
"""The endings of a protocol's own files."""


def check_writable(folder: Path, protocol: Path) -> None:
    """Stops before the work is done if a folder cannot be written to, or is one that holds only sources."""
    from liningbook.model.source_table import SOURCES as TABLE

    for kept in (row.files[0] for row in TABLE if row.is_folder):
        if _folded(folder).is_relative_to(_folded(protocol / kept)):
            raise CannotDo(stops.SOURCES_ONLY.format(folder=folder, kept=kept), FOUND)
    if _folded(folder).is_relative_to(_folded(protocol)) and not _named(folder).is_relative_to(_named(protocol)):
        raise CannotDo(stops.INTO_SOURCES.format(folder=folder), FOUND)
    existing = next(place for place in (folder, *folder.absolute().parents) if os.path.lexists(place))
    if not os.path.isdir(existing):
        raise CannotDo(stops.NO_FOLDER.format(place=existing), FOUND)
    if not os.access(existing, os.W_OK | os.X_OK):
        raise CannotDo(stops.NOT_WRITABLE.format(folder=existing), FOUND)


def check_places(places: Iterable[Path | None], read: Iterable[Path], folders: Iterable[Path]) -> None:
    """Stops before the work is done where a file to be written is read, is a source, or is written twice.

    `read` are the files that the call reads; below the `folders` of protocols no file with the ending of a source is
    written.
    """
    taken = {_folded(path) for path in read}
    real_folders = [os.path.realpath(folder) for folder in folders]
    for place in places:
        if place is None:
            continue
        check_plain(place)
        real = Path(os.path.realpath(place))
        is_inside = any(_folded(real).is_relative_to(_folded(folder)) for folder in real_folders)
        if (real.suffix.casefold() in SOURCES and is_inside) or _folded(real) in taken:
            raise CannotDo(stops.SOURCE_OR_TWICE.format(place=place), FOUND)
        for folder in real_folders:
            check_writable(real.parent, Path(folder))
        taken.add(_folded(real))


def _named(place: Path) -> Path:
    """The place as it is named, without its capitals: links are not followed."""
    return Path(os.path.normpath(place.absolute()).casefold())


def _folded(place: str | Path) -> Path:
    """The real place without its capitals: where a system tells them not apart, two such places are one."""
    return Path(os.path.realpath(place).casefold())


def check_plain(place: Path) -> None:
    """Stops where something stands that a file must not replace: a folder, a link, a device or a pipe."""
    try:
        mode = os.lstat(place).st_mode
    except FileNotFoundError:
        return
    except OSError as error:
        raise CannotDo(os_words(error), FOUND) from None
    if stat.S_ISDIR(mode):
        raise CannotDo(stops.IS_FOLDER.format(place=place), FOUND)
    if not stat.S_ISREG(mode):
        raise CannotDo(stops.NOT_PLAIN.format(place=place), FOUND)


def check_below(out: Path, names: Iterable[str]) -> None:
    """Stops where a file below a folder would replace something else, or where a link leads out of the folder."""
    for name in names:
        place = out / name
        for folder in place.parents[: len(Path(name).parts) - 1]:
            if folder.is_symlink():
                raise CannotDo(stops.NOT_PLAIN.format(place=folder), FOUND)
        check_plain(place)


def write_table(out: Path, made: Iterable[list[str]], like: Rows) -> None:
    """Writes a table row by row beside its place, as `like` was written, and moves it in only when it is complete."""
    from liningbook.sources.csv_rows import to_bytes

    out.parent.mkdir(parents=True, exist_ok=True)
    new = _beside(out, "new")
    try:
        with new.open("wb") as target:
            target.writelines(to_bytes(made, like))
        move_in(new, out)
    finally:
        new.unlink(missing_ok=True)


def write_all(files: Mapping[Path, bytes]) -> None:
    """Writes every file beside its place first and moves them in only when all are complete.

    If one cannot be moved in (a viewer may have locked the old one) those moved before are put back.
    """
    new = {place: _beside(place, "new") for place in files}
    old = {place: _beside(place, "old") for place in files}
    moved: list[Path] = []
    try:
        for place, content in files.items():
            place.parent.mkdir(parents=True, exist_ok=True)
            write(new[place], content)
            if place.exists():
                shutil.copy2(place, old[place])
        for place in files:
            move_in(new[place], place)
            moved.append(place)
    except OSError as error:
        for place in moved:
            if old[place].exists():
                old[place].replace(place)
            else:
                place.unlink()
        raise as_it_was(error) from None
    finally:
        for path in (*new.values(), *old.values()):
            path.unlink(missing_ok=True)


def as_it_was(error: OSError) -> CannotDo:
    """Why nothing was written, by the name of the file and not by our own beside it."""
    return CannotDo(stops.AS_IT_WAS.format(what=re.sub(rf"\.(new|old)-{os.getpid()}\b", "", os_words(error))), FOUND)


def move_in(new: Path, place: Path) -> None:
    """Moves a complete file to its place; who may read and write the one that was there stays as it is."""
    with suppress(FileNotFoundError):
        new.chmod(stat.S_IMODE(os.lstat(place).st_mode))
    new.replace(place)


def write(path: Path, content: bytes) -> None:
    """Writes a file and waits until it is on the disk."""
    with path.open("wb") as stream:
        stream.write(content)
        stream.flush()
        os.fsync(stream.fileno())


def _beside(place: Path, what: str) -> Path:
    """A name of our own beside a file."""
    return place.with_name(f"{place.name}.{what}-{os.getpid()}")
