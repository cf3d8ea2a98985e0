"""Values of a source file: where they are marked, what they are, and how they are written."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from liningbook.finding import Span
from liningbook.sources.node import Node

Path = tuple[str | int, ...]
"""The keys and indexes that lead to a value."""

PLAIN = re.compile(r"[A-Za-z0-9](?:[^\[\]{},:#'\"\n]|:(?=\S))*")
"""A text that needs no quotes in YAML."""


def place_of_group(path: Path, node: Node) -> Span:
    """Where to say that something is missing in a group of fields: its key, its first field, or line 1 of the file."""
    if not path:
        return Span(node.span.file, 1, 1, 1, 2)
    first = next((child.key_span for child in (node.fields or {}).values()), None)
    return node.key_span or first or node.span


def place_of_value(node: Node) -> Span:
    """A value on one line is marked as it is, a longer one by its key or else by its first character."""
    span = node.span
    if span.line == span.end_line:
        return span
    return node.key_span or Span(span.file, span.line, span.column, span.line, span.column + 1)


def is_reported_as_empty(node: Node) -> bool:
    """Whether the value is one that reading the YAML reports: nothing at all, `~` or `null`, without quotes."""
    text, span = node.text, node.span
    if text is None or text.lower() not in ("", "~", "null"):
        return False
    return (span.end_line, span.end_column) == (span.line, span.column + max(1, len(text)))


def what_it_is(node: Node, keyword: str) -> tuple[str, str | int]:
    """What a value is, as a code with its text or count; `keyword` is the one of the schema that failed."""
    if node.fields is not None:
        if keyword == "maxProperties":
            return "so-many", len(node.fields)
        return "group" if node.fields else "empty-group", len(node.fields)
    if node.items is not None:
        return "list" if node.items else "empty-list", len(node.items)
    text = " ".join((node.text or "").split())
    if not text:
        return "empty-text", ""
    return "text" if keyword == "type" else "written", text


def example(*frames: Mapping[str, Any]) -> str:
    """The first example of the schemas of one value, as it is written in a file; empty if there is none."""
    return next((written(frame["examples"][0]) for frame in frames if "examples" in frame), "")


def written(value: Any) -> str:
    """A value as YAML on one line."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key}: {written(part)}" for key, part in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(written(part) for part in value) + "]"
    text = str(value)
    return text if PLAIN.fullmatch(text) else "'" + text.replace("'", "''") + "'"
