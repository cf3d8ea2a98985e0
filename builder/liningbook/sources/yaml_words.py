"""What the YAML library says of broken text, in plain words and at the place where it can be put right.

Written for both parsers of PyYAML, the one in C and the one in Python, which word their reasons differently.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

_LINE_UP = "give the fields of one group the same indentation, and check the quotes and brackets above"

_REASONS = (
    (r"',' or '\]'", "a comma or the closing `]` is missing here", "use commas, and close the list with `]`"),
    (r"',' or '\}'", "a comma or the closing `}` is missing here", "use commas, and close the group with `}`"),
    (r"expected key|<block end>|<document start>", "this line does not line up with those above it", _LINE_UP),
    (r"'-' indicator|sequence entries", "this line does not line up with the list it stands in", _LINE_UP),
    (r"mapping values", "a colon followed by a space stands inside a value", "put the whole value in quotes"),
    (r"expected ':'", "a colon and a space are missing after this", "write `name: value`"),
    (r"start any token", "a value cannot begin with this character", "put the whole value in quotes"),
    (r"node content", "a value is missing here", "write the value, or leave the field out"),
    (r"document indicator", "three hyphens or dots stand in a text in quotes", "close the quotes above"),
    (r"escape|hexdecimal", "a backslash means something else in double quotes", "use single quotes around the text"),
    (r"comment or line break", "a text that begins with `|` or `>` starts on the next line", "or put it in quotes"),
    (r"alphabetic|directive", "a line cannot begin with `%`", "put the whole value in quotes"),
    (r"mapping keys", "a question mark cannot stand here", "put the whole value in quotes"),
    (r"depth|nest", "values are nested too deep", "close the brackets that are open"),
)
"""A pattern for the library's reason, what it means, and what to do."""

_ANYTHING = "check the indentation and the quotes of this line and of the one before"

_NO_COLON = re.compile(r" *[^\s:#][^:#\n]*\n *[^\s:]+:(?:\s|$)")
"""A line without a colon, and below it one that begins with a field."""


@dataclass(frozen=True)
class Told:
    """What is wrong and what to do; `mark` is where (as the library counts), or `row` is a whole line (from 0).

    `opened` is where the bracket stands that is not closed, if that is on another line.
    """

    message: str
    advice: str
    mark: Any
    row: int | None = None
    opened: Any = None


def in_words(error: Any, text: str) -> Told:
    """A `MarkedYAMLError` of PyYAML about a text, in plain words."""
    mark, context = error.problem_mark or error.context_mark, error.context_mark
    reason, during = reason_of(error), str(error.context)
    rows = text.split("\n")
    if context is not None and (mark.line >= len(rows) - 1 or "expected ':'" in reason):
        mark = context
    row = rows[mark.line] if mark.line < len(rows) else ""
    blank = row[: len(row) - len(row.lstrip())]
    if "\t" in blank or row[mark.column : mark.column + 1] == "\t":
        return Told("a tab stands where only spaces may", "indent with spaces", mark)
    if "quoted scalar" in during and "end of stream" in reason:
        return Told("a quote is opened here and never closed", "close it after the text", mark)
    if "mapping values" in reason and mark.line and _NO_COLON.match(f"{rows[mark.line - 1]}\n{row}"):
        return Told("this line has no colon", "write `name: value`", mark, row=mark.line - 1)
    if mark is context and row[mark.column : mark.column + 1] in ("[", "{"):
        return Told("a bracket is opened here and never closed", "close it after the last value in it", mark)
    if row[mark.column : mark.column + 1] == "[" and "',' or" in reason:
        return Told("a `[` begins a list, and none can stand here", "put the whole value in quotes", mark)
    opened = context if "flow" in during and context is not None and context.line != mark.line else None
    for pattern, message, advice in _REASONS:
        if re.search(pattern, reason):
            return Told(message, advice, mark, opened=opened)
    return Told(f"this cannot be read ({reason})", _ANYTHING, mark, opened=opened)


def reason_of(error: Any) -> str:
    """What the library itself says, on one short line."""
    text = getattr(error, "problem", None) or getattr(error, "reason", None) or str(error)
    line = str(text).splitlines()[0] if str(text) else "unknown reason"
    return line if len(line) <= 80 else line[:79] + "…"
