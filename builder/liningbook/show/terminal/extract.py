"""The source line that a finding speaks of, ready to be shown: cut to a width, with the wrong text set apart."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from liningbook.finding import Span
from liningbook.say.cases import shortened
from liningbook.say.report import place_words
from liningbook.sources.text import visible

MOST_WIDE = 110
"""Columns of a source line that are shown; a longer one is cut around the place."""

MOST_SAID = 600
"""Characters of a message that are shown."""


@dataclass(frozen=True)
class Extract:
    """A place in a source. `before`, `wrong` and `after` are its line; all are empty where there is nothing to show."""

    file: str
    line: int
    column: int
    before: str = ""
    wrong: str = ""
    after: str = ""
    label: str = ""

    @property
    def place(self) -> str:
        """File and line in words; the file alone where there is nothing to show."""
        return place_words(self.file, self.line) if self.has_text or self.line > 1 else self.file

    @property
    def has_text(self) -> bool:
        """Whether there is a line to show."""
        return bool(self.before or self.wrong or self.after)


def extract_of(span: Span, label: str, texts: Mapping[str, str]) -> Extract:
    """What is shown of a place in the sources, with the words said at it."""
    rows = texts.get(span.file, "").split("\n")
    row = rows[span.line - 1].replace("\t", " ") if span.line <= len(rows) else ""
    if not row.strip():
        return Extract(span.file, span.line, span.column)
    end = min(span.end_column - 1, len(row)) if span.end_line == span.line else len(row)
    start, length = span.column - 1, max(1, end - (span.column - 1))
    if len(row) > MOST_WIDE:
        first = max(0, start - MOST_WIDE // 3)
        rest = "…" if len(row) > first + MOST_WIDE else ""
        row, start = ("…" if first else "") + row[first : first + MOST_WIDE] + rest, start - first + (1 if first else 0)
        length = min(length, len(row) - start)
    # What is missing at the end of a line stands behind its last sign.
    row = row.ljust(start + max(1, length))
    end = start + max(1, length)
    before, wrong, after = (visible(part) for part in (row[:start], row[start:end], row[end:]))
    return Extract(span.file, span.line, span.column, before, wrong, after, label)


def on_one_line(message: str) -> str:
    """A message on one line, with signs that do not show written out, and not too long."""
    return shortened(" ".join(visible(message).split()), MOST_SAID)
