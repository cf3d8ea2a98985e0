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

from liningbook.finding import Finding, Span, fault
from liningbook.sources.citations.bibtex_entry import Conversion
from liningbook.sources.citations.bibtex_values import NotAFieldValue, ShortNames, is_bracketed
from liningbook.sources.citations.reference_entry import MOST_ENTRIES, Entry, SourceText, too_many

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


def read_bibtex(source: SourceText) -> tuple[list[Entry], list[Finding]]:
    """The entries of a BibTeX text in their order, and what is wrong with the text or with a field's value."""
    heads = list(islice(_BLOCK_HEAD.finditer(source.text), MOST_ENTRIES + 1))
    if len(heads) > MOST_ENTRIES:
        return [], [too_many(source.span(heads[-1].start(), heads[-1].end()))]
    from bibtexparser.splitter import Splitter

    logging.getLogger("bibtexparser").addHandler(logging.NullHandler())
    reader = _BibtexReader(source)
    for block in Splitter(source.text).split().blocks:
        reader.read_block(block)
    if not reader.entries and not reader.findings and (text := _TEXT_LINE.search(source.text)):
        place = source.span(text.start(1), text.end(1))
        reader.findings.append(fault("unreadable", place, "bibtex-no-entry"))
    return reader.entries, reader.findings


class _BibtexReader:
    """Takes the blocks of the splitter in their order and finds each one's place in the text."""

    def __init__(self, source: SourceText) -> None:
        self.source = source
        self.cursor = 0
        self.short_names = ShortNames()
        self.entries: list[Entry] = []
        self.findings: list[Finding] = []

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
            place = self.source.span(start, start + len(raw))
            self.findings.append(fault(error.kind, place, error.what, (), **error.given))

    def read_entry(self, entry: Any, start: int, raw: str) -> None:
        head = _BLOCK_HEAD.match(raw)
        key_start = start + (head.end() if head else 0)
        if not entry.key:
            place = self.source.span(start, key_start)
            self.findings.append(fault("schema", place, "bibtex-no-key", entry_type=entry.entry_type))
            return
        fields = self.fields(entry, key_start + len(entry.key))
        made = Conversion(self.short_names, fields, self.findings)
        data = made.convert(entry.entry_type.lower())
        key_place = self.source.span(key_start, key_start + len(entry.key))
        self.entries.append(Entry(entry.key, {"id": entry.key, **data}, key_place, made.places))

    def fields(self, entry: Any, position: int) -> dict[str, tuple[str, Span]]:
        """The raw values of an entry by field name in small letters, each with its place."""
        found: dict[str, tuple[str, Span]] = {}
        for number, field in enumerate(entry.fields):
            if number == MOST_FIELDS:
                place = self.source.span(position, position + 1)
                self.findings.append(fault("unreadable", place, "bibtex-too-many-fields", most=MOST_FIELDS))
                break
            name_start = self.source.text.index(field.key, position)
            equals = self.source.text.index("=", name_start + len(field.key))
            value_start = self.source.text.index(field.value, equals + 1)
            position = value_start + len(field.value)
            name, quotes = field.key.lower(), 1 if is_bracketed(field.value) else 0
            name_place = self.source.span(name_start, name_start + len(field.key))
            if not name:
                place = self.source.span(equals, equals + 1)
                self.findings.append(fault("unreadable", place, "bibtex-no-name"))
                continue
            if name in found:
                related = ((found[name][1], "first-given"),)
                self.findings.append(
                    fault("unreadable", name_place, "bibtex-field-twice", related, name=field.key, entry=entry.key)
                )
                continue
            place = self.source.span(value_start + quotes, position - quotes) if field.value else name_place
            found[name] = (field.value, place)
        return found

    def report_failed(self, block: Any, start: int, raw: str) -> None:
        reason = getattr(block.error, "abort_reason", "")
        what = "bibtex-unreadable"
        line_end = self.source.text.find("\n", start)
        place = self.source.span(start, line_end if line_end > start else start + len(raw.rstrip()))
        for beginning, meaning in _REASONS:
            if reason.startswith(beginning):
                what = meaning
                if beginning == "Expected comma":
                    place = self.key_place(start, raw)
                elif beginning.startswith("Expected"):
                    place = self.source.span(start + len(raw), start + len(raw) + 1)
        self.findings.append(fault("unreadable", place, what))

    def key_place(self, start: int, raw: str) -> Span:
        """The place of a key after which no comma stands, with what follows it instead."""
        head = _BLOCK_HEAD.match(raw)
        begins = head.end() if head else 0
        key = re.compile(r"[^\n={}\",@]*").match(raw, begins)
        return self.source.span(start + begins, start + begins + len(key.group().rstrip() if key else ""))

    def report_stray(self, start: int, raw: str) -> None:
        for found in islice(_STRAY_ENTRY.finditer(raw), MOST_STRAYS):
            place = self.source.span(start + found.start(1), start + found.end(1))
            self.findings.append(fault("unreadable", place, "bibtex-stray"))
