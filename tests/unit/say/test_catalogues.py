"""Every catalogue says every message, filled in with the same names, and tells who has yet to read it."""

from __future__ import annotations

import re

import pytest
from babel.messages.catalog import Catalog, Message
from babel.messages.pofile import read_po

from liningbook.resources import catalogue_dir, languages
from liningbook.say.texts import placeholders
from tests.unit.say.words import messages

TRANSLATED = languages()[1:]
READ_FIRST = "Written from memory. To be read by a clinician who works in this language before use."
"""A line of the head of every catalogue."""


def catalogue(tag: str) -> Catalog:
    with (catalogue_dir() / f"{tag}.po").open("rb") as file:
        return read_po(file, locale=tag.replace("-", "_"))


def entries(tag: str) -> list[Message]:
    return [entry for entry in catalogue(tag) if entry.id]


def forms(text: object) -> tuple[str, ...]:
    assert isinstance(text, (str, tuple, list))
    return (text,) if isinstance(text, str) else tuple(text)


def tags(text: str) -> list[str]:
    return sorted(re.findall(r"</?\w+>", text))


def test_messages_are_found() -> None:
    assert len(messages()) > 300
    assert ("{count} coat", "{count} coats") in {message.forms for message in messages()}


def test_a_message_has_one_plural_at_most() -> None:
    singular: dict[tuple[str, str | None], str] = {}
    for message in messages():
        plural = message.forms[-1]
        assert singular.setdefault((message.forms[0], message.context), plural) == plural or len(message.forms) == 1


def test_what_is_filled_in_has_names() -> None:
    for message in messages():
        for form in message.forms:
            assert all(name.isidentifier() for name in placeholders(form)), form
            assert tags(form) == sorted(["<b>", "</b>"] * form.count("<b>")), form


@pytest.mark.parametrize("tag", TRANSLATED)
def test_a_catalogue_says_every_message_and_no_other(tag: str) -> None:
    said = {(forms(entry.id), entry.context) for entry in entries(tag) if all(forms(entry.string))}
    wanted = {(message.forms, message.context) for message in messages()}
    plural = {(message.forms[0], message.context) for message in messages() if len(message.forms) == 2}
    wanted = {one for one in wanted if len(one[0]) == 2 or (one[0][0], one[1]) not in plural}
    assert wanted - said == set()
    assert said - wanted == set()
    assert not catalogue(tag).obsolete


@pytest.mark.parametrize("tag", TRANSLATED)
def test_a_translated_message_is_filled_in_as_the_english_one(tag: str) -> None:
    wrong = [
        (entry.id, form)
        for entry in entries(tag)
        for form in forms(entry.string)
        if placeholders(form) != placeholders(forms(entry.id)[-1]) or tags(form) != tags(forms(entry.id)[-1])
    ]
    assert wrong == []


@pytest.mark.parametrize("tag", TRANSLATED)
def test_nothing_in_a_catalogue_is_unsure_and_its_head_says_who_reads_it_first(tag: str) -> None:
    assert [entry.id for entry in entries(tag) if entry.fuzzy] == []
    assert READ_FIRST in catalogue(tag).header_comment
