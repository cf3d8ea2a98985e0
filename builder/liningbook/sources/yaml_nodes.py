"""YAML text to a tree of nodes, each with the place of its key and of its value.

A strict subset of YAML 1.2: every plain scalar is the text it is (no guessing of numbers, dates or yes and no); keys
given twice, anchors, aliases, merge keys, tags, `null` and empty values are mistakes. Built on the events of PyYAML,
because its constructors lose places and duplicate keys.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import yaml

from liningbook.finding import Finding, Span, fault
from liningbook.sources.node import Node
from liningbook.sources.text import hidden_character

NUMBER = re.compile("[+-]?[0-9]+")

MAX_DEPTH = 30
MAX_NODES = 50_000

_Loader: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


class _Mistake(Exception):
    """What keeps the rest of a text from being read: a fault of the kind `unreadable`."""

    def __init__(self, span: Span, what: str, related: tuple[tuple[Span, str], ...] = (), **given: Any) -> None:
        super().__init__(what)
        self.finding = fault("unreadable", span, what, related, **given)


def read_yaml(text: str, file: str, first_line: int = 1) -> tuple[Node | None, list[Finding]]:
    """The tree of a YAML text, or `None` with the findings (`unreadable`) that say why there is none.

    `first_line` is the line of the file on which the text starts. A text without any value gives `None` and a finding.
    """
    builder = _Builder(text, file, first_line)
    try:
        return builder.document(), builder.findings
    except _Mistake as mistake:
        found = [*builder.findings, mistake.finding]
    except yaml.MarkedYAMLError as error:
        found = [*builder.findings, builder.syntax_finding(error)]
    except (yaml.YAMLError, UnicodeError) as error:
        where = Span(file, first_line, 1, first_line, 2)
        found = [*builder.findings, fault("unreadable", where, "cannot-be-read", reason=reason_of(error))]
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
            raise _Mistake(Span(self.file, self.first_line, 1, self.first_line, 2), "empty-file")
        root = self.node(next(self.events), 0)
        next(self.events)
        event = next(self.events)
        if not isinstance(event, yaml.StreamEndEvent):
            raise _Mistake(self.span(event), "second-document")
        return root

    def node(self, event: Any, depth: int, key_span: Span | None = None) -> Node:
        self.count += 1
        if self.count > MAX_NODES:
            raise _Mistake(self.span(event), "too-many-values", most=MAX_NODES)
        if depth > MAX_DEPTH:
            raise _Mistake(self.span(event), "too-deep", most=MAX_DEPTH)
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
            raise _Mistake(here, "key-not-plain")
        key = event.value
        if key == "<<" and not event.style:
            raise _Mistake(here, "merge-key")
        self.refuse_hidden(event)
        value = next(self.events)
        if fields and self.is_end_of_number(event, value, next(reversed(fields.values()))):
            name, whole = fields.popitem()
            span = replace(whole.span, end_line=here.end_line, end_column=here.end_column)
            fields[name] = Node(f"{whole.value},{key}", span, whole.key_span)
            return
        child = self.node(value, depth + 1, here)
        if key in fields:
            first = fields[key].key_span
            related = ((first, "first-given"),) if first else ()
            self.findings.append(fault("unreadable", here, "key-twice", related, name=key))
            return
        fields[key] = child

    def is_end_of_number(self, key: Any, value: Any, before: Node) -> bool:
        """Whether a key is the end of a number with a decimal comma: `{at_most: 0,5 mm}` is two fields to YAML.

        The two are put together again, so that what is reported is the comma.
        """
        place, text, start = before.span, before.text or "", self.span(key)
        touches = (place.end_line, place.end_column + 1) == (start.line, start.column)
        is_plain = place.end_column - place.column == len(text)
        is_empty = isinstance(value, yaml.ScalarEvent) and value.value == "" and not value.style
        is_number = re.match("[0-9]", key.value) and NUMBER.fullmatch(text)
        return touches and is_plain and is_empty and bool(is_number)

    def scalar(self, event: Any, key_span: Span | None) -> str:
        value: str = event.value
        if not event.style and value.lower() in ("", "~", "null"):
            if value:
                self.findings.append(fault("unreadable", self.span(event), "null-value", written=value))
            else:
                self.findings.append(fault("unreadable", key_span or self.point(event.start_mark), "no-value"))
        self.refuse_hidden(event)
        return value

    def refuse_hidden(self, event: Any) -> None:
        """A finding for a hidden character that stands in double quotes by its code."""
        if event.style == '"' and (hidden := hidden_character(event.value)):
            self.findings.append(fault("unreadable", self.span(event), "hidden-by-code", character=hidden))

    def refuse_references(self, event: Any) -> None:
        if isinstance(event, yaml.AliasEvent) or getattr(event, "anchor", None):
            raise _Mistake(self.span(event), "anchor")
        if getattr(event, "tag", None):
            raise _Mistake(self.span(event), "tag")

    def span(self, event: Any, end: Any = None) -> Span:
        start, stop = event.start_mark, (end or event).end_mark
        line, column = start.line + self.first_line, start.column + 1
        end_line, end_column = stop.line + self.first_line, stop.column + 1
        if (end_line, end_column) <= (line, column):
            end_line, end_column = line, column + 1
        return Span(self.file, line, column, end_line, end_column)

    def syntax_finding(self, error: Any) -> Finding:
        found = refusal(error, self.text)
        related = () if found.opened is None else ((self.point(found.opened), "opened"),)
        place = self.point(found.mark) if found.row is None else self.row(found.row)
        given = {"reason": found.reason} if found.reason else {}
        return fault("unreadable", place, found.what, related, **given)

    def row(self, number: int) -> Span:
        """The place of a whole line."""
        line, text = number + self.first_line, self.text.split("\n")[number]
        return Span(self.file, line, len(text) - len(text.lstrip()) + 1, line, len(text.rstrip()) + 1)

    def point(self, mark: Any) -> Span:
        """The place of one character; that of the last one if the text ends before it."""
        rows = self.text.rstrip().split("\n")
        at, column = (mark.line, mark.column) if mark.line < len(rows) else (len(rows) - 1, max(0, len(rows[-1]) - 1))
        return Span(self.file, at + self.first_line, column + 1, at + self.first_line, column + 2)


_REASONS = (
    (r"',' or '\]'", "list-not-closed"),
    (r"',' or '\}'", "group-not-closed"),
    (r"expected key|<block end>|<document start>", "not-lined-up"),
    (r"'-' indicator|sequence entries", "not-lined-up-with-list"),
    (r"mapping values", "colon-in-value"),
    (r"expected ':'", "no-colon-after"),
    (r"start any token", "no-start-of-value"),
    (r"node content", "value-missing"),
    (r"document indicator", "hyphens-in-quotes"),
    (r"escape|hexdecimal", "backslash"),
    (r"comment or line break", "block-text-on-line"),
    (r"alphabetic|directive", "percent-sign"),
    (r"mapping keys", "question-mark"),
    (r"depth|nest", "brackets-too-deep"),
)
"""A pattern for the reasons of both parsers of PyYAML, in C and in Python, and the code of what it means."""

_NO_COLON = re.compile(r" *[^\s:#][^:#\n]*\n *[^\s:]+:(?:\s|$)")
"""A line without a colon, and below it one that begins with a field."""


@dataclass(frozen=True)
class Refusal:
    """Why the YAML library refuses a text, as a code.

    `mark` is where it can be put right (as the library counts), or `row` is a whole line (from 0). `opened` is where
    the bracket stands that is not closed, if that is on another line. `reason` is what the library itself says, where
    nothing better is known.
    """

    what: str
    mark: Any
    row: int | None = None
    opened: Any = None
    reason: str = ""


def refusal(error: Any, text: str) -> Refusal:
    """What a `MarkedYAMLError` of PyYAML about a text means."""
    mark, context = error.problem_mark or error.context_mark, error.context_mark
    reason, during = reason_of(error), str(error.context)
    rows = text.split("\n")
    if context is not None and (mark.line >= len(rows) - 1 or "expected ':'" in reason):
        mark = context
    row = rows[mark.line] if mark.line < len(rows) else ""
    blank = row[: len(row) - len(row.lstrip())]
    if "\t" in blank or row[mark.column : mark.column + 1] == "\t":
        return Refusal("tab", mark)
    if "quoted scalar" in during and "end of stream" in reason:
        return Refusal("quote-not-closed", mark)
    if "mapping values" in reason and mark.line and _NO_COLON.match(f"{rows[mark.line - 1]}\n{row}"):
        return Refusal("no-colon", mark, row=mark.line - 1)
    if mark is context and row[mark.column : mark.column + 1] in ("[", "{"):
        return Refusal("bracket-not-closed", mark)
    if row[mark.column : mark.column + 1] == "[" and "',' or" in reason:
        return Refusal("list-out-of-place", mark)
    opened = context if "flow" in during and context is not None and context.line != mark.line else None
    for pattern, what in _REASONS:
        if re.search(pattern, reason):
            return Refusal(what, mark, opened=opened)
    return Refusal("not-yaml", mark, opened=opened, reason=reason)


def reason_of(error: Any) -> str:
    """What the library itself says, on one short line."""
    text = getattr(error, "problem", None) or getattr(error, "reason", None) or str(error)
    line = str(text).splitlines()[0] if str(text) else "unknown reason"
    return line if len(line) <= 80 else line[:79] + "…"
