"""Every fault of the sources has words, every words are used, and each has the values that the other expects."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

import liningbook
from liningbook.finding import Fault, Span
from liningbook.say.faults import RELATED, WORDS, fault_told
from liningbook.say.faults.words import names_in

PACKAGE = Path(liningbook.__file__).parent
ROOMS = ("notation", "sources", "model", "evidence", "cases", "compare")
MAKERS = {
    **dict.fromkeys(("fault", "find", "known", "name", "names"), 2),
    **dict.fromkeys(("known_key", "unknown"), 3),
    **dict.fromkeys(("NotAValue", "NotAFieldValue", "stop"), 1),
    **dict.fromkeys(
        ("NotAQuantity", "NoProtocol", "CannotOpen", "CannotRead", "NoReading", "BadQuestion", "Refused"), 0
    ),
}
"""Who makes a fault, and at which place its code is given."""

ADDED = {"name", "near", "known", "foreign"}
"""Values that `Building.unknown` gives of itself."""

PLACES = {"others"}
"""Values for the words at further places."""


def literals() -> set[str]:
    """Every text that stands in the rooms where faults are found."""
    return {
        node.value
        for room in ROOMS
        for file in (PACKAGE / room).rglob("*.py")
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8")))
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
    }


def made() -> Iterator[tuple[str, set[str], str]]:
    """Code and values of every fault that is made with a literal code and plain values, and where."""
    for room in ROOMS:
        for file in (PACKAGE / room).rglob("*.py"):
            for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
                if not isinstance(node, ast.Call):
                    continue
                called = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
                place = MAKERS.get(called)
                if place is None or len(node.args) <= place or any(word.arg is None for word in node.keywords):
                    continue
                code = node.args[place]
                if isinstance(code, ast.Constant) and code.value in WORDS:
                    given = {word.arg or "" for word in node.keywords}
                    yield (
                        code.value,
                        given | (ADDED if called in ("known", "known_key", "name", "names", "unknown") else set()),
                        file.name,
                    )
                elif isinstance(code, ast.Constant) and isinstance(code.value, str) and room != "compare":
                    pytest.fail(f"{file.name}:{node.lineno} makes `{code.value}`, which has no words")


def needed(what: str) -> set[str]:
    words = WORDS[what]
    return set().union(*map(names_in, (words.message, words.label, *words.help)))


def test_a_fault_is_given_what_its_words_need_and_nothing_more() -> None:
    found = [(what, given - PLACES - {"related", "span"}, needed(what), file) for what, given, file in made()]
    assert len(found) > 120
    assert [wrong for wrong in found if wrong[1] != wrong[2]] == []


def test_all_words_are_used() -> None:
    assert {*WORDS, *RELATED} - literals() == set()


def test_no_sentence_stands_where_faults_are_found() -> None:
    """A text of several words in these rooms is a docstring, a pattern, or the reason of another program."""
    for room in ("notation", "sources", "model", "evidence"):
        for file in (PACKAGE / room).rglob("*.py"):
            tree = ast.parse(file.read_text(encoding="utf-8"))
            for node in ast.walk(tree):
                if isinstance(node, ast.Call):
                    for text in [*node.args, *(word.value for word in node.keywords)]:
                        called = getattr(node.func, "id", getattr(node.func, "attr", ""))
                        if called in MAKERS and isinstance(text, (ast.Constant, ast.JoinedStr)):
                            assert " " not in ast.unparse(text), f"{file.name}:{node.lineno}: {ast.unparse(text)}"


def test_a_line_of_help_without_a_value_is_left_out() -> None:
    place = Span("rules/a.md", 1, 1, 1, 2)
    given = {"name": "rtd", "near": "rdt", "known": (), "foreign": None}
    assert fault_told(Fault(place, "unknown-factor", given)).help == ("did you mean `rdt`?",)


def test_a_name_is_quoted_with_the_blanks_that_are_the_mistake() -> None:
    words = fault_told(
        Fault(Span("protocol.yaml", 1, 1, 1, 2), "unknown-language", {"written": " de", "near": "de", "known": ("de",)})
    )
    assert "' de'" in words.message
