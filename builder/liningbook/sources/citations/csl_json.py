"""A reference list in CSL-JSON, read piece by piece so that every entry and field keeps its place.

JSON: RFC 8259. Entries: the CSL-JSON schema of the Citation Style Language project, version 1.0.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from typing import Any, NoReturn

from liningbook.finding import Finding, Label, Span
from liningbook.sources.citations.reference_entry import MOST_ENTRIES, Entry, SourceText, mistake, shortened, too_many

_WHITE = re.compile(r"[ \t\r\n\ufeff]*")
_LONGEST_INTEGER = 15
"""Longer whole numbers are kept as text, so that no reader of the bundle rounds them."""

_REASONS: Mapping[str, str] = {
    "Expecting value": "a value is missing here",
    "Expecting property name enclosed in double quotes": "a field name in double quotes is missing here",
    "Expecting ',' delimiter": "a comma is missing here",
    "Expecting ':' delimiter": "a colon is missing here",
    "Unterminated string starting at": "this text has no closing quote",
    "Invalid control character at": "a line break or tab stands inside quotes",
    "Invalid \\escape": "a backslash stands before a character that needs none; write two backslashes for one",
    "Invalid \\uXXXX escape": "`\\u` is not followed by four digits of a character code",
    "Illegal trailing comma before end of object": "a comma stands before a closing bracket",
    "Illegal trailing comma before end of array": "a comma stands before a closing bracket",
}


class _Unreadable(Exception):
    def __init__(self, message: str, position: int) -> None:
        super().__init__(message)
        self.message, self.position = message, position


def read_csl_json(source: SourceText) -> tuple[list[Entry], list[Finding]]:
    """The entries of a CSL-JSON text in their order, and what is wrong with the JSON itself or with an entry's form."""
    reader = _Reader(source)
    try:
        reader.read_list()
    except _Unreadable as error:
        place = source.span(error.position, error.position + 1)
        reader.findings.append(
            mistake("unreadable", f"this is not JSON: {error.message}", place, "check the brackets, commas and quotes")
        )
    return reader.entries, reader.findings


class _Reader:
    """Walks the list and its entries; the values inside a field are left to the standard library."""

    def __init__(self, source: SourceText) -> None:
        self.source, self.text = source, source.text
        self.entries: list[Entry] = []
        self.findings: list[Finding] = []
        self.decoder = json.JSONDecoder(
            object_pairs_hook=_without_repeats, parse_float=str, parse_int=_integer, parse_constant=_no_constant
        )

    def read_list(self) -> None:
        start = self.skip(0)
        if start == len(self.text):
            raise _Unreadable("there is nothing in this file", 0)
        if self.text[start] != "[":
            _, end = self.value(start)
            self.nothing_after(end)
            advice = "put square brackets around the entries"
            self.findings.append(
                mistake("schema", "a reference list is a list of entries", self.source.span(start, start + 1), advice)
            )
            return
        position = self.skip(start + 1)
        if self.peek(position) != "]":
            position, count = self.read_entry(position), 1
            while self.peek(position) != "]":
                if count == MOST_ENTRIES:
                    self.findings.append(too_many(self.source.span(position, position + 1)))
                    return
                position, count = self.read_entry(self.after(",", position)), count + 1
        self.nothing_after(position + 1)

    def read_entry(self, start: int) -> int:
        if self.peek(start) != "{":
            _, end = self.value(start)
            what = self.source.span(start, end)
            self.findings.append(
                mistake("schema", "an entry is a group of fields in curly brackets", what, 'for example {"id": "…"}')
            )
            return self.skip(end)
        data: dict[str, Any] = {}
        places: dict[str, Span] = {}
        position = self.skip(start + 1)
        if self.peek(position) != "}":
            position = self.read_field(position, data, places)
            while self.peek(position) != "}":
                position = self.read_field(self.after(",", position), data, places)
        self.finish(data, places, self.source.span(start, start + 1))
        return self.skip(position + 1)

    def read_field(self, start: int, data: dict[str, Any], places: dict[str, Span]) -> int:
        if self.peek(start) != '"':
            raise _Unreadable(_REASONS["Expecting property name enclosed in double quotes"], start)
        name, end = self.value(start)
        begins = self.after(":", self.skip(end))
        value, ends = self.value(begins)
        quotes = 1 if isinstance(value, str) and self.text[begins] == '"' else 0
        place = self.source.span(begins + quotes, ends - quotes)
        if name in data:
            key_place = self.source.span(start + 1, end - 1)
            labels = (Label(places[name], "first given here"),)
            message = f"'{shortened(name)}' is given twice in one entry"
            self.findings.append(mistake("unreadable", message, key_place, "keep one of the two", labels))
        else:
            data[name], places[name] = value, place
        return self.skip(ends)

    def finish(self, data: dict[str, Any], places: dict[str, Span], bracket: Span) -> None:
        key = data.get("id")
        if isinstance(key, int) and not isinstance(key, bool):
            key = data["id"] = str(key)
        if isinstance(key, str) and key.strip():
            self.entries.append(Entry(key, data, places["id"], places))
        elif "id" in data:
            message = "the `id` of an entry is a text that rules can cite"
            self.findings.append(mistake("schema", message, places["id"], 'for example "id": "marlow2019"'))
        else:
            message = "this entry has no `id`, so no rule can cite it"
            self.findings.append(mistake("schema", message, bracket, 'add one, for example "id": "marlow2019"'))

    def value(self, start: int) -> tuple[Any, int]:
        """The value that starts here and the position after it."""
        try:
            return self.decoder.raw_decode(self.text, start)
        except json.JSONDecodeError as error:
            raise _Unreadable(_REASONS.get(error.msg, error.msg), error.pos) from None
        except _Refused as error:
            raise _Unreadable(str(error), start) from None
        except RecursionError:
            raise _Unreadable("values are nested too deep", start) from None

    def nothing_after(self, position: int) -> None:
        position = self.skip(position)
        if position < len(self.text):
            raise _Unreadable("something stands after the end of the list", position)

    def after(self, mark: str, position: int) -> int:
        if position == len(self.text):
            raise _Unreadable("the text ends before all its brackets are closed", position)
        if self.peek(position) != mark:
            raise _Unreadable(_REASONS[f"Expecting '{mark}' delimiter"], position)
        return self.skip(position + 1)

    def peek(self, position: int) -> str:
        return self.text[position : position + 1]

    def skip(self, position: int) -> int:
        found = _WHITE.match(self.text, position)
        return found.end() if found else position


class _Refused(ValueError):
    pass


def _without_repeats(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    fields: dict[str, Any] = {}
    for name, value in pairs:
        if name in fields:
            raise _Refused(f"'{shortened(name)}' is given twice inside this value")
        fields[name] = value
    return fields


def _integer(digits: str) -> int | str:
    return int(digits) if len(digits) <= _LONGEST_INTEGER else digits


def _no_constant(name: str) -> NoReturn:
    raise _Refused(f"'{name}' is no value in JSON")
