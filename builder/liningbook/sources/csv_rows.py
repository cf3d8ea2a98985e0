"""A table as text: bytes to rows of cells and back, a piece at a time, however long the table is.

CSV as in RFC 4180, and what spreadsheets make of it. The separator is that of comma, semicolon and tab which stands
most often in the first line outside quotation marks; where two are level, the earlier of the three. The text is UTF-8
with or without a mark at the start; lines end in LF, CR LF or CR. Bytes that are not UTF-8 are kept as surrogates, so
that they can be written again as they were.
"""

from __future__ import annotations

import csv
import re
from codecs import getincrementaldecoder
from collections import deque
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from io import StringIO
from itertools import chain, islice
from typing import BinaryIO

from liningbook.finding import Refused

MARK = "\ufeff"
SEPARATORS = ",;\t"
BLOCK = 1 << 18
"""Bytes read at a time."""
BATCH = 1000
"""Rows written at a time."""
LONGEST_LINE = 1 << 20
MOST_LINES = 256
"""Lines of one row; a spreadsheet lets a cell have 254. A row with more has a quotation mark that is never closed."""


class CannotRead(Refused):
    """Why a table cannot be used at all: a code, and the values that its words need."""


class Broken(list[str]):
    """A row without cells: its quotation marks leave open where a cell ends. `text` is its first line."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.text = text


@dataclass(frozen=True)
class Rows:
    """The rows of a table, its first included, to be taken once; and how the table is written."""

    lines: Iterator[str]
    separator: str = ","
    newline: str = "\r\n"
    is_marked: bool = False

    def __iter__(self) -> Iterator[list[str]]:
        """Row by row. One with wrong quotation marks costs itself alone: reading goes on with the line after it."""
        seen: list[str] = []
        again: deque[str] = deque()
        while True:
            try:
                for row in csv.reader(_noted(again, self.lines, seen), delimiter=self.separator, strict=True):
                    yield row
                    seen.clear()
                return
            except csv.Error:  # a cell that never ends or too late, is too long (131,072 characters), or ends early
                broken = Broken(seen[0].rstrip("\r\n"))
                again.extendleft(reversed(seen[1:]))
                seen.clear()
            yield broken


def _noted(again: deque[str], lines: Iterator[str], seen: list[str]) -> Iterator[str]:
    """The lines to be read again, then the rest, each noted; they end where a row has too many."""
    while len(seen) < MOST_LINES and (line := again.popleft() if again else next(lines, "")):
        seen.append(line)
        yield line


def open_rows(stream: BinaryIO) -> Rows:
    """The rows of a CSV file. Raises CannotRead, here or while the rows are taken."""
    lines = chain.from_iterable(_blocks(stream))
    line = next(lines, "")
    first = line.removeprefix(MARK)
    if first.startswith("PK\3\4"):
        raise CannotRead("spreadsheet")
    if first[:2] in ("\udcff\udcfe", "\udcfe\udcff") or "\0" in first:
        raise CannotRead("table-not-utf-8")
    outside = "".join(first.split('"')[::2])
    separator = max(SEPARATORS, key=outside.count)
    newline = first[len(first.rstrip("\r\n")) :] or "\r\n"
    return Rows(chain([first] if first else [], lines), separator, newline, first != line)


def _blocks(stream: BinaryIO) -> Iterator[Iterable[str]]:
    """The text in blocks of whole lines, each of which gives its lines."""
    decode = getincrementaldecoder("utf-8")("surrogateescape").decode
    rest = ""
    while True:
        data = stream.read(BLOCK)
        text = rest + decode(data, not data)
        end = len(text)
        if data:  # a CR at the very end may be half of a CR LF
            end = max(text.rfind("\n"), text.rfind("\r", 0, -1)) + 1
        rest = text[end:]
        if len(rest) > LONGEST_LINE:
            raise CannotRead("endless-line", most=LONGEST_LINE)
        yield StringIO(text[:end], newline="")
        if not data:
            return


def to_bytes(table: Iterable[list[str]], like: Rows) -> Iterator[bytes]:
    """Rows of two cells or more as CSV, written as `like` was."""
    lines, start = to_lines(table, like.separator), MARK if like.is_marked else ""
    while batch := list(islice(lines, BATCH)):
        text = start + "".join([line + like.newline for line in batch])
        yield text.encode("utf-8", "surrogateescape")
        start = ""


def to_lines(table: Iterable[Sequence[str]], separator: str = ",") -> Iterator[str]:
    """Rows of two cells or more as lines without their ends; no cell is a formula to a spreadsheet."""
    to_line = csv.writer(_Echo(), delimiter=separator).writerow  # lines end in CR LF, so both are put in quotes
    for row in table:
        yield to_line([harmless(cell) if cell[:1] in _STARTS else cell for cell in row])[:-2]


_FORMULA = re.compile("[\\s\ufeff]*[-=+@\uff0d\uff1d\uff0b\uff20]|[\t\r\n]")
_STARTS = frozenset(
    "-=+@\uff0d\uff1d\uff0b\uff20\ufeff\t\n\v\f\r\x1c\x1d\x1e\x1f \x85\xa0\u1680\u2000\u2001\u2002\u2003\u2004\u2005"
    "\u2006\u2007\u2008\u2009\u200a\u2028\u2029\u202f\u205f\u3000"
)
"""How such a cell begins; it is looked at more closely only then."""
_NUMBER = re.compile(r"\s*[-+]?[0-9]+([.,][0-9]+)?\s*")


def harmless(cell: str) -> str:
    """A cell that a spreadsheet takes for no formula: it begins with an apostrophe. A plain number stays one."""
    return f"'{cell}" if _FORMULA.match(cell) and not _NUMBER.fullmatch(cell) else cell


class _Echo:
    def write(self, text: str) -> str:
        return text


def is_foreign(text: str) -> bool:
    """Whether a text holds bytes that are not UTF-8."""
    return text != legible(text)


def legible(text: str) -> str:
    """The text with a replacement character in place of bytes that are not UTF-8, fit for a message."""
    return text.encode("utf-8", "surrogateescape").decode("utf-8", "replace")
