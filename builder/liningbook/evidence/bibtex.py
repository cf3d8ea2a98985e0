"""A reference list in BibTeX, turned into CSL-JSON, every entry and field with its place.

BibTeX: O. Patashnik, BibTeXing, 1988; field and entry names of the biblatex manual are understood too. The text is
split into entries by the library bibtexparser (version 2); values and accents are read here, because a decoder that
drops what it does not know could lose a sign.
"""

from __future__ import annotations

import logging
import re
from collections.abc import Callable, Mapping
from itertools import islice
from typing import Any

from liningbook.evidence.bibtex_values import NotAValue, ShortNames, is_bracketed, read_date, read_people, read_year_and_month
from liningbook.evidence.identifiers import bare_doi
from liningbook.evidence.latex import plain_text, verbatim_text
from liningbook.evidence.reference_entry import MOST_ENTRIES, Entry, SourceText, mistake, shortened, too_many
from liningbook.finding import Finding, Label, Span

TYPES: Mapping[str, str] = {
    "article": "article-journal", "book": "book", "mvbook": "book", "collection": "book", "proceedings": "book",
    "manual": "book", "booklet": "pamphlet", "inbook": "chapter", "incollection": "chapter",
    "inproceedings": "paper-conference", "conference": "paper-conference", "phdthesis": "thesis",
    "mastersthesis": "thesis", "thesis": "thesis", "techreport": "report", "report": "report",
    "legislation": "legislation", "legal": "legislation", "jurisdiction": "legislation", "online": "webpage",
    "electronic": "webpage", "www": "webpage", "standard": "standard", "dataset": "dataset",
    "unpublished": "manuscript",
}  # fmt: skip
"""Kind of entry to CSL type; any other is a `document`."""

GENRES: Mapping[str, str] = {"phdthesis": "PhD thesis", "mastersthesis": "Master's thesis"}

TEXTS: Mapping[str, tuple[str, ...]] = {
    "title": ("title",),
    "container-title": ("journal", "journaltitle", "booktitle", "maintitle"),
    "container-title-short": ("shortjournal",),
    "volume": ("volume",),
    "edition": ("edition",),
    "collection-title": ("series",),
    "publisher": ("publisher", "school", "institution", "organization"),
    "publisher-place": ("address", "location"),
    "genre": ("type", "howpublished"),
    "note": ("note",),
    "version": ("version",),
    "PMID": ("pmid",),
    "PMCID": ("pmcid",),
    "ISBN": ("isbn",),
    "ISSN": ("issn",),
}
"""CSL field to the BibTeX fields it is taken from: the first that is given."""

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
_ADDRESS = re.compile(r"\s*(?:\\(?:url|path|nolinkurl)\s*\{\s*[^{}\s]+\s*\}|https?://\S+)\s*")
_HINTS: tuple[tuple[str, str, str], ...] = (
    ("Unexpectedly reached end", "this entry is not closed before the file ends", "close it with }"),
    ("Unexpected block start", "this entry is not closed before the next one starts", "close it with }"),
    ("Expected comma", "a comma is missing after the entry's key", "write `@article{key,`"),
    ("Expected a `=`", "a field name without `=`, or a comma missing before it", "write `name = {value},`"),
)


def read_bibtex(source: SourceText) -> tuple[list[Entry], list[Finding]]:
    """The entries of a BibTeX text in their order, and what is wrong with the text or with a field's value."""
    heads = list(islice(_BLOCK_HEAD.finditer(source.text), MOST_ENTRIES + 1))
    if len(heads) > MOST_ENTRIES:
        return [], [too_many(source.span(heads[-1].start(), heads[-1].end()))]
    from bibtexparser.splitter import Splitter

    logging.getLogger("bibtexparser").addHandler(logging.NullHandler())
    reader = _Reader(source)
    for block in Splitter(source.text).split().blocks:
        reader.read_block(block)
    if not reader.entries and not reader.findings and (text := _TEXT_LINE.search(source.text)):
        place = source.span(text.start(1), text.end(1))
        advice = "write `@article{key, … }`, or put % before a comment"
        reader.findings.append(mistake("unreadable", "there is no entry in this file", place, advice))
    return reader.entries, reader.findings


