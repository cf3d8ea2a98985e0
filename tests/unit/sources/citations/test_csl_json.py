"""CSL-JSON: places of entries and fields, and mistakes on the text that is wrong."""

from __future__ import annotations

import pytest

from liningbook.sources.citations.csl_json import read_csl_json
from liningbook.sources.citations.reference_entry import MOST_ENTRIES, SourceText
from tests.saying import advice_of, message_of, related_of
from tests.unit.sources.citations.underlined import told, underlined

TWO = """[
  {"id": "marlow2019", "type": "book",
   "title": "A \\"quoted\\" title", "volume": 1.50,
   "issued": {"date-parts": [[2019, 3]]}},
  {"id": 7, "DOI": "10.5555/x"}
]
"""


def test_entries_keep_their_places() -> None:
    entries, findings = read_csl_json(SourceText("references.json", TWO))
    assert findings == []
    assert [entry.id for entry in entries] == ["marlow2019", "7"]
    assert [underlined(TWO, entry.span) for entry in entries] == ["marlow2019", "7"]
    first, second = entries
    assert first.data["volume"] == "1.50"
    assert first.data["title"] == 'A "quoted" title'
    assert underlined(TWO, first.place("issued")) == '{"date-parts": [[2019, 3]]}'
    assert underlined(TWO, second.place("DOI")) == "10.5555/x"
    assert second.place("title") == second.span


@pytest.mark.parametrize(
    ("text", "where", "message"),
    [
        ("", "", "this is not JSON: there is nothing in this file"),
        ("  \n", " ", "this is not JSON: there is nothing in this file"),
        ('[{"id": "a"}', "", "this is not JSON: the text ends before all its brackets are closed"),
        ('[{"id": "a" "type": "book"}]', '"', "this is not JSON: a comma is missing here"),
        ('[{"id" "a"}]', '"', "this is not JSON: a colon is missing here"),
        ('[{"id": }]', "}", "this is not JSON: a value is missing here"),
        ('[{"id": "a",}]', "}", "this is not JSON: a field name in double quotes is missing here"),
        ("[{id: 1}]", "i", "this is not JSON: a field name in double quotes is missing here"),
        ('[{"id": "a}]', '"', "this is not JSON: this text has no closing quote"),
        ('[{"id": "a"}] more', "m", "this is not JSON: something stands after the end of the list"),
        ('[{"id": NaN}]', "N", "this is not JSON: 'NaN' is no value in JSON"),
        (
            '[{"id": "a", "issued": {"raw": "x", "raw": "y"}}]',
            "{",
            "this is not JSON: 'raw' is given twice inside this value",
        ),
        ("[" * 100_000, "[", "this is not JSON: values are nested too deep"),
    ],
)
def test_what_is_not_json_is_unreadable(text: str, where: str, message: str) -> None:
    _, findings = read_csl_json(SourceText("references.json", text))
    assert told(text, findings) == [("unreadable", where, message)]
    assert advice_of(findings[0])


def test_place_of_a_mistake_counts_lines_and_columns_from_one() -> None:
    _, findings = read_csl_json(SourceText("references.json", '[\r\n  {"id": "a",\r\n   "title": tru}\r\n]'))
    assert [(f.span.line, f.span.column) for f in findings] == [(3, 13)]


@pytest.mark.parametrize(
    ("text", "where", "message"),
    [
        ('{"id": "a"}', "{", "a reference list is a list of entries"),
        ('[["id"]]', '["id"]', "an entry is a group of fields in curly brackets"),
        ('[{"title": "x"}]', "{", "this entry has no `id`, so no rule can cite it"),
        ("[{}]", "{", "this entry has no `id`, so no rule can cite it"),
        ('[{"id": ["a"]}]', '["a"]', "the `id` of an entry is a text that rules can cite"),
        ('[{"id": true}]', "true", "the `id` of an entry is a text that rules can cite"),
        ('[{"id": " "}]', " ", "the `id` of an entry is a text that rules can cite"),
    ],
)
def test_what_is_no_list_of_entries_breaks_the_schema(text: str, where: str, message: str) -> None:
    entries, findings = read_csl_json(SourceText("references.json", text))
    assert entries == []
    assert told(text, findings) == [("schema", where, message)]


def test_field_given_twice_is_shown_beside_the_first() -> None:
    text = '[{"id": "a", "title": "one", "title": "two"}]'
    entries, findings = read_csl_json(SourceText("references.json", text))
    assert told(text, findings) == [("unreadable", "title", "'title' is given twice in one entry")]
    assert [underlined(text, span) for span, _ in related_of(findings[0])] == ["one"]
    assert entries[0].data["title"] == "one"


def test_mistake_in_one_entry_leaves_those_before_it() -> None:
    entries, findings = read_csl_json(SourceText("references.json", '[{"id": "a"}, 7, {"id": "b"}, {"id": "c" ]'))
    assert [entry.id for entry in entries] == ["a", "b"]
    assert [finding.kind for finding in findings] == ["schema", "unreadable"]


def test_whole_numbers_too_long_for_other_readers_stay_text() -> None:
    entries, _ = read_csl_json(
        SourceText("references.json", '[{"id": "a", "number": 12345678901234567890, "volume": 3}]')
    )
    assert entries[0].data["number"] == "12345678901234567890"
    assert entries[0].data["volume"] == 3


def test_list_longer_than_any_practice_has_is_refused() -> None:
    text = "[" + ",".join(f'{{"id": "k{n}"}}' for n in range(MOST_ENTRIES + 2)) + "]"
    entries, findings = read_csl_json(SourceText("references.json", text))
    assert len(entries) == MOST_ENTRIES
    assert [(f.kind, message_of(f)) for f in findings] == [("unreadable", "the list has more than 10000 entries")]
