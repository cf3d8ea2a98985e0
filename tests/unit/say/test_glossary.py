"""Every translated message uses the terms of its language's glossary."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest

from liningbook.resources import catalogue_dir, languages
from liningbook.say.catalogue import speaking
from liningbook.say.glossary import terms

TRANSLATED = languages()[1:]
NOT_SAID = re.compile(r"`[^`]*`|\{\w+\}|\w+\.\w+|\w+\[\w+\]")
"""What a message only holds: names to be filled in, files, and what is to be written in them."""


def messages(tag: str) -> Iterator[tuple[str, str]]:
    """Every English message with what the catalogue says for it, each form of a plural by itself."""
    from babel.messages.pofile import read_po

    with (catalogue_dir() / f"{tag}.po").open("rb") as file:
        found = read_po(file)
    for message in found:
        if not message.id or message.context == "glossary":
            continue
        if isinstance(message.id, tuple):
            yield message.id[-1], message.string[-1]
        else:
            yield message.id, message.string


def stems(form: str) -> list[str]:
    """The parts of a term that no inflection changes: each word without its last letters, and without its capital."""
    return [word[: max(3, len(word) - 2)].lower() for word in re.findall(r"\w+", form) if len(word) > 2]


def uses(text: str, forms: str) -> bool:
    return any(all(stem in text.lower() for stem in stems(form)) for form in forms.split(" | "))


def left_out(english: str, translated: str, glossary: dict[str, str]) -> list[str]:
    """The terms of an English message whose translation does not use any form of the glossary."""
    rest, missing = NOT_SAID.sub(" ", english.lower()), []
    for term in sorted(glossary, key=len, reverse=True):
        found, count = re.subn(rf"\b{re.escape(term)}(?:s|es)?\b", " ", rest)
        if count:
            rest = found
            if not uses(translated, glossary[term]):
                missing.append(term)
    return missing


def test_a_term_that_is_left_out_is_found() -> None:
    glossary = {"dentine": "Dentin", "remaining dentine thickness": "Restdentindicke", "rule": "Regel"}
    assert left_out("two rules", "zwei Regeln", glossary) == []
    assert left_out("Remaining dentine thickness", "Restdentindicke", glossary) == []
    assert left_out("the dentine", "das Zahnbein", glossary) == ["dentine"]
    assert left_out("'{rule}' ends; write `rule: dentine`", "„{rule}“ endet; `rule: dentine` schreiben", glossary) == []


@pytest.mark.parametrize("tag", TRANSLATED)
def test_every_term_has_its_word(tag: str) -> None:
    with speaking(tag):
        found = terms()
    assert all(found.values())
    assert all(word != term or word in ("protocol",) for term, word in found.items() if len(term) > 7)


@pytest.mark.parametrize("tag", TRANSLATED)
def test_messages_use_the_terms_of_the_glossary(tag: str) -> None:
    with speaking(tag):
        glossary = terms()
    wrong = {text: missing for text, said in messages(tag) if (missing := left_out(text, said, glossary))}
    assert wrong == {}