class _Reader:
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
        except NotAValue as error:
            place = self.source.span(start, start + len(raw))
            self.findings.append(mistake(error.kind, error.reason, place, error.instead))

    def read_entry(self, entry: Any, start: int, raw: str) -> None:
        head = _BLOCK_HEAD.match(raw)
        key_start = start + (head.end() if head else 0)
        if not entry.key:
            place = self.source.span(start, key_start)
            message = "this entry has no key, so no rule can cite it"
            self.findings.append(mistake("schema", message, place, f"write `@{entry.entry_type}{{key,`"))
            return
        fields = self.fields(entry, key_start + len(entry.key))
        made = _Conversion(self.source, self.short_names, fields, self.findings)
        data = made.convert(entry.entry_type.lower())
        key_place = self.source.span(key_start, key_start + len(entry.key))
        self.entries.append(Entry(entry.key, {"id": entry.key, **data}, key_place, made.places))

    def fields(self, entry: Any, position: int) -> dict[str, tuple[str, Span]]:
        """The raw values of an entry by field name in small letters, each with its place."""
        found: dict[str, tuple[str, Span]] = {}
        for number, field in enumerate(entry.fields):
            if number == MOST_FIELDS:
                place = self.source.span(position, position + 1)
                message = f"this entry has more than {MOST_FIELDS} fields"
                self.findings.append(mistake("unreadable", message, place, "check its brackets"))
                break
            name_start = self.source.text.index(field.key, position)
            equals = self.source.text.index("=", name_start + len(field.key))
            value_start = self.source.text.index(field.value, equals + 1)
            position = value_start + len(field.value)
            name, quotes = field.key.lower(), 1 if is_bracketed(field.value) else 0
            name_place = self.source.span(name_start, name_start + len(field.key))
            if not name:
                message = "a field here has no name"
                self.findings.append(mistake("unreadable", message, self.source.span(equals, equals + 1), "write `name = {value},`"))
                continue
            if name in found:
                labels = (Label(found[name][1], "first given here"),)
                message = f"'{shortened(field.key)}' is given twice in the entry '{shortened(entry.key)}'"
                self.findings.append(mistake("unreadable", message, name_place, "keep one of the two", labels))
                continue
            place = self.source.span(value_start + quotes, position - quotes) if field.value else name_place
            found[name] = (field.value, place)
        return found

    def report_failed(self, block: Any, start: int, raw: str) -> None:
        reason = getattr(block.error, "abort_reason", "")
        message, advice = "this entry cannot be read", "check its brackets, quotes and commas"
        line_end = self.source.text.find("\n", start)
        place = self.source.span(start, line_end if line_end > start else start + len(raw.rstrip()))
        for beginning, words, help_ in _HINTS:
            if reason.startswith(beginning):
                message, advice = words, help_
                if beginning == "Expected comma":
                    place = self.key_place(start, raw)
                elif beginning.startswith("Expected"):
                    place = self.source.span(start + len(raw), start + len(raw) + 1)
        self.findings.append(mistake("unreadable", message, place, advice))

    def key_place(self, start: int, raw: str) -> Span:
        """The place of a key after which no comma stands, with what follows it instead."""
        head = _BLOCK_HEAD.match(raw)
        begins = head.end() if head else 0
        key = re.compile(r"[^\n={}\",@]*").match(raw, begins)
        return self.source.span(start + begins, start + begins + len(key.group().rstrip() if key else ""))

    def report_stray(self, start: int, raw: str) -> None:
        for found in islice(_STRAY_ENTRY.finditer(raw), MOST_STRAYS):
            place = self.source.span(start + found.start(1), start + found.end(1))
            advice = "write `@article{key, … }`, or put % before a comment"
            self.findings.append(mistake("unreadable", "this looks like an entry but is not one", place, advice))


