"""Why the YAML library refuses a text, in the codes of our own words."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from liningbook.sources.slips.in_text import slip_in

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
"""A pattern for the reasons of both parsers of PyYAML, in C and in Python, and the code of what it means."""

_NO_COLON = re.compile(r" *[^\s:#][^:#\n]*\n *[^\s:]+:(?:\s|$)")
"""A line without a colon, and below it one that begins with a field."""


@dataclass(frozen=True)
class Refusal:
    """Why the YAML library refuses a text, as a code.

    `mark` is where it can be put right (as the library counts), or `stretch` is a line with the columns (all from 0)
    between which it stands. `opened` is where the bracket stands that is not closed, if that is on another line.
    """

    what: str
    mark: Any
    stretch: tuple[int, int, int] | None = None
    opened: Any = None
    given: Mapping[str, str] = field(default_factory=dict)


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
    if slip := slip_in(rows, mark.line, mark.column, reason):
        number, (what, start, end, given) = slip
        return Refusal(what, mark, (number, start, end), given=given)
    if "quoted scalar" in during and "end of stream" in reason:
        return Refusal("quote-not-closed", mark)
    if "mapping values" in reason and mark.line and _NO_COLON.match(f"{rows[mark.line - 1]}\n{row}"):
        above = rows[mark.line - 1]
        return Refusal("no-colon", mark, (mark.line - 1, len(above) - len(above.lstrip()), len(above.rstrip())))
    if mark is context and row[mark.column : mark.column + 1] in ("[", "{"):
        return Refusal("bracket-not-closed", mark)
    if row[mark.column : mark.column + 1] == "[" and "',' or" in reason:
        return Refusal("list-out-of-place", mark)
    opened = context if "flow" in during and context is not None and context.line != mark.line else None
    if re.search("alias|anchor", during):
        return Refusal("anchor", mark)
    for pattern, what in _REASONS:
        if re.search(pattern, reason):
            return Refusal(what, mark, opened=opened)
    return Refusal("not-yaml", mark, opened=opened, given={"reason": reason})


def reason_of(error: Any) -> str:
    """What the library itself says, on one short line."""
    text = getattr(error, "problem", None) or getattr(error, "reason", None) or str(error)
    line = str(text).splitlines()[0] if str(text) else "unknown reason"
    return line if len(line) <= 80 else line[:79] + "…"
