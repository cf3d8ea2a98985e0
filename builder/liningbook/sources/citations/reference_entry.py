"""One entry of a reference list as it was read, with its places, before it is checked."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from liningbook.finding import Finding, Span, fault

MOST_ENTRIES = 10_000
"""A list with more entries is not read: no practice has one, and reading it would take long."""


@dataclass(frozen=True)
class Reference:
    """An entry of the reference list. `data` is its CSL-JSON form (https://citationstyles.org)."""

    id: str
    data: Mapping[str, object]
    span: Span


@dataclass(frozen=True)
class Entry:
    """An entry in CSL-JSON form.

    `span` is the place of its key; `places` maps a CSL field to the place of its value. Two entries may have the
    same key here.
    """

    id: str
    data: Mapping[str, object]
    span: Span
    places: Mapping[str, Span] = field(default_factory=dict)

    def place(self, name: str) -> Span:
        """The place of a field, or of the key where the field has none of its own."""
        return self.places.get(name, self.span)


class SourceText:
    """A text and its file, for turning positions in the text into places."""

    def __init__(self, file: str, text: str) -> None:
        self.file, self.text = file, text
        self._starts = [0]
        self._starts += [place + 1 for place, character in enumerate(text) if character == "\n"]

    def span(self, start: int, end: int) -> Span:
        """The place of the characters from `start` up to but without `end`; at least one wide."""
        line, column = self._line_column(start)
        end_line, end_column = self._line_column(max(end, start + 1)) if end <= len(self.text) else (line, column + 1)
        return Span(self.file, line, column, end_line, end_column)

    def _line_column(self, position: int) -> tuple[int, int]:
        row = bisect_right(self._starts, position) - 1
        return row + 1, position - self._starts[row] + 1


def too_many(place: Span) -> Finding:
    """An error for a list that is longer than any practice's."""
    return fault("unreadable", place, "too-many-entries", most=MOST_ENTRIES)


def is_date(parts: list[int]) -> bool:
    """Whether year, month and day (one to three numbers) are a day, month or year of the calendar."""
    try:
        date(*[*parts, 1, 1][: max(len(parts), 3)])
    except (ValueError, TypeError, OverflowError):
        return False
    return bool(parts)
