"""The sources of a protocol as they stand in a git revision, read through git itself.

Only the object store is read; neither the files that are checked out nor the index is looked at or touched.

A repository is not trusted: nothing that its configuration names is run and nothing is fetched, so an object that a
partial clone lacks is a complaint. A bare repository is read where `--repo` names it itself, and lies in no folder with
a `.git` above: within such a folder it may have come with the files of a clone, and is refused.
"""

from __future__ import annotations

import os
import posixpath
import subprocess
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal, overload

from liningbook.say.command import stops
from liningbook.sources.files import MAX_BYTES, CannotOpen

LINK = "120000"
"""The mode of a symbolic link in a tree."""

MOST_LINKS = 8
"""Links that lead to links; more go round in circles."""

MOST_PEEKED = 1_000
"""So many files below the folders of the sources are looked into."""

MOST_BYTES = 50_000_000
"""A protocol is smaller by far."""

SETTINGS = {
    "safe.bareRepository": "explicit",
    "core.hooksPath": os.devnull,
    "core.fsmonitor": "false",
    "core.attributesFile": os.devnull,
    "diff.external": "",
}
"""What the repository's own configuration may not set."""

ENVIRONMENT = {
    "GIT_NO_LAZY_FETCH": "1",
    # What older versions of git heed. No helper can have this name; an empty list allows the one without a name.
    "GIT_ALLOW_PROTOCOL": "/",
    "GIT_TERMINAL_PROMPT": "0",
    "GIT_OPTIONAL_LOCKS": "0",
    "LC_ALL": "C",
}
"""Instead of every GIT_ variable of the caller: a hook's name another repository, others name commands."""


Plumbing = Literal["rev-parse", "rev-list", "ls-tree", "cat-file"]
"""The commands of git that are run. They heed no `log.…` setting, so none of them has a signature checked."""


class NotInGit(Exception):
    """Why a revision cannot be read, in words for the user; `is_silent` where git gives no reason."""

    def __init__(self, reason: str, is_silent: bool = False) -> None:
        super().__init__(reason)
        self.is_silent = is_silent


@dataclass(frozen=True)
class Files:
    """What a revision holds under one folder: contents by path, and the folder's name in the repository.

    A link within the folder has the content of the file that it leads to; any other has why it cannot be read.
    """

    place: str
    contents: Mapping[str, bytes | CannotOpen]
    links: Mapping[str, str] = field(default_factory=dict)
    """Where in the folder each link leads; nothing where that is out of it."""
    single: bytes | None = None
    """The content, where the revision names a single file."""


def read_revision(repository: Path, revision: str) -> Files:
    """The protocol's files in a revision, written as `main`, `v1.2` or `HEAD~1:guidelines/my-protocol`.

    Without a folder it is the one that `repository` names, or the only one of the revision with a `protocol.yaml`. A
    revision of a single file gives that file. Raises NotInGit.
    """
    if not os.path.isdir(repository):
        raise NotInGit(stops.NO_REPOSITORY.format(folder=repository))
    git = Git(repository)
    name, _, inside = revision.partition(":")
    prefix = "" if git.is_bare else git.text("rev-parse", "--show-prefix").strip().rstrip("/")
    commit = git.resolve(name, f"{name}^{{commit}}", stops.NO_REVISION.format(name=name, repository=repository))
    if ":" in revision:
        found = git.resolve(
            revision, f"{commit}:{inside.strip('/')}", stops.NOT_IN_REVISION.format(name=name, inside=inside)
        )
        if git.text("cat-file", "-t", found).strip() == "blob":
            return Files(inside, {}, single=git.contents([found])[0])
        return git.files(found, inside.strip("/"))
    if prefix:
        found = git.resolve(
            revision, f"{commit}:{prefix}", stops.NO_FOLDER_IN_REVISION.format(name=name, folder=prefix)
        )
        return git.files(found, prefix)
    return git.files(*git.only_protocol(commit, name))


def _bare_above(folder: Path) -> Path | None:
    """The bare repository that git would find for a folder, itself or one above, before any `.git`."""
    for each in (folder, *folder.parents):
        if os.path.lexists(each / ".git"):
            return None
        if all(os.path.exists(each / name) for name in ("HEAD", "objects", "refs")):
            return each
    return None


