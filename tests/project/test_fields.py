"""`liningbook fields`: every field of every source file is listed as its schema has it, and the page is up to date."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from markdown_it import MarkdownIt

from liningbook.cli import main
from liningbook.model.source_table import SOURCES
from liningbook.resources import schema
from liningbook.say.command.fields import WRITING
from liningbook.show.markup.fields_page import fields_page
from liningbook.show.terminal.lines import USUAL
from liningbook.show.views.field_view import all_topics, file_fields
from liningbook.sources.citations.reference_list import read_references
from liningbook.sources.yaml_nodes import read_yaml

Said = Callable[..., str]


@pytest.fixture
def said(capsys: pytest.CaptureFixture[str]) -> Said:
    """What the command prints."""

    def call(*arguments: str) -> str:
        assert main(["fields", *arguments]) == 0
        return capsys.readouterr().out

    return call


def test_the_page_is_what_the_schemas_say(repository: Path) -> None:
    page = (repository / "site" / "docs" / "fields.md").read_text(encoding="utf-8")
    assert page == fields_page(), (
        "write it again: make fields (liningbook fields --format markdown > site/docs/fields.md)"
    )


def test_every_source_file_has_its_list(said: Said) -> None:
    overview = said()
    for row in SOURCES:
        for word in (row.name, *row.meant, row.files[0]):
            shown = said(word)
            assert shown == said(row.schema or row.name)
        assert shown.splitlines()[0] in overview
        assert f"## {shown.splitlines()[0]}\n" in fields_page()
    assert set(all_topics()) == {row.schema or row.name for row in SOURCES}


@pytest.mark.parametrize("topic", [row.schema for row in SOURCES if row.schema])
def test_every_field_of_a_schema_is_listed_with_what_it_is_for(topic: str, said: Said) -> None:
    text = " ".join(said(topic).split())
    parts = [schema(topic), *schema(topic)["$defs"].values()]
    names = {name for part in parts for name in part.get("properties", {})}
    listed = {field.name for group in file_fields(topic).groups for field in group.fields}
    assert listed == names
    for group in file_fields(topic).groups:
        for field in group.fields:
            assert len(field.description.split()) > 1, field.name
            assert " ".join(field.description.split()) in text


def needed(topic: str, group: str) -> dict[str, tuple[str, tuple[str, ...]]]:
    [found] = [part for part in file_fields(topic).groups if part.title == group]
    return {field.name: field.needed for field in found.fields if field.needed[0] != "never"}


def test_what_is_needed_is_what_the_schemas_require(said: Said) -> None:
    assert set(needed("protocol", "Protocol")) == set(schema("protocol")["required"])
    assert needed("protocol", "Factor") == {
        "kind": ("always", ()),
        "unit": ("if", ("kind", "quantity")),
        "at_least": ("if", ("kind", "quantity")),
        "at_most": ("if", ("kind", "quantity")),
        "values": ("if", ("kind", "choice")),
    }
    assert needed("rule", "Evidence") == {"note": ("if", ("basis", "good-practice"))}
    assert needed("rule", "Answer") == {"agent": ("unless", ("judgement",))}
    rule = said("rule")
    assert re.search("^  title +needed; a text$", rule, re.MULTILINE)
    assert re.search("^  note +needed if basis is good-practice; a text$", rule, re.MULTILINE)
    assert "At least one of advise, avoid or never is needed." in rule


def test_a_group_that_a_field_names_is_on_the_same_list() -> None:
    for topic in all_topics():
        titles = {group.title for group in file_fields(topic).groups}
        named = {field.group for group in file_fields(topic).groups for field in group.fields}
        assert named - {""} <= titles
        assert len(titles) == len(file_fields(topic).groups)


def test_every_example_can_be_written_so() -> None:
    for topic in all_topics():
        if topic == "references":
            continue
        for group in file_fields(topic).groups:
            for field in group.fields:
                if field.example:
                    node, found = read_yaml(f"{field.example}\n", "example.yaml")
                    assert not found, field.example
                    assert node is not None
                    assert list(node.fields or {}) == [field.name]


def test_no_grade_of_research_stands_there_to_be_copied() -> None:
    for field in next(group for group in file_fields("rule").groups if group.title == "Evidence").fields:
        assert field.name not in ("certainty", "strength") or not field.example


def test_the_fields_of_a_reference_are_read_as_they_are_shown() -> None:
    [group] = file_fields("references").groups
    entry = "\n".join([*(field.example for field in group.fields), "}"])
    found, findings = read_references("references.bib", entry)
    assert findings == []
    csl = {re.findall("`(.*)`", str(field.value))[0] if field.value else field.name for field in group.fields}
    assert {"id", *found["marlow2019"].data} >= csl


def test_how_a_file_is_written_is_written_so() -> None:
    for text, _ in WRITING:
        if not text.startswith("#"):
            node, found = read_yaml(f"{text}\n", "example.yaml")
            assert (node is not None, found) == (True, [])


@pytest.mark.parametrize("topic", [None, *all_topics()])
def test_a_list_fits_a_window(topic: str | None, said: Said) -> None:
    assert max(map(len, said(*([topic] if topic else [])).splitlines())) <= USUAL


def test_the_page_is_sound_markdown(said: Said) -> None:
    page = said("--format", "markdown")
    assert page == fields_page()
    tokens = MarkdownIt("commonmark").enable("table").parse(page)
    assert sum(1 for token in tokens if token.type == "table_open") == sum(
        len(file_fields(topic).groups) for topic in all_topics()
    )
    for row in re.findall(r"^\|.*\|$", page, re.MULTILINE):
        assert len(re.findall(r"(?<!\\)\|", row)) == 5, row


def test_another_word_is_refused_with_those_there_are(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["fields", "rulse"]) == 2
    assert capsys.readouterr().err == "liningbook: there is no list of fields called 'rulse'; did you mean `rule`?\n"
    assert main(["fields", "xyz"]) == 2
    assert "there is one for protocol, materials, rule" in capsys.readouterr().err
