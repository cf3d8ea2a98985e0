"""What lies in a protocol's folder and is read by nothing: nobody must think that it counts.

Names are looked at, and the first lines of what may be a rule. No link is followed, and a folder of any size is looked
through within bounds.
"""

from __future__ import annotations

import json
import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from liningbook.sources.files import CannotOpen, Entry, FileTree
from liningbook.sources.source_file import SourceFile
from liningbook.sources.text import kebab, near, visible_name

MOST_LOOKED_AT = 10_000
"""So many names of folders in the folder are looked at."""

MOST_PEEKED = 1_000
"""So many files are looked into."""

MOST_TOLD = 20
"""So many files that are no rules are told one by one; so many rules, tenfold."""

BUILD_RECORD = ".liningbook-build.json"
"""The record that a build leaves in its output folder."""

HARMLESS = re.compile(
    r"[._].*|(readme|licen[cs]e|copying|notice|changelog|contributing)(\.[a-z]+)?|thumbs\.db|desktop\.ini",
    re.IGNORECASE,
)
"""Names of what nobody takes for a part of a protocol."""

REFERENCES = {"ris", "nbib", "enw", "ciw", "rdf"}
"""Endings of lists of references in a form that is not read."""

TEXT = {"", "md", "txt", "text", "markdown", "mdown", "mkd", "yaml", "yml"}
"""Endings, in small letters, under which a rule may have been saved; it is one by its content."""

WRITER = {"doc", "docx", "odt", "rtf", "pages"}
"""Endings of what word processors save."""

LATER = ("audit", "editions")
"""What the format has a name for and this version does not read."""

STUDIES = "evidence"

FRONT_MATTER = re.compile(r"\ufeff?---[ \t]*\r?\n(.*\n)*?(advise|avoid|never|evidence|overrides)[ \t]*:")


@dataclass(frozen=True)
class Unread:
    """A file or a folder that nothing reads: a code, and the values that its words need.

    It is an error where it is a rule, or a study, that somebody may believe in.
    """

    file: str
    what: str
    is_error: bool = False
    given: Mapping[str, Any] = field(default_factory=dict)


def among_rules(files: FileTree, file: str, names: Collection[str]) -> Iterator[Unread]:
    """What a file or a folder among the rules is that is no rule; `names` are those beside it."""
    shown, name = visible_name(file), file.rpartition("/")[2]
    if HARMLESS.fullmatch(name):
        return
    if files.is_folder(file):
        if name.endswith(".md") or files.is_link(file) or _holds_files(files, file):
            yield Unread(shown, "folder-among-rules", True)
        return
    stem, ending = _parted(name)
    better = f"{kebab(stem)}.md"
    if better == ".md" or better in names or ending not in TEXT | WRITER:
        yield Unread(shown, "no-rule", True)
    else:
        yield Unread(shown, "rule-by-writer" if ending in WRITER else "rule-misnamed", True, {"better": better})


def unread_files(files: FileTree, table: Sequence[SourceFile], found: Collection[str]) -> Iterator[Unread]:
    """What is read by nothing beside the sources, in the order of the names; `found` are links that are read.

    Raises CannotOpen if the folder itself cannot be listed.
    """
    try:
        look = _Look(files, table, found)
    except CannotOpen as no:
        if no.what != "too-many-names":
            raise
        yield Unread(".", "too-many-here", given=no.given)
        return
    for entry in look.beside:
        yield from look.at(entry)


def not_too_many(unread: Sequence[Unread]) -> Iterator[Unread]:
    """The first of them, and how many there are more."""
    for is_error, most in ((True, 10 * MOST_TOLD), (False, MOST_TOLD)):
        alike = [one for one in unread if one.is_error is is_error]
        yield from alike[:most]
        if len(alike) > most:
            yield Unread(".", "and-more", is_error, {"count": len(alike) - most})


def _holds_files(files: FileTree, folder: str, deep: int = 8) -> bool:
    """Whether there is a file in a folder, or in one so deep in it: git knows no folder without one."""
    try:
        entries = files.entries(folder)
    except CannotOpen:
        return True
    if any(entry.kind != "folder" for entry in entries):
        return True
    return any(deep == 0 or _holds_files(files, f"{folder}/{entry.name}", deep - 1) for entry in entries)


def _parted(name: str) -> tuple[str, str]:
    """The stem of a name, without the ending of a rule too (`one.md.txt`), and the ending in small letters."""
    stem, _, ending = name.rpartition(".")
    return (stem.removesuffix(".md"), ending.casefold()) if stem else (name, "")


@dataclass
class _Inside:
    """What a folder holds besides what is harmless: how many files, the first, the first that is a rule."""

    count: int = 0
    first: str = ""
    rule: str = ""
    is_whole: bool = True


