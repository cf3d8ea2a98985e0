"""Texts that are not in quotes, and that YAML took apart or together otherwise than their author meant."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from liningbook.finding import Finding, Span, fault
from liningbook.sources.node import Node
from liningbook.sources.slips.in_text import CURLY, LONGEST, in_quotes, inside_curly, no_blank, without_blank

_NUMBER = re.compile("[+-]?[0-9]+(?:,[0-9][^,]*)+")
"""A number with a comma, which is told where a number is wanted."""


MOST_PIECES = 20
"""Into so many pieces commas cut a text in curly quotes that is put together again."""

_BLANK_IN_NUMBER = re.compile("^([+-]?[0-9]+), (?=[0-9])")


class PlainTexts:
    """Puts such texts right in one document, with a finding (`unreadable`) for each, so that nothing follows from it.

    `rows` are the lines of the text, the first of which is line `first_line` of its file.
    """

    def __init__(self, rows: Sequence[str], first_line: int, findings: list[Finding]) -> None:
        self.rows, self.first_line, self.findings = rows, first_line, findings

    def find(self, place: Span, what: str, **given: Any) -> None:
        """A finding that a text was not read as it was meant."""
        self.findings.append(fault("unreadable", place, what, **given))

    def in_plain(self, node: Node, is_value: bool) -> Node:
        """A text in curly quotes without them; a field without a blank after its colon as a field."""
        text, span = node.text or "", node.span
        if inner := inside_curly(text):
            self.find(span, "curly-quotes", instead=in_quotes(inner))
            return replace(node, value=inner)
        starts_line = is_value and (node.key_span is None or node.key_span.line < span.line)
        end = span.end_column - 1 if span.line == span.end_line else None
        if starts_line and (named := without_blank(self.row(span)[span.column - 1 : end])):
            name, child = self.split(span, named)
            return replace(node, value={name: child})
        for line in range(span.line + 1, span.end_line + 1):
            row = self.row(Span(span.file, line, 1, line, 1))
            if named := without_blank(row.strip()):
                start = len(row) - len(row.lstrip())
                self.split(Span(span.file, line, start + 1, line, len(row) + 1), named)
                break
        return node

    def split(self, place: Span, named: tuple[str, str]) -> tuple[str, Node]:
        """Name and value of a field without a blank after its colon, with a finding on the colon."""
        name, value = named
        slip = no_blank(name, value, place.column - 1)
        self.find(replace(place, column=slip.start + 1, end_line=place.line, end_column=slip.end + 1),
                  slip.what, **slip.given)  # fmt: skip
        return name, Node(value, replace(place, column=slip.end + 1), replace(place, end_line=place.line,
                                                                              end_column=slip.start + 1))  # fmt: skip

    def has_colon(self, key: Span) -> bool:
        """Whether a colon stands after a key."""
        return self.row(replace(key, line=key.end_line))[key.end_column - 1 :].lstrip().startswith(":")

    def joins(self, fields: dict[str, Node], key: Span, cut: dict[str, Node]) -> bool:
        """Joins what stands after a comma to the text before it, if that is one without quotes: `{note: One, two}`."""
        if not fields:
            return False
        name, before = next(reversed(fields.items()))
        place = before.span
        if not before.text or self.row(place)[place.column - 1 : place.column] in ("'", '"'):
            return False
        span = replace(place, end_line=key.end_line, end_column=key.end_column)
        if len(before.text) > LONGEST:
            fields[name] = replace(before, span=span)
            return True
        if _NUMBER.fullmatch(before.text) and not self.row(key)[key.column - 1 : key.column].isdigit():
            return False
        fields[name] = Node(_BLANK_IN_NUMBER.sub(r"\1,", self.text(span)), span, before.key_span)
        cut.setdefault(name, before)
        return True

    def in_fields(self, fields: dict[str, Node], cut: dict[str, Node]) -> dict[str, Node]:
        """The fields, with a finding for each text that a comma cut; numbers and ranges are told where they stand."""
        for name in [name for name, node in fields.items() if (node.text or "")[:1] in CURLY]:
            self.join_curly(fields, name)
        if cut:
            from liningbook.notation.written_range import range_meant
        for name, before in cut.items():
            if name not in fields:
                continue
            node = fields[name]
            text = node.text or ""
            if inside_curly(text):
                fields[name] = self.in_plain(node, is_value=False)
            elif not _NUMBER.fullmatch(text) and not range_meant(text):
                left = text[text.index(",") + 1 :].strip()
                place = before.span
                comma = Span(place.file, place.end_line, place.end_column, place.end_line, place.end_column + 1)
                self.find(comma, "comma-cut", instead=in_quotes(text), field=left if left.isalnum() else "")
                fields[name] = before
        return fields

    def join_curly(self, fields: dict[str, Node], name: str) -> None:
        """Joins a text in curly quotes that a comma and a colon cut, `{note: “One, two: three”}`."""
        names = [*fields]
        later = names[names.index(name) + 1 :][:MOST_PIECES]
        closing = CURLY[(fields[name].text or "")[0]]
        last = next((n for n in later if (fields[n].text or " ")[-1] in closing), None)
        first = fields[name]
        if last is None or inside_curly(first.text or ""):
            return
        end = fields[last].span
        span = replace(first.span, end_line=end.end_line, end_column=end.end_column)
        for passed in later[: later.index(last) + 1]:
            del fields[passed]
        fields[name] = self.in_plain(Node(self.text(span), span, first.key_span), is_value=False)

    def in_list(self, items: list[Node]) -> list[Node]:
        """The items of a list, those that commas cut out of a text in curly quotes put together again."""
        found: list[Node] = []
        number = 0
        while number < len(items):
            item, last = items[number], number
            if found and self.is_end_of_number(found[-1], item):
                whole, end = found.pop(), item.span
                span = replace(whole.span, end_line=end.end_line, end_column=end.end_column)
                found.append(Node(f"{whole.text},{item.text}", span))
                number += 1
                continue
            opening = (item.text or "")[:1]
            if opening in CURLY and self.row(item.span)[item.span.column - 1 :].startswith(opening):
                later = range(number + 1, min(len(items), number + MOST_PIECES))
                last = next((n for n in later if (items[n].text or " ")[-1] in CURLY[opening]), number)
            if last > number:
                end = items[last].span
                span = replace(item.span, end_line=end.end_line, end_column=end.end_column)
                item = self.in_plain(Node(self.text(span), span), is_value=False)
            found.append(item)
            number = last + 1
        return found

    def is_end_of_number(self, before: Node, after: Node) -> bool:
        """Whether a comma without a blank tore a number with a unit or a word before it; `[5,156]` are two numbers."""
        one, two = before.text or "", after.text or ""
        touches = (before.span.end_line, before.span.end_column + 1) == (after.span.line, after.span.column)
        torn = re.search(r"(?:^|[^0-9.,])[+-]?[0-9]+\Z", one) and re.match("[0-9]", two)
        plain = all(
            self.row(item.span)[item.span.column - 1 :].startswith(item.text or " ") for item in (before, after)
        )
        return plain and touches and bool(torn) and not (one.lstrip("+-").isdigit() and re.fullmatch("[0-9.]+", two))

    def rest_of_row(self, place: Span) -> str:
        """What stands from a place to the end of its line."""
        return self.row(place)[place.column - 1 :].strip()

    def row(self, place: Span) -> str:
        """The line on which something begins; nothing behind the end of the text."""
        number = place.line - self.first_line
        return self.rows[number] if number < len(self.rows) else ""

    def text(self, place: Span) -> str:
        """What stands at a place, on one line."""
        rows = [*self.rows[place.line - self.first_line : place.end_line - self.first_line + 1]]
        rows[-1] = rows[-1][: place.end_column - 1]
        rows[0] = rows[0][place.column - 1 :]
        return " ".join(" ".join(rows).split())
