"""The commits that touched a protocol's folder, and who made them, from the object store alone.

Followed is the first parent of each commit: what the branch that is checked out held, one commit after another. A
branch that was merged counts as the commit that merged it. A folder that got another name, or was moved, is followed to
where it lay before. Names, dates and encodings of a commit are whatever its
author wrote: nothing in them is trusted, and a date that cannot be is none.
"""

from __future__ import annotations

import os
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, timezone
from pathlib import Path

from liningbook.control.history import Commit
from liningbook.exchange.from_git import Git, NotInGit
from liningbook.say.command import stops

MOST_BYTES = 1_000_000
"""A longer commit is not read."""

LONGEST_NAME = 200

MOST_MOVES = 20
"""So often a folder is followed to where it lay before."""

_PERSON = re.compile(rb"(.*?) ?<[^<>]*> (-?[0-9]{1,18}) ([+-])([0-9]{2})([0-9]{2})\Z")
_ENCODINGS = ("utf-8", "iso-8859-1", "iso-8859-15", "windows-1252")


HEAD = "protocol.yaml"


@dataclass(frozen=True)
class Moved:
    """A folder that lay elsewhere before a commit: in `place`, as late as the commit `before`."""

    commit: str
    before: str
    place: str


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
        self.moves: tuple[Moved, ...] = ()
        """Where the folder lay before, the newest move first."""
        self._places: dict[str, str] = {}
        names = self._followed(head, self.place, most + 1)
        self.is_cut = len(names) > most or len(self.moves) == MOST_MOVES
        """Whether there are older commits, which are not looked at."""
        self.commits = self._commits(names[:most])
        self.is_shallow = bool(names) and not self.is_cut and self._is_boundary(names[-1])
        """Whether the oldest commit that is here has a parent that is not."""

    def _followed(self, head: str, place: str, most: int) -> list[str]:
        """The commits that touched the folder, wherever it lay."""
        found: list[str] = []
        for _ in range(MOST_MOVES):
            names = [name for name in self._touching(head, place, most - len(found)) if name not in self._places]
            self._places |= dict.fromkeys(names, place)
            there = [number for number, blob in enumerate(self._blobs(HEAD, names)) if blob is not None]
            is_end = not there or len(found) + there[-1] + 1 >= most
            moved = None if is_end else self._moved(names[there[-1]], place)
            if moved is None:
                return found + names
            for name in names[there[-1] + 1 :]:  # before it came to lie there
                del self._places[name]
            found += names[: there[-1] + 1]
            self.moves, head, place = (*self.moves, moved), moved.before, moved.place
        return found

    def _touching(self, head: str, place: str, most: int) -> list[str]:
        """The commits down from one that touched a folder, the newest first."""
        path = os.path.relpath(f"/{place}", f"/{self.place}")
        return self.git.text("rev-list", "--first-parent", f"--max-count={most}", head, "--", path).split()

    def _parent(self, commit: str) -> str:
        """The first parent of a commit, as it is here; nothing of one that has none."""
        return "".join(self.git.text("rev-list", "--first-parent", "--max-count=2", commit).split()[1:])

    def _is_boundary(self, commit: str) -> bool:
        """Whether a commit names a parent, and git has none for it."""
        head = (self.git.contents([commit], MOST_BYTES)[0] or b"").partition(b"\n\n")[0]
        return b"\nparent " in head and not self._parent(commit)

    def _moved(self, commit: str, place: str) -> Moved | None:
        """Where a folder lay before the commit in which it came to be: one that was given up then, and held as much."""
        parent = self._parent(commit)
        if not parent:
            return None
        now, then = ({path: blob for path, (_, blob) in self.git.entries(each).items()} for each in (commit, parent))
        here = _below(now, place)
        heads = [path.removesuffix(HEAD).rstrip("/") for path in then if f"/{path}".endswith(f"/{HEAD}")]
        given_up = [former for former in heads if f"{former}/{HEAD}".lstrip("/") not in now and "\n" not in former]
        alike = {former: _shared(_below(then, former), here) for former in given_up}
        best = max(alike, key=alike.__getitem__, default=None)
        return None if best is None or 2 * alike[best] < len(here) else Moved(commit, parent, best)

    def _commits(self, names: Sequence[str]) -> tuple[Commit, ...]:
        found: list[Commit] = []
        for start in range(0, len(names), 500):
            some = list(names[start : start + 500])
            contents = self.git.contents(some, MOST_BYTES)
            found += (commit_of(name, content or b"") for name, content in zip(some, contents, strict=True))
        return tuple(found)

    def blobs(self, path: str, commits: Sequence[Commit]) -> list[str | None]:
        """The name of a file's content in each commit, by its path in the folder; nothing where it is not there."""
        return self._blobs(path, [commit.name for commit in commits])

    def _blobs(self, path: str, names: Sequence[str]) -> list[str | None]:
        places = [f"{self._places[name]}/{path}".lstrip("/") for name in names]
        given = "".join(f"{name}:{place}\n" for name, place in zip(names, places, strict=True))
        lines = self.git.run("cat-file", "--batch-check", given=given.encode("utf-8", "surrogateescape"))
        return [_blob(line) for line in lines.split(b"\n")[: len(names)]]

    def tree(self, commit: Commit) -> str:
        """The name of the folder's tree in a commit. Raises NotInGit."""
        name = f"{commit.name}:{self.place_in(commit)}"
        return self.git.text("rev-parse", "--verify", "--end-of-options", name).strip()

    def place_in(self, commit: Commit) -> str:
        """Where the folder lay in the repository when a commit was made."""
        return self._places[commit.name]


def _below(paths: Mapping[str, str], place: str) -> dict[str, str]:
    """The sources of a protocol in a folder: the name of each content, by the path in it."""
    start = f"{place}/" if place else ""
    inside = {path.removeprefix(start): blob for path, blob in paths.items() if path.startswith(start)}
    return {path: blob for path, blob in inside.items() if path == HEAD or path.startswith("rules/")}


def _shared(then: Mapping[str, str], now: Mapping[str, str]) -> int:
    """How many files of a folder are there now, with the same content."""
    return sum(now.get(path) == blob for path, blob in then.items())


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
