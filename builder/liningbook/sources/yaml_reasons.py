"""Why the YAML library refuses a text, as one of our own codes and at the place where it can be put right.

Written for both parsers of PyYAML, the one in C and the one in Python, which word their reasons differently.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

_REASONS = (
    (r"',' or '\]'", "list-not-closed"),
    (r"',' or '\}'", "group-not-closed"),
    (r"expected key|<block end>|<document start>", "not-lined-up"),
    (r"'-' indicator|sequence entries", "not-lined-up-with-list"),
    (r"mapping values", "colon-in-value"),
    (r"expected ':'", "no-colon-after"),
    (r"start any token", "no-start-of-value"),
    (r"node content", "value-missing"),
    (r"document indicator", "hyphens-in-quotes"),
    (r"escape|hexdecimal", "backslash"),
    (r"comment or line break", "block-text-on-line"),
    (r"alphabetic|directive", "percent-sign"),
    (r"mapping keys", "question-mark"),
    (r"depth|nest", "brackets-too-deep"),
)
"""A pattern for the library's reason, and the code of what it means."""

_NO_COLON = re.compile(r" *[^\s:#][^:#\n]*\n *[^\s:]+:(?:\s|$)")
"""A line without a colon, and below it one that begins with a field."""


@dataclass(frozen=True)
class Refusal:
    """What is wrong, as a code; `mark` is where (as the library counts), or `row` is a whole line (from 0).

    `opened` is where the bracket stands that is not closed, if that is on another line. `reason` is what the library
    itself says, where nothing better is known.
    """

    what: str
    mark: Any
    row: int | None = None
    opened: Any = None
    reason: str = ""


def refusal(error: Any, text: str) -> Refusal:
    """What a `MarkedYAMLError` of PyYAML about a text means."""
    mark, context = error.problem_mark or error.context_mark, error.context_mark
    reason, during = reason_of(error), str(error.context)
    rows = text.split("\n")
    if context is not None and (mark.line >= len(rows) - 1 or "expected ':'" in reason):
        mark = context
    row = rows[mark.line] if mark.line < len(rows) else ""
    blank = row[: len(row) - len(row.lstrip())]
    if "\t" in blank or row[mark.column : mark.column + 1] == "\t":
        return Refusal("tab", mark)
    if "quoted scalar" in during and "end of stream" in reason:
        return Refusal("quote-not-closed", mark)
    if "mapping values" in reason and mark.line and _NO_COLON.match(f"{rows[mark.line - 1]}\n{row}"):
        return Refusal("no-colon", mark, row=mark.line - 1)
    if mark is context and row[mark.column : mark.column + 1] in ("[", "{"):
        return Refusal("bracket-not-closed", mark)
    if row[mark.column : mark.column + 1] == "[" and "',' or" in reason:
        return Refusal("list-out-of-place", mark)
    opened = context if "flow" in during and context is not None and context.line != mark.line else None
    for pattern, what in _REASONS:
        if re.search(pattern, reason):
            return Refusal(what, mark, opened=opened)
    return Refusal("not-yaml", mark, opened=opened, reason=reason)


def reason_of(error: Any) -> str:
    """What the library itself says, on one short line."""
    text = getattr(error, "problem", None) or getattr(error, "reason", None) or str(error)
    line = str(text).splitlines()[0] if str(text) else "unknown reason"
    return line if len(line) <= 80 else line[:79] + "…"
