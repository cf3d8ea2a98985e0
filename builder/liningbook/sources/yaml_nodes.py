"""YAML text to a tree of nodes, each with the place of its key and of its value.

A strict subset of YAML 1.2: every plain scalar is the text it is (no guessing of numbers, dates or yes and no); keys
given twice, anchors, aliases, merge keys, tags, `null` and empty values are mistakes. Built on the events of PyYAML,
because its constructors lose places and duplicate keys.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import yaml

from liningbook.finding import Finding, Label, Span, worded
from liningbook.sources.yaml_words import in_words, reason_of

HIDDEN = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u00ad\u034f\u061c\u115f\u1160\u17b4\u17b5\u180b-\u180f\u200b-\u200f"
    "\u2028-\u202e\u2060-\u206f\u3164\ud800-\udfff\ufdd0-\ufdef\ufeff\uffa0\ufff9-\uffff\U000e0000-\U000e0fff]"
)
"""Control, zero-width, blank and direction characters: they print as nothing, or turn the order of what is read."""


def hidden_character(text: str) -> str | None:
    """The first hidden character of a text by its code point (`U+202E`), or nothing."""
    match = HIDDEN.search(text)
    return f"U+{ord(match.group()):04X}" if match else None


_BREAK = re.compile("[ \\t\\r\\n]*[\\t\\r\\n][ \\t\\r\\n]*")


def one_line(text: str) -> str:
    """The text without blanks around it, each line break or tab in it (with the blanks there) one space."""
    return _BREAK.sub(" ", text.strip())


NUMBER = re.compile("[+-]?[0-9]+")

MAX_DEPTH = 30
MAX_NODES = 50_000

_Loader: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


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
            fields, items = node.fields, node.items
            if fields is not None and step in fields:
                node = fields[str(step)]
            elif items is not None and isinstance(step, int) and step < len(items):
                node = items[step]
            else:
                break
        return node


@dataclass
class _Mistake(Exception):
    message: str
    span: Span
    help: str = ""
    related: tuple[Label, ...] = field(default=())


def read_yaml(text: str, file: str, first_line: int = 1) -> tuple[Node | None, list[Finding]]:
    """The tree of a YAML text, or `None` with the findings (`unreadable`) that say why there is none.

    `first_line` is the line of the file on which the text starts. A text without any value gives `None` and a finding.
    """
    builder = _Builder(text, file, first_line)
    try:
        return builder.document(), builder.findings
    except _Mistake as mistake:
        found = [*builder.findings, _unreadable(mistake)]
    except yaml.MarkedYAMLError as error:
        found = [*builder.findings, builder.syntax_finding(error)]
    except (yaml.YAMLError, UnicodeError) as error:
        where = Span(file, first_line, 1, first_line, 2)
        found = [*builder.findings, _unreadable(_Mistake(f"this cannot be read ({reason_of(error)})", where))]
    return None, found


class _Builder:
    """Walks the events of one document."""

    def __init__(self, text: str, file: str, first_line: int) -> None:
        self.text, self.file, self.first_line = text, file, first_line
        self.count = 0
        self.findings: list[Finding] = []
        self.events: Iterator[Any] = iter(())

    def document(self) -> Node:
        self.events = iter(yaml.parse(self.text, Loader=_Loader))
        next(self.events)
        event = next(self.events)
        if isinstance(event, yaml.StreamEndEvent):
            where = Span(self.file, self.first_line, 1, self.first_line, 2)
            raise _Mistake("there is nothing in this file", where, "write the fields that the format asks for")
        root = self.node(next(self.events), 0)
        next(self.events)
        event = next(self.events)
        if not isinstance(event, yaml.StreamEndEvent):
            raise _Mistake("a second document starts here", self.span(event), "keep one document a file; remove `---`")
        return root

    def node(self, event: Any, depth: int, key_span: Span | None = None) -> Node:
        self.count += 1
        if self.count > MAX_NODES:
            raise _Mistake(f"the file holds more than {MAX_NODES} values", self.span(event), "keep only what is needed")
        if depth > MAX_DEPTH:
            raise _Mistake(f"values are nested more than {MAX_DEPTH} deep", self.span(event), "check the brackets")
        self.refuse_references(event)
        if isinstance(event, yaml.ScalarEvent):
            return Node(self.scalar(event, key_span), self.span(event), key_span)
        if isinstance(event, yaml.SequenceStartEvent):
            items: list[Node] = []
            while not isinstance(inner := next(self.events), yaml.SequenceEndEvent):
                items.append(self.node(inner, depth + 1))
            return Node(items, self.span(event, inner), key_span)
        fields: dict[str, Node] = {}
        while not isinstance(inner := next(self.events), yaml.MappingEndEvent):
            self.field(inner, fields, depth)
        return Node(fields, self.span(event, inner), key_span)

    def field(self, event: Any, fields: dict[str, Node], depth: int) -> None:
        here = self.span(event)
        self.refuse_references(event)
        if not isinstance(event, yaml.ScalarEvent):
            raise _Mistake("a key must be a plain word", here, "write `key: value`")
        key = event.value
        if key == "<<" and not event.style:
            raise _Mistake("merge keys (`<<`) are not used here", here, "write the fields out")
        self.refuse_hidden(event)
        value = next(self.events)
        if fields and self.is_end_of_number(event, value, next(reversed(fields.values()))):
            name, whole = fields.popitem()
            span = Span(self.file, whole.span.line, whole.span.column, here.end_line, here.end_column)
            fields[name] = Node(f"{whole.value},{key}", span, whole.key_span)
            return
        child = self.node(value, depth + 1, here)
        if key in fields:
            first = fields[key].key_span
            labels = (Label(first, "first given here"),) if first else ()
            self.findings.append(
                _unreadable(_Mistake(f"'{_short(key)}' is given twice", here, "keep one of the two", labels))
            )
            return
        fields[key] = child

    def is_end_of_number(self, key: Any, value: Any, before: Node) -> bool:
        """Whether a key is the end of a number with a decimal comma: `{at_most: 0,5 mm}` is two fields to YAML.

        The two are put together again, so that what is reported is the comma.
        """
        touches = (before.span.end_line, before.span.end_column + 1) == (
            key.start_mark.line + self.first_line,
            key.start_mark.column + 1,
        )
        is_plain = before.span.end_column - before.span.column == len(before.text or "")
        is_empty = isinstance(value, yaml.ScalarEvent) and value.value == "" and not value.style
        return (
            touches
            and is_plain
            and is_empty
            and bool(re.match("[0-9]", key.value))
            and bool(NUMBER.fullmatch(before.text or ""))
        )

    def scalar(self, event: Any, key_span: Span | None) -> str:
        value: str = event.value
        if not event.style and value.lower() in ("", "~", "null"):
            place = self.span(event) if value else key_span or self.point(event.start_mark)
            message = "there is no value here" if value == "" else f"'{value}' means no value, which is not used here"
            self.findings.append(_unreadable(_Mistake(message, place, "write a value, or leave the field out")))
        self.refuse_hidden(event)
        return value

    def refuse_hidden(self, event: Any) -> None:
        """A finding for a hidden character that stands in double quotes by its code."""
        if event.style == '"' and (hidden := hidden_character(event.value)):
            message = f"the text holds a hidden character ({hidden})"
            self.findings.append(_unreadable(_Mistake(message, self.span(event), "delete what stands for it")))

    def refuse_references(self, event: Any) -> None:
        if isinstance(event, yaml.AliasEvent) or getattr(event, "anchor", None):
            raise _Mistake(
                "anchors and aliases (`&`, `*`) are not used here",
                self.span(event),
                "write the value out, or put it in quotes if it starts with & or *",
            )
        if getattr(event, "tag", None):
            raise _Mistake("tags (`!`) are not used here", self.span(event), "remove it, or put the value in quotes")

    def span(self, event: Any, end: Any = None) -> Span:
        start, stop = event.start_mark, (end or event).end_mark
        line, column = start.line + self.first_line, start.column + 1
        end_line, end_column = stop.line + self.first_line, stop.column + 1
        if (end_line, end_column) <= (line, column):
            end_line, end_column = line, column + 1
        return Span(self.file, line, column, end_line, end_column)

    def syntax_finding(self, error: Any) -> Finding:
        told = in_words(error, self.text)
        labels = () if told.opened is None else (Label(self.point(told.opened), "opened here"),)
        place = self.point(told.mark) if told.row is None else self.row(told.row)
        return _unreadable(_Mistake(told.message, place, told.advice, labels))

    def row(self, number: int) -> Span:
        """The place of a whole line."""
        line, text = number + self.first_line, self.text.split("\n")[number]
        return Span(self.file, line, len(text) - len(text.lstrip()) + 1, line, len(text.rstrip()) + 1)

    def point(self, mark: Any) -> Span:
        """The place of one character; that of the last one if the text ends before it."""
        rows = self.text.rstrip().split("\n")
        at, column = (mark.line, mark.column) if mark.line < len(rows) else (len(rows) - 1, max(0, len(rows[-1]) - 1))
        return Span(self.file, at + self.first_line, column + 1, at + self.first_line, column + 2)


def _short(text: str, most: int = 40) -> str:
    return text if len(text) <= most else text[: most - 1] + "…"


def _unreadable(mistake: _Mistake) -> Finding:
    advice = (mistake.help,) if mistake.help else ()
    return worded("unreadable", one_line(mistake.message), mistake.span, related=mistake.related, help=advice)
