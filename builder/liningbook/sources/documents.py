"""A protocol folder to its source texts and documents, by a table of the files that are read.

What is wrong with one file never keeps the others from being read.
"""

from __future__ import annotations

import codecs
import os
import re
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from liningbook.finding import Finding, Refused, Span, fault
from liningbook.sources.files import CannotOpen, FilesOnDisk, FileTree, GivenFiles
from liningbook.sources.node import Node
from liningbook.sources.source_file import SourceFile
from liningbook.sources.strays import not_too_many, unread_files
from liningbook.sources.text import HIDDEN, kebab, line_and_column, visible_name
from liningbook.sources.unread import Unread, among
from liningbook.sources.yaml_nodes import read_yaml

MAX_BODY = 20_000
"""No rule needs more characters for its reasons; reading Markdown can take time that grows with the square."""

MOST_LOOKED_INTO = 200
"""Of so many entries of a folder without a protocol it is seen whether one lies there."""

RULE_NAME = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*\Z")


class NoProtocol(Refused):
    """There is no protocol at this place: a code, and the values that its words need."""


@dataclass(frozen=True)
class Document:
    """A source file in YAML (or with YAML front matter), as a tree of nodes; `body` starts on `body_line`."""

    file: str
    root: Node | None
    body: str = ""
    body_line: int = 1

    def place(self, line: int, column: int) -> Span:
        """The place of a character of the body."""
        line += self.body_line - 1
        return Span(self.file, line, column, line, column + 1)


@dataclass
class Folder:
    """The sources of a protocol: `texts` by file name (for showing lines), and the documents read from them.

    `documents` has, by the name in the table of source files, the documents by their stem, sorted; `plain` the file
    names of texts that are no YAML. Names of files that could not be read keep later steps from reporting what
    follows from them.
    """

    texts: dict[str, str] = field(default_factory=dict)
    documents: dict[str, dict[str, Document]] = field(default_factory=dict)
    plain: dict[str, list[str]] = field(default_factory=dict)
    stems: dict[str, set[str]] = field(default_factory=dict)
    """By the name in the table, the stem of every file of a folder, those that could not be read included."""
    unread: list[Unread] = field(default_factory=list)
    """What else lies in the folder and is read by nothing."""

    @property
    def unread_names(self) -> Iterator[str]:
        """The names that rules and tables would have that lie elsewhere, or under another name."""
        names = (one.given.get("better", "") for one in self.unread)
        return (name.rpartition("/")[2].removesuffix(".md").removesuffix(".yaml") for name in names if name)

    @property
    def rule_names(self) -> set[str]:
        """Every rule file's stem, those that could not be read included."""
        return self.stems.setdefault("rules", set())

    def root(self, name: str) -> Node | None:
        """The fields of a file of which there is one."""
        document = self.documents.get(name, {}).get(name)
        return document.root if document is not None else None

    @property
    def rules(self) -> dict[str, Document]:
        """The rules by their names."""
        return self.documents.get("rules", {})


def read_folder(path: Path, table: Sequence[SourceFile]) -> tuple[Folder, list[Finding]]:
    """Every source of the protocol folder, with findings (`unreadable`, `schema`). Raises NoProtocol."""
    if os.path.isfile(path):
        raise NoProtocol("not-a-folder", path=path)
    if not os.path.isdir(path):
        raise NoProtocol("no-such-folder", path=path)
    reader = _FolderReader(FilesOnDisk(path), table)
    try:
        os.lstat(path / "protocol.yaml")
    except FileNotFoundError:
        alike = _misnamed(path)
        below = () if alike else tuple(_below(path))
        what = "protocol-misnamed" if alike else "protocol-below" if below else "no-protocol"
        raise NoProtocol(what, path=path, alike=alike, below=below) from None
    except OSError as error:
        reader.find("unreadable", "protocol.yaml", "folder-closed", reason=error.strerror)
    else:
        reader.read_all()
    return reader.folder, reader.findings


def read_files(files: GivenFiles, table: Sequence[SourceFile]) -> tuple[Folder, list[Finding]]:
    """Every source among files that lie nowhere. Raises NoProtocol."""
    if "protocol.yaml" not in files.contents:
        raise NoProtocol("no-protocol-among")
    reader = _FolderReader(files, table)
    reader.read_all()
    return reader.folder, reader.findings


def read_file(file: str, content: bytes, name: str) -> tuple[Folder, list[Finding]]:
    """A single file of YAML that lies in no protocol's folder, under a name, with findings (`unreadable`)."""
    reader = _FolderReader(GivenFiles({file: content}), ())
    text = reader.text(file)
    reader.folder.documents[name] = {name: Document(file, None if text is None else reader.yaml(text, file, 1))}
    return reader.folder, reader.findings


def reread_rule(folder: Folder, file: str, text: str) -> tuple[Folder, list[Finding]]:
    """The folder with another text in one rule file, and what is wrong with that text; nothing is read or written."""
    reader = _FolderReader(GivenFiles({}), ())
    stem = file.removeprefix("rules/").removesuffix(".md")
    documents = {**folder.documents, "rules": {**folder.rules, stem: reader.rule_document(file, text)}}
    return replace(folder, texts={**folder.texts, file: text}, documents=documents), reader.findings


def _misnamed(path: Path) -> str:
    """A file of the folder that has almost the name `protocol.yaml`."""
    names = sorted(os.listdir(path)) if os.access(path, os.R_OK) else []
    return next((name for name in names if name.lower() in ("protocol.yaml", "protocol.yml", "protocol.yaml.txt")), "")


