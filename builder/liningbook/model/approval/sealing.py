"""The digest of what is approved: of all that the sources say, however they are written.

It is the SHA-256 of the canonical form (RFC 8785, JSON Canonicalization Scheme) of `covered`. What is covered are the
values of every source file: `protocol.yaml`, `materials.yaml`, the fields and the reasons of each rule, the references
as the data read from them, study tables, vignettes, the card, and whatever file is read besides. A reader of the
edition meets all of it, and whoever approves an edition approves all of it.

Not covered, since it comes after the approval or is none of its business: `approved`, `status` and `in_force_from` in
`protocol.yaml`; `copies.yaml` (where cards hang) and `appraisals/` (what others think of the edition). Nor is how a
value is written: comments, blank space, quotation marks, line ends, a byte order mark, and the order of fields. Order
counts where it says something: in lists, and among factors, values, decisions, answers and places.

Values are taken as their texts: `0.50 mm` is not `0.5 mm`, since the digits are what was read and approved. The form
must be the same in every version of Liningbook: a file that is not there leaves no trace in it, so a new kind of source
file changes no digest of a protocol that has none. Another form needs another name in `FORM`.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Mapping
from typing import Any

from liningbook.digest import canonical
from liningbook.sources.citations.reference_entry import Reference
from liningbook.sources.documents import Document, Folder
from liningbook.sources.node import Node
from liningbook.sources.text import one_line

FORM = "liningbook-approval-1"
"""The name of the form; it stands in what is digested."""

NOT_COVERED = ("copies", "appraisals")
"""The source files, by their names in the table, that no approval covers."""

AFTER_APPROVAL = ("approved", "status", "in_force_from")
"""The fields of `protocol.yaml` that are written when the rest has been approved."""

IN_ORDER = (
    ("protocol", "factors"),
    ("protocol", "factors", "*", "values"),
    ("protocol", "decisions"),
    ("protocol", "decisions", "*", "answers"),
    ("materials", "places"),
)
"""Mappings of which the order says something, by file and keys; `*` is any key."""


def seal_of(folder: Folder, references: Mapping[str, Reference]) -> str:
    """The digest of the sources of a folder, as 64 hexadecimal digits."""
    return hashlib.sha256(canonical(covered(folder, references))).hexdigest()


def covered(folder: Folder, references: Mapping[str, Reference]) -> dict[str, Any]:
    """What an approval covers, as plain values: of each source file by name, its documents by theirs."""
    files: dict[str, Any] = {
        name: {stem: _document(name, document) for stem, document in documents.items()}
        for name, documents in folder.documents.items()
        if documents and name not in NOT_COVERED
    }
    if references:
        files["references"] = {key: _data(entry.data) for key, entry in references.items()}
    return {"form": FORM, "files": files}


def _document(name: str, document: Document) -> Any:
    fields = _value(document.root, (name,)) if document.root is not None else None
    if name == "protocol" and isinstance(fields, dict):
        fields = {key: value for key, value in fields.items() if key not in AFTER_APPROVAL}
    return {"fields": fields, "text": body} if (body := _body(document.body)) else {"fields": fields}


def _body(text: str) -> str:
    """The text without blank lines before and blanks after it; within it, blanks have a meaning in Markdown."""
    return re.sub(r"\A(?:[ \t]*\n)+", "", text).rstrip()


def _value(node: Node, path: tuple[str, ...]) -> Any:
    if node.fields is not None:
        if _is_ordered(path):
            return [[key, _value(child, (*path, key))] for key, child in node.fields.items()]
        return {key: _value(child, (*path, key)) for key, child in node.fields.items()}
    if node.items is not None:
        return [_value(child, (*path, "")) for child in node.items]
    return one_line(node.text or "")


def _is_ordered(path: tuple[str, ...]) -> bool:
    return any(
        len(path) == len(known) and all(step in ("*", part) for step, part in zip(known, path, strict=True))
        for known in IN_ORDER
    )


def _data(value: object) -> Any:
    """The data of a reference; numbers as their texts, since a list may write either."""
    if isinstance(value, Mapping):
        return {str(key): _data(child) for key, child in value.items()}
    if isinstance(value, (list, tuple)):
        return [_data(child) for child in value]
    return one_line(str(value))
