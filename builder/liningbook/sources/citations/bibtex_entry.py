"""One entry of BibTeX turned into CSL-JSON.

BibTeX: O. Patashnik, BibTeXing, 1988, section 3; names of kinds and fields of the biblatex manual are understood too.
CSL-JSON: the schema of the Citation Style Language project, version 1.0.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping

from liningbook.finding import Finding, Span, fault
from liningbook.sources.citations.bibtex_values import (
    NotAFieldValue,
    ShortNames,
    read_date,
    read_people,
    read_year_and_month,
)
from liningbook.sources.citations.identifiers import bare_doi
from liningbook.sources.citations.latex import plain_text, verbatim_text
from liningbook.sources.citations.reference_entry import is_day_of

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
    "title": ("title",), "container-title": ("journal", "journaltitle", "booktitle", "maintitle"),
    "container-title-short": ("shortjournal",), "volume": ("volume",), "edition": ("edition",),
    "collection-title": ("series",), "publisher": ("publisher", "school", "institution", "organization"),
    "publisher-place": ("address", "location"), "genre": ("type", "howpublished"), "note": ("note",),
    "version": ("version",), "PMID": ("pmid",), "PMCID": ("pmcid",), "ISBN": ("isbn",), "ISSN": ("issn",),
}  # fmt: skip
"""CSL field to the BibTeX fields it is taken from: the first that is given."""

_RANGE = re.compile(r"(?<=\w) ?[-–—]+ ?(?=\w)")
_ADDRESS = re.compile(r"\s*(?:\\(?:url|path|nolinkurl)\s*\{\s*[^{}\s]+\s*\}|https?://\S+)\s*")


class Conversion:
    """One entry's fields turned into CSL-JSON; `places` gathers where each CSL field came from."""

    def __init__(
        self, short_names: ShortNames, fields: Mapping[str, tuple[str, Span]], findings: list[Finding]
    ) -> None:
        self.short_names, self.fields, self.findings = short_names, fields, findings
        self.texts: dict[str, str] = {}
        self.wrong: set[str] = set()
        self.places: dict[str, Span] = {}
        self.data: dict[str, object] = {}

    def convert(self, kind: str) -> dict[str, object]:
        """The CSL-JSON fields of an entry of a kind (`article`), its key left aside."""
        self.data["type"] = TYPES.get(kind, "document")
        if kind in GENRES:
            self.data["genre"] = GENRES[kind]
        for csl, names in TEXTS.items():
            self.take(csl, names, self.words)
        self.take("URL", ("url",), verbatim_text)
        self.take("URL", ("howpublished", "note"), _address)
        self.take("DOI", ("doi",), lambda text: bare_doi(verbatim_text(text)))
        self.take("page", ("pages",), lambda text: _RANGE.sub("–", self.words(text)))
        for csl in ("author", "editor"):
            self.take(csl, (csl,), self.people)
        self.take("issued", ("date",), lambda text: read_date(verbatim_text(text)))
        self.take("accessed", ("urldate",), lambda text: read_date(verbatim_text(text)))
        self.take("issued", ("year",), self.year)
        self.number()
        self.titles()
        self.retraction()
        if kind not in TYPES and "URL" in self.data:
            self.data["type"] = "webpage"
        if "crossref" in self.fields or "xdata" in self.fields:
            _, place = self.fields.get("crossref") or self.fields["xdata"]
            self.findings.append(fault("schema", place, "bibtex-crossref"))
        return self.data

    def take(self, csl: str, names: tuple[str, ...], read: Callable[[str], object]) -> None:
        """Fill a CSL field that is still empty from the first of some fields that has something for it."""
        for name in names:
            if csl in self.data:
                return
            value = self.read(name, read)
            if value:
                self.data[csl], self.places[csl] = value, self.fields[name][1]

    def read(self, name: str, read: Callable[[str], object]) -> object:
        """A field's value, or None where the field is left out or wrong; what is wrong with it is told once."""
        if name not in self.fields or name in self.wrong:
            return None
        raw, place = self.fields[name]
        try:
            if name not in self.texts:
                self.texts[name] = self.short_names.value(raw)
            return read(self.texts[name])
        except NotAFieldValue as error:
            self.wrong.add(name)
            self.findings.append(fault(error.kind, place, error.what, (), **error.given))
            return None

    def words(self, text: str) -> str:
        """A value as plain text, nothing for an address. Raises NotAFieldValue for an unknown LaTeX command."""
        if _ADDRESS.fullmatch(text):
            return ""
        plain, unknown = plain_text(text)
        _refuse(unknown)
        return plain

    def people(self, text: str) -> list[dict[str, str]]:
        """A value as a list of names; raises NotAFieldValue for a name that cannot be read."""
        people, unknown = read_people(text)
        _refuse(unknown)
        return people

    def year(self, text: str) -> dict[str, object]:
        """The date that `year` gives together with `month` and `day`. Raises NotAFieldValue if it is none."""
        month, day = (str(self.read(name, self.words) or "") for name in ("month", "day"))
        return read_year_and_month(self.words(text), month, day)

    def number(self) -> None:
        """`number` is an issue in a journal, a number of its own in a report or law, else one of a series."""
        kind = self.data["type"]
        self.take("issue", ("issue",), self.words)
        is_issue, in_series = kind in ("article-journal", "webpage"), kind in ("book", "chapter", "paper-conference")
        self.take("issue" if is_issue else "collection-number" if in_series else "number", ("number",), self.words)
        if is_issue:
            self.take("number", ("eid",), self.words)

    def retraction(self) -> None:
        """`retracted` is the day, the month or the year of a retraction, `retracted_because` says why."""
        said = {"on": self.read("retracted", _retracted_on), "because": self.read("retracted_because", self.words)}
        given = [name for name in ("retracted", "retracted_because") if name in self.fields]
        if given and not self.wrong.intersection(given):
            self.data["retracted"] = {key: text for key, text in said.items() if text}
            self.places["retracted"] = self.fields[given[0]][1]

    def titles(self) -> None:
        """A subtitle joins the title; a book part without a title of the whole is the book itself."""
        subtitle = self.read("subtitle", self.words)
        if subtitle and "title" in self.data:
            self.data["title"] = f"{self.data['title']}: {subtitle}"
        if self.data["type"] == "chapter" and "container-title" not in self.data:
            self.data["type"] = "book"


def _address(text: str) -> str:
    """The address that a value is, or nothing where it says something else."""
    return verbatim_text(text) if _ADDRESS.fullmatch(text) else ""


def _retracted_on(text: str) -> str:
    """The day of a retraction as it is written. Raises NotAFieldValue if it is none."""
    if not is_day_of(text.strip()):
        raise NotAFieldValue("schema", "bibtex-no-date", written=text)
    return text.strip()


def _refuse(unknown: tuple[str, ...]) -> None:
    if unknown:
        raise NotAFieldValue("schema", "latex-command", command=unknown[0])
