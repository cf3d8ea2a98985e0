"""What lies in a protocol's folder and is read by nothing: nobody must think that it counts.

Names are looked at, and the first lines of what may be a rule. No link is followed, and a folder of any size is looked
through within bounds.
"""

from __future__ import annotations

import json
import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from liningbook.sources.files import CannotOpen, Entry, FileTree
from liningbook.sources.source_file import SourceFile
from liningbook.sources.text import kebab, near, visible_name
from liningbook.sources.unread import HARMLESS, TEXT, Unread, parted

MOST_LOOKED_AT = 10_000
"""So many names of folders in the folder are looked at."""

MOST_PEEKED = 1_000
"""So many files are looked into."""

MOST_TOLD = 20
"""So many files that are no rules are told one by one; so many rules, tenfold."""

BUILD_RECORD = ".liningbook-build.json"
"""The record that a build leaves in its output folder."""

REFERENCES = {"ris", "nbib", "enw", "ciw", "rdf"}
"""Endings of lists of references in a form that is not read."""

LATER = ("audit", "editions")
"""What the format has a name for and this version does not read."""

FRONT_MATTER = re.compile(r"\ufeff?---[ \t]*\r?\n(.*\n)*?(advise|avoid|never|evidence|overrides)[ \t]*:")


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


@dataclass
class _Inside:
    """What a folder holds besides what is harmless: how many files, the first, the first that belongs elsewhere."""

    count: int = 0
    first: str = ""
    source: str = ""
    row: SourceFile | None = None
    """Of that one."""
    is_whole: bool = True


def _begins(row: SourceFile, text: str) -> bool:
    """Whether the first lines of a file are those of one of a row."""
    return bool(row.known_by and re.search(rf"^{re.escape(row.known_by)}[ \t]*:", text, re.MULTILINE))


def _beside_its_folder(shown: str, row: SourceFile, stem: str) -> Unread:
    better = f"{row.files[0]}/{kebab(stem) or 'one'}{row.ending}"
    return Unread(shown, "beside-its-folder", row.is_relied_on, {"folder": row.files[0], "better": better})


class _Look:
    def __init__(self, files: FileTree, table: Sequence[SourceFile], found: Collection[str]) -> None:
        self.files, self.beside = files, files.entries()
        self.names = {entry.name for entry in self.beside}
        self.read = {name for row in table for name in row.files}
        self.meant = {word: row for row in table for word in row.meant}
        self.kept = [row for row in table if row.is_folder]
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
        stem, ending = parted(name)
        word = stem.casefold()
        is_yaml = ending in ("yaml", "yml")
        belongs = self._belongs(name, entry)
        if belongs is not None and belongs.form == "rules":
            return Unread(shown, "rule-beside", True, {"better": f"rules/{kebab(stem) or 'my-rule'}.md"})
        row = self.meant.get(word)
        if belongs is None and is_yaml and row is not None and row.form == "folder":
            belongs = row
        if belongs is not None:
            return _beside_its_folder(shown, belongs, stem)
        instead = row.instead(ending) if row is not None else ""
        if instead:
            return Unread(shown, "misnamed", given={"instead": instead, "is_there": instead in self.names})
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
        inside = self._inside(name, only_sources=is_output)
        row = self.meant.get(name.casefold())
        given = {"count": inside.count, "is_whole": inside.is_whole, "first": inside.source or inside.first}
        if not inside.count and (inside.is_whole or is_output):
            return []
        if row is not None and row.is_folder:
            what = "misnamed-rules" if row.form == "rules" else "misnamed-folder"
            return [Unread(shown, what, row.is_relied_on, {**given, "instead": row.files[0]})]
        if inside.row is not None:
            what = "rules-in-folder" if inside.row.form == "rules" else "sources-in-folder"
            return [Unread(shown, what, inside.row.is_relied_on, {**given, "folder": inside.row.files[0]})]
        return [Unread(shown, "not-yet" if name in LATER else "folder", given=given)]

    def _inside(self, folder: str, only_sources: bool) -> _Inside:
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
                row = self._belongs(path, entry)
                if only_sources and row is None:
                    continue
                found.count += 1
                found.first = found.first or visible_name(path)
                if row is not None and (found.row is None or (row.is_relied_on and not found.row.is_relied_on)):
                    found.source, found.row = visible_name(path), row
            folders.sort(reverse=True)
        return found

    def _belongs(self, path: str, entry: Entry) -> SourceFile | None:
        """The folder that a file belongs in by its first lines, as a rule or a table does."""
        if entry.kind != "file" or self.peeks <= 0 or parted(entry.name)[1] not in TEXT:
            return None
        self.peeks -= 1
        head = self.files.head(path)
        is_wide = head.startswith((b"\xff\xfe", b"\xfe\xff"))
        text = head.decode("utf-16" if is_wide else "utf-8", "replace")
        is_rule = bool(FRONT_MATTER.match(text))
        return next((row for row in self.kept if (is_rule if row.form == "rules" else _begins(row, text))), None)

    def _written_by_build(self, folder: str, names: Collection[str]) -> set[str]:
        """The names in a folder that a build wrote; in an output folder other than the protocol's own, all of them."""
        at = f"{folder}/" if folder else ""
        record = self._json(at + BUILD_RECORD) if BUILD_RECORD in names else {}
        is_ours = record.get("format") == "liningbook-build" and isinstance(record.get("files"), dict)
        made = {str(name).partition("/")[0] for name in record["files"]} if is_ours else set()
        if "bundle.json" in names and (is_ours or self._json(at + "bundle.json").get("format") == "liningbook-bundle"):
            made.add("bundle.json")
        if not folder:
            return {name for name in made if parted(name)[1] not in TEXT - {""}}
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
