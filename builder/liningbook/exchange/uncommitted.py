"""Edits of a protocol's folder that are not committed.

Git is not asked to look at the files: a repository may name programs that it would run then (a watcher, filters). The
commit that is checked out is read from the object store, the folder as any other, and their sources are compared as
they are read, whatever the line ends.
"""

from __future__ import annotations

import codecs
import os
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from liningbook.exchange.from_git import NotInGit, read_revision
from liningbook.model.source_table import SOURCES
from liningbook.sources.files import CannotOpen, FilesOnDisk

_ODD = re.compile("[^ -~]")


@dataclass(frozen=True)
class Uncommitted:
    """Sources of a folder that are not as they were last committed, by their path in it.

    `is_compared` says whether the folder is one of the versions, so that the edits are looked at with it.
    """

    files: tuple[str, ...]
    is_compared: bool


def uncommitted(repository: Path, place: str, named: Iterable[str]) -> Uncommitted | None:
    """What is not committed in the folder of a protocol; nothing where all is, or where nothing is checked out.

    `place` is the folder's name in the repository; `named` are the folders on the disk that are compared.
    """
    real = Path(os.path.realpath(repository))
    top = next((each for each in (real, *real.parents) if os.path.lexists(each / ".git")), None)
    if top is None:
        return None
    folder = os.path.realpath(top / place)
    if not os.path.isdir(folder) or os.path.commonpath([folder, top]) != str(top):
        return None
    try:
        committed = read_revision(top, f"HEAD:{place}").contents
    except NotInGit:
        return None
    before = {path: _as_read(content) for path, content in committed.items() if _is_source(path)}
    now = dict(_on_disk(FilesOnDisk(Path(folder))))
    files = [path for path in sorted({*before, *now}) if before.get(path, ...) != now.get(path, ...)]
    if not files:
        return None
    is_compared = any(os.path.realpath(other) == folder for other in named)
    return Uncommitted(tuple(_ODD.sub("?", path) for path in files), is_compared)


def _is_source(path: str) -> bool:
    """Whether a file is one that a protocol is read from."""
    first, _, name = path.partition("/")
    row = next((row for row in SOURCES if first in row.files), None)
    if row is None or not name:
        return row is not None
    return name != "README.md" and not name.startswith((".", "_"))


def _on_disk(files: FilesOnDisk) -> Iterator[tuple[str, bytes | None]]:
    try:
        names = files.names()
        inside = [f"{folder}/{name}" for folder in names if _is_source(folder) for name in _names(files, folder)]
    except CannotOpen:
        return
    for path in [*names, *inside]:
        if _is_source(path) and not files.is_folder(path):
            try:
                yield path, _as_read(files.content(path))
            except CannotOpen as no:
                yield path, _as_read(no)


def _names(files: FilesOnDisk, folder: str) -> list[str]:
    return files.names(folder) if files.is_folder(folder) else []


def _as_read(content: bytes | CannotOpen) -> bytes | None:
    """The content without what reading folds away; nothing where it cannot be read."""
    if isinstance(content, CannotOpen):
        return None
    return content.removeprefix(codecs.BOM_UTF8).replace(b"\r\n", b"\n").replace(b"\r", b"\n")
