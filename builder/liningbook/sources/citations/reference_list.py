"""The reference list of a protocol, from BibTeX or CSL-JSON, with the forms of its entries' fields checked.

CSL-JSON: the schema of the Citation Style Language project, version 1.0. Identifiers: see `identifiers`.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator

from liningbook.finding import Finding, fault
from liningbook.sources.citations.csl_json import read_csl_json
from liningbook.sources.citations.identifiers import WRONG, bare_doi
from liningbook.sources.citations.reference_entry import Reference, SourceText, WrongIdentifier, is_date
from liningbook.sources.citations.retraction import is_retraction
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
        findings += _form(entry)
        doi = entry.data.get("DOI")  # bare, so that links and comparisons need no second look
        data = {**entry.data, "DOI": bare_doi(doi)} if isinstance(doi, str) else entry.data
        references[entry.id] = Reference(entry.id, data, entry.span, entry.places, tuple(_doubtful(entry)))
    return references, sorted(findings, key=lambda finding: finding.span)


def _form(entry: Reference) -> Iterator[Finding]:
    """Fields that are used and do not have the form that CSL-JSON gives them."""
    for name, value in entry.data.items():
        what = next((what for names, is_right, what in _FORMS if name in names and not is_right(value)), "")
        if what or _has_unprintable(value):
            given = {"name": name, "written": value} if name == "URL" else {"name": name}
            yield fault("schema", entry.place(name), what or "reference-unprintable", (), **given)


def _doubtful(entry: Reference) -> Iterator[WrongIdentifier]:
    """The identifiers that are not written as such, or whose check digit does not match, one of each sort."""
    for sort, wrong_with in WRONG.items():
        value = entry.data.get(sort)
        if not _is_text(value):
            continue
        text = bare_doi(str(value)) if sort == "DOI" else str(value)
        for one in parts(text) if sort in ("ISBN", "ISSN") else [text]:
            if wrong := wrong_with(one):
                yield WrongIdentifier(sort, one, wrong, entry.place(sort))
                break


def parts(text: str) -> list[str]:
    """The numbers of a field that holds several, with commas or semicolons between them."""
    return re.split(r"\s*[,;]\s*", text.strip())


def _is_address(value: object) -> bool:
    return not _is_text(value) or bool(_ADDRESS.fullmatch(str(value)))


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
    (("URL",), _is_address, "no-web-address"),
    (("retracted",), is_retraction, "reference-retracted"),
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