def _below(path: Path) -> list[str]:
    """The first folders in this one, of so many that are looked into, that hold a protocol."""
    names = sorted(os.listdir(path))[:MOST_LOOKED_INTO] if os.access(path, os.R_OK) else []
    return [visible_name(str(path / name)) for name in names if os.path.isfile(path / name / "protocol.yaml")][:3]


class _FolderReader:
    def __init__(self, files: FileTree, table: Sequence[SourceFile]) -> None:
        self.files, self.table = files, table
        self.folder = Folder()
        self.findings: list[Finding] = []

    def read_all(self) -> None:
        for row in self.table:
            if row.is_folder:
                self.folder.documents[row.name] = dict(self.in_folder(row))
                continue
            there = [name for name in row.files if self.files.exists(name)]
            if row.missing and not there:
                self.find("unreadable", row.files[0], row.missing)
            texts = {name: self.text(name) for name in there}
            if row.form == "yaml":
                found = [Document(n, None if text is None else self.yaml(text, n, 1)) for n, text in texts.items()]
                self.folder.documents[row.name] = dict(zip((row.name,), found, strict=False))
            else:
                self.folder.plain[row.name] = [name for name, text in texts.items() if text is not None]
        self.look_around()

    def look_around(self) -> None:
        """What else lies in the folder: nobody must think that it counts."""
        stems = self.folder.stems
        links = [
            f"{row.files[0]}/{stem}{row.ending}" for row in self.table if row.is_folder for stem in stems[row.name]
        ]
        try:
            self.folder.unread += unread_files(self.files, self.table, links)
        except CannotOpen as no:
            self.find("unreadable", "protocol.yaml", no.what, **no.given)
        self.folder.unread = list(not_too_many(self.folder.unread))

    def in_folder(self, row: SourceFile) -> Iterator[tuple[str, Document]]:
        """The name and the document of every file in a folder of rules or of YAML, sorted."""
        home, is_rules = row.files[0], row.form == "rules"
        stems = self.folder.stems.setdefault(row.name, set())
        try:
            names = self.files.names(home) if self.files.exists(home) else []
        except CannotOpen as no:
            what = "no-folder" if no.what == "rules-no-folder" and not is_rules else no.what
            self.find("unreadable", home, what, **no.given)
            return
        beside = set(names)
        for name in names:
            if name == "README.md" or name.startswith((".", "_")):
                continue
            file = f"{home}/{visible_name(name)}"
            stem = name.removesuffix(row.ending)
            if stem in ("", name) or self.files.is_folder(f"{home}/{name}"):
                self.folder.unread += among(self.files, row, f"{home}/{name}", beside)
                continue
            stems.add(stem)
            if not RULE_NAME.match(stem):
                taken = stems.union(other.removesuffix(row.ending) for other in names)
                better = free_name(kebab(stem) or ("my-rule" if is_rules else "one"), taken)
                stems.add(better)
                what = "rule-misnamed" if is_rules else "file-misnamed"
                self.find("schema", file, what, name=visible_name(stem), better=better)
                continue
            text = self.text(file)
            if text is not None:
                yield stem, self.rule_document(file, text) if is_rules else Document(file, self.yaml(text, file, 1))
        if is_rules and not stems:
            self.find("schema", "protocol.yaml", "no-rules")

    def yaml(self, text: str, file: str, first_line: int) -> Node | None:
        root, found = read_yaml(text, file, first_line)
        self.findings += found
        return root

    def rule_document(self, file: str, text: str) -> Document:
        lines = text.split("\n")
        if lines[0].rstrip() != "---":
            self.find("unreadable", file, "no-front-matter")
            return Document(file, None)
        end = next((n for n, line in enumerate(lines[1:], 1) if line.rstrip() == "---"), None)
        if end is None:
            self.find("unreadable", file, "front-matter-not-closed")
            return Document(file, None)
        root = self.yaml("\n".join(lines[1:end]) + "\n", file, 2)
        body = "\n".join(lines[end + 1 :])
        if len(body) > MAX_BODY:
            self.find("schema", file, "reasons-too-long", Span(file, end + 2, 1, end + 2, 2), most=MAX_BODY)
            body = ""
        return Document(file, root, body, end + 2)

    def text(self, file: str) -> str | None:
        """The decoded text of a file, or nothing after a finding."""
        try:
            raw = self.files.content(file).removeprefix(codecs.BOM_UTF8)
            text = _with_line_feeds(raw.decode("utf-8"))
        except CannotOpen as no:
            self.find("unreadable", file, no.what, **no.given)
            return None
        except UnicodeDecodeError as error:
            before = _with_line_feeds(raw[: error.start].decode("utf-8"))
            self.find("unreadable", file, "not-utf-8", _after(file, before))
            return None
        self.folder.texts[file] = text
        if hidden := HIDDEN.search(text):
            place = _after(file, text[: hidden.start()])
            self.find("unreadable", file, "hidden-character", place, character=hidden.group())
        return None if hidden else text

    def find(self, kind: str, file: str, what: str, span: Span | None = None, **given: Any) -> None:
        self.findings.append(fault(kind, span or Span(file, 1, 1, 1, 2), what, **given))


def _with_line_feeds(text: str) -> str:
    return text.replace("\r\n", "\n").replace("\r", "\n")


def _after(file: str, before: str) -> Span:
    """The place of the character that follows a text."""
    line, column = line_and_column(before)
    return Span(file, line, column, line, column + 1)


def free_name(name: str, taken: Collection[str]) -> str:
    """A name that is not taken: the one given, or the first with a number after it."""
    names = (f"{name}-{number}" if number > 1 else name for number in range(1, len(taken) + 2))
    return next(free for free in names if free not in taken)
