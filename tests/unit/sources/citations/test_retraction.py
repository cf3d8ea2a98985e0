"""What an entry, a title and a list say of a retraction."""

from __future__ import annotations

import contextlib
import io
import json
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from liningbook.finding import Span
from liningbook.sources.citations.reference_list import read_references
from liningbook.sources.citations.retraction import (
    MOST_ROWS,
    RetractedList,
    Retraction,
    read_retracted,
    retraction_of,
    title_asks,
)
from liningbook.sources.csv_rows import CannotRead
from tests.unit.sources.citations.underlined import told, underlined


def read(text: str) -> RetractedList:
    return read_retracted(io.BytesIO(text.encode()), "list.csv")


@pytest.mark.parametrize(
    ("file", "text", "on", "because"),
    [
        ("a.json", '[{"id": "a", "retracted": {"on": "2024-05-01", "because": "Made up."}}]', "2024-05-01", "Made up."),
        ("a.json", '[{"id": "a", "retracted": {"on": "2024"}}]', "2024", ""),
        ("a.json", '[{"id": "a", "retracted": {"because": "Made\\n up."}}]', "", "Made up."),
        ("a.bib", "@book{a, retracted = {2024-05}, retracted_because = {Made {\\'e} up}}", "2024-05", "Made é up"),
        ("a.bib", "@book{a, Retracted_Because = {Made up}}", "", "Made up"),
    ],
)
def test_an_entry_says_when_and_why(file: str, text: str, on: str, because: str) -> None:
    references, findings = read_references(file, text)
    assert findings == []
    said = retraction_of(references["a"])
    assert said is not None
    assert (said.on, said.because, said.listed) == (on, because, None)
    assert underlined(text, said.span).startswith(("{", "2024", "Made"))


@pytest.mark.parametrize(
    ("on", "holds"),
    [("2026-11-28", True), ("2026-11-29", False), ("2026-11", True), ("2026-12", False), ("2026", True),
     ("2027", False), ("", True), ("soon", True)],
)  # fmt: skip
def test_a_retraction_counts_from_its_day(on: str, holds: bool) -> None:
    assert Retraction(Span("a.json", 1, 1, 1, 1), on).holds_on(date(2026, 11, 28)) is holds


@pytest.mark.parametrize(
    ("row", "entry"),
    [
        ("10.5555/x.", "10.5555/X"),
        ("10.5555/x", "10.5555/x."),
        ("https://doi.org/10.5555/x?utm=1&y=2", "10.5555/x"),
        ("10.5555/x", "https://doi.org/10.5555/x?x=1"),
    ],
)
def test_what_follows_a_doi_that_was_copied_hides_no_retraction(row: str, entry: str) -> None:
    text = json.dumps([{"id": "a", "DOI": entry}])
    assert read(f"{row}\n").of(read_references("a.json", text)[0]["a"]) is not None


@pytest.mark.parametrize(
    "value",
    [True, False, None, "2024-05-01", {}, [], {"on": "May 2024"}, {"on": "2024-13-01"}, {"on": 2024}, {"because": " "},
     {"on": "2024", "why": "x"}, {"because": ["x"]}, {"on": None, "because": "x"}],
)  # fmt: skip
def test_another_form_is_told_and_never_passed_over(value: object) -> None:
    text = json.dumps([{"id": "a", "retracted": value}])
    message = "'retracted' says on which day a work was retracted, and why"
    assert [(kind, said) for kind, _, said in told(text, read_references("a.json", text)[1])] == [("schema", message)]


@pytest.mark.parametrize("value", ["{}", "{yes}", "{May 2024}", "{2024-02-30}"])
def test_a_day_in_bibtex_that_is_none_is_told_once(value: str) -> None:
    text = f"@book{{a, title = {{T}}, retracted = {value}}}"
    assert [kind for kind, *_ in told(text, read_references("a.bib", text)[1])] == ["schema"]


