"""One entry of a reference list as it was read, with its places, before it is checked."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from liningbook.finding import Finding, Span, fault
from liningbook.sources.citations.identifiers import Wrong

MOST_ENTRIES = 10_000
"""A list with more entries is not read: no practice has one, and reading it would take long."""


@dataclass(frozen=True)
class WrongIdentifier:
    """An identifier that cannot be right: its sort (`DOI`), how it is written, and what is wrong with it."""

    sort: str
    written: str
    wrong: Wrong
    span: Span


@dataclass(frozen=True)
class Reference:
    """An entry of the reference list. `data` is its CSL-JSON form (https://citationstyles.org).

    `span` is the place of its key; `places` maps a CSL field to the place of its value. `doubtful` holds those of its
    identifiers that cannot be right.
    """

    id: str
    data: Mapping[str, object]
    span: Span
    places: Mapping[str, Span] = field(default_factory=dict)
    doubtful: tuple[WrongIdentifier, ...] = ()

    def place(self, name: str) -> Span:
        """The place of a field, or of the key where the field has none of its own."""
        return self.places.get(name, self.span)


class SourceText:
    """A text and its file, for turning positions in the text into places."""

    def __init__(self, file: str, text: str) -> None:
        self.file, self.text = file, text
        self._starts = [0, *(found.end() for found in re.finditer("\n", text))]

    def span(self, start: int, end: int) -> Span:
        """The place of the characters from `start` up to but without `end`; at least one wide."""
        line, column = self._line_column(start)
        end_line, end_column = self._line_column(max(end, start + 1)) if end <= len(self.text) else (line, column + 1)
        return Span(self.file, line, column, end_line, end_column)

    def _line_column(self, position: int) -> tuple[int, int]:
        row = bisect_right(self._starts, position) - 1
        return row + 1, position - self._starts[row] + 1


class EntryReader:
    """What is read of a list: its entries in their order, of which two may have one key, and what is wrong with it."""

    def __init__(self, source: SourceText) -> None:
        self.source = source
        self.entries: list[Reference] = []
        self.findings: list[Finding] = []

    def find(
        self, kind: str, place: tuple[int, int], what: str, related: tuple[tuple[Span, str], ...] = (), **given: Any
    ) -> None:
        """Adds a fault at a stretch of the text."""
        self.findings.append(fault(kind, self.source.span(*place), what, related, **given))


def is_date(parts: list[int]) -> bool:
    """Whether year, month and day (one to three numbers) are a day, month or year of the calendar."""
    try:
        date(*[*parts, 1, 1][: max(len(parts), 3)])
    except (ValueError, TypeError, OverflowError):
        return False
    return bool(parts)


def is_day_of(text: str) -> bool:
    """Whether a text is a day, a month or a year of the calendar: `2024-05-01`, `2024-05`, `2024`."""
    is_written = re.fullmatch(r"[0-9]{4}(-[0-9]{2}(-[0-9]{2})?)?", text)
    return bool(is_written) and is_date([int(part) for part in text.split("-")])
