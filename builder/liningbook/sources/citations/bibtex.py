"""A reference list in BibTeX, turned into CSL-JSON, every entry and field with its place.

BibTeX: O. Patashnik, BibTeXing, 1988; field and entry names of the biblatex manual are understood too. The text is
split into entries by the library bibtexparser (version 2); values and accents are read here, because a decoder that
drops what it does not know could lose a sign.
"""

from __future__ import annotations

import logging
import re
from itertools import islice
from typing import Any

from liningbook.finding import Finding, Span
from liningbook.sources.citations.bibtex_entry import Conversion
from liningbook.sources.citations.bibtex_values import NotAFieldValue, ShortNames, is_bracketed
from liningbook.sources.citations.reference_entry import MOST_ENTRIES, EntryReader, Reference, SourceText

MOST_STRAYS = 100
"""The most mistakes shown in one stretch of text between entries."""

MOST_FIELDS = 1_000
"""Further fields of one entry are not read."""

_TEXT_LINE = re.compile(r"^[ \t\ufeff]*([^%@\s][^\n]{0,40})", re.MULTILINE)
_BLOCK_HEAD = re.compile(r"@\w*\s*[{(]\s*")
_STRAY_ENTRY = re.compile(
    r"^[ \t]*(@[^\s{(]*|(?:article|book|incollection|inproceedings|misc|online|report|techreport)[ \t]*[{(])",
    re.MULTILINE | re.IGNORECASE,
)
_REASONS: tuple[tuple[str, str], ...] = (
    ("Unexpectedly reached end", "bibtex-not-closed-at-end"),
    ("Unexpected block start", "bibtex-not-closed"),
    ("Expected comma", "bibtex-no-comma-after-key"),
    ("Expected a `=`", "bibtex-no-equals"),
)
"""How the library's reason begins, and the code of what it means."""


def read_bibtex(source: SourceText) -> tuple[list[Reference], list[Finding]]:
    """The entries of a BibTeX text in their order, and what is wrong with the text or with a field's value."""
    reader = _BibtexReader(source)
    heads = list(islice(_BLOCK_HEAD.finditer(source.text), MOST_ENTRIES + 1))
    if len(heads) > MOST_ENTRIES:
        reader.find("unreadable", heads[-1].span(), "too-many-entries", most=MOST_ENTRIES)
        return [], reader.findings
    from bibtexparser.splitter import Splitter

    logging.getLogger("bibtexparser").addHandler(logging.NullHandler())
    for block in Splitter(source.text).split().blocks:
        reader.read_block(block)
    if not reader.entries and not reader.findings and (text := _TEXT_LINE.search(source.text)):
        reader.find("unreadable", text.span(1), "bibtex-no-entry")
    return reader.entries, reader.findings


class _BibtexReader(EntryReader):
    """Takes the blocks of the splitter in their order and finds each one's place in the text."""

    def __init__(self, source: SourceText) -> None:
        super().__init__(source)
        self.cursor = 0
        self.short_names = ShortNames()

    def read_block(self, block: Any) -> None:
        from bibtexparser.model import Entry as BibEntry
        from bibtexparser.model import ImplicitComment, ParsingFailedBlock, String

        raw = block.raw or ""
        start = max(self.source.text.find(raw, self.cursor), self.cursor)
        # What the splitter gives of a failed block may reach into the next one.
        self.cursor = start + (1 if isinstance(block, ParsingFailedBlock) else len(raw))
        whole = getattr(block, "ignore_error_block", None) or block
        if isinstance(whole, String):
            self.read_short_name(whole, start, raw)
        elif isinstance(whole, BibEntry):
            self.read_entry(whole, start, raw)
        elif isinstance(block, ParsingFailedBlock):
            self.report_failed(block, start, raw)
        elif isinstance(block, ImplicitComment):
            self.report_stray(start, raw)

    def read_short_name(self, string: Any, start: int, raw: str) -> None:
        try:
            self.short_names.define(string.key, string.value)
        except NotAFieldValue as error:
            self.find(error.kind, (start, start + len(raw)), error.what, **error.given)

    def read_entry(self, entry: Any, start: int, raw: str) -> None:
        begins = start + _end_of_head(raw)
        ends = begins + len(entry.key)
        if not entry.key:
            self.find("schema", (start, begins), "bibtex-no-key", entry_type=entry.entry_type)
            return
        made = Conversion(self.short_names, self.fields(entry, ends), self.findings)
        data = {"id": entry.key, **made.convert(entry.entry_type.lower())}
        self.entries.append(Reference(entry.key, data, self.source.span(begins, ends), made.places))

    def fields(self, entry: Any, position: int) -> dict[str, tuple[str, Span]]:
        """The raw values of an entry by field name in small letters, each with its place."""
        found: dict[str, tuple[str, Span]] = {}
        for number, field in enumerate(entry.fields):
            if number == MOST_FIELDS:
                self.find("unreadable", (position, position + 1), "bibtex-too-many-fields", most=MOST_FIELDS)
                break
            begins = self.source.text.index(field.key, position)
            ends = begins + len(field.key)
            equals = self.source.text.index("=", ends)
            value = self.source.text.index(field.value, equals + 1)
            position = value + len(field.value)
            name, quotes = field.key.lower(), 1 if is_bracketed(field.value) else 0
            if not name:
                self.find("unreadable", (equals, equals + 1), "bibtex-no-name")
            elif name in found:
                related = ((found[name][1], "first-given"),)
                self.find("unreadable", (begins, ends), "bibtex-field-twice", related, name=field.key, entry=entry.key)
            else:
                place = (value + quotes, position - quotes) if field.value else (begins, ends)
                found[name] = (field.value, self.source.span(*place))
        return found

    def report_failed(self, block: Any, start: int, raw: str) -> None:
        reason = getattr(block.error, "abort_reason", "")
        what = next((code for beginning, code in _REASONS if reason.startswith(beginning)), "bibtex-unreadable")
        end = start + len(raw)
        if what == "bibtex-no-comma-after-key":  # the key is marked, with what follows it instead
            head = _end_of_head(raw)
            key = re.split(r"[\n={}\",@]", raw[head:], maxsplit=1)[0].rstrip()
            place = (start + head, start + head + len(key))
        elif what == "bibtex-no-equals":
            place = (end, end + 1)
        else:
            line_end = self.source.text.find("\n", start)
            place = (start, line_end if line_end > start else start + len(raw.rstrip()))
        self.find("unreadable", place, what)

    def report_stray(self, start: int, raw: str) -> None:
        for found in islice(_STRAY_ENTRY.finditer(raw), MOST_STRAYS):
            self.find("unreadable", (start + found.start(1), start + found.end(1)), "bibtex-stray")


def _end_of_head(raw: str) -> int:
    """Where in a block its key begins."""
    head = _BLOCK_HEAD.match(raw)
    return head.end() if head else 0
