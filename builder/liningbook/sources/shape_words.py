"""Words and places for mistakes in the fields of a file: what a value is called, what it is, where it is marked."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from liningbook.finding import Span
from liningbook.sources.yaml_nodes import Node

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


def subject(path: Path) -> str:
    """What a message calls the value at a path, which is not empty: `title`, item 2 of `authors`."""
    *before, last = path
    if isinstance(last, str):
        return f"`{short(last)}`"
    return f"item {last + 1} of {subject(tuple(before)) if before else 'the list'}"


def what_it_is(node: Node, keyword: str) -> str:
    """What stands where a message says what should; `keyword` is the one of the schema that failed."""
    if node.fields is not None:
        if keyword == "maxProperties":
            return f"{len(node.fields)} of them"
        return "a group of fields" if node.fields else "an empty group"
    if node.items is not None:
        return "a list" if node.items else "an empty list"
    text = " ".join((node.text or "").split())
    if not text:
        return "an empty text"
    return "a text" if keyword == "type" else f"'{short(text)}'"


def one_of(options: Sequence[Any]) -> str:
    """Two or more words to choose from: a, b or c."""
    *others, last = (str(option) for option in options)
    return f"{', '.join(others)} or {last}"


def example(*frames: Mapping[str, Any]) -> str | None:
    """The first example of the schemas of one value, as it is written in a file."""
    return next((written(frame["examples"][0]) for frame in frames if "examples" in frame), None)


def written(value: Any) -> str:
    """A value as YAML on one line."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key}: {written(part)}" for key, part in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(written(part) for part in value) + "]"
    text = str(value)
    return text if PLAIN.fullmatch(text) else "'" + text.replace("'", "''") + "'"


def short(text: str, most: int = 40) -> str:
    """A text cut to `most` characters, with `…` where something is left out."""
    return text if len(text) <= most else text[: most - 1] + "…"
