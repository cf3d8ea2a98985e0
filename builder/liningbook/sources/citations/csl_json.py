"""A reference list in CSL-JSON, read piece by piece so that every entry and field keeps its place.

JSON: RFC 8259. Entries: the CSL-JSON schema of the Citation Style Language project, version 1.0.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from typing import Any, NoReturn

from liningbook.finding import Finding, Refused, Span, fault
from liningbook.sources.citations.reference_entry import MOST_ENTRIES, EntryReader, Reference, SourceText

_WHITE = re.compile(r"[ \t\r\n\ufeff]*")
_LONGEST_INTEGER = 15
"""Longer whole numbers are kept as text, so that no reader of the bundle rounds them."""

_REASONS: Mapping[str, str] = {
    "Expecting value": "json-no-value",
    "Expecting property name enclosed in double quotes": "json-no-name",
    "Expecting ',' delimiter": "json-no-comma",
    "Expecting ':' delimiter": "json-no-colon",
    "Unterminated string starting at": "json-no-quote",
    "Invalid control character at": "json-break-in-text",
    "Invalid \\escape": "json-backslash",
    "Invalid \\uXXXX escape": "json-no-character-code",
    "Illegal trailing comma before end of object": "json-comma-too-many",
    "Illegal trailing comma before end of array": "json-comma-too-many",
}


class _Unreadable(Refused):
    def __init__(self, what: str, position: int, **given: str) -> None:
        super().__init__(what, **given)
        self.position = position


def read_csl_json(source: SourceText) -> tuple[list[Reference], list[Finding]]:
    """The entries of a CSL-JSON text in their order, and what is wrong with the JSON itself or with an entry's form."""
    reader = _JsonReader(source)
    try:
        reader.read_list()
    except _Unreadable as error:
        reader.find("unreadable", (error.position, error.position + 1), error.what, **error.given)
    return reader.entries, reader.findings


class _JsonReader(EntryReader):
    """Walks the list and its entries; the values inside a field are left to the standard library."""

    def __init__(self, source: SourceText) -> None:
        super().__init__(source)
        self.text = source.text
        self.decoder = json.JSONDecoder(
            object_pairs_hook=_without_repeats, parse_float=str, parse_int=_integer, parse_constant=_no_constant
        )

    def read_list(self) -> None:
        start = self.skip(0)
        if start == len(self.text):
            raise _Unreadable("json-nothing", 0)
        if self.text[start] != "[":
            _, end = self.value(start)
            self.nothing_after(end)
            self.find("schema", (start, start + 1), "json-no-list")
            return
        position = self.skip(start + 1)
        if self.peek(position) != "]":
            position, count = self.read_entry(position), 1
            while self.peek(position) != "]":
                if count == MOST_ENTRIES:
                    self.find("unreadable", (position, position + 1), "too-many-entries", most=MOST_ENTRIES)
                    return
                position, count = self.read_entry(self.after(",", position)), count + 1
        self.nothing_after(position + 1)

    def read_entry(self, start: int) -> int:
        if self.peek(start) != "{":
            _, end = self.value(start)
            self.find("schema", (start, end), "json-no-entry")
            return self.skip(end)
        data: dict[str, Any] = {}
        places: dict[str, Span] = {}
        position = self.skip(start + 1)
        if self.peek(position) != "}":
            position = self.read_field(position, data, places)
            while self.peek(position) != "}":
                position = self.read_field(self.after(",", position), data, places)
        self.finish(data, places, start)
        return self.skip(position + 1)

    def read_field(self, start: int, data: dict[str, Any], places: dict[str, Span]) -> int:
        if self.peek(start) != '"':
            raise _Unreadable("json-no-name", start)
        name, end = self.value(start)
        begins = self.after(":", self.skip(end))
        value, ends = self.value(begins)
        quotes = 1 if isinstance(value, str) and self.text[begins] == '"' else 0
        if name in data:
            related = ((places[name], "first-given"),)
            self.find("unreadable", (start + 1, end - 1), "json-field-twice", related, name=name)
        else:
            data[name], places[name] = value, self.source.span(begins + quotes, ends - quotes)
        return self.skip(ends)

    def finish(self, data: dict[str, Any], places: dict[str, Span], start: int) -> None:
        key = data.get("id")
        if isinstance(key, int) and not isinstance(key, bool):
            key = data["id"] = str(key)
        if isinstance(key, str) and key.strip():
            self.entries.append(Reference(key, data, places["id"], places))
        elif "id" in data:
            self.findings.append(fault("schema", places["id"], "json-id-no-text"))
        else:
            self.find("schema", (start, start + 1), "json-no-id")

    def value(self, start: int) -> tuple[Any, int]:
        """The value that starts here and the position after it."""
        try:
            return self.decoder.raw_decode(self.text, start)
        except json.JSONDecodeError as error:
            raise _Unreadable(_REASONS.get(error.msg, "json-other"), error.pos, reason=error.msg) from None
        except _Unreadable as error:
            error.position = start
            raise
        except RecursionError:
            raise _Unreadable("json-too-deep", start) from None

    def nothing_after(self, position: int) -> None:
        position = self.skip(position)
        if position < len(self.text):
            raise _Unreadable("json-more", position)

    def after(self, mark: str, position: int) -> int:
        if position == len(self.text):
            raise _Unreadable("json-not-closed", position)
        if self.peek(position) != mark:
            raise _Unreadable(_REASONS[f"Expecting '{mark}' delimiter"], position)
        return self.skip(position + 1)

    def peek(self, position: int) -> str:
        return self.text[position : position + 1]

    def skip(self, position: int) -> int:
        found = _WHITE.match(self.text, position)
        return found.end() if found else position


def _without_repeats(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    fields: dict[str, Any] = {}
    for name, value in pairs:
        if name in fields:
            raise _Unreadable("json-name-twice", 0, name=name)
        fields[name] = value
    return fields


def _integer(digits: str) -> int | str:
    return int(digits) if len(digits) <= _LONGEST_INTEGER else digits


def _no_constant(name: str) -> NoReturn:
    raise _Unreadable("json-no-constant", 0, name=name)