class Git:
    """A repository, of which only the object store is read."""

    def __init__(self, repository: Path) -> None:
        """Raises NotInGit for a bare repository that is not named itself, or that may have come with other files."""
        self.repository = Path(os.path.realpath(repository))
        bare = _bare_above(self.repository)
        self.is_bare = bare is not None
        # No clone can hold a folder of the name `.git`.
        is_own = self.repository.name == ".git" or not any(
            os.path.lexists(each / ".git") for each in self.repository.parents
        )
        if bare is not None and (bare != self.repository or not is_own):
            raise NotInGit(stops.BARE_NOT_NAMED.format(folder=repository))

    def run(self, command: Plumbing, *arguments: str, given: bytes = b"") -> bytes:
        """What a git command prints: one of those that apply no filter, textconv or external diff. Raises NotInGit."""
        options = [word for name, value in SETTINGS.items() for word in ("-c", f"{name}={value}")]
        options += ["--no-pager", "--no-replace-objects", "--no-optional-locks", "--literal-pathspecs"]
        if self.is_bare:
            options += ["--git-dir", str(self.repository)]
        try:
            done = subprocess.run(
                ["git", "-C", str(self.repository), *options, command, *arguments],
                input=given, capture_output=True, check=False,
                env={k: v for k, v in os.environ.items() if not k.startswith("GIT_")} | ENVIRONMENT,
            )  # fmt: skip
        except OSError as error:
            raise NotInGit(stops.NO_GIT.format(why=error.strerror)) from None
        if done.returncode:
            said = done.stderr.decode("utf-8", "replace").strip()
            raise NotInGit(stops.git_says(said, of_content=command != "rev-parse"), is_silent=not said)
        return done.stdout

    def text(self, command: Plumbing, *arguments: str) -> str:
        """What a git command prints, as a text."""
        return self.run(command, *arguments).decode("utf-8", "replace")

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

    def files(self, tree: str, folder: str) -> Files:
        """The files of a protocol folder: those at its top and one folder down, the others as far as need be."""
        entries = self.entries(tree)
        held: dict[str, bytes | CannotOpen] = self.others({p: entries[p] for p in sorted(entries) if p.count("/") > 1})
        leads: dict[str, str] = {}
        behind = {path: path for path in entries if path.count("/") <= 1}
        for _ in range(MOST_LINKS):
            links = {}
            contents = self.contents([entries[place][1] for place in behind.values()], MAX_BYTES)
            for (path, here), content in zip(behind.items(), contents, strict=True):
                if content is None:
                    held[path] = CannotOpen("given-file-too-large", megabytes=MAX_BYTES // 1_000_000)
                elif entries[here][0] != LINK:
                    held[path] = content
                else:
                    target = content.decode("utf-8", "surrogateescape")
                    inside = posixpath.normpath(posixpath.join(posixpath.dirname(here), target))
                    is_outside = f"{inside}/".startswith(("/", "../"))
                    leads[path] = "" if is_outside else inside
                    if inside in entries:
                        links[path] = inside
                    else:
                        held[path] = CannotOpen("file-outside" if is_outside else "link-to-nowhere")
            behind = links
        return Files(folder, held | {path: CannotOpen("link-to-nowhere") for path in behind}, leads)

    def others(self, entries: Mapping[str, tuple[str, str]]) -> dict[str, bytes | CannotOpen]:
        """Files that are no sources; nothing of a link, where one is lacking, and of most if they are many."""
        looked_at = [path for path, (mode, _) in entries.items() if mode != LINK][:MOST_PEEKED]
        try:
            contents = self.contents([entries[path][1] for path in looked_at], MAX_BYTES)
        except NotInGit:
            contents = []
        found: dict[str, bytes | CannotOpen] = dict.fromkeys(entries, b"")
        return found | {path: content or b"" for path, content in zip(looked_at, contents, strict=False)}

    @overload
    def contents(self, objects: list[str]) -> list[bytes]: ...

    @overload
    def contents(self, objects: list[str], most: int) -> list[bytes | None]: ...

    def contents(self, objects: list[str], most: int | None = None) -> Sequence[bytes | None]:
        """The contents of several objects, nothing of one with more than `most` bytes.

        Raises NotInGit, for a missing or damaged one too.
        """
        given = "".join(f"{name}\n" for name in objects).encode("ascii")
        sizes = []
        for name, line in zip(objects, self.run("cat-file", "--batch-check", given=given).splitlines(), strict=True):
            if line.endswith(b" missing"):
                raise NotInGit(stops.NO_PART.format(what=name))
            sizes.append(int(line.split()[-1]))
        wanted = [most is None or size <= most for size in sizes]
        if sum(size for size, is_wanted in zip(sizes, wanted, strict=True) if is_wanted) > MOST_BYTES:
            raise NotInGit(stops.TOO_LARGE)
        given = "".join(f"{name}\n" for name, is_wanted in zip(objects, wanted, strict=True) if is_wanted).encode(
            "ascii"
        )
        data = self.run("cat-file", "--batch", given=given)
        found: list[bytes | None] = []
        at = 0
        for size, is_wanted in zip(sizes, wanted, strict=True):
            if not is_wanted:
                found.append(None)
                continue
            start = data.index(b"\n", at) + 1
            found.append(data[start : start + size])
            at = start + size + 1
        return found
