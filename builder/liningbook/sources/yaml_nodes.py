"""YAML text to a tree of nodes, each with the place of its key and of its value.

A strict subset of YAML 1.2: every plain scalar is the text it is (no guessing of numbers, dates or yes and no); keys
given twice, anchors, aliases, merge keys, tags, `null` and empty values are mistakes. Built on the events of PyYAML,
because its constructors lose places and duplicate keys.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import yaml

from liningbook.finding import Finding, Span, fault
from liningbook.sources.node import Node
from liningbook.sources.slips.in_text import without_blank
from liningbook.sources.slips.plain_texts import PlainTexts
from liningbook.sources.text import hidden_character

MAX_DEPTH = 30
MAX_NODES = 50_000

_Loader: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


class _Stop(Exception):
    """Nothing further can be read, and that is told."""


def read_yaml(text: str, file: str, first_line: int = 1) -> tuple[Node | None, list[Finding]]:
    """The tree of a YAML text, or `None` with the findings (`unreadable`) that say why there is none.

    `first_line` is the line of the file on which the text starts. A text without any value gives `None` and a finding.
    """
    builder = _Builder(text, file, first_line)
    try:
        return builder.document(), builder.findings
    except _Stop:
        found = builder.findings
    except yaml.MarkedYAMLError as error:
        found = [*builder.findings, builder.syntax_finding(error)]
        found = list({finding.span: finding for finding in found}.values())
    except (yaml.YAMLError, UnicodeError) as error:
        from liningbook.sources.slips.refusal import reason_of

        where = Span(file, first_line, 1, first_line, 2)
        found = [*builder.findings, fault("unreadable", where, "cannot-be-read", reason=reason_of(error))]
    return None, found


class _Builder:
    """Walks the events of one document."""

    def __init__(self, text: str, file: str, first_line: int) -> None:
        self.text, self.file, self.first_line = text, file, first_line
        self.count = 0
        self.findings: list[Finding] = []
        self.slips = PlainTexts(text.split("\n"), first_line, self.findings)
        self.events: Iterator[Any] = iter(())

    def document(self) -> Node:
        self.events = iter(yaml.parse(self.text, Loader=_Loader))
        next(self.events)
        event = next(self.events)
        if isinstance(event, yaml.StreamEndEvent):
            raise self.stop(Span(self.file, self.first_line, 1, self.first_line, 2), "empty-file")
        root = self.node(next(self.events), 0)
        next(self.events)
        event = next(self.events)
        if not isinstance(event, yaml.StreamEndEvent):
            raise self.stop(self.span(event), "second-document")
        return root

    def node(self, event: Any, depth: int, key_span: Span | None = None) -> Node:
        self.count += 1
        if self.count > MAX_NODES:
            raise self.stop(self.span(event), "too-many-values", most=MAX_NODES)
        if depth > MAX_DEPTH:
            raise self.stop(self.span(event), "too-deep", most=MAX_DEPTH)
        self.refuse_references(event)
        if isinstance(event, yaml.ScalarEvent):
            node = Node(self.scalar(event, key_span), self.span(event), key_span)
            return node if event.style else self.slips.in_plain(node, is_value=depth == 0 or key_span is not None)
        if isinstance(event, yaml.SequenceStartEvent):
            items: list[Node] = []
            while not isinstance(inner := next(self.events), yaml.SequenceEndEvent):
                items.append(self.node(inner, depth + 1))
            return Node(self.slips.in_list(items) if event.flow_style else items, self.span(event, inner), key_span)
        fields: dict[str, Node] = {}
        cut: dict[str, Node] = {}
        while not isinstance(inner := next(self.events), yaml.MappingEndEvent):
            self.field(inner, fields, cut if event.flow_style else None, depth)
        return Node(self.slips.in_fields(fields, cut), self.span(event, inner), key_span)

    def field(self, event: Any, fields: dict[str, Node], cut: dict[str, Node] | None, depth: int) -> None:
        """One field of a mapping; in curly brackets `cut` gets the values that a comma cut, as they were."""
        here = self.span(event)
        self.refuse_references(event)
        if not isinstance(event, yaml.ScalarEvent):
            raise self.stop(here, "key-not-plain")
        key = event.value
        if key == "<<" and not event.style:
            raise self.stop(here, "merge-key")
        self.refuse_hidden(event)
        if not event.style and without_blank(key) and self.slips.has_colon(here):
            self.slips.split(here, without_blank(self.slips.rest_of_row(here)) or (key, ""))
            raise _Stop()
        value = next(self.events)
        child = None
        if cut is not None and not event.style and self.is_nothing(value) and not self.slips.has_colon(here):
            if named := without_blank(key):
                key, child = self.slips.split(here, named)
            elif self.slips.joins(fields, here, cut):
                return
        child = child or self.node(value, depth + 1, here)
        if key in fields:
            first = fields[key].key_span
            related = ((first, "first-given"),) if first else ()
            self.findings.append(fault("unreadable", here, "key-twice", related, name=key))
            return
        fields[key] = child

    def is_nothing(self, value: Any) -> bool:
        """Whether nothing is written where a value could stand."""
        return isinstance(value, yaml.ScalarEvent) and value.value == "" and not value.style

    def stop(self, span: Span, what: str, **given: Any) -> _Stop:
        """What to raise for a fault that keeps the rest from being read, which is told."""
        self.findings.append(fault("unreadable", span, what, **given))
        return _Stop()

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
            raise self.stop(self.span(event), "anchor")
        if getattr(event, "tag", None):
            raise self.stop(self.span(event), "tag")

    def span(self, event: Any, end: Any = None) -> Span:
        start, stop = event.start_mark, (end or event).end_mark
        line, column = start.line + self.first_line, start.column + 1
        end_line, end_column = stop.line + self.first_line, stop.column + 1
        if (end_line, end_column) <= (line, column):
            end_line, end_column = line, column + 1
        return Span(self.file, line, column, end_line, end_column)

    def syntax_finding(self, error: Any) -> Finding:
        from liningbook.sources.slips.refusal import refusal

        found = refusal(error, self.text)
        related = () if found.opened is None else ((self.point(found.opened), "opened"),)
        place = self.point(found.mark) if found.stretch is None else self.stretch(*found.stretch)
        return fault("unreadable", place, found.what, related, **found.given)

    def stretch(self, row: int, start: int, end: int) -> Span:
        """The place of a part of one line; all count from 0."""
        return Span(self.file, row + self.first_line, start + 1, row + self.first_line, end + 1)

    def point(self, mark: Any) -> Span:
        """The place of one character; that of the last one if the text ends before it."""
        rows = self.text.rstrip().split("\n")
        at, column = (mark.line, mark.column) if mark.line < len(rows) else (len(rows) - 1, max(0, len(rows[-1]) - 1))
        return Span(self.file, at + self.first_line, column + 1, at + self.first_line, column + 2)
