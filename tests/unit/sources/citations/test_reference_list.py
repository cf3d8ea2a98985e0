"""The reference list as a whole: keys, forms of fields, identifiers; and that nothing an author writes is raised."""

from __future__ import annotations

import json
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from liningbook.say.references import format_reference, reference_url
from liningbook.sources.citations.reference_list import read_references
from tests.saying import message_of, related_of
from tests.unit.sources.citations.underlined import told, underlined

BIB = "@book{a, title={A}}\n@book{b, title={B}, doi={10.5555/b}, isbn={978-0-309-16422-1}}\n"
JSON = json.dumps(
    [
        {"id": "a", "type": "book", "title": "A", "author": [{"family": "Marlow", "given": "A."}]},
        {"id": "b", "type": "article-journal", "issued": {"date-parts": [[2019, 3, 2]]}, "DOI": "10.5555/b"},
    ],
    indent=1,
)


@pytest.mark.parametrize(("file", "text"), [("references.bib", BIB), ("references.JSON", JSON)])
def test_references_come_by_key_in_the_order_of_the_file(file: str, text: str) -> None:
    references, findings = read_references(file, text)
    assert findings == []
    assert list(references) == ["a", "b"]
    for key, reference in references.items():
        assert reference.id == key == reference.data["id"] == underlined(text, reference.span)
        assert reference.span.file == file


def test_other_kind_of_file_is_unreadable() -> None:
    references, findings = read_references("references.ris", "TY  - BOOK")
    assert references == {}
    assert [(f.kind, message_of(f)) for f in findings] == [("unreadable", "a reference list ends in .bib or .json")]


@pytest.mark.parametrize(
    ("file", "text"),
    [
        ("references.bib", "@book{a, title={first}}\n@book{a, title={second}}"),
        ("references.json", '[{"id": "a", "title": "first"},\n{"id": "a", "title": "second"}]'),
    ],
)
def test_key_given_twice_is_unreadable_and_the_first_is_kept(file: str, text: str) -> None:
    references, findings = read_references(file, text)
    assert told(text, findings) == [("unreadable", "a", "the key 'a' is given to two entries")]
    assert [findings[0].span.line, related_of(findings[0])[0][0].line] == [2, 1]
    assert references["a"].data["title"] == "first"


def test_keys_that_differ_only_in_capital_letters_break_the_schema() -> None:
    text = "@book{Marlow, title={x}}\n@book{marlow, title={y}}"
    references, findings = read_references("references.bib", text)
    message = "the keys 'Marlow' and 'marlow' differ only in capital letters"
    assert told(text, findings) == [("schema", "marlow", message)]
    assert list(references) == ["Marlow", "marlow"]


@pytest.mark.parametrize("doi", ["10.5555/12345678", "https://doi.org/10.5555/x", "doi:10.5555/x", "DOI: 10.5555/x"])
def test_sound_doi_is_kept_bare(doi: str) -> None:
    references, findings = read_references("references.json", json.dumps([{"id": "a", "DOI": doi}]))
    assert findings == []
    assert str(references["a"].data["DOI"]).startswith("10.5555/")


@pytest.mark.parametrize(
    ("field", "value", "written", "wrong"),
    [
        ("DOI", "11.1001/x", "11.1001/x", "form"),
        ("DOI", "https://doi.org/10.12/x", "10.12/x", "form"),
        ("ISBN", "9780306406158", "9780306406158", "check-digit"),
        ("ISBN", "978-0-309-16422-1, 0-309-16422-5", "0-309-16422-5", "check-digit"),
        ("ISSN", "0895-4357", "0895-4357", "check-digit"),
        ("PMID", "PMC8309034", "PMC8309034", "form"),
        ("PMCID", "6692166", "6692166", "form"),
    ],
)
def test_identifier_that_cannot_be_right_is_kept_with_its_place(
    field: str, value: str, written: str, wrong: str
) -> None:
    for file, text in (
        ("references.json", json.dumps([{"id": "a", field: value}])),
        ("references.bib", f"@book{{a, {field} = {{{value}}}}}"),
    ):
        references, findings = read_references(file, text)
        (doubt,) = references["a"].doubtful
        assert findings == []
        assert (doubt.sort, doubt.written, doubt.wrong) == (field, written, wrong)
        assert underlined(text, doubt.span) == value


@pytest.mark.parametrize("value", ["www.example.org", "javascript:alert(1)"])
def test_address_that_is_none_breaks_the_schema(value: str) -> None:
    for file, text in (
        ("references.json", json.dumps([{"id": "a", "URL": value}])),
        ("references.bib", f"@book{{a, url = {{{value}}}}}"),
    ):
        assert told(text, read_references(file, text)[1]) == [("schema", value, f"'{value}' is not a web address")]


