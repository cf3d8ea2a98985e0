"""YAML as a tree with places: what is read, where it stands, and what is said where it cannot be read."""

# A case stands on one line, so that the tables can be read down.

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from liningbook.finding import Finding, Span
from liningbook.sources import yaml_nodes
from liningbook.sources.node import Node
from liningbook.sources.text import hidden_character
from liningbook.sources.yaml_nodes import MAX_DEPTH, read_yaml
from tests.saying import advice_of, message_of, messages_of, related_of


def sound(text: str) -> Node:
    node, findings = read_yaml(text, "f.yaml")
    assert findings == []
    assert node is not None
    return node


def marked(text: str, span: Span) -> str:
    """The text at a place, which lies on one line."""
    assert span.line == span.end_line
    return text.split("\n")[span.line - 1][span.column - 1 : span.end_column - 1]


def said(text: str) -> list[tuple[int, int, str]]:
    """Line, column and message of each finding."""
    findings = read_yaml(text, "f.yaml")[1]
    assert {finding.kind for finding in findings} <= {"unreadable"}
    assert all(advice_of(finding) for finding in findings)
    return [(finding.span.line, finding.span.column, message_of(finding)) for finding in findings]


# --- what is read -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "word",
    [
        "yes",
        "no",
        "on",
        "off",
        "true",
        "False",
        "1",
        "0.50",
        "1e3",
        "0x1F",
        "012",
        "1_000",
        ".5",
        "2026-09-01",
        "12:30",
        "=",
        ".inf",
        "N",
    ],
)
def test_a_plain_word_is_the_text_it_is(word: str) -> None:
    assert sound(f"a: {word}\n").plain() == {"a": word}
    assert sound(f"{word}: a\n").plain() == {word: "a"}


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("a: 'it''s'", "it's"),
        ('a: "\\u00b5m"', "µm"),
        ("a: 'null'", "null"),
        ('a: "~"', "~"),
        ("a: ''", ""),
        ("a: x # a comment", "x"),
        ("a: x#y", "x#y"),
        ("a: '# none'", "# none"),
        ("a: |\n  one\n  two\n", "one\ntwo\n"),
        ("a: >-\n  one\n  two\n", "one two"),
        ("a: one\n  two\n", "one two"),
        ("a: https://x.example/y", "https://x.example/y"),
    ],
)
def test_texts_may_be_written_in_many_ways(text: str, value: str) -> None:
    assert sound(text).plain() == {"a": value}


@pytest.mark.parametrize(
    "text", ["# c\n---\na: b\n", "%YAML 1.2\n---\na: b\n", "---\na: b\n...\n", "{a: b}", "? a\n: b\n"]
)
def test_a_document_may_have_its_marks(text: str) -> None:
    assert sound(text).plain() == {"a": "b"}


values = st.recursive(
    st.text(st.characters(min_codepoint=32, max_codepoint=126), max_size=8),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text("abc", min_size=1, max_size=3), inner, max_size=3)
    ),
    max_leaves=12,
)


@given(values, st.sampled_from([None, 2]))
def test_json_is_read_as_what_it_says_with_the_place_of_every_text(value: Any, indent: int | None) -> None:
    text = json.dumps(value, indent=indent)
    root = sound(text)
    assert root.plain() == value
    nodes = [root]
    while nodes:
        node = nodes.pop()
        if node.key_span is not None:
            assert marked(text, node.key_span)[0] == '"'
        if node.text is not None:
            assert marked(text, node.span) == json.dumps(node.text)
        nodes += [*(node.items or ()), *(node.fields or {}).values()]


def test_the_demonstration_is_read_as_another_reader_reads_it(demonstration: Path) -> None:
    for path in sorted(demonstration.glob("*.yaml")):
        text = path.read_text(encoding="utf-8")
        assert sound(text).plain() == yaml.load(text, Loader=yaml.BaseLoader)


# --- places -----------------------------------------------------------------------------------------------------------

TEXT = """\
title: Pulp protection
when: {rdt: {at_most: 0.5 mm}, restoration: [amalgam, "cast"]}
list:
  - one: 1
    two: µ and 2
"""