class _Look:
    def __init__(self, files: FileTree, table: Sequence[SourceFile], found: Collection[str]) -> None:
        self.files, self.beside = files, files.entries()
        self.names = {entry.name for entry in self.beside}
        self.read = {name for row in table for name in row.files}
        self.meant = {word: row for row in table for word in row.meant}
        links = [entry.name for entry in self.beside if entry.kind == "link" and entry.name in self.read]
        self.targets = {files.target(name) for name in (*links, *found)}
        self.built = self._written_by_build("", self.names)
        self.left, self.peeks = MOST_LOOKED_AT, MOST_PEEKED

    def at(self, entry: Entry) -> list[Unread]:
        """What an entry of the protocol's folder is, if nothing reads it and it is not harmless."""
        name = entry.name
        if name in self.read or name in self.targets or name in self.built or HARMLESS.fullmatch(name):
            return []
        if entry.kind != "folder":
            return [self._file(entry)]
        try:
            return self._folder(name, {inside.name for inside in self.files.entries(name)})
        except CannotOpen as no:
            return [Unread(visible_name(name), no.what, given=no.given)]

    def _file(self, entry: Entry) -> Unread:
        name, shown = entry.name, visible_name(entry.name)
        stem, ending = _parted(name)
        word = stem.casefold()
        is_yaml = ending in ("yaml", "yml")
        if self._is_rule(name, entry):
            return Unread(shown, "rule-beside", True, {"better": f"rules/{kebab(stem) or 'my-rule'}.md"})
        row = self.meant.get(word)
        instead = row.instead(ending) if row is not None else ""
        if instead:
            return Unread(shown, "misnamed", given={"instead": instead, "is_there": instead in self.names})
        if is_yaml and word == STUDIES:
            return Unread(shown, "study", True)
        if is_yaml and word in LATER:
            return Unread(shown, "not-yet")
        if ending in REFERENCES:
            return Unread(shown, "other-references")
        known = sorted(name for name in self.read if "." in name)
        meant = near(name, known) if is_yaml or ending in ("json", "bib") else None
        return Unread(shown, "file", given={"near": meant})

    def _folder(self, name: str, names: Collection[str]) -> list[Unread]:
        shown = visible_name(name)
        if "protocol.yaml" in names:
            return [Unread(shown, "other-protocol")]
        is_output = bool(self._written_by_build(name, names))
        inside = self._inside(name, only_rules=is_output)
        row = self.meant.get(name.casefold())
        given = {"count": inside.count, "is_whole": inside.is_whole, "first": inside.rule or inside.first}
        if not inside.count and (inside.is_whole or is_output):
            return []
        if row is not None and row.form == "rules":
            return [Unread(shown, "misnamed-rules", True, {**given, "instead": row.files[0]})]
        if inside.rule:
            return [Unread(shown, "rules-in-folder", True, given)]
        tables = [n for n in sorted(names) if _parted(n)[1] in ("yaml", "yml") and not HARMLESS.fullmatch(n)]
        if name == STUDIES and tables:
            return [Unread(f"{shown}/{visible_name(table)}", "study", True) for table in tables]
        return [Unread(shown, "not-yet" if name in LATER else "folder", given=given)]

    def _inside(self, folder: str, only_rules: bool) -> _Inside:
        """What lies in a folder and in those in it, but for other protocols and what builds wrote."""
        found, folders = _Inside(), [folder]
        while folders:
            here = folders.pop()
            try:
                entries = self.files.entries(here) if self.left > 0 else []
            except CannotOpen:
                entries = []
                found.is_whole = False
            found.is_whole &= self.left > 0
            self.left -= len(entries)
            names = {entry.name for entry in entries}
            if here != folder and ("protocol.yaml" in names or self._written_by_build(here, names)):
                continue
            for entry in entries:
                path = f"{here}/{entry.name}"
                if HARMLESS.fullmatch(entry.name) or path in self.targets:
                    continue
                if entry.kind == "folder":
                    folders.append(path)
                    continue
                is_rule = self._is_rule(path, entry)
                if only_rules and not is_rule:
                    continue
                found.count += 1
                found.first = found.first or visible_name(path)
                found.rule = found.rule or (visible_name(path) if is_rule else "")
            folders.sort(reverse=True)
        return found

    def _is_rule(self, path: str, entry: Entry) -> bool:
        """Whether a file is a rule by its first lines."""
        if entry.kind != "file" or self.peeks <= 0 or _parted(entry.name)[1] not in TEXT:
            return False
        self.peeks -= 1
        head = self.files.head(path)
        is_wide = head.startswith((b"\xff\xfe", b"\xfe\xff"))
        return bool(FRONT_MATTER.match(head.decode("utf-16" if is_wide else "utf-8", "replace")))

    def _written_by_build(self, folder: str, names: Collection[str]) -> set[str]:
        """The names in a folder that a build wrote; in an output folder other than the protocol's own, all of them."""
        at = f"{folder}/" if folder else ""
        record = self._json(at + BUILD_RECORD) if BUILD_RECORD in names else {}
        is_ours = record.get("format") == "liningbook-build" and isinstance(record.get("files"), dict)
        made = {str(name).partition("/")[0] for name in record["files"]} if is_ours else set()
        if "bundle.json" in names and (is_ours or self._json(at + "bundle.json").get("format") == "liningbook-bundle"):
            made.add("bundle.json")
        if not folder:
            return {name for name in made if _parted(name)[1] not in TEXT - {""}}
        return set(names) if made or self._is_site(at, names) else set()

    def _is_site(self, at: str, names: Collection[str]) -> bool:
        """Whether a folder is the pages of a protocol: they carry its bundle."""
        return "index.html" in names and b'"liningbook-bundle"' in self._content(at + "index.html")

    def _json(self, file: str) -> Mapping[str, Any]:
        try:
            found = json.loads(self._content(file))
        except (ValueError, RecursionError):
            return {}
        return found if isinstance(found, dict) else {}

    def _content(self, file: str) -> bytes:
        try:
            return self.files.content(file)
        except CannotOpen:
            return b""