class _Conversion:
    """One entry's fields turned into CSL-JSON; `places` gathers where each CSL field came from."""

    def __init__(
        self,
        source: SourceText,
        short_names: ShortNames,
        fields: Mapping[str, tuple[str, Span]],
        findings: list[Finding],
    ) -> None:
        self.source, self.short_names, self.fields, self.findings = source, short_names, fields, findings
        self.places: dict[str, Span] = {}
        self.data: dict[str, object] = {}

    def convert(self, kind: str) -> dict[str, object]:
        """The CSL-JSON fields of an entry of a kind (`article`), its key left aside."""
        self.data["type"] = TYPES.get(kind, "document")
        if kind in GENRES:
            self.data["genre"] = GENRES[kind]
        for csl, names in TEXTS.items():
            self.take(csl, names, self.words)
        self.take("URL", ("url", "howpublished", "note"), self.address)
        self.take("DOI", ("doi",), lambda raw: bare_doi(verbatim_text(raw)))
        self.take("page", ("pages",), lambda raw: re.sub(r"(?<=\w) ?[-–—]+ ?(?=\w)", "–", self.words(raw)))
        for csl in ("author", "editor"):
            self.take(csl, (csl,), self.people)
        self.take("issued", ("date",), lambda raw: read_date(verbatim_text(raw)))
        self.take("accessed", ("urldate",), lambda raw: read_date(verbatim_text(raw)))
        self.take("issued", ("year",), self.year)
        self.number()
        self.titles()
        if kind not in TYPES and "URL" in self.data:
            self.data["type"] = "webpage"
        if "crossref" in self.fields or "xdata" in self.fields:
            _, place = self.fields.get("crossref") or self.fields["xdata"]
            message = "fields taken over from another entry are not used here"
            self.findings.append(mistake("schema", message, place, "write the fields out in this entry"))
        return self.data

    def take(self, csl: str, names: tuple[str, ...], read: Callable[[str], object]) -> None:
        """Fill a CSL field that is still empty from the first of some fields that has something for it."""
        for name in names:
            if csl in self.data or name not in self.fields:
                continue
            raw, place = self.fields[name]
            try:
                value = read(self.short_names.value(raw))
            except NotAValue as error:
                self.findings.append(mistake(error.kind, error.reason, place, error.instead))
                return
            if value:
                self.data[csl], self.places[csl] = value, place

    def words(self, raw: str) -> str:
        """A value as plain text; raises NotAValue for a LaTeX command that is not known."""
        text, unknown = plain_text(raw)
        _refuse(unknown)
        return "" if _ADDRESS.fullmatch(raw) else text

    def address(self, raw: str) -> str:
        """An address, or nothing where the value is none."""
        return verbatim_text(raw) if _ADDRESS.fullmatch(raw) else ""

    def people(self, raw: str) -> list[dict[str, str]]:
        people, unknown = read_people(raw)
        _refuse(unknown)
        return people

    def year(self, year: str) -> dict[str, object]:
        return read_year_and_month(self.words(year), self.other("month"), self.other("day"))

    def other(self, name: str) -> str:
        """A field that is part of another, as plain text; empty where it is left out or wrong."""
        if name not in self.fields:
            return ""
        raw, place = self.fields[name]
        try:
            return self.words(self.short_names.value(raw))
        except NotAValue as error:
            self.findings.append(mistake(error.kind, error.reason, place, error.instead))
            return ""

    def number(self) -> None:
        """`number` is an issue in a journal, a number of its own in a report or law, else one of a series."""
        kind = self.data["type"]
        self.take("issue", ("issue",), self.words)
        if kind in ("article-journal", "webpage"):
            self.take("issue", ("number",), self.words)
            self.take("number", ("eid",), self.words)
        elif kind in ("book", "chapter", "paper-conference"):
            self.take("collection-number", ("number",), self.words)
        else:
            self.take("number", ("number",), self.words)

    def titles(self) -> None:
        """A subtitle joins the title; a book part without a title of the whole is the book itself."""
        subtitle = self.other("subtitle")
        if subtitle and "title" in self.data:
            self.data["title"] = f"{self.data['title']}: {subtitle}"
        if self.data["type"] == "chapter" and "container-title" not in self.data:
            self.data["type"] = "book"


def _refuse(unknown: tuple[str, ...]) -> None:
    if unknown:
        reason = f"the LaTeX command `{shortened(unknown[0])}` is not known here"
        raise NotAValue(reason, "write the letter or sign itself, for example é, µ or ≤")