@pytest.mark.parametrize(
    ("path", "key", "value"),
    [
        (["title"], "title", "Pulp protection"),
        (["when", "rdt"], "rdt", "{at_most: 0.5 mm}"),
        (["when", "rdt", "at_most"], "at_most", "0.5 mm"),
        (["when", "restoration"], "restoration", '[amalgam, "cast"]'),
        (["when", "restoration", 1], None, '"cast"'),
        (["list", 0, "two"], "two", "µ and 2"),
    ],
)
def test_every_key_and_value_has_its_place(path: list[str | int], key: str | None, value: str) -> None:
    node = sound(TEXT).at(path)
    assert marked(TEXT, node.span) == value
    assert (None if node.key_span is None else marked(TEXT, node.key_span)) == key


def test_places_count_from_the_first_line_of_the_file() -> None:
    node, _ = read_yaml("a: b\n", "rules/x.md", first_line=2)
    assert node is not None
    assert node.at(["a"]).span == Span("rules/x.md", 2, 4, 2, 5)
    _, (finding,) = read_yaml("a:\n", "rules/x.md", first_line=2)
    assert finding.span == Span("rules/x.md", 2, 1, 2, 2)


def test_columns_count_characters_not_bytes() -> None:
    text = "µ≤\U0001f9b7: {a: b}\n"
    assert marked(text, sound(text).at(["µ≤\U0001f9b7", "a"]).span) == "b"


@pytest.mark.parametrize("path", [["none"], ["list", 5], ["title", "deeper"], ["list", "one"]])
def test_a_path_that_leads_nowhere_ends_at_the_last_node_on_the_way(path: list[str | int]) -> None:
    root = sound(TEXT)
    assert root.at(path) in (root, root.at(["list"]), root.at(["title"]))


# --- what is refused --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "places"),
    [
        ("", [(1, 1, "there is nothing in this file")]),
        ("# later\n", [(1, 1, "there is nothing in this file")]),
        ("a:\n", [(1, 1, "there is no value here")]),
        ("a: {b: }\n", [(1, 5, "there is no value here")]),
        ("- \n- a\n", [(1, 2, "there is no value here")]),
        ("a: ~\n", [(1, 4, "'~' means no value, which is not used here")]),
        ("a: NULL\n", [(1, 4, "'NULL' means no value, which is not used here")]),
        ("a: b\na: c\n", [(2, 1, "'a' is given twice")]),
        ("a: b\na: c\na: d\n", [(2, 1, "'a' is given twice"), (3, 1, "'a' is given twice")]),
        ("a: &b c\n", [(1, 4, "anchors and aliases (`&`, `*`) are not used here")]),
        ("a: [&b [c]]\n", [(1, 5, "anchors and aliases (`&`, `*`) are not used here")]),
        ("a: *b\n", [(1, 4, "anchors and aliases (`&`, `*`) are not used here")]),
        ("&a b: c\n", [(1, 1, "anchors and aliases (`&`, `*`) are not used here")]),
        ("<<: {a: b}\n", [(1, 1, "merge keys (`<<`) are not used here")]),
        ("a: !!str b\n", [(1, 4, "tags (`!`) are not used here")]),
        ("a: !b {c: d}\n", [(1, 4, "tags (`!`) are not used here")]),
        ("[a]: b\n", [(1, 1, "a key must be a plain word")]),
        ("a: b\n---\nc: d\n", [(2, 1, "a second document starts here")]),
        ('a: "\\u202e"\n', [(1, 4, "the text holds a hidden character (U+202E)")]),
        ('"\\e": a\n', [(1, 1, "the text holds a hidden character (U+001B)")]),
        ("a: " + "[" * (MAX_DEPTH + 1), [(1, 34, "values are nested more than 30 deep")]),
    ],
)  # fmt: skip
def test_what_yaml_allows_and_a_protocol_does_not_is_a_finding(text: str, places: list[tuple[int, int, str]]) -> None:
    assert said(text) == places


def test_what_is_deep_but_not_too_deep_is_read() -> None:
    text = "[" * MAX_DEPTH + "a" + "]" * MAX_DEPTH
    assert json.dumps(sound(text).plain()) == text.replace("a", '"a"')


def test_a_quoted_merge_key_is_a_key() -> None:
    assert sound("'<<': a\n").plain() == {"<<": "a"}


def test_a_key_given_twice_points_to_the_first() -> None:
    _, (finding,) = read_yaml("a: b\nc: d\na: e\n", "f.yaml")
    assert [(span.line, text) for span, text in related_of(finding)] == [(1, "first given here")]


