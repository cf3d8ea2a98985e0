"""The commits that touched a protocol's folder, and who made them, from the object store alone.

Followed is the first parent of each commit: what the branch that is checked out held, one commit after another. A
branch that was merged counts as the commit that merged it. Names, dates and encodings of a commit are whatever its
author wrote: nothing in them is trusted, and a date that cannot be is none.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import datetime, timedelta, timezone
from pathlib import Path

from liningbook.control.history import Commit
from liningbook.exchange.from_git import Git, NotInGit
from liningbook.say.command import stops

MOST_BYTES = 1_000_000
"""A longer commit is not read."""

LONGEST_NAME = 200

_PERSON = re.compile(rb"(.*?) ?<[^<>]*> (-?[0-9]{1,18}) ([+-])([0-9]{2})([0-9]{2})\Z")
_ENCODINGS = ("utf-8", "iso-8859-1", "iso-8859-15", "windows-1252")


class Repository:
    """A folder of a work tree: its place in the repository, and the commits that touched it, the newest first.

    Raises NotInGit.
    """

    def __init__(self, folder: Path, most: int) -> None:
        if not folder.is_dir():
            raise NotInGit(stops.NO_REPOSITORY.format(folder=folder))
        self.git = Git(folder)
        if self.git.is_bare:
            raise NotInGit(stops.BARE_NOT_NAMED.format(folder=folder))
        self.place = self.git.text("rev-parse", "--show-prefix").removesuffix("\n").rstrip("/")
        if "\n" in self.place:
            raise NotInGit(stops.NOT_A_REVISION.format(shown=self.place))
        head = self.git.resolve("HEAD", "HEAD^{commit}", stops.NO_REVISION.format(name="HEAD", repository=folder))
        listed = self.git.text("rev-list", "--first-parent", f"--max-count={most + 1}", head, "--", ".").split()
        self.is_cut = len(listed) > most
        """Whether there are older commits, which are not looked at."""
        self.commits = self._commits(listed[:most])

    def _commits(self, names: Sequence[str]) -> tuple[Commit, ...]:
        found: list[Commit] = []
        for start in range(0, len(names), 500):
            some = list(names[start : start + 500])
            contents = self.git.contents(some, MOST_BYTES)
            found += (commit_of(name, content or b"") for name, content in zip(some, contents, strict=True))
        return tuple(found)

    def blobs(self, path: str, commits: Sequence[Commit]) -> list[str | None]:
        """The name of a file's content in each commit, by its path in the folder; nothing where it is not there."""
        inside = f"{self.place}/{path}" if self.place else path
        given = "".join(f"{commit.name}:{inside}\n" for commit in commits).encode("utf-8", "surrogateescape")
        lines = self.git.run("cat-file", "--batch-check", given=given).split(b"\n")[: len(commits)]
        return [_blob(line) for line in lines]

    def tree(self, commit: Commit) -> str:
        """The name of the folder's tree in a commit. Raises NotInGit."""
        return self.git.text("rev-parse", "--verify", "--end-of-options", f"{commit.name}:{self.place}").strip()


def _blob(line: bytes) -> str | None:
    found = re.fullmatch(rb"([0-9a-f]{40,64}) blob [0-9]+", line)
    return found[1].decode("ascii") if found else None


def commit_of(name: str, content: bytes) -> Commit:
    """What the text of a commit says of who made it, and when."""
    head: dict[bytes, bytes] = {}
    for line in content.partition(b"\n\n")[0].split(b"\n"):
        key, _, value = line.partition(b" ")
        head.setdefault(key, value)
    encoding = head.get(b"encoding", b"utf-8").decode("ascii", "replace").lower()
    author, _ = _person(head.get(b"author", b""), encoding)
    committer, when = _person(head.get(b"committer", b""), encoding)
    return Commit(name, author, committer, when)


def _person(text: bytes, encoding: str) -> tuple[str, datetime | None]:
    found = _PERSON.fullmatch(text)
    if found is None:
        return _decoded(text[:LONGEST_NAME], encoding), None
    seconds, sign, hours, minutes = int(found[2]), found[3], int(found[4]), int(found[5])
    offset = timedelta(hours=hours, minutes=minutes) * (-1 if sign == b"-" else 1)
    try:
        when = datetime.fromtimestamp(seconds, timezone(offset))
    except (ValueError, OverflowError, OSError):
        when = None
    return _decoded(found[1][:LONGEST_NAME], encoding), when


def _decoded(text: bytes, encoding: str) -> str:
    try:
        return text.decode("utf-8")
    except UnicodeDecodeError:
        known = encoding if encoding in _ENCODINGS else "utf-8"
        return text.decode(known, "replace")