@pytest.mark.parametrize(
    ("field", "value", "message"),
    [
        ("title", ["x"], "'title' is a text"),
        ("title", None, "'title' is a text"),
        ("volume", True, "'volume' is a text"),
        ("author", "Marlow", "'author' is a list of people"),
        ("author", ["Marlow"], "'author' is a list of people"),
        ("author", [{}], "'author' is a list of people"),
        ("editor", [{"family": 7}], "'editor' is a list of people"),
        ("issued", "2019", "'issued' is a date"),
        ("issued", {"date-parts": [[2019, 13]]}, "'issued' is a date"),
        ("issued", {"date-parts": [[2019, 2, 29]]}, "'issued' is a date"),
        ("issued", {"date-parts": []}, "'issued' is a date"),
        ("accessed", {"date-parts": [["x"]]}, "'accessed' is a date"),
        ("title", "a\u0000b", "'title' holds a character that cannot be printed"),
        ("custom", ["a\ud800b"], "'custom' holds a character that cannot be printed"),
    ],
)
def test_field_of_another_form_breaks_the_schema(field: str, value: object, message: str) -> None:
    text = json.dumps([{"id": "a", field: value}])
    references, findings = read_references("references.json", text)
    assert [(f.kind, message_of(f)) for f in findings] == [("schema", message)]
    assert underlined(text, findings[0].span) == json.dumps(value).strip('"')
    assert isinstance(format_reference(references["a"].data), str)


@pytest.mark.parametrize(
    "value",
    [{"date-parts": [[2019]]}, {"date-parts": [["2019", "3"], [2020]]}, {"literal": "in press"}, {"raw": "2019"}],
)
def test_every_form_of_a_date_is_taken(value: object) -> None:
    assert read_references("references.json", json.dumps([{"id": "a", "issued": value}]))[1] == []


def test_findings_come_in_the_order_of_the_file() -> None:
    text = "@book{a, url={x}}\n@book{b, title=y}\n@book{c, url={1}}"
    assert [finding.span.line for finding in read_references("references.bib", text)[1]] == [1, 2, 3]


def broken(text: str, chance: random.Random) -> str:
    """The text with a few characters taken out, put in or doubled, perhaps cut short."""
    signs = list(text)
    if chance.random() < 0.25:
        del signs[chance.randrange(len(signs)) :]
    for _ in range(chance.randrange(1, 10)):
        place = chance.randrange(len(signs) + 1)
        what = chance.randrange(3)
        if what == 0:
            del signs[place : place + 1]
        elif what == 1:
            signs.insert(place, chance.choice("{}[]\",:=#@\\%$~()-\n\r é0²\u0000'`"))
        else:
            signs[place:place] = signs[place : place + chance.randrange(30)]
    return "".join(signs)


def must_be_sound(file: str, text: str) -> None:
    references, findings = read_references(file, text)
    for span in [*(finding.span for finding in findings), *(reference.span for reference in references.values())]:
        assert (span.line, span.column) >= (1, 1)
        assert (span.end_line, span.end_column) > (span.line, span.column)
        assert span.line <= text.count("\n") + 1
    for reference in references.values():
        assert underlined(text, reference.span) or file.endswith(".json")
        assert isinstance(format_reference(reference.data), str)
        assert isinstance(reference_url(reference.data), str)
        json.dumps(dict(reference.data))


@pytest.mark.parametrize(("file", "text"), [("r.bib", BIB), ("r.json", JSON)])
@given(seed=st.integers(0, 2**32))
def test_broken_file_gives_findings_and_no_exception(file: str, text: str, seed: int) -> None:
    must_be_sound(file, broken(text, random.Random(seed)))


plain = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(st.sampled_from(["family", "given", "literal", "date-parts", "raw", "x"]), inner, max_size=4)
    ),
    max_leaves=12,
)
FIELDS = [
    "type",
    "title",
    "author",
    "editor",
    "issued",
    "accessed",
    "page",
    "volume",
    "edition",
    "DOI",
    "ISBN",
    "URL",
    "note",
]


@given(st.lists(st.dictionaries(st.sampled_from(["id", *FIELDS]), plain) | plain, max_size=4) | plain)
def test_json_of_any_shape_gives_findings_and_no_exception(data: object) -> None:
    must_be_sound("references.json", json.dumps(data))


HOSTILE = {
    "brackets in JSON": ("r.json", "[" * 100_000),
    "deep value in JSON": ("r.json", '[{"id":"a","title":' + '{"x":' * 50_000),
    "long number in JSON": ("r.json", '[{"id":' + "9" * 100_000 + "}]"),
    "brackets in BibTeX": ("r.bib", "{" * 100_000),
    "entries in entries": ("r.bib", "@a{" * 100_000),
    "deep value in BibTeX": ("r.bib", "@a{k, title={" + "{" * 100_000 + "}" * 100_000 + "}}"),
    "fields without end": ("r.bib", "@a{k," + "a={b}," * 20_000),
}


@pytest.mark.parametrize("name", sorted(HOSTILE))
def test_hostile_file_is_read_without_an_exception(name: str) -> None:
    must_be_sound(*HOSTILE[name])
