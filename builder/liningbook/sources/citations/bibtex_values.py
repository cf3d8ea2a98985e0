"""The raw values of a BibTeX file: brackets and quotes taken off, short names filled in, dates and names taken apart.

BibTeX: O. Patashnik, BibTeXing, 1988, sections 2 and 4.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from liningbook.finding import RefusedAs
from liningbook.sources.citations.latex import plain_text
from liningbook.sources.citations.reference_entry import is_date

MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip

MOST_FILLED_IN = 1_000_000
"""The most characters that short names may stand for in one file."""


class NotAFieldValue(RefusedAs):
    """Why a field's text is no value."""


class ShortNames:
    """The short names of a file (`@string`), the twelve of the months included, and what they stand for."""

    def __init__(self) -> None:
        self._texts = {month[:3].lower(): month for month in MONTHS}
        self._filled_in = 0

    def define(self, name: str, raw: str) -> None:
        """Add a short name from its raw value; raises NotAFieldValue."""
        self._texts[name.lower()] = self.value(raw)

    def value(self, raw: str) -> str:
        """The text of a raw value, `{A} # b # "c"`, its LaTeX left as it is; raises NotAFieldValue."""
        if not raw:
            raise NotAFieldValue("unreadable", "bibtex-no-value")
        return "".join(self._pieces(raw))

    def _pieces(self, raw: str) -> Iterator[str]:
        position = 0
        while True:
            end = _piece_end(raw, position)
            piece = raw[position:end]
            if piece[:1] in ("{", '"'):
                yield piece[1:-1]
            elif piece.isdigit():
                yield piece
            else:
                yield self._filled(piece)
            rest = raw[end:].lstrip()
            if not rest:
                return
            if re.match(r"\w+\s*=", rest):
                raise NotAFieldValue("unreadable", "bibtex-no-comma-after-value")
            if rest[0] != "#":
                raise NotAFieldValue("unreadable", "bibtex-no-brackets")
            position = len(raw) - len(rest[1:].lstrip())

    def _filled(self, name: str) -> str:
        text = self._texts.get(name.lower())
        if text is None:
            raise NotAFieldValue("unreadable", "bibtex-unknown-short-name", name=name)
        self._filled_in += len(text)
        if self._filled_in > MOST_FILLED_IN:
            raise NotAFieldValue("unreadable", "bibtex-short-names-too-long")
        return text


def _piece_end(raw: str, start: int) -> int:
    """The position after the bracketed, quoted or bare piece that starts here."""
    if raw[start : start + 1] not in ("{", '"'):
        bare = re.compile(r"[^\s#{}\",]+").match(raw, start)
        if bare is None:
            raise NotAFieldValue("unreadable", "bibtex-no-value")
        return bare.end()
    closing = "}" if raw[start] == "{" else '"'
    depth = 0
    for found in re.compile(r'\\.|[{}"]', re.DOTALL).finditer(raw, start + 1):
        mark = found.group()
        if mark == closing and depth == 0:
            return found.end()
        depth += {"{": 1, "}": -1}.get(mark, 0)
    raise NotAFieldValue("unreadable", "bibtex-value-not-closed")


def is_bracketed(raw: str) -> bool:
    """Whether a raw value is one text in brackets or quotes, with something in it."""
    try:
        return raw[:1] in ("{", '"') and len(raw) > 2 and _piece_end(raw, 0) == len(raw)
    except NotAFieldValue:
        return False


def read_date(text: str) -> dict[str, object]:
    """A date of CSL-JSON from `2019`, `2019-03`, `2019-03-02`, or two with `/` between. Raises NotAFieldValue."""
    parts = [_date_parts(piece) for piece in text.split("/") if piece]
    if len(parts) not in (1, 2):
        raise _no_date(text)
    return {"date-parts": parts}


def _date_parts(text: str) -> list[int]:
    found = re.fullmatch(r"(\d{4})(?:-(\d{1,2})(?:-(\d{1,2}))?)?", text, re.ASCII)
    parts = [int(part) for part in found.groups() if part] if found else []
    if not is_date(parts):
        raise _no_date(text)
    return parts


def _no_date(text: str) -> NotAFieldValue:
    return NotAFieldValue("schema", "bibtex-no-date", written=text)


def read_year_and_month(year: str, month: str, day: str) -> dict[str, object]:
    """A date of CSL-JSON from the fields `year`, `month` and `day`; words (`in press`) stay as they are.

    Raises NotAFieldValue for numbers that are no date.
    """
    parts = [int(year)] if re.fullmatch(r"\d{4}", year, re.ASCII) else []
    found = re.fullmatch(r"(?:(\d{1,2})\.? )?([A-Za-z]{3,})\.?(?: (\d{1,2}))?", month, re.ASCII)
    if parts and re.fullmatch(r"\d{1,2}", month, re.ASCII):
        parts.append(int(month))
    elif parts and found:
        number = _month_number(found.group(2))
        parts += [number] if number else []
        day = day or found.group(1) or found.group(3) or ""
    is_whole = not month or len(parts) == 2
    if len(parts) == 2 and re.fullmatch(r"\d{1,2}", day, re.ASCII):
        parts.append(int(day))
    if parts and not is_date(parts):
        raise _no_date("-".join(str(part) for part in parts))
    if parts and is_whole:
        return {"date-parts": [parts]}
    return {"literal": " ".join(piece for piece in (year, month, day) if piece)}


def _month_number(word: str) -> int | None:
    word = "sep" if word.lower() == "sept" else word.lower()
    return next((number for number, month in enumerate(MONTHS, start=1) if month.lower().startswith(word)), None)


def read_people(raw: str) -> tuple[list[dict[str, str]], tuple[str, ...]]:
    """The people of an `author` or `editor` as CSL-JSON names, and the LaTeX commands in them that are not known.

    A name wholly in curly brackets is an organisation. Raises NotAFieldValue.
    """
    from bibtexparser.middlewares.names import split_multiple_persons_names

    people: list[dict[str, str]] = []
    unknown: list[str] = []
    for person in split_multiple_persons_names(raw):
        parts = {"literal": person[1:-1]} if _is_organisation(person) else _parts_of_name(person)
        texts = {name: plain_text(text) for name, text in parts.items()}
        people.append({name: text for name, (text, _) in texts.items() if text})
        unknown += [command for _, commands in texts.values() for command in commands]
    return [person for person in people if person], tuple(unknown)


def _is_organisation(person: str) -> bool:
    return person.startswith("{") and not person.startswith("{\\") and is_bracketed(person)


def _parts_of_name(person: str) -> dict[str, str]:
    from bibtexparser.middlewares.names import InvalidNameError, parse_single_name_into_parts

    if person == "others":
        return {"literal": "others"}
    try:
        parts = parse_single_name_into_parts(person)
    except InvalidNameError:
        raise NotAFieldValue("schema", "bibtex-no-person", written=person) from None
    named = {"family": parts.last, "given": parts.first, "non-dropping-particle": parts.von, "suffix": parts.jr}
    return {name: " ".join(words) for name, words in named.items() if words}
