"""Texts in lines as wide as a terminal, each under a hanging indent, and tables as blocks.

A sign takes the columns that Unicode gives it (UAX 11, East Asian Width): two if wide, none if it is set upon the one
before it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from unicodedata import combining, east_asian_width

USUAL = 80
"""Columns where what is printed goes into a file or to a program."""

WIDEST = 100
"""Longer lines are hard to read, however wide the window."""

LEAST = 16
"""Columns that a text has at least, whatever its indent."""

_VARIANTS = "\ufe0e\ufe0f"
"""They choose how the sign before them is drawn."""

_PIECE = re.compile(r"(?:`[^`]*`|(?<=[0-9]) (?=[^\W\d_])|[^ `]|`)+")
"""What is not parted where it fits on a line: a word, what stands in backquotes, a number with its unit."""

_WORD = re.compile(r"[^ ]+")


def wide(text: str) -> int:
    """The columns that a text takes."""
    return len(text) if text.isascii() else sum(_columns(sign) for sign in text)


def _columns(sign: str) -> int:
    if combining(sign) or sign in _VARIANTS:
        return 0
    return 2 if east_asian_width(sign) in "WF" else 1


def wrapped(text: str, width: int, first: str = "", hang: str | None = None) -> list[str]:
    """A text in lines: `first` stands before the first, `hang` before the others (left out: as many blanks)."""
    hang = " " * wide(first) if hang is None else hang
    lines, line, room = [], first, max(LEAST, width - wide(first))
    further = max(LEAST, width - wide(hang))
    taken = 0
    for blanks, piece in _pieces(text, further):
        if taken and taken + blanks + wide(piece) > room:
            lines.append(line)
            line, room, taken, blanks = hang, further, 0, 0
        blanks = blanks if taken else 0
        line += " " * blanks + piece
        taken += blanks + wide(piece)
    return [row.rstrip() for row in (*lines, line)]


def reflowed(lines: Iterable[str], width: int, further: int = 4) -> list[str]:
    """Lines as wide as there is room for; what does not fit goes on so much further in than the line began."""
    found = []
    for line in lines:
        for row in line.split("\n"):
            text = row.lstrip(" ")
            indent = " " * (len(row) - len(text))
            found += [row] if wide(row) <= width else wrapped(text, width, indent, indent + " " * further)
    return found


def _pieces(text: str, most: int) -> Iterator[tuple[int, str]]:
    """The pieces of a text with the blanks before each, none wider than `most`."""
    for blanks, piece in _found(_PIECE, text):
        if wide(piece) <= most:
            yield blanks, piece
            continue
        for number, (between, word) in enumerate(_found(_WORD, piece)):
            before = between if number else blanks
            while wide(word) > most:
                at = _cut(word, most)
                yield before, word[:at]
                word, before = word[at:], 0
            yield before, word


def _found(pattern: re.Pattern[str], text: str) -> Iterator[tuple[int, str]]:
    end = 0
    for found in pattern.finditer(text):
        yield found.start() - end, found[0]
        end = found.end()


def _cut(word: str, most: int) -> int:
    """How many signs of a word fit."""
    taken = 0
    for at, sign in enumerate(word):
        taken += _columns(sign)
        if taken > most and at:
            return at
    return len(word)


def block(rows: Iterable[tuple[str, str]], width: int, indent: str = "") -> list[str]:
    """Labels with their values below one another: the values line up, unless a label leaves them too little room."""
    rows = list(rows)
    column = wide(indent) + max((wide(label) for label, _ in rows), default=0) + 2
    if column * 2 > width:
        return [line for label, text in rows for line in wrapped(f"{label}: {text}", width, indent, f"{indent}    ")]
    lines = []
    for label, text in rows:
        head = f"{indent}{label}"
        lines += wrapped(text, width, head + " " * (column - wide(head)))
    return lines


def table(head: Sequence[str], rows: Sequence[Sequence[str]], width: int) -> list[str] | None:
    """Columns side by side, each as wide as its widest text; nothing where they do not fit on a line."""
    widths = [max(map(wide, column)) for column in zip(head, *rows, strict=True)]
    if sum(widths) + 2 * (len(widths) - 1) > width:
        return None
    rule = ["-" * columns for columns in widths]
    return [
        "  ".join(text + " " * (columns - wide(text)) for text, columns in zip(row, widths, strict=True)).rstrip()
        for row in (head, rule, *rows)
    ]
