"""Whether a work was retracted, as its entry says; whether its title asks; and lists of works that were.

The form of the list is that which anyone can make of any source: DOIs, one a line, or a table with a column `doi`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from itertools import islice
from typing import BinaryIO
from urllib.parse import unquote

from liningbook.finding import Span
from liningbook.sources.citations.identifiers import bare_doi
from liningbook.sources.citations.reference_entry import Reference, is_day_of
from liningbook.sources.csv_rows import Broken, CannotRead, Rows, legible, open_rows

MOST_ROWS = 1_000_000
"""A longer list is not read; all retractions ever made are a tenth of that."""

MOST_TOLD = 5
"""So many rows that hold no DOI are told one by one."""

_LOOSE_DOI = re.compile(r"10\.[0-9]{4,9}(\.[0-9]+)*/\S+")
"""What may be a DOI, old ones with odd signs among them: none must be missed here."""

_MARKUP = re.compile(r"<[^<>]{0,200}>")
_ASKS = re.compile(
    r"[\W_]*(?:retracted\b|retraction(?:\s+(?:note|notice|statement))?\s*(?:[:\[(\"'“‘«]|(?:of|to)\b))", re.IGNORECASE
)


@dataclass(frozen=True)
class Retraction:
    """That a work was retracted: the day, month or year, and why, as far as that is said.

    `listed` is where a list names it, if that is how it is known: the file and the row.
    """

    span: Span
    on: str = ""
    because: str = ""
    listed: tuple[str, int] | None = None

    def holds_on(self, day: date) -> bool:
        """Whether the work was retracted by a day; a month or a year counts from its first day."""
        return not is_day_of(self.on) or self.on <= day.isoformat()[: len(self.on)]


@dataclass(frozen=True)
class RetractedList:
    """The DOIs of a list, in small letters, each with its row; and the rows that hold none."""

    name: str
    rows: Mapping[str, int]
    passed_over: tuple[tuple[int, str], ...] = ()
    more: int = 0
    """How many more rows hold no DOI."""

    def of(self, reference: Reference) -> Retraction | None:
        """What the list says of a work, by its DOI."""
        doi = reference.data.get("DOI")
        row = self.rows.get(plain_doi(doi)) if isinstance(doi, str) else None
        return Retraction(reference.place("DOI"), listed=(self.name, row)) if row is not None else None


def retraction_of(reference: Reference) -> Retraction | None:
    """What an entry itself says of a retraction, in the field `retracted`."""
    said = reference.data.get("retracted")
    if not isinstance(said, dict):
        return None
    on, because = (" ".join(str(said.get(key, "")).split()) for key in ("on", "because"))
    return Retraction(reference.place("retracted"), on, because)


def is_retraction(value: object) -> bool:
    """Whether the field `retracted` says when, or why, and no more."""
    if not isinstance(value, dict) or not value or value.keys() - {"on", "because"}:
        return False
    on, because = value.get("on", "1"), value.get("because", "x")
    is_day = "on" not in value or (isinstance(on, str) and is_day_of(on))
    return is_day and isinstance(because, str) and bool(because.strip())


def title_asks(title: object) -> bool:
    """Whether a title begins as databases write that of a retracted work, or of the note about it."""
    return isinstance(title, str) and bool(_ASKS.match(_MARKUP.sub("", title[:500])))


def plain_doi(text: str) -> str:
    """A DOI as two are compared: without an address in front, a query, or a stop at the end, in small letters."""
    text = text.strip()
    doi = bare_doi(text)
    doi = (unquote(doi) if "://" in text and doi != text else doi).casefold()
    before, _, query = doi.partition("?")
    return (before if "=" in query else doi).rstrip(".,;")


def read_retracted(stream: BinaryIO, name: str) -> RetractedList:
    """A list of retracted works. Raises CannotRead."""
    reading = _Reading()
    rows = reading.cells(open_rows(stream))
    for number, cell in rows:
        doi = plain_doi(cell)
        if _LOOSE_DOI.fullmatch(doi):
            reading.found.setdefault(doi, number)
        else:
            reading.pass_over(number, cell)
    if not reading.found:
        raise CannotRead("no-doi-in-list")
    return RetractedList(name, reading.found, tuple(reading.told), reading.more)


@dataclass
class _Reading:
    found: dict[str, int] = field(default_factory=dict)
    told: list[tuple[int, str]] = field(default_factory=list)
    more: int = 0

    def pass_over(self, number: int, text: str) -> None:
        if len(self.told) < MOST_TOLD:
            self.told.append((number, legible(" ".join(text.split()))[:80]))
        else:
            self.more += 1

    def cells(self, rows: Rows) -> Iterator[tuple[int, str]]:
        """The cells in which DOIs are looked for, each with the number of its row; those without text left out."""
        numbered = enumerate(islice(rows, MOST_ROWS + 1), 1)
        column, width = 0, 1
        for number, row in numbered:
            if number > MOST_ROWS:
                raise CannotRead("list-too-long", most=MOST_ROWS)
            if number == 1:
                width = len(row)
                names = [cell.strip().casefold() for cell in row]
                if width > 1 and "doi" not in names:
                    raise CannotRead("no-column-doi")
                if "doi" in names:
                    column = names.index("doi")
                    continue
                if "/" not in "".join(row):
                    continue  # a heading in words of its own
            if isinstance(row, Broken):
                self.pass_over(number, row.text)
            elif len(row) > width if width == 1 else 0 < len(row) <= column:
                self.pass_over(number, " ".join(row))
            elif row and row[column].strip():
                yield number, row[column]
