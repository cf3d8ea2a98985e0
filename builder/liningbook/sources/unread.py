"""What lies in a folder of sources that is read, and is none of them; and how a file that nothing reads is told."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from liningbook.sources.files import CannotOpen, FileTree
from liningbook.sources.source_file import SourceFile
from liningbook.sources.text import kebab, visible_name

HARMLESS = re.compile(
    r"[._].*|(readme|licen[cs]e|copying|notice|changelog|contributing)(\.[a-z]+)?|thumbs\.db|desktop\.ini",
    re.IGNORECASE,
)
"""Names of what nobody takes for a part of a protocol."""

TEXT = {"", "md", "txt", "text", "markdown", "mdown", "mkd", "yaml", "yml"}
"""Endings, in small letters, under which a rule or a table may have been saved; a rule is one by its content."""

WRITER = {"doc", "docx", "odt", "rtf", "pages"}
"""Endings of what word processors save."""

SHEET = {"csv", "tsv", "xls", "xlsx", "ods", "numbers", "json"}
"""Endings of what spreadsheets and other programs save figures in."""


@dataclass(frozen=True)
class Unread:
    """A file or a folder that nothing reads: a code, and the values that its words need.

    It is an error where it is a rule, or a study, that somebody may believe in.
    """

    file: str
    what: str
    is_error: bool = False
    given: Mapping[str, Any] = field(default_factory=dict)


def among(files: FileTree, row: SourceFile, file: str, names: Collection[str]) -> Iterator[Unread]:
    """What a file or a folder in the folder of a row is that is none of its files; `names` are those beside it."""
    name = file.rpartition("/")[2]
    if not HARMLESS.fullmatch(name):
        yield from (_among_rules if row.form == "rules" else _among_files)(files, row, file, names)


def _among_rules(files: FileTree, row: SourceFile, file: str, names: Collection[str]) -> Iterator[Unread]:
    shown, name = visible_name(file), file.rpartition("/")[2]
    if files.is_folder(file):
        if name.endswith(row.ending) or files.is_link(file) or _holds_files(files, file):
            yield Unread(shown, "folder-among-rules", True)
        return
    stem, ending = parted(name)
    better = kebab(stem) + row.ending
    if better == row.ending or better in names or ending not in TEXT | WRITER:
        yield Unread(shown, "no-rule", True)
    else:
        yield Unread(shown, "rule-by-writer" if ending in WRITER else "rule-misnamed", True, {"better": better})


def _among_files(files: FileTree, row: SourceFile, file: str, names: Collection[str]) -> Iterator[Unread]:
    shown, name, home = visible_name(file), file.rpartition("/")[2], row.files[0]
    if files.is_folder(file):
        if name.endswith(row.ending) or files.is_link(file) or _holds_files(files, file):
            yield Unread(shown, "folder-in-folder", row.is_relied_on, {"folder": home})
        return
    stem, ending = parted(name)
    better = kebab(stem) + row.ending
    is_error = row.is_relied_on and ending in TEXT | WRITER | SHEET
    if better == row.ending or better in names or ending not in TEXT:
        yield Unread(shown, "other-in-folder", is_error, {"folder": home})
    else:
        yield Unread(shown, "misnamed-in-folder", is_error, {"folder": home, "better": better})


def _holds_files(files: FileTree, folder: str, deep: int = 8) -> bool:
    """Whether there is a file in a folder, or in one so deep in it: git knows no folder without one."""
    try:
        entries = files.entries(folder)
    except CannotOpen:
        return True
    if any(entry.kind != "folder" for entry in entries):
        return True
    return any(deep == 0 or _holds_files(files, f"{folder}/{entry.name}", deep - 1) for entry in entries)


def parted(name: str) -> tuple[str, str]:
    """The stem of a name, without the ending of a source too (`one.md.txt`), and the ending in small letters."""
    stem, _, ending = name.rpartition(".")
    return (stem.removesuffix(".md").removesuffix(".yaml"), ending.casefold()) if stem else (name, "")
