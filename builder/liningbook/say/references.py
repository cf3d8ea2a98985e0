"""A reference as one line of plain text, in the manner of the National Library of Medicine's Citing Medicine.

K. Patrias, D. Wendling (eds), Citing Medicine, 2nd ed., National Library of Medicine, 2007 (the Vancouver way): six
authors and `et al.`, `2019 Mar 2`, page ranges cut to the digits that change.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping
from urllib.parse import quote

from liningbook.say.catalogue import gettext, ngettext
from liningbook.say.locale import month_words, ordinal_words
from liningbook.sources.citations.identifiers import is_doi
from liningbook.sources.citations.retraction import Retraction

MOST_NAMES = 6
"""More names than this are cut to so many, with `et al.`."""

_IN_JOURNALS = frozenset({"article-journal", "article-magazine", "article-newspaper", "article", "review"})
_IN_BOOKS = frozenset({"chapter", "paper-conference", "entry", "entry-encyclopedia", "entry-dictionary"})
_TAG = re.compile(r"</?(?:i|b|em|strong|sub|sc|span|nocase)(?:\s[^<>]*)?>", re.IGNORECASE)
_RAISED = re.compile(r"<sup>(?=[-+−0-9])", re.IGNORECASE)
_RAISED_TAG = re.compile(r"</?sup>", re.IGNORECASE)


def format_reference(data: Mapping[str, object]) -> str:
    """One line of plain text for an entry in CSL-JSON form; whoever puts it into HTML escapes it.

    What is missing leaves no mark. An entry without any text is shown by its key. `note` stands last.
    """
    kind = _text(data, "type")
    if kind in _IN_JOURNALS:
        pieces = _article(data)
    elif kind in _IN_BOOKS:
        pieces = _part_of_book(data)
    elif kind == "legislation":
        pieces = _law(data)
    elif kind in ("webpage", "post", "post-weblog") and _text(data, "container-title"):
        site = _online(data, _text(data, "container-title"))
        pieces = [_people(data, "author"), site, _imprint(data), _text(data, "title")]
    else:
        pieces = _whole_work(data)
    sentences = [_sentence(piece) for piece in pieces if piece]
    return " ".join([*sentences, *_identifiers(data)]) or _text(data, "id")


def retraction_words(retraction: Retraction) -> str:
    """`Retracted 2024 May 1: the figures were made up.`, as far as that is known."""
    on = _day(retraction.on.split("-")) if retraction.on else ""
    if on and retraction.because:
        said = gettext("Retracted {day}: {reason}").format(day=on, reason=retraction.because)
    elif on:
        said = gettext("Retracted {day}").format(day=on)
    elif retraction.because:
        said = gettext("Retracted: {reason}").format(reason=retraction.because)
    else:
        said = gettext("Retracted")
    return _sentence(said)


def retracted_name(name: str) -> str:
    """A reference in few words, with the word that it was retracted."""
    return gettext("{name} (retracted)").format(name=name)


def reference_url(data: Mapping[str, object]) -> str:
    """Where the reference is found: its DOI's address, if it is one, else its own if that is one, else nothing."""
    doi = _text(data, "DOI")
    if is_doi(doi):
        return "https://doi.org/" + quote(doi, safe="/:;().-_")
    address = _text(data, "URL")
    return address if re.fullmatch(r"https?://[^\s/]\S*", address, re.IGNORECASE) else ""


def _article(data: Mapping[str, object]) -> list[str]:
    issue = _text(data, "issue")
    volume = _text(data, "volume") + (f"({issue})" if issue else "")
    pages = short_pages(_text(data, "page")) or _text(data, "number")
    issued = _issued(data)
    where = issued + (f";{volume}" if volume and issued else volume) + (f":{pages}" if pages else "")
    journal = _text(data, "container-title-short") or _text(data, "journalAbbreviation")
    journal = _online(data, journal or _text(data, "container-title"))
    return [_people(data, "author"), _text(data, "title"), journal, where.lstrip(":")]


def _part_of_book(data: Mapping[str, object]) -> list[str]:
    editors, book = _editors(data), _online(data, _text(data, "container-title"))
    within = gettext("In: {book}").format(book=_joined(". ", editors, book)) if editors or book else ""
    pages = short_pages(_text(data, "page"))
    return [
        _people(data, "author"), _text(data, "title"), within, _edition(data), _volume(data), _imprint(data),
        gettext("p. {pages}").format(pages=pages) if pages else "", _series(data),
    ]  # fmt: skip


