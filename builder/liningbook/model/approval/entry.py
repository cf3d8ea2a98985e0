"""An approval written into `protocol.yaml`, everything else kept as the author wrote it, comments and line ends too.

Where an entry goes is thought of in several ways; the first that reads back as the same protocol with the entry holds.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from liningbook.finding import Span
from liningbook.sources.editing import content_end, is_flow
from liningbook.sources.node import Node, fields_of, get, text_of
from liningbook.sources.yaml_nodes import read_yaml

FILE = "protocol.yaml"

_PLAIN = re.compile(r"[^\W\d_](?:[\w.' -]*[\w.])?\Z")
_SAID_OTHERWISE = ("null", "yes", "no", "on", "off", "true", "false")


@dataclass(frozen=True)
class NewApproval:
    """Who approves, and what; the texts are of one line and hold nothing hidden."""

    name: str
    role: str
    on: date
    digest: str

    @property
    def line(self) -> str:
        """The entry as it is written."""
        return f"{{name: {_scalar(self.name)}, role: {_scalar(self.role)}, on: {self.on}, digest: {self.digest}}}"

    @property
    def plain(self) -> dict[str, str]:
        """The entry as it reads back."""
        return {"name": self.name, "role": self.role, "on": str(self.on), "digest": self.digest}

    def is_of(self, node: Node) -> bool:
        """Whether an entry of the file is an earlier approval by the same person in the same role."""
        return (text_of(node, "name"), text_of(node, "role")) == (self.name, self.role)


def _scalar(text: str) -> str:
    """A text as YAML: plain where nobody can take it for something else, else in double quotation marks as in JSON."""
    is_plain = _PLAIN.match(text) and text.lower() not in _SAID_OTHERWISE
    return text if is_plain else json.dumps(text, ensure_ascii=False)


def with_entry(text: str, entry: NewApproval) -> str | None:
    """The text of the file with the entry; nothing where no way of writing it reads back right."""
    root, _ = read_yaml(text.replace("\r\n", "\n").replace("\r", "\n"), FILE)
    if root is None or root.fields is None:
        return None
    source = _Source(text)
    for edits in _ways(root, source, entry):
        made = source.edited(edits)
        if _reads_back(root, made, entry):
            return made
    return None


def _reads_back(before: Node, text: str, entry: NewApproval) -> bool:
    """Whether a text says what it said before, in the same order, and the entry in the place of that of the person."""
    after, findings = read_yaml(text.replace("\r\n", "\n").replace("\r", "\n"), FILE)
    if after is None or after.fields is None or before.fields is None or findings:
        return False
    others = [[(k, v.plain()) for k, v in (n.fields or {}).items() if k != "approved"] for n in (before, after)]
    if str(others[0]) != str(others[1]):  # as texts, so that the order of the inner fields counts too
        return False
    listed = [(node.items or []) if (node := get(root, "approved")) else [] for root in (before, after)]
    kept = [[item.plain() for item in items if not entry.is_of(item)] for items in listed]
    own = [{key: text_of(item, key) for key in fields_of(item)} for item in listed[1] if entry.is_of(item)]
    return kept[0] == kept[1] and bool(own) and all(one == entry.plain for one in own)


class _Source:
    """A text by lines and columns, which count from 1, with its own line ends."""

    def __init__(self, text: str) -> None:
        self.text = text
        ends = list(re.finditer("\r\n|\r|\n", text))
        self.break_ = ends[0].group() if ends else "\n"
        self.starts = [0, *(found.end() for found in ends)]
        self.ends = [*(found.start() for found in ends), len(text)]
        self.folded = text.replace("\r\n", "\n").replace("\r", "\n")

    def at(self, line: int, column: int) -> int:
        return self.starts[line - 1] + column - 1

    def line_end(self, line: int) -> int:
        return self.ends[line - 1]

    def last_line(self, node: Node) -> int:
        """The line on which the last text of a value ends."""
        return content_end(node, self.folded)[0]

    def replacing(self, span: Span, text: str) -> _Edit:
        return self.at(span.line, span.column), self.at(span.end_line, span.end_column), text

    def edited(self, edits: list[_Edit]) -> str:
        text = self.text
        for start, end, new in sorted(edits, reverse=True):
            text = text[:start] + new + text[end:]
        return text


_Edit = tuple[int, int, str]
"""Where a stretch of the text starts and ends, and what stands there instead."""


def _ways(root: Node, source: _Source, entry: NewApproval) -> Iterator[list[_Edit]]:
    approved = get(root, "approved")
    if approved is None:
        yield from _as_new_field(root, source, entry)
    elif approved.items is not None:
        own = [item for item in approved.items if entry.is_of(item)]
        if own:
            yield [edit for item in own for edit in _renewed(item, source, entry)]
        else:
            yield from _as_new_item(approved, source, entry)


def _as_new_field(root: Node, source: _Source, entry: NewApproval) -> Iterator[list[_Edit]]:
    """Below the authors, or before all else."""
    first = next(iter((root.fields or {}).values()), None)
    if first is None or first.key_span is None:
        return
    start = source.at(first.key_span.line, first.key_span.column)
    if is_flow(source.folded, root):
        yield [(start, start, f"approved: [{entry.line}], ")]
        return
    indent = " " * (first.key_span.column - 1)
    field = f"approved:{source.break_}{indent}  - {entry.line}"
    authors = get(root, "authors")
    if authors is not None:
        end = source.line_end(source.last_line(authors))
        yield [(end, end, f"{source.break_}{indent}{field}")]
    yield [(start, start, f"{field}{source.break_}{indent}")]


def _as_new_item(approved: Node, source: _Source, entry: NewApproval) -> Iterator[list[_Edit]]:
    """After the last entry, or before the first."""
    items = approved.items or []
    if is_flow(source.folded, approved):
        if items:
            end = source.at(items[-1].span.end_line, items[-1].span.end_column)
            yield [(end, end, f", {entry.line}")]
        else:
            start = source.at(approved.span.line, approved.span.column) + 1
            yield [(start, start, entry.line)]
        return
    if not items:
        return
    line = items[0].span.line
    dash = source.folded.split("\n")[line - 1][: items[0].span.column - 1].rfind("-")
    if dash >= 0:
        end = source.line_end(source.last_line(items[-1]))
        yield [(end, end, f"{source.break_}{' ' * dash}- {entry.line}")]
        start = source.at(line, dash + 1)
        yield [(start, start, f"- {entry.line}{source.break_}{' ' * dash}")]


def _renewed(item: Node, source: _Source, entry: NewApproval) -> Iterator[_Edit]:
    """The day and the digest of an entry set anew."""
    on, digest = get(item, "on"), get(item, "digest")
    if on is None or on.key_span is None:
        return
    yield source.replacing(on.span, str(entry.on))
    if digest is not None:
        yield source.replacing(digest.span, entry.digest)
    elif is_flow(source.folded, item):
        end = source.at(on.span.end_line, on.span.end_column)
        yield end, end, f", digest: {entry.digest}"
    else:
        end, indent = source.line_end(on.span.line), " " * (on.key_span.column - 1)
        yield end, end, f"{source.break_}{indent}digest: {entry.digest}"
