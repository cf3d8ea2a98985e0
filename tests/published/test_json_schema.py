"""The schemas of the source files against the published standard and a reference library.

Source: JSON Schema, draft 2020-12 (https://json-schema.org/draft/2020-12), its meta-schema as shipped with the library
`jsonschema` (Julian Berman and contributors), which also judges the values here. Liningbook itself reads with
`jsonschema-rs`; the two must agree on every value.
"""

from __future__ import annotations

import copy
import json
import random
import re
from collections.abc import Iterator
from typing import Any

import jsonschema_rs
import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from liningbook.model.source_table import SOURCES
from liningbook.resources import schema, schema_dir
from liningbook.sources.shape import SAME_VALUE
from liningbook.sources.shape_values import written
from liningbook.sources.yaml_nodes import read_yaml

NAMES = sorted(["columns", "new_study", *(row.schema for row in SOURCES if row.schema)])

WORDED = {"type", "enum", "pattern", "minimum", "maximum", "minItems", "minProperties", "maxProperties", "required",
          "anyOf", "additionalProperties", "not"}  # fmt: skip
"""Keywords whose errors `sources/shape.py` turns into messages."""

SILENT = {"$schema", "$id", "$comment", "$defs", "title", "description", "examples", "properties", "items", "const",
          "propertyNames", "patternErrorMessage", "x-say", "x-message", "x-help", "x-name", "x-with"}  # fmt: skip
"""Keywords that raise no error of their own there."""


def parts(whole: Any) -> Iterator[dict[str, Any]]:
    """Every schema within a schema, itself included."""
    if not isinstance(whole, dict):
        return
    yield whole
    for keyword in ("properties", "$defs", "dependentSchemas"):
        for inner in whole.get(keyword, {}).values():
            yield from parts(inner)
    for keyword in ("items", "additionalProperties", "propertyNames", "if", "then", "else", "not"):
        yield from parts(whole.get(keyword))
    for keyword in ("allOf", "anyOf"):
        for inner in whole.get(keyword, []):
            yield from parts(inner)


def resolved(name: str, part: dict[str, Any]) -> dict[str, Any]:
    """A schema with what it refers to; its own annotations come first."""
    target = schema(name)["$defs"][part["$ref"].removeprefix("#/$defs/")] if "$ref" in part else {}
    return {**target, **part}


def examples(name: str) -> Iterator[tuple[dict[str, Any], Any]]:
    for part in parts(schema(name)):
        for example in part.get("examples", []):
            yield part, example


