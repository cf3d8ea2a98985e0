"""The reference list of a protocol, from BibTeX or CSL-JSON, with its entries' identifiers checked.

CSL-JSON: the schema of the Citation Style Language project, version 1.0. Identifiers: see `identifiers`.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping

from liningbook.finding import Finding, fault
from liningbook.sources.citations.csl_json import read_csl_json
from liningbook.sources.citations.identifiers import bare_doi, is_doi, is_isbn, is_issn, is_pmcid, is_pmid
from liningbook.sources.citations.reference_entry import Reference, SourceText, is_date
from liningbook.sources.text import HIDDEN

NAMES = ("author", "editor", "translator", "container-author", "collection-editor")
DATES = ("issued", "accessed", "original-date", "event-date")
TEXTS = (
    "type", "title", "container-title", "container-title-short", "journalAbbreviation", "collection-title",
    "collection-number", "volume", "issue", "number", "page", "edition", "version", "genre", "medium", "publisher",
    "publisher-place", "authority", "note", "DOI", "URL", "ISBN", "ISSN", "PMID", "PMCID",
)  # fmt: skip

_ADDRESS = re.compile(r"(?:https?|ftp)://\S+", re.IGNORECASE)


def read_references(file: str, text: str) -> tuple[dict[str, Reference], list[Finding]]:
    """The references of a list by id, in the order of the file, and what is wrong with it (`unreadable`, `schema`).

    `file` is the name relative to the protocol folder and ends in `.bib` or `.json`. Each reference's place is that of
    its key. Nothing is raised for what an author wrote; of two entries with one key the first is kept.
    """
    source = SourceText(file, text)
    if file.lower().endswith(".json"):
        entries, findings = read_csl_json(source)
    elif file.lower().endswith(".bib"):
        from liningbook.sources.citations.bibtex import read_bibtex  # loads a library that most checks do not need

        entries, findings = read_bibtex(source)
    else:
        return {}, [fault("unreadable", source.span(0, 1), "no-reference-list")]
    references: dict[str, Reference] = {}
    alike: dict[str, Reference] = {}
    for entry in entries:
        other = alike.setdefault(entry.id.casefold(), entry)
        if entry.id in references:
            related = ((references[entry.id].span, "first-given"),)
            findings.append(fault("unreadable", entry.span, "reference-twice", related, name=entry.id))
            continue
        if other is not entry:
            related = ((other.span, "other-key"),)
            findings.append(fault("schema", entry.span, "references-alike", related, name=entry.id, other=other.id))
        findings += [*_form(entry), *_identifiers(entry)]
        doi = entry.data.get("DOI")  # bare, so that links and comparisons need no second look
        data = {**entry.data, "DOI": bare_doi(doi)} if isinstance(doi, str) else entry.data
        references[entry.id] = Reference(entry.id, data, entry.span)
    return references, sorted(findings, key=lambda finding: finding.span)


def _form(entry: Reference) -> Iterator[Finding]:
    """Fields that are used and do not have the form that CSL-JSON gives them."""
    for name, value in entry.data.items():
        what = next((what for names, is_right, what in _FORMS if name in names and not is_right(value)), "")
        if what or _has_unprintable(value):
            yield fault("schema", entry.place(name), what or "reference-unprintable", name=name)


def _identifiers(entry: Reference) -> Iterator[Finding]:
    """Identifiers that are not written as such, or whose check digit is wrong."""
    for name, (is_right, what) in _IDENTIFIERS.items():
        value = entry.data.get(name)
        if not _is_text(value):
            continue
        text = bare_doi(str(value)) if name == "DOI" else str(value)
        several = re.split(r"\s*[,;]\s*", text.strip()) if name in ("ISBN", "ISSN") else [text]
        for wrong in [one for one in several if not is_right(one)][:1]:
            yield fault("schema", entry.place(name), what, written=wrong)


_IDENTIFIERS: Mapping[str, tuple[Callable[[str], bool], str]] = {
    "DOI": (is_doi, "no-doi"),
    "ISBN": (is_isbn, "no-isbn"),
    "ISSN": (is_issn, "no-issn"),
    "PMID": (is_pmid, "no-pmid"),
    "PMCID": (is_pmcid, "no-pmcid"),
    "URL": (lambda text: bool(_ADDRESS.fullmatch(text)), "no-web-address"),
}


def _is_text(value: object) -> bool:
    return isinstance(value, (str, int)) and not isinstance(value, bool)


def _is_names(value: object) -> bool:
    return isinstance(value, list) and all(map(_is_name, value))


def _is_name(value: object) -> bool:
    if not isinstance(value, dict) or not any(value.get(part) for part in ("family", "given", "literal")):
        return False
    parts = ("family", "given", "literal", "suffix", "non-dropping-particle", "dropping-particle")
    return all(isinstance(value.get(part, ""), str) for part in parts)


def _is_date(value: object) -> bool:
    if not isinstance(value, dict):
        return False
    parts = value.get("date-parts")
    if parts is None:
        return any(isinstance(value.get(name), str) and value[name] for name in ("literal", "raw"))
    return isinstance(parts, list) and 1 <= len(parts) <= 2 and all(map(_is_day, parts))


def _is_day(value: object) -> bool:
    if not isinstance(value, list) or not 1 <= len(value) <= 3:
        return False
    is_written = all(_is_text(part) and re.fullmatch(r"[0-9]{1,4}", str(part)) for part in value)
    return is_written and is_date([int(part) for part in value])


_FORMS: tuple[tuple[tuple[str, ...], Callable[[object], bool], str], ...] = (
    (TEXTS, _is_text, "reference-text"),
    (NAMES, _is_names, "reference-people"),
    (DATES, _is_date, "reference-date"),
)
"""Fields, the form that they have, and the fault of one that has another."""


def _has_unprintable(value: object) -> bool:
    rest = [value]
    while rest:
        item = rest.pop()
        if isinstance(item, str) and HIDDEN.search(item):
            return True
        if isinstance(item, dict):
            rest += [*item.keys(), *item.values()]
        elif isinstance(item, list):
            rest += item
    return False
