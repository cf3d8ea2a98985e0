"""The files of a protocol's folder, on a disk or given with their contents, as bytes.

Nothing outside the folder is read: a link that leads out of it is refused.
"""

from __future__ import annotations

import errno
import os
import stat
from collections.abc import Mapping
from pathlib import Path

from liningbook.finding import Refused

MAX_BYTES = 2_000_000
"""No source file of a practice comes near this size; a larger one is not read."""


class CannotOpen(Refused):
    """Why a file or a folder cannot be read: a code, and the values that its words need."""


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


class GivenFiles:
    """Files that lie nowhere, by their path in the folder (`rules/one.md`); or why one cannot be read."""

    def __init__(self, contents: Mapping[str, bytes | CannotOpen]) -> None:
        self.contents = contents

    def names(self, folder: str = "") -> list[str]:
        """The names in the folder, or in one inside it, sorted. Raises CannotOpen."""
        if folder in self.contents:
            raise CannotOpen("folder-outside" if isinstance(self.contents[folder], CannotOpen) else "rules-no-folder")
        start = f"{folder}/" if folder else ""
        inside = [path.removeprefix(start) for path in self.contents if path.startswith(start)]
        return sorted({path.partition("/")[0] for path in inside})

    def exists(self, file: str) -> bool:
        """Whether there is a file or a folder of this name."""
        return file in self.contents or self.is_folder(file)

    def is_folder(self, file: str) -> bool:
        """Whether it is a folder."""
        return any(path.startswith(f"{file}/") for path in self.contents)

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