def as_an_editor_reads(value: Any) -> Any:
    """The value with numbers and booleans where our own reader leaves texts."""
    if isinstance(value, dict):
        return {key: as_an_editor_reads(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [as_an_editor_reads(inner) for inner in value]
    if value in ("yes", "no"):
        return value == "yes"
    return json.loads(value) if re.fullmatch(r"[0-9]+(\.[0-9]+)?", value) else value


@pytest.mark.parametrize("name", NAMES)
def test_every_schema_is_valid_against_the_meta_schema(name: str) -> None:
    assert schema(name)["$schema"] == Draft202012Validator.META_SCHEMA["$id"]
    Draft202012Validator.check_schema(schema(name))
    jsonschema_rs.meta.validate(schema(name))


def test_every_schema_names_its_own_file() -> None:
    for name in NAMES:
        assert (schema_dir() / schema(name)["$id"].rpartition("/")[2]).name == f"{name}.schema.json"
        assert (schema_dir() / f"{name}.schema.json").is_file()


@pytest.mark.parametrize("name", NAMES)
def test_every_example_is_valid_where_it_stands(name: str) -> None:
    count = 0
    for part, example in examples(name):
        here = Draft202012Validator({**part, "$defs": schema(name)["$defs"]})
        here.validate(example)
        here.validate(as_an_editor_reads(example))
        count += 1
    assert count > 0


@pytest.mark.parametrize("name", NAMES)
def test_every_example_is_read_back_from_the_text_that_a_message_shows(name: str) -> None:
    for _, example in examples(name):
        node, found = read_yaml(f"field: {written(example)}\n", "example.yaml")
        assert not found
        assert node is not None
        assert node.plain() == {"field": example}


def test_shared_definitions_are_the_same_in_every_schema() -> None:
    everywhere: dict[str, set[str]] = {}
    for name in NAMES:
        for key, definition in schema(name)["$defs"].items():
            everywhere.setdefault(key, set()).add(json.dumps(definition))
    assert {key for key, texts in everywhere.items() if len(texts) > 1} == set()
    assert {"text", "date", "when", "condition", "range", "quantity"} <= everywhere.keys()


@pytest.mark.parametrize("name", NAMES)
def test_every_schema_needs_no_other_file_and_no_unused_definition(name: str) -> None:
    references = {part["$ref"] for part in parts(schema(name)) if "$ref" in part}
    assert references == {f"#/$defs/{key}" for key in schema(name)["$defs"]}


@pytest.mark.parametrize("name", NAMES)
def test_every_keyword_used_is_one_that_messages_know(name: str) -> None:
    used = {keyword for part in parts(schema(name)) for keyword in part}
    assert used <= WORDED | SILENT | set(SAME_VALUE)


@pytest.mark.parametrize("name", NAMES)
def test_every_value_that_can_be_wrong_has_its_wording(name: str) -> None:
    for part in parts(schema(name)):
        if {"type", "pattern", "minItems", "minProperties", "maxProperties"} & part.keys():
            assert "x-say" in part, part
        if part.get("additionalProperties") is False:
            assert "x-name" in part, part
        if "not" in part:
            assert part["not"] == {}
            assert {"x-message", "x-help"} <= part.keys(), part
        if "anyOf" in part:
            assert all(branch.keys() == {"required"} for branch in part["anyOf"])
            assert {"x-message", "x-help"} <= part.keys(), part
        if "propertyNames" in part:
            assert part["propertyNames"] == {"$ref": "#/$defs/id"}
        if "pattern" in part:
            assert part["patternErrorMessage"].startswith("must ")


@pytest.mark.parametrize("name", NAMES)
def test_every_field_helps_an_editor(name: str) -> None:
    for part in parts(schema(name)):
        if part.get("additionalProperties") is not False:
            continue
        for key, field in part["properties"].items():
            whole = resolved(name, field)
            assert whole["title"], key
            assert len(whole["description"].split()) > 1, key
            assert "enum" in whole or "examples" in whole or whole["x-say"].startswith("0"), key


def test_required_fields_are_those_of_the_format() -> None:
    assert schema("protocol")["required"] == [
        "title", "practice", "edition", "status", "review_by", "authors", "scope", "cautions", "evidence_scheme",
        "factors", "decisions",
    ]  # fmt: skip
    assert schema("protocol")["$defs"]["author"]["required"] == ["name", "role", "interests"]
    assert schema("materials")["required"] == ["agents"]
    assert schema("rule")["required"] == ["title", "evidence"]
    assert [branch["required"] for branch in schema("rule")["anyOf"]] == [["advise"], ["avoid"], ["never"]]


DATE = {"$ref": "#/$defs/date"}
CONDITION = {"$ref": "#/$defs/condition"}
WHEN = {"$ref": "#/$defs/when"}
ANSWER = {"$ref": "#/$defs/answer"}
EVIDENCE = {"$ref": "#/$defs/evidence"}


@pytest.mark.parametrize(
    ("name", "part", "value", "valid"),
    [
        ("rule", DATE, "2026-09-01", True),
        ("rule", DATE, "2026-9-1", False),
        ("rule", DATE, "2026-00-01", False),
        ("rule", DATE, "2026-09-32", False),
        ("rule", DATE, "01-09-2026", False),
        ("rule", DATE, "٢٠٢٦-09-01", False),
        ("rule", DATE, 20260901, False),
        ("rule", WHEN, {}, True),
        ("rule", WHEN, [], True),
        ("rule", WHEN, [{}], True),
        ("rule", WHEN, "x", False),
        ("rule", WHEN, ["x"], False),
        ("rule", CONDITION, True, True),
        ("rule", CONDITION, 3, True),
        ("rule", CONDITION, None, False),
        ("rule", CONDITION, {"above": 0.5}, True),
        ("rule", CONDITION, {"above": "1 mm", "at_most": "2 mm"}, True),
        ("rule", CONDITION, {"above": "1 mm", "at_least": "2 mm"}, False),
        ("rule", CONDITION, {"below": "1 mm", "at_most": "2 mm"}, False),
        ("rule", CONDITION, {"exactly": "1 mm", "at_most": "2 mm"}, False),
        ("rule", CONDITION, {"not": "a"}, True),
        ("rule", CONDITION, {"not": ["a", "b"]}, True),
        ("rule", CONDITION, {"not": ["a"], "below": "1 mm"}, False),
        ("rule", CONDITION, [{"exactly": "1 mm"}, "a"], True),
        ("rule", CONDITION, [], False),
        ("rule", CONDITION, "\u00a0", False),
        ("rule", ANSWER, "none", True),
        ("rule", ANSWER, {"agent": "a", "coats": 2}, True),
        ("rule", ANSWER, {"agent": "a", "coats": "2"}, True),
        ("rule", ANSWER, {"agent": "a", "coats": "2.0"}, False),
        ("rule", ANSWER, {"agent": "a", "coats": 2.5}, False),
        ("rule", ANSWER, {"agent": "a", "coats": 0}, False),
        ("rule", ANSWER, {"coats": "2"}, False),
        ("rule", ANSWER, {"judgement": "x"}, True),
        ("rule", ANSWER, {"judgement": "x", "agent": "a"}, False),
        ("rule", EVIDENCE, {}, True),
        ("rule", EVIDENCE, {"basis": "law"}, True),
        ("rule", EVIDENCE, {"basis": "law", "certainty": "high"}, False),
        ("rule", EVIDENCE, {"basis": "good-practice"}, False),
        ("rule", EVIDENCE, {"basis": "good-practice", "note": "x"}, True),
        ("rule", EVIDENCE, {"lowered": {"imprecision": 3}}, True),
        ("rule", EVIDENCE, {"lowered": {"imprecision": "4"}}, False),
        ("rule", EVIDENCE, {"lowered": {"risk-of-bias": 3}}, False),
        ("rule", EVIDENCE, {"raised": {"large-effect": 2, "dose-response": 1}}, True),
        ("rule", EVIDENCE, {"raised": {"plausible-confounding": 2}}, False),
        ("rule", EVIDENCE, {"level": 5, "question": "harm", "design": "sr_nested_cc"}, True),
        ("rule", EVIDENCE, {"level": 0}, False),
        ("rule", EVIDENCE, {"design": "expert-opinion"}, False),
        ("protocol", {"$ref": "#/$defs/id"}, "zinc-phosphate", True),
        ("protocol", {"$ref": "#/$defs/id"}, "zinc_phosphate", False),
        ("protocol", {"$ref": "#/$defs/acceptance"}, {"kind": "duplicate", "because": "x"}, True),
        ("protocol", {"$ref": "#/$defs/acceptance"}, {"kind": "conflict", "because": "x"}, False),
        ("protocol", {"$ref": "#/$defs/acceptance"}, {"kind": "duplicate"}, False),
    ],
)
def test_both_libraries_judge_a_value_as_the_format_does(name: str, part: Any, value: Any, valid: bool) -> None:
    here = {**part, "$defs": schema(name)["$defs"]}
    assert Draft202012Validator(here).is_valid(value) is valid
    assert jsonschema_rs.is_valid(here, value) is valid


def spoilt(name: str, seed: int) -> Any:
    """An example with some of its values moved, taken out or replaced."""
    chance = random.Random(seed)
    value = copy.deepcopy(chance.choice(schema(name)["examples"]))
    for _ in range(chance.randint(1, 4)):
        spots = list(inner(value))
        if not spots:
            break
        container, key = chance.choice(spots)
        other, field = chance.choice(spots)
        match chance.randrange(3):
            case 0:
                del container[key]
            case 1:
                container[key] = copy.deepcopy(chance.choice(["", " ", "3", 3, 2.5, True, None, [], {}, ["a"], "a b"]))
            case _:
                container[key] = copy.deepcopy(other[field])
    return value


def inner(value: Any) -> Iterator[tuple[Any, Any]]:
    keys = list(value) if isinstance(value, dict) else range(len(value)) if isinstance(value, list) else ()
    for key in keys:
        yield value, key
        yield from inner(value[key])


@given(name=st.sampled_from(NAMES), seed=st.integers(0, 2**32))
def test_both_libraries_agree_on_broken_files(name: str, seed: int) -> None:
    value = spoilt(name, seed)
    assert jsonschema_rs.is_valid(schema(name), value) == Draft202012Validator(schema(name)).is_valid(value)