def _law(data: Mapping[str, object]) -> list[str]:
    number, volume, pages = _text(data, "number"), _text(data, "volume"), short_pages(_text(data, "page"))
    title = _text(data, "title")
    if number and number not in title:
        title = _joined(", ", title, number)
    where = _joined(":", _joined(";", _issued(data), volume), pages)
    authority = _people(data, "author") or _text(data, "authority")
    journal = _text(data, "container-title")
    if not journal:
        publisher = _text(data, "publisher")
        imprint = _joined(": ", _text(data, "publisher-place"), publisher) if publisher != authority else ""
        return [authority, _online(data, title), _joined("; ", imprint, where)]
    return [authority, title, _online(data, journal), where]


def _whole_work(data: Mapping[str, object]) -> list[str]:
    authors, editors = _people(data, "author"), _editors(data)
    genre, number = _text(data, "genre"), _text(data, "number")
    title = _text(data, "title") + (f" [{genre}]" if genre and _text(data, "title") else "")
    is_report = data.get("type") == "report" and number
    return [
        authors or editors, _online(data, title), _edition(data), editors if authors else "", _volume(data),
        _imprint(data), _series(data), gettext("Report no.: {number}").format(number=number) if is_report else number,
    ]  # fmt: skip


def _volume(data: Mapping[str, object]) -> str:
    volume = _text(data, "volume")
    return gettext("Vol. {volume}").format(volume=volume) if re.fullmatch(r"[0-9]+|[IVXLC]+", volume) else volume


def _series(data: Mapping[str, object]) -> str:
    """`(Series of a publisher; no. 4)`."""
    number = _text(data, "collection-number")
    number = gettext("no. {number}").format(number=number) if number.isdecimal() else number
    series = _joined("; ", _text(data, "collection-title"), number)
    return f"({series})" if series else ""


def _imprint(data: Mapping[str, object]) -> str:
    """Place, publisher and year: `Leeds: Press; 2019`."""
    publisher = _joined(": ", _text(data, "publisher-place"), _text(data, "publisher"))
    return _joined("; ", publisher, _issued(data))


def _identifiers(data: Mapping[str, object]) -> list[str]:
    """What stands after the sentences; a DOI takes no full stop, which would read as a part of it."""
    doi, pmid, central, address, note = (_text(data, name) for name in ("DOI", "PMID", "PMCID", "URL", "note"))
    found = [f"doi:{doi}"] if doi else []
    pubmed = _joined("; ", pmid and f"PubMed PMID: {pmid}", central and f"PubMed Central PMCID: {central}")
    found += [f"{pubmed}."] if pubmed else []
    found += [gettext("Available from: {address}").format(address=address)] if address and not doi else []
    return [*found, _sentence(note)] if note else found


def _online(data: Mapping[str, object], title: str) -> str:
    """The title of what is read on the web, marked as such."""
    is_online = _text(data, "URL") and not _text(data, "DOI")
    return gettext("{title} [Internet]").format(title=title) if title and is_online else title


def _issued(data: Mapping[str, object]) -> str:
    """The date of issue, and the day on which what is read on the web was read."""
    day = _date(data, "accessed") if _text(data, "URL") and not _text(data, "DOI") else ""
    return _joined(" ", _date(data, "issued"), gettext("[cited {day}]").format(day=day) if day else "")


def _edition(data: Mapping[str, object]) -> str:
    edition = _text(data, "edition")
    if re.fullmatch(r"[0-9]{1,4}", edition):
        return gettext("{number} ed.").format(number=ordinal_words(int(edition)))
    return edition if not edition or re.search(r"\bed", edition) else gettext("{edition} ed.").format(edition=edition)


def _editors(data: Mapping[str, object]) -> str:
    people = _people(data, "editor")
    editors = data.get("editor")
    number = len(editors) if isinstance(editors, list) else 1
    return ngettext("{names}, editor", "{names}, editors", number).format(names=people) if people else ""


def _people(data: Mapping[str, object], role: str) -> str:
    value = data.get(role)
    names = [name for name in map(_name, value) if name] if isinstance(value, list) else []
    others = bool(names) and names[-1] == "others"
    names = names[:-1] if others else names
    if others and not names:
        return gettext("et al.")
    shown = ", ".join(names[:MOST_NAMES])
    return gettext("{names}, et al.").format(names=shown) if others or len(names) > MOST_NAMES else shown