@pytest.mark.parametrize(
    "title",
    [
        "RETRACTED: A trial",
        "Retracted article: A trial",
        "[Retracted] A trial",
        "<b>RETRACTED</b> – A trial",
        "(retracted) A trial",
        "Retraction: A trial",
        "Retraction of: “A trial”",
        "Retraction Note: A trial",
        "Retraction notice to “A trial” [J. Dent. 3 (2020) 1]",
        "RETRACTION OF a trial",
    ],
)
def test_a_title_asks(title: str) -> None:
    assert title_asks(title)


@pytest.mark.parametrize(
    "title", ["A retracted trial", "Retraction cord or paste", "Retractions in dentistry", "Retractedness", "", None, 3]
)
def test_a_title_does_not_ask(title: object) -> None:
    assert not title_asks(title)


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("10.5555/a\n10.5555/B\n", {"10.5555/a": 1, "10.5555/b": 2}),
        ("DOI\nhttps://doi.org/10.5555/a\n\ndoi:10.5555/b\n", {"10.5555/a": 2, "10.5555/b": 4}),
        ("\ufeffRetracted works\ndx.doi.org/10.5555/a\nDOI 10.5555/b", {"10.5555/a": 2, "10.5555/b": 3}),
        ("Title,Doi\n\"A, b\",10.5555/a\nC,\nD,10.5555/b\n", {"10.5555/a": 2, "10.5555/b": 4}),
        ("doi\n10.1002/(SICI)1097<1661::AID>3.0.CO;2-2\n", {"10.1002/(sici)1097<1661::aid>3.0.co;2-2": 2}),
        ("doi\nhttps://doi.org/10.1002/%28SICI%291097%3C1661\n", {"10.1002/(sici)1097<1661": 2}),
    ],
)  # fmt: skip
def test_dois_of_a_list_in_any_form(text: str, found: dict[str, int]) -> None:
    assert read(text).rows == found


def test_rows_without_a_doi_are_told_the_first_ones_one_by_one() -> None:
    listed = read("doi\n10.5555/a\n" + "none\n" * 8 + '"x\n\n')
    assert listed.passed_over == tuple((number, "none") for number in range(3, 8))
    assert listed.more == 4


def test_a_first_row_that_is_nearly_a_doi_is_no_heading() -> None:
    assert read("11.5555/a\n10.5555/b\n").passed_over == ((1, "11.5555/a"),)


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("", "no-doi-in-list"),
        ("doi\nnone\n", "no-doi-in-list"),
        ("Title,Works\nA,10.5555/a\n", "no-column-doi"),
        ("PK\3\4", "spreadsheet"),
        ("doi\n" + "10.5555/a\n" * MOST_ROWS, "list-too-long"),
    ],
)
def test_a_list_that_cannot_be_used_is_refused(text: str, what: str) -> None:
    with pytest.raises(CannotRead) as refused:
        read(text)
    assert refused.value.what == what


def test_a_list_is_matched_by_the_doi_in_any_form() -> None:
    entries = [{"id": "a", "DOI": "https://doi.org/10.5555/ABC"}, {"id": "b", "DOI": "10.5555/other"}, {"id": "c"}]
    references, _ = read_references("a.json", json.dumps(entries))
    listed = read("10.5555/abc")
    assert [key for key, entry in references.items() if listed.of(entry)] == ["a"]
    found = listed.of(references["a"])
    assert found is not None
    assert found.listed == ("list.csv", 1)


@given(st.lists(st.sampled_from([b"10.5555/a", b"doi", b",", b";", b'"', b"\n", b"\r", b"\xff", b"\0", b"x "])))
def test_nothing_that_a_list_holds_is_raised_but_as_a_refusal(pieces: list[bytes]) -> None:
    with contextlib.suppress(CannotRead):
        assert read_retracted(io.BytesIO(b"".join(pieces)), "list.csv").rows
