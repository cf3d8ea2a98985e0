"""Small edits of a rule file that keep everything else as the author wrote it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import accumulate

from liningbook.finding import Span
from liningbook.sources.documents import Document
from liningbook.sources.node import Node, fields_of, get

OTHER_SIGN = {"below": "at_most", "at_most": "below", "above": "at_least", "at_least": "above"}


@dataclass(frozen=True)
class Edit:
    """Put `text` in the place of what stands at `span`; an insertion has a span without length."""

    span: Span
    text: str


def apply_edits(text: str, edits: Iterable[Edit]) -> str:
    """The text with the edits made; they must not overlap."""
    starts = list(accumulate((len(line) + 1 for line in text.split("\n")), initial=0))
    for edit in sorted(edits, key=lambda e: (e.span.line, e.span.column), reverse=True):
        begin = starts[edit.span.line - 1] + edit.span.column - 1
        end = starts[edit.span.end_line - 1] + edit.span.end_column - 1
        text = text[:begin] + edit.text + text[end:]
    return text


def flipped_sign(document: Document, line: int, column: int, key: str) -> tuple[Edit, str] | None:
    """The edit that takes a bound in (or leaves it out) in the range that starts at a place, and the bound's value."""
    child = get(_node_at(document.root, line, column), key)
    if child is None or child.key_span is None or child.text is None:
        return None
    return Edit(child.key_span, OTHER_SIGN[key]), child.text


def _node_at(node: Node | None, line: int, column: int) -> Node | None:
    if node is None:
        return None
    if (node.span.line, node.span.column) == (line, column) and node.fields and set(node.fields) & set(OTHER_SIGN):
        return node
    return next((found for child in _children(node) if (found := _node_at(child, line, column))), None)


def _children(node: Node) -> list[Node]:
    return list(node.fields.values()) if node.fields else node.items or []


def with_override(document: Document, text: str, other: str) -> Edit | None:
    """The edit that adds a rule to the overrides."""
    node = get(document.root, "overrides")
    if node is None:
        return _new_line(document.root, f"overrides: [{other}]")
    if node.text is not None:
        return Edit(node.span, f"[{node.text}, {other}]")
    items = node.items or []
    if any(item.text == other for item in items):
        return None
    if is_flow(text, node):
        return _insertion(node.span, node.span.column + 1, f"{other}, " if items else other)
    if not items:
        return None
    dash = text.split("\n")[items[0].span.line - 1].find("-")
    return _insertion(items[0].span, 1, f"{' ' * dash}- {other}\n") if dash >= 0 else None


def without_override(document: Document, text: str, other: str) -> Edit | None:
    """The edit that takes a rule out of the overrides."""
    node = get(document.root, "overrides")
    if node is None:
        return None
    names = [node.text] if node.text is not None else [item.text for item in node.items or []]
    left = [name for name in names if name != other and name is not None]
    if len(left) == len(names) or node.key_span is None:
        return None
    if left:
        return Edit(_content(node, text), f"[{', '.join(left)}]") if is_flow(text, node) else None
    return Edit(replace(node.key_span, column=1, end_line=content_end(node, text)[0] + 1, end_column=1), "")


def narrowed(document: Document, text: str, position: int, factor: str, value: str) -> Edit | None:
    """The edit that sets one factor's condition in the given set of conditions of the `when`."""
    when = get(document.root, "when")
    if when is None:
        return _new_line(document.root, f"when: {{{factor}: {value}}}")
    node = when.items[position] if when.items and position < len(when.items) else when
    if node.fields is None:
        return None
    child = node.fields.get(factor)
    if child is not None:
        place = _content(child, text)
        return Edit(place, value) if place.end_line == place.line or is_flow(text, child) else None
    if is_flow(text, node):
        return _insertion(node.span, node.span.column + 1, f"{factor}: {value}{', ' if node.fields else ''}")
    first = next(iter(node.fields.values())).key_span
    if first is None:
        return None
    return _insertion(first, first.column, f"{factor}: {value}\n{' ' * (first.column - 1)}")


def _new_line(root: Node | None, line: str) -> Edit | None:
    """A new field before the first one."""
    first = next((child.key_span for child in fields_of(root).values()), None)
    return _insertion(first, 1, f"{line}\n") if first is not None and first.column == 1 else None


def _insertion(span: Span, column: int, text: str) -> Edit:
    """A text put in on the line where a place begins."""
    return Edit(Span(span.file, span.line, column, span.line, column), text)


def is_flow(text: str, node: Node) -> bool:
    """Whether a list or a mapping is written in brackets."""
    return text.split("\n")[node.span.line - 1][node.span.column - 1 :][:1] in ("{", "[")


def _content(node: Node, text: str) -> Span:
    """The place of a value: for a block, up to its last text."""
    end_line, end_column = content_end(node, text)
    return replace(node.span, end_line=end_line, end_column=end_column)


def content_end(node: Node, text: str) -> tuple[int, int]:
    """The line and the column after the last text of a value, comments left out."""
    if node.text is not None or is_flow(text, node):
        return node.span.end_line, node.span.end_column
    return max(content_end(child, text) for child in _children(node))
