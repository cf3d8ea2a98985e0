"""The files of a protocol's folder, on a disk or given with their contents, as bytes.

Nothing outside the folder is read: a link that leads out of it is refused. Both sorts of folder are listed alike.
"""

from __future__ import annotations

import errno
import os
import stat
from collections.abc import Mapping
from functools import cached_property
from itertools import islice
from pathlib import Path
from typing import Literal, NamedTuple

from liningbook.finding import Refused

MAX_BYTES = 2_000_000
"""No source file of a practice comes near this size; a larger one is not read."""


MOST_NAMES = 5_000
"""A folder with more names is listed in no order that is the same each time, so it is not listed at all."""

HEAD_BYTES = 4_096
"""So much of a file is looked at to see what it is."""


class CannotOpen(Refused):
    """Why a file or a folder cannot be read: a code, and the values that its words need."""


class Entry(NamedTuple):
    """A name in a folder, and what it is, links not followed."""

    name: str
    kind: Literal["file", "folder", "link", "other"]


class FilesOnDisk:
    """A folder of the disk."""

    def __init__(self, path: Path) -> None:
        self.path, self.real = path, os.path.realpath(path)

    def names(self, folder: str = "") -> list[str]:
        """The names in the folder, or in one inside it, sorted. Raises CannotOpen."""
        if folder and not self._is_inside(folder):
            raise CannotOpen("folder-outside")
        if folder and not self.is_folder(folder):
            raise CannotOpen("rules-no-folder")
        try:
            return sorted(os.listdir(self.path / folder))
        except OSError as error:
            raise CannotOpen("folder-closed", reason=error.strerror) from None

    def entries(self, folder: str = "") -> list[Entry]:
        """What is in the folder, or in one inside it, by name. Raises CannotOpen, for more than MOST_NAMES too."""
        try:
            with os.scandir(self.path / folder) as found:
                entries = [_entry(entry) for entry in islice(found, MOST_NAMES + 1)]
        except OSError as error:
            raise CannotOpen("folder-closed", reason=error.strerror) from None
        return _few(entries)

    def head(self, file: str) -> bytes:
        """The start of a file that is no link; nothing where it cannot be read."""
        try:
            if not stat.S_ISREG(os.lstat(self.path / file).st_mode):
                return b""
            with open(self.path / file, "rb") as stream:
                return stream.read(HEAD_BYTES)
        except OSError:
            return b""

    def is_link(self, file: str) -> bool:
        """Whether it is a link."""
        return os.path.islink(self.path / file)

    def target(self, file: str) -> str:
        """Where in the folder a link leads; nothing where it leads out of it, or is none."""
        path = os.path.join(self.path, file)
        if not os.path.islink(path) or not self._is_inside(file):
            return ""
        return os.path.relpath(os.path.realpath(path), self.real).replace(os.sep, "/")

    def exists(self, file: str) -> bool:
        """Whether there is a file, a folder or a link of this name."""
        return os.path.lexists(self.path / file)

    def is_folder(self, file: str) -> bool:
        """Whether it is a folder."""
        return os.path.isdir(self.path / file)

    def content(self, file: str) -> bytes:
        """What is in a file. Raises CannotOpen."""
        if not self._is_inside(file):
            raise CannotOpen("file-outside")
        path = os.path.join(self.path, file)
        try:
            status = os.stat(path)
            if not stat.S_ISREG(status.st_mode):
                raise CannotOpen("no-text-file")
            if status.st_size > MAX_BYTES:
                raise CannotOpen("file-too-large", megabytes=MAX_BYTES // 1_000_000)
            with open(path, "rb") as stream:
                return stream.read()
        except OSError as error:
            if error.errno in (errno.ENOENT, errno.ELOOP):
                raise CannotOpen("link-to-nowhere") from None
            raise CannotOpen("file-closed", reason=error.strerror) from None

    def _is_inside(self, file: str) -> bool:
        """Whether a file is no link, or one that does not lead out of the folder (its parent being in it)."""
        path = os.path.join(self.path, file)
        if not os.path.islink(path):
            return True
        real = os.path.realpath(path)
        return real == self.real or real.startswith(self.real.rstrip(os.sep) + os.sep)


def _entry(entry: os.DirEntry[str]) -> Entry:
    if entry.is_symlink():
        return Entry(entry.name, "link")
    if entry.is_dir(follow_symlinks=False):
        return Entry(entry.name, "folder")
    return Entry(entry.name, "file" if entry.is_file(follow_symlinks=False) else "other")


def _few(entries: list[Entry]) -> list[Entry]:
    if len(entries) > MOST_NAMES:
        raise CannotOpen("too-many-names", most=MOST_NAMES)
    return sorted(entries)


class GivenFiles:
    """Files that lie nowhere, by their path in the folder (`rules/one.md`); or why one cannot be read.

    `links` says of which it was a link, and where in the folder that leads.
    """

    def __init__(self, contents: Mapping[str, bytes | CannotOpen], links: Mapping[str, str] | None = None) -> None:
        self.contents, self.links = contents, links or {}

    @cached_property
    def _folders(self) -> Mapping[str, Mapping[str, Entry]]:
        """The entries of every folder by their names."""
        found: dict[str, dict[str, Entry]] = {"": {}}
        for path in self.contents:
            folder, _, name = path.rpartition("/")
            found.setdefault(folder, {})[name] = Entry(name, "link" if path in self.links else "file")
            while folder:
                above, _, name = folder.rpartition("/")
                found.setdefault(above, {})[name] = Entry(name, "folder")
                folder = above
        return found

    def names(self, folder: str = "") -> list[str]:
        """The names in the folder, or in one inside it, sorted. Raises CannotOpen."""
        if folder in self.contents:
            raise CannotOpen("folder-outside" if isinstance(self.contents[folder], CannotOpen) else "rules-no-folder")
        return sorted(self._folders.get(folder, ()))

    def entries(self, folder: str = "") -> list[Entry]:
        """What is in the folder, or in one inside it, by name. Raises CannotOpen for more than MOST_NAMES."""
        return _few(list(self._folders.get(folder, {}).values()))

    def head(self, file: str) -> bytes:
        """The start of a file that is no link; nothing where it cannot be read."""
        content = self.contents.get(file, b"")
        return b"" if file in self.links or isinstance(content, CannotOpen) else content[:HEAD_BYTES]

    def is_link(self, file: str) -> bool:
        """Whether it is a link."""
        return file in self.links

    def target(self, file: str) -> str:
        """Where in the folder a link leads; nothing where it leads out of it, or is none."""
        return self.links.get(file, "")

    def exists(self, file: str) -> bool:
        """Whether there is a file or a folder of this name."""
        return file in self.contents or self.is_folder(file)

    def is_folder(self, file: str) -> bool:
        """Whether it is a folder."""
        return file in self._folders

    def content(self, file: str) -> bytes:
        """What is in a file. Raises CannotOpen."""
        content = self.contents.get(file)
        if content is None:
            raise CannotOpen("no-text-file")
        if isinstance(content, CannotOpen):
            raise content
        if len(content) > MAX_BYTES:
            raise CannotOpen("given-file-too-large", megabytes=MAX_BYTES // 1_000_000)
        return content


FileTree = FilesOnDisk | GivenFiles
"""A folder of files."""