def _name(person: object) -> str:
    """`van der Berg JP Jr`, or the name of an organisation as it is."""
    if not isinstance(person, dict):
        return ""
    literal = _text(person, "literal")
    if literal:
        return literal
    particles = (_text(person, "dropping-particle"), _text(person, "non-dropping-particle"))
    family = _joined(" ", *particles, _text(person, "family"))
    if not family:
        return _text(person, "given")
    return _joined(" ", family, initials(_text(person, "given")), _text(person, "suffix"))


def initials(given: str) -> str:
    """The initials of given names: `Jan-Peter` is JP; `JP` stays what it is; words in small letters are left out."""
    words = [word for word in re.split(r"[\s.\-\u2010–]+", unicodedata.normalize("NFC", given)) if word]
    if all(word[0].islower() for word in words):
        words = [word.capitalize() for word in words]
    large = (word for word in words if not word[0].islower())
    return "".join(word if len(word) <= 3 and word.isupper() else word[0] for word in large)


def number_runs(numbers: Iterable[int]) -> tuple[tuple[int, ...], ...]:
    """Numbers in their order, each once, three or more in a row as their first and last: (1, 3) and (5,)."""
    runs: list[list[int]] = []
    for number in sorted(set(numbers)):
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    found: list[tuple[int, ...]] = []
    for run in runs:
        found += [(run[0], run[-1])] if len(run) > 2 else [(number,) for number in run]
    return tuple(found)


def short_pages(pages: str) -> str:
    """Page ranges cut to the digits that change: `1525-1533` is `1525–33`."""
    return re.sub(r"(?<![A-Za-z0-9])([A-Za-z]*)([0-9]+) ?[-–—]{1,2} ?\1([0-9]+)(?![0-9A-Za-z])", _short_range, pages)


def _short_range(found: re.Match[str]) -> str:
    letters, first, last = found.groups()
    if len(first) != len(last) or first >= last:
        return f"{letters}{first}–{letters}{last}"
    same = next(place for place in range(len(first)) if first[place] != last[place])
    return f"{letters}{first}–{last[same:]}"


def _date(data: Mapping[str, object], name: str) -> str:
    """`2019 Mar 2`, or two dates with a dash, `2019 Mar–Apr`; words where no numbers are given."""
    value = data.get(name)
    if not isinstance(value, dict):
        return ""
    parts = value.get("date-parts")
    days = [(part, day) for part in parts if (day := _day(part))] if isinstance(parts, list) else []
    if len(days) == 2 and (said := _within_a_year(*([int(str(n)) for n in part] for part, _ in days))):
        return said
    return "–".join(day for _, day in days) or _text(value, "literal") or _text(value, "raw")


def _within_a_year(first: list[int], last: list[int]) -> str:
    """Two dates of one year, what they have in common said once; nothing for any others."""
    if len(first) != len(last) or len(first) < 2 or first[0] != last[0] or not {first[1], last[1]} <= set(range(1, 13)):
        return ""
    (year, month), (day, until) = (str(first[0]), month_words(first[1])), (str(first[-1]), str(last[-1]))
    if len(first) == 2:
        return gettext("{year} {month}–{until}").format(year=year, month=month, until=month_words(last[1]))
    if first[1] == last[1]:
        return gettext("{year} {month} {day}–{until}").format(year=year, month=month, day=day, until=until)
    given = {"year": year, "month": month, "day": day, "until": until, "later": month_words(last[1])}
    return gettext("{year} {month} {day}–{later} {until}").format(**given)


def _day(parts: object) -> str:
    numbers = [str(part) for part in parts] if isinstance(parts, list) else []
    if not numbers or not all(re.fullmatch(r"[0-9]{1,4}", number) for number in numbers):
        return ""
    year, *rest = (str(int(number)) for number in numbers)
    if not rest or not 1 <= int(rest[0]) <= 12:
        return year
    month = month_words(int(rest[0]))
    if len(rest) == 1:
        return gettext("{year} {month}").format(year=year, month=month)
    return gettext("{year} {month} {day}").format(year=year, month=month, day=rest[1])


def _text(data: Mapping[str, object], name: str) -> str:
    """A field as one line of plain text, without the mark-up that CSL-JSON allows in titles; empty if it is none."""
    value = data.get(name)
    if isinstance(value, bool) or not isinstance(value, (str, int)):
        return ""
    text = _RAISED_TAG.sub("", _RAISED.sub("^", _TAG.sub("", str(value))))
    return " ".join(text.split())


def _joined(between: str, *pieces: str) -> str:
    return between.join(piece for piece in pieces if piece)


def _sentence(text: str) -> str:
    return text if text.endswith((".", "?", "!", "…")) else text + "."
