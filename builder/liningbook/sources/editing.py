"""Small edits of a rule file that keep everything else as the author wrote it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from liningbook.finding import Span
from liningbook.sources.documents import Document
from liningbook.sources.node import Node

OTHER_SIGN = {"below": "at_most", "at_most": "below", "above": "at_least", "at_least": "above"}


@dataclass(frozen=True)
class Edit:
    """Put `text` in the place of what stands at `span`; an insertion has a span without length."""

    span: Span
    text: str


def apply_edits(text: str, edits: Iterable[Edit]) -> str:
    """The text with the edits made; they must not overlap."""
    lines = text.split("\n")
    starts = [0]
    for line in lines:
        starts.append(starts[-1] + len(line) + 1)
    for edit in sorted(edits, key=lambda e: (e.span.line, e.span.column), reverse=True):
        begin = starts[edit.span.line - 1] + edit.span.column - 1
        end = starts[edit.span.end_line - 1] + edit.span.end_column - 1
        text = text[:begin] + edit.text + text[end:]
    return text


def flipped_sign(document: Document, line: int, column: int, key: str) -> tuple[Edit, str] | None:
    """The edit that takes a bound in (or leaves it out) in the range that starts at a place, and the bound's value."""
    node = _node_at(document.root, line, column)
    child = node.fields.get(key) if node is not None and node.fields else None
    if child is None or child.key_span is None or child.text is None:
        return None
    return Edit(child.key_span, OTHER_SIGN[key]), child.text


def _node_at(node: Node | None, line: int, column: int) -> Node | None:
    if node is None:
        return None
    if (node.span.line, node.span.column) == (line, column) and node.fields and set(node.fields) & set(OTHER_SIGN):
        return node
    children = list(node.fields.values()) if node.fields else node.items or []
    return next((found for child in children if (found := _node_at(child, line, column))), None)


def with_override(document: Document, text: str, other: str) -> Edit | None:
    """The edit that adds a rule to the overrides."""
    root = document.root
    if root is None or not root.fields:
        return None
    node = root.fields.get("overrides")
    if node is None:
        return _new_line(root, f"overrides: [{other}]")
    if node.text is not None:
        return Edit(node.span, f"[{node.text}, {other}]")
    items = node.items or []
    if any(item.text == other for item in items):
        return None
    if _is_flow(text, node):
        inside = Span(node.span.file, node.span.line, node.span.column + 1, node.span.line, node.span.column + 1)
        return Edit(inside, f"{other}, " if items else other)
    if not items:
        return None
    first = items[0].span
    dash = text.split("\n")[first.line - 1].find("-")
    start = Span(first.file, first.line, 1, first.line, 1)
    return Edit(start, f"{' ' * dash}- {other}\n") if dash >= 0 else None


def without_override(document: Document, text: str, other: str) -> Edit | None:
    """The edit that takes a rule out of the overrides."""
    root = document.root
    node = root.fields.get("overrides") if root is not None and root.fields else None
    if node is None:
        return None
    names = [node.text] if node.text is not None else [item.text for item in node.items or []]
    left = [name for name in names if name != other and name is not None]
    if len(left) == len(names) or node.key_span is None:
        return None
    end_line, end_column = _content_end(node, text)
    if left:
        place = Span(node.span.file, node.span.line, node.span.column, end_line, end_column)
        return Edit(place, f"[{', '.join(left)}]") if _is_flow(text, node) else None
    return Edit(Span(node.span.file, node.key_span.line, 1, end_line + 1, 1), "")


def narrowed(document: Document, text: str, position: int, factor: str, value: str) -> Edit | None:
    """The edit that sets one factor's condition in the given set of conditions of the `when`."""
    root = document.root
    if root is None or not root.fields:
        return None
    when = root.fields.get("when")
    if when is None:
        return _new_line(root, f"when: {{{factor}: {value}}}")
    node = when.items[position] if when.items and position < len(when.items) else when
    if node.fields is None:
        return None
    child = node.fields.get(factor)
    if child is not None:
        end_line, end_column = _content_end(child, text)
        if end_line != child.span.line and not _is_flow(text, child):
            return None
        return Edit(Span(child.span.file, child.span.line, child.span.column, end_line, end_column), value)
    if _is_flow(text, node):
        inside = Span(node.span.file, node.span.line, node.span.column + 1, node.span.line, node.span.column + 1)
        return Edit(inside, f"{factor}: {value}, " if node.fields else f"{factor}: {value}")
    first = next(iter(node.fields.values())).key_span
    if first is None:
        return None
    here = Span(first.file, first.line, first.column, first.line, first.column)
    return Edit(here, f"{factor}: {value}\n{' ' * (first.column - 1)}")


def _new_line(root: Node, line: str) -> Edit | None:
    """A new field before the first one."""
    first = next(iter((root.fields or {}).values())).key_span
    if first is None or first.column != 1:
        return None
    return Edit(Span(first.file, first.line, 1, first.line, 1), f"{line}\n")


def _is_flow(text: str, node: Node) -> bool:
    return text.split("\n")[node.span.line - 1][node.span.column - 1 :][:1] in ("{", "[")


def _content_end(node: Node, text: str) -> tuple[int, int]:
    """Where a value ends: for a block, after its last text."""
    if node.text is not None or _is_flow(text, node):
        return node.span.end_line, node.span.end_column
    children = list(node.fields.values()) if node.fields else node.items or []
    return max(_content_end(child, text) for child in children)
