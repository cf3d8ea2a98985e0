"""The sources of a protocol as they stand in a git revision, read through git itself.

Only the object store is read (`git ls-tree`, `git cat-file`); neither the files that are checked out nor the index is
looked at or touched.
"""

from __future__ import annotations

import os
import posixpath
import subprocess
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from liningbook.say.command import stops

MOST_BYTES = 50_000_000
"""A protocol is smaller by far."""


class NotInGit(Exception):
    """Why a revision cannot be read, in words for the user; `is_silent` where git gives no reason."""

    def __init__(self, reason: str, is_silent: bool = False) -> None:
        super().__init__(reason)
        self.is_silent = is_silent


@dataclass(frozen=True)
class Files:
    """What a revision holds under one folder: contents by path, and the folder's name in the repository.

    A link within the folder has the content of the file that it leads to; one that leads out of it is left out.
    """

    place: str
    contents: Mapping[str, bytes]
    is_file: bool = False
    """Whether the revision names a single file."""


def read_revision(repository: Path, revision: str) -> Files:
    """The protocol's files in a revision, written as `main`, `v1.2` or `HEAD~1:guidelines/my-protocol`.

    Without a folder it is the one that `repository` names, or the only one of the revision with a `protocol.yaml`. A
    revision of a single file gives that file. Raises NotInGit.
    """
    if not os.path.isdir(repository):
        raise NotInGit(stops.NO_REPOSITORY.format(folder=repository))
    git = _Git(repository)
    name, _, inside = revision.partition(":")
    prefix = git.text("rev-parse", "--show-prefix").strip().rstrip("/")
    commit = git.resolve(name, f"{name}^{{commit}}", stops.NO_REVISION.format(name=name, repository=repository))
    if ":" in revision:
        found = git.resolve(
            revision, f"{commit}:{inside.strip('/')}", stops.NOT_IN_REVISION.format(name=name, inside=inside)
        )
        if git.text("cat-file", "-t", found).strip() == "blob":
            return Files(inside, {inside.rpartition("/")[2]: git.contents([found])[0]}, is_file=True)
        return git.files(found, inside.strip("/"))
    if prefix:
        found = git.resolve(
            revision, f"{commit}:{prefix}", stops.NO_FOLDER_IN_REVISION.format(name=name, folder=prefix)
        )
        return git.files(found, prefix)
    return git.files(*git.only_protocol(commit, name))


class _Git:
    def __init__(self, repository: Path) -> None:
        self.repository = repository

    def run(self, *arguments: str, given: bytes = b"") -> bytes:
        """What a git command prints. Raises NotInGit."""
        # A hook sets variables that name another repository; the one that the user names counts.
        environment = {k: v for k, v in os.environ.items() if not k.startswith("GIT_") or k == "GIT_SSH_COMMAND"}
        environment |= {"GIT_OPTIONAL_LOCKS": "0", "LC_ALL": "C"}
        try:
            done = subprocess.run(
                ["git", "-C", str(self.repository), "--no-pager", *arguments],
                input=given, capture_output=True, check=False, env=environment,
            )  # fmt: skip
        except OSError as error:
            raise NotInGit(stops.NO_GIT.format(why=error.strerror)) from None
        if done.returncode:
            words = done.stderr.decode("utf-8", "replace").strip().splitlines()
            raise NotInGit(stops.git_says(words[0] if words else ""), is_silent=not words)
        return done.stdout

    def text(self, *arguments: str) -> str:
        return self.run(*arguments).decode("utf-8", "replace")

    def resolve(self, shown: str, name: str, otherwise: str) -> str:
        """The object that a name stands for; one that git would take for an option is no name."""
        if not shown or shown.startswith("-"):
            raise NotInGit(stops.NOT_A_REVISION.format(shown=shown))
        try:
            return self.text("rev-parse", "--verify", "--quiet", "--end-of-options", name).strip()
        except NotInGit as no:
            if no.is_silent:
                raise NotInGit(otherwise) from None
            raise

    def entries(self, tree: str) -> dict[str, tuple[str, str]]:
        """The mode of every file under a tree and the name of its content, by path."""
        found = {}
        for line in self.run("ls-tree", "-r", "-z", "--full-tree", tree).split(b"\0"):
            if line:
                about, _, path = line.partition(b"\t")
                mode, kind, name = about.decode("ascii").split()
                if kind == "blob":
                    found[path.decode("utf-8", "surrogateescape")] = (mode, name)
        return found

    def only_protocol(self, commit: str, revision: str) -> tuple[str, str]:
        """The tree of the only folder with a `protocol.yaml`, and its name."""
        paths = [path.rpartition("/") for path in self.entries(commit)]
        places = [folder for folder, _, file in paths if file == "protocol.yaml"]
        if not places:
            raise NotInGit(stops.NO_PROTOCOL_IN_REVISION.format(name=revision))
        if len(places) > 1:
            raise NotInGit(stops.several_protocols(revision, places))
        place = places[0]
        return (self.text("rev-parse", f"{commit}:{place}").strip() if place else commit), place

    def files(self, tree: str, place: str) -> Files:
        """The files of a protocol folder: those at its top, and those one folder down."""
        wanted = {path: entry for path, entry in self.entries(tree).items() if path.count("/") <= 1}
        held = dict(zip(wanted, self.contents([name for _, name in wanted.values()]), strict=True))
        links = {path: held.pop(path) for path, (mode, _) in wanted.items() if mode == "120000"}
        for path, target in links.items():
            inside = posixpath.normpath(posixpath.join(posixpath.dirname(path), target.decode("utf-8", "replace")))
            if inside in held:
                held[path] = held[inside]
        return Files(place, held)

    def contents(self, objects: list[str]) -> list[bytes]:
        """The contents of several objects in one call."""
        given = "".join(f"{name}\n" for name in objects).encode("ascii")
        sizes = self.run("cat-file", "--batch-check=%(objectsize)", given=given).split()
        if sum(int(size) for size in sizes) > MOST_BYTES:
            raise NotInGit(stops.TOO_LARGE)
        data = self.run("cat-file", "--batch", given=given)
        found = []
        at = 0
        for _ in objects:
            end = data.index(b"\n", at)
            size = int(data[at:end].split()[-1])
            found.append(data[end + 1 : end + 1 + size])
            at = end + 1 + size + 1
        return found
