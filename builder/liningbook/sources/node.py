"""Values of a source file, each with the place of its key and of its value."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from liningbook.finding import Span
from liningbook.sources.text import one_line


@dataclass(frozen=True)
class Node:
    """A value of a source file. `value` is a text, a list of nodes, or a mapping from key to node."""

    value: str | list[Node] | dict[str, Node]
    span: Span
    key_span: Span | None = None
    """The place of the key, for a value in a mapping."""

    @property
    def text(self) -> str | None:
        """The text, if it is one."""
        return self.value if isinstance(self.value, str) else None

    @property
    def items(self) -> list[Node] | None:
        """The nodes of a list, if it is one."""
        return self.value if isinstance(self.value, list) else None

    @property
    def fields(self) -> dict[str, Node] | None:
        """The nodes of a mapping by key, if it is one."""
        return self.value if isinstance(self.value, dict) else None

    @property
    def place(self) -> Span:
        """The place of the key, or of the value where it has none."""
        return self.key_span or self.span

    def plain(self) -> Any:
        """The value without places: texts, lists and dicts."""
        if isinstance(self.value, dict):
            return {key: child.plain() for key, child in self.value.items()}
        if isinstance(self.value, list):
            return [child.plain() for child in self.value]
        return self.value

    def at(self, path: list[str | int]) -> Node:
        """The node that a path of keys and indexes leads to, or the last one on the way."""
        node = self
        for step in path:
            if node.fields is not None and step in node.fields:
                node = node.fields[str(step)]
            elif node.items is not None and isinstance(step, int) and step < len(node.items):
                node = node.items[step]
            else:
                break
        return node


def get(node: Node | None, key: str) -> Node | None:
    """The value of a field, if the node is a mapping that has it."""
    fields = node.fields if node is not None else None
    return fields.get(key) if fields else None


def fields_of(node: Node | None, key: str = "") -> dict[str, Node]:
    """The fields of a node, or of its field `key`; none where it is no mapping."""
    node = get(node, key) if key else node
    return (node.fields or {}) if node is not None else {}


def text_of(node: Node | None, key: str) -> str:
    """The text of a field on one line, without blanks around it; empty if there is none."""
    child = get(node, key)
    return one_line(child.text or "") if child is not None else ""


def listed(node: Node | None) -> list[Node]:
    """The nodes of a list; a single value counts as a list of one."""
    if node is None:
        return []
    return node.items if node.items is not None else [node]


def texts_of(node: Node | None, key: str) -> tuple[str, ...]:
    """The texts of a list field."""
    return tuple(one_line(child.text) for child in listed(get(node, key)) if child.text is not None)


def labels_of(node: Node | None, key: str) -> dict[str, str]:
    """The texts of a field that is a mapping, by name; a name without a text is its own label."""
    return {name: one_line(child.text or "") or name for name, child in fields_of(node, key).items()}
