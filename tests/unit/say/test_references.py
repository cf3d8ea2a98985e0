"""The text of a reference: what is missing leaves no mark."""

from __future__ import annotations

import itertools
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from liningbook.say.references import format_reference, initials, reference_url, short_pages

FULL: dict[str, object] = {
    "title": "Remaining dentine",
    "author": [{"family": "Marlow", "given": "Ada"}],
    "editor": [{"family": "Vane", "given": "T."}, {"family": "Quill", "given": "B."}],
    "container-title": "Invented Journal",
    "volume": "7",
    "issue": "2",
    "page": "5-19",
    "number": "12",
    "edition": "3",
    "collection-title": "Series",
    "publisher": "Press",
    "publisher-place": "Leeds",
    "genre": "Leaflet",
    "issued": {"date-parts": [[2019, 3, 2]]},
    "accessed": {"date-parts": [[2026, 10, 5]]},
    "URL": "https://example.org/x",
    "DOI": "10.5555/x",
    "note": "Invented study",
}
TYPES = ["article-journal", "book", "chapter", "report", "legislation", "webpage", "thesis", "document", None]


@pytest.mark.parametrize("kind", TYPES)
def test_any_field_may_be_missing(kind: str | None) -> None:
    for size in range(4):
        for kept in itertools.combinations(FULL, size):
            text = format_reference({"id": "marlow2019", "type": kind, **{name: FULL[name] for name in kept}})
            assert text == " ".join(text.split())
            assert not re.search(r"\.\.|[,;:] ?[.;:,]|\(\)|\[\]|None|^[.,;:]| $", text), text
            assert text[-1:] not in (",", ";", ":", "[", "(")
    for missing in FULL:
        text = format_reference({"type": kind, **{name: FULL[name] for name in FULL if name != missing}})
        assert "None" not in text


@pytest.mark.parametrize("kind", TYPES)
def test_title_author_year_identifier_and_note_are_never_left_out(kind: str | None) -> None:
    text = format_reference({"type": kind, **FULL})
    assert all(piece in text for piece in ("Remaining dentine", "Marlow A", "2019 Mar 2", "doi:10.5555/x"))
    assert text.endswith(" Invented study.")


def test_entry_without_any_text_is_shown_by_its_key() -> None:
    assert format_reference({"id": "marlow2019", "type": "book"}) == "marlow2019"
    assert format_reference({}) == ""


@pytest.mark.parametrize(
    ("count", "text"),
    [(1, "A1 X"), (6, "A1 X, A2 X, A3 X, A4 X, A5 X, A6 X"), (7, "A1 X, A2 X, A3 X, A4 X, A5 X, A6 X, et al.")],
)
def test_six_authors_are_named(count: int, text: str) -> None:
    authors = [{"family": f"A{n}", "given": "Xenia"} for n in range(1, count + 1)]
    assert (
        format_reference({"type": "book", "author": authors, "title": "T"}) == f"{text}{'' if count == 7 else '.'} T."
    )


def test_authors_who_are_not_listed_are_et_al() -> None:
    authors = [{"family": "Marlow", "given": "A"}, {"literal": "others"}]
    assert format_reference({"type": "book", "author": authors}) == "Marlow A, et al."


@pytest.mark.parametrize(
    ("given_names", "short"),
    [
        ("Jan Peter", "JP"),
        ("Anne-Marie", "AM"),
        ("J. P.", "JP"),
        ("J.P.", "JP"),
        ("JP", "JP"),
        ("Élodie", "É"),
        ("E\u0301lodie", "É"),
        ("Maria de Lourdes", "ML"),
        ("ada", "A"),
        ("", ""),
        ("李", "李"),
    ],
)
def test_initials(given_names: str, short: str) -> None:
    assert initials(given_names) == short


@pytest.mark.parametrize(
    ("pages", "short"),
    [
        ("1525-1533", "1525–33"),
        ("698–702", "698–702"),
        ("698--702", "698–702"),
        ("100-109", "100–9"),
        ("99-101", "99–101"),
        ("S12-S18", "S12–8"),
        ("e1-f3", "e1-f3"),
        ("12-15, 20-29", "12–5, 20–9"),
        ("33-33", "33–33"),
        ("41-39", "41–39"),
        ("124A-126A", "124A-126A"),
        ("e34", "e34"),
        ("", ""),
    ],
)
def test_page_ranges_are_cut_to_what_changes(pages: str, short: str) -> None:
    assert short_pages(pages) == short


@given(st.integers(1, 99999), st.integers(0, 99999))
def test_short_page_range_can_be_read_back(first: int, more: int) -> None:
    last = first + more
    begin, _, end = short_pages(f"{first}-{last}").partition("–")
    assert begin == str(first)
    assert (begin[: max(len(begin) - len(end), 0)] + end) == str(last)


@pytest.mark.parametrize(
    ("date", "text"),
    [
        ({"date-parts": [[2019]]}, "2019"),
        ({"date-parts": [["2019", "03", "02"]]}, "2019 Mar 2"),
        ({"date-parts": [[2019], [2020]]}, "2019–2020"),
        ({"literal": "in press"}, "in press"),
        ({"raw": "2019-03"}, "2019-03"),
    ],
)
def test_date(date: dict[str, object], text: str) -> None:
    assert format_reference({"type": "book", "title": "T", "issued": date}) == f"T. {text}."


@pytest.mark.parametrize(
    ("edition", "text"),
    [("1", "1st ed."), ("2", "2nd ed."), ("3", "3rd ed."), ("11", "11th ed."), ("112", "112th ed."), ("22", "22nd ed."),
     ("Second", "Second ed."), ("2nd ed.", "2nd ed."), ("rev. edition", "rev. edition.")],
)  # fmt: skip
def test_edition(edition: str, text: str) -> None:
    assert format_reference({"type": "book", "title": "T", "edition": edition}) == f"T. {text}"


@pytest.mark.parametrize(
    ("title", "text"),
    [
        ("<i>In vitro</i> H<sub>2</sub>O at 10<sup>-3</sup> M", "In vitro H2O at 10^-3 M."),
        ("RDT < 0.5 mm & > 0 mm", "RDT < 0.5 mm & > 0 mm."),
        ("RDT ≤ 2 mm,\n 5 µm", "RDT ≤ 2 mm, 5 µm."),
        ("Why?", "Why?"),
    ],
)
def test_title_is_plain_text(title: str, text: str) -> None:
    assert format_reference({"type": "article-journal", "title": title}) == text


@pytest.mark.parametrize(
    ("data", "url"),
    [
        ({"DOI": "10.5555/x", "URL": "https://example.org"}, "https://doi.org/10.5555/x"),
        ({"DOI": "10.1002/a(b)<1::c>3.0;2#"}, "https://doi.org/10.1002/a(b)%3C1::c%3E3.0;2%23"),
        ({"URL": "https://example.org/a?b=1"}, "https://example.org/a?b=1"),
        ({"URL": "javascript:alert(1)"}, ""),
        ({"URL": "https://example.org/a b"}, ""),
        ({"URL": 7}, ""),
        ({}, ""),
    ],
)
def test_url_is_a_doi_or_a_web_address(data: dict[str, object], url: str) -> None:
    assert reference_url(data) == url