@pytest.mark.parametrize("loader", [yaml.SafeLoader, getattr(yaml, "CSafeLoader", yaml.SafeLoader)])
@pytest.mark.parametrize(
    ("text", "line", "column", "message"),
    [
        ("a:\n\tb: c\n", 2, 1, "a tab stands where only spaces may"),
        ("a: b: c\n", 1, 5, "a colon followed by a space stands inside a value"),
        ("title a\nscope: b\n", 1, 1, "this line has no colon"),
        ("a: b\nc\nd: e\n", 2, 1, "a colon and a space are missing after this"),
        ("a: [b\nc: d\n", 2, 2, "a comma or the closing `]` is missing here"),
        ("a: {b: c\nd: e\n", 2, 2, "a comma or the closing `}` is missing here"),
        ("a: [b, c\n", 1, 4, "a bracket is opened here and never closed"),
        ("a: 'b\nc: d\n", 1, 4, "a quote is opened here and never closed"),
        ("a: {b: 1 [in_i]}\n", 1, 10, "a `[` begins a list, and none can stand here"),
        ("a: @b\n", 1, 4, "a value cannot begin with this character"),
        ("a: `b`\n", 1, 4, "a value cannot begin with this character"),
        ("a: b\n c: d\n", 2, 3, "a colon followed by a space stands inside a value"),
        ("a:\n  - b\n c: d\n", 3, 2, "this line does not line up with those above it"),
        ('a: "C:\\Dental"\n', 1, 8, "a backslash means something else in double quotes"),
    ],
)
def test_broken_yaml_is_told_in_plain_words(
    loader: Any, text: str, line: int, column: int, message: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(yaml_nodes, "_Loader", loader)
    node, findings = read_yaml(text, "f.yaml")
    assert node is None
    assert messages_of(findings) == [message]
    assert (findings[0].span.line, findings[0].span.column) in ((line, column), (line, column + 1), (line, column - 1))


@given(st.text("ab:- \n\t{}[],'\"#&*!|>%@`?\\0.5~<µ", max_size=40))
def test_any_text_is_read_or_gets_a_finding_that_lies_in_it(text: str) -> None:
    node, findings = read_yaml(text, "f.yaml")
    assert (node is not None) or findings
    rows = text.split("\n")
    for finding in findings:
        assert 1 <= finding.span.line <= len(rows)
        assert 1 <= finding.span.column <= len(rows[finding.span.line - 1]) + 1
        assert message_of(finding).isprintable()


# --- decimal commas ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("{at_most: 0,5 mm}", {"at_most": "0,5 mm"}),
        ("{above: 0,5 mm, at_most: 2,5 mm}", {"above": "0,5 mm", "at_most": "2,5 mm"}),
        ("{exactly: -1,5}", {"exactly": "-1,5"}),
        ("{exactly: 1,000,000 um}", {"exactly": "1,000,000 um"}),
        ("{a: under 0,5 mm}", {"a": "under 0,5 mm"}),
        ("{a: 0,5-2,5 mm, b: c}", {"a": "0,5-2,5 mm"}),
        ("{a: '> 0,5 mm', b: ≥ 0,5 mm}", {"b": "≥ 0,5 mm"}),
    ],
)
def test_a_number_that_yaml_tears_at_its_comma_is_put_together(text: str, value: Any) -> None:
    root = sound(text)
    for key, number in value.items():
        assert root.at([key]).text == number
        assert marked(text, root.at([key]).span) == number


def test_a_blank_after_a_decimal_comma_is_no_matter() -> None:
    assert sound("{a: 0, 5 mm}").plain() == {"a": "0,5 mm"}


@pytest.mark.parametrize("text", ["{a: '0',5 mm}", "{a: 0,5 mm, b}", "{a: [0], 5 mm}", "{a, b: c}", "{a: b, c: }"])
def test_a_field_without_a_value_is_told(text: str) -> None:
    assert [message for _, _, message in said(text)] == ["there is no value here"]


# --- hidden characters ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "character"), [("a\u200bb", "\u200b"), ("\U000e0041", "\U000e0041"), ("a\0", "\0"), ("aé≤µ\n\t", None)]
)
def test_the_first_hidden_character_is_found(text: str, character: str | None) -> None:
    assert hidden_character(text) == character


def test_findings_are_values() -> None:
    _, (finding,) = read_yaml("a: ~", "f.yaml")
    assert isinstance(finding, Finding)
    assert hash(finding.span) == hash(Span("f.yaml", 1, 4, 1, 5))
