"""By what two entries of a reference list are known to be one work."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator

from liningbook.sources.citations.identifiers import WRONG, isbn_in_full
from liningbook.sources.citations.reference_entry import Reference
from liningbook.sources.citations.reference_list import parts

PARTS_OF_BOOKS = frozenset({"chapter", "paper-conference", "entry", "entry-encyclopedia", "entry-dictionary"})
"""Types of CSL-JSON that are a part of a book, whose ISBN they may bear."""

_MARKUP = re.compile(r"<[^<>]{0,200}>")


def signs_of(entry: Reference) -> Iterator[tuple[str, ...]]:
    """What an entry is known by, each begun by the field that says so; identifiers that cannot be right say nothing."""
    for sort in ("DOI", "PMID", "PMCID"):
        if (text := _text(entry, sort)) and not WRONG[sort](text):
            yield sort, text.casefold()
    if _text(entry, "type") not in PARTS_OF_BOOKS:
        sound = [one for one in parts(_text(entry, "ISBN")) if one and not WRONG["ISBN"](one)]
        yield from (("ISBN", number) for number in dict.fromkeys(map(isbn_in_full, sound)))
    title, year, author = _plain(_text(entry, "title")), _year(entry), _first_author(entry)
    if title and year and author:
        yield "title", title, year, author


def _text(entry: Reference, name: str) -> str:
    value = entry.data.get(name)
    return str(value).strip() if isinstance(value, (str, int)) and not isinstance(value, bool) else ""


def _plain(text: str) -> str:
    """The letters and digits of a text alone, small and without accents."""
    text = unicodedata.normalize("NFKD", _MARKUP.sub("", text)).casefold()
    return "".join(sign for sign in text if sign.isalnum())


def _year(entry: Reference) -> str:
    value = entry.data.get("issued")
    if not isinstance(value, dict):
        return ""
    days = value.get("date-parts")
    if isinstance(days, list) and days and isinstance(days[0], list) and days[0]:
        return str(days[0][0])
    return str(value.get("literal") or value.get("raw") or "").strip()


def _first_author(entry: Reference) -> str:
    people = entry.data.get("author") or entry.data.get("editor")
    first = people[0] if isinstance(people, list) and people else {}
    if not isinstance(first, dict):
        return ""
    return _plain(str(first.get("family") or first.get("literal") or first.get("given") or ""))
