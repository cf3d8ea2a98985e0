"""Slips of the pen that YAML reads as something else or not at all, and what the author meant to write.

A comma in a text that is not in quotes, curly quotes, no blank after a colon, an apostrophe in a text in single quotes,
a sign for a range.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import NamedTuple

CURLY = {"“": "”", "„": "“”", "”": "”", "‘": "’", "‚": "‘’", "«": "»", "»": "«", "‹": "›", "›": "‹"}
"""Quotation marks that are none to YAML: each opening one with those that close it."""

_NO_BLANK = re.compile(r"([A-Za-z][\w-]*):(?!//)(\S.*)", re.DOTALL)
_NO_FIELDS = {"doi", "http", "https", "isbn", "issn", "mailto", "pmcid", "pmid", "urn"}
"""What stands before a colon without a blank and is no name of a field."""

LONGEST = 300
"""A longer text is not looked through for its end."""

_END = r"(?=\s*(?:[,}\]]|\s#|$))"
"""What follows the end of a value."""


class Slip(NamedTuple):
    """A code with the values of its words, and the columns (from 0) of a line between which it stands."""

    what: str
    start: int
    end: int
    given: Mapping[str, str]


def in_quotes(text: str) -> str:
    """A text on one line as YAML reads it in quotes."""
    text = " ".join(text.split())
    return f'"{text}"' if '"' not in text and "\\" not in text else "'" + text.replace("'", "''") + "'"


def inside_curly(text: str) -> str | None:
    """What stands in the curly quotes around a whole text; `None` where there are none."""
    if len(text) < 3 or text[-1] not in CURLY.get(text[0], ""):
        return None
    inner = text[1:-1].strip()
    closing = "" if text[0] in "‘‚" else text[-1]  # an apostrophe looks the same
    return None if not inner or text[0] in inner or (closing and closing in inner) else inner


def without_blank(text: str) -> tuple[str, str] | None:
    """Name and value of a field without a blank after its colon, `title:Line`; `None` where a text is none."""
    found = _NO_BLANK.fullmatch(text) if ":" in text else None
    return (found[1], found[2]) if found and found[1].lower() not in _NO_FIELDS else None


def no_blank(name: str, value: str, start: int) -> Slip:
    """The slip of a field whose name begins at a column."""
    colon = start + len(name)
    text = " ".join(value.split())
    text = in_quotes(text) if ": " in text and text[0] not in "{['\"" else text
    return Slip("no-blank", colon, colon + 1, {"instead": f"{name}: {text}"})


def slip_in(rows: Sequence[str], number: int, column: int, reason: str) -> tuple[int, Slip] | None:
    """The slip for which YAML most likely refuses a text, with its line; `reason` is what the library says."""
    row = rows[number] if number < len(rows) else ""
    slip = _sign(row, column) or _quotes(row, column) or _curly(row, column)
    if slip is not None:
        return number, slip
    if "mapping values" in reason or "expected ':'" in reason:
        for line in (number, number - 1):
            text = rows[line].strip() if 0 <= line < len(rows) else ""
            start = len(rows[line]) - len(rows[line].lstrip(" -")) if text else 0
            if named := without_blank(text.lstrip("- ")):
                return line, no_blank(*named, start)
    return None


def _sign(row: str, column: int) -> Slip | None:
    """A value that begins with `>`, which in YAML begins a text of several lines."""
    start = next((at.start(1) for at in re.finditer(r"[:\-,\[{]\s*(>)", row) if at.start(1) <= column), None)
    if start is None:
        return None
    from liningbook.notation.written_range import range_meant

    is_item = not row[:start].rstrip().endswith(":")  # of a list, in which a comma without a digit behind it ends it
    whole = re.split(r"[}\]]|\s#|,(?![0-9])" if is_item else r"[}\]]|\s#", row[start : start + LONGEST])[0]
    for end in (len(whole), *(at.start() for at in re.finditer(r",(?=\s*[\w-]+:)", whole))):
        if meant := range_meant(whole[:end]):
            return Slip("sign-in-yaml", start, start + len(whole[:end].rstrip()), dict(meant))
    return None


def _quotes(row: str, column: int) -> Slip | None:
    """A text in quotes that goes on after them: its own quotes end it."""
    texts = re.compile(r"(?:(?<=[:\-,\[{]\s)|(?<=[\[{]))(?:'(?:[^']|'')*'|\"(?:[^\"\\]|\\.)*\")")
    quoted = None
    for found in texts.finditer(row, 0, column):
        quoted = found
    if quoted is None or row[quoted.end() : column].strip():
        return None
    rest, mark = row[quoted.end() :], quoted[0][0]
    if re.match(r"\s*(?:[,}\]:]|\s#|$)", rest):
        return None
    closed = re.compile(mark + _END).search(row, quoted.end())
    end = closed.end() if closed else quoted.end() + len(re.split(r"[,}\]]|\s#", rest)[0].rstrip())
    text = row[quoted.start() + 1 : end - 1] if closed else row[quoted.start() : end]
    return Slip("quotes-inside", quoted.start(), end, {"instead": in_quotes(text.replace(mark * 2, mark))})


def _curly(row: str, column: int) -> Slip | None:
    """A text in curly quotes that YAML does not take for one."""
    for opening, closing in CURLY.items():
        for found in re.finditer(
            rf"(?:[:\-,\[{{]\s|[\[{{]){opening}[^{opening}]{{1,{LONGEST}}}?[{closing}]{_END}", row
        ):
            text = found[0][found[0].index(opening) :]
            start = found.end() - len(text)
            if start <= column <= found.end() and (inner := inside_curly(text)):
                return Slip("curly-quotes", start, found.end(), {"instead": in_quotes(inner)})
    return None
