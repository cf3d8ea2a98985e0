"""The words of the templates: every key is known, every key is used, every message is filled in with its own names."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest
from jinja2 import Environment, nodes
from markupsafe import Markup

import liningbook
from liningbook.resources import site_dir
from liningbook.say.texts import TABLES, Texts, Unfilled, placeholders

PACKAGE = Path(liningbook.__file__).parent
ALL = {key: message for table in TABLES for key, message in table.items()}


def uses_in_python() -> Iterator[tuple[str, str, frozenset[str] | None]]:
    for path in (path for path in (PACKAGE / "show").rglob("*.py") if "texts import" in path.read_text("utf-8")):
        tree = ast.parse(path.read_text("utf-8"))
        calls = [node for node in ast.walk(tree) if isinstance(node, ast.Call)]
        called = {id(call.func): frozenset(pair.arg or "" for pair in call.keywords) for call in calls}
        for node in ast.walk(tree):
            if isinstance(node, ast.Attribute) and ast.unparse(node.value) == "t":
                yield f"{path.name}:{node.lineno}", node.attr, called.get(id(node))


def uses() -> Iterator[tuple[str, str, frozenset[str] | None]]:
    """Where, the key, and the names that are filled in; none where the words are used as they are."""
    for path in sorted((site_dir() / "templates").glob("*.html")):
        tree = Environment().parse(path.read_text("utf-8"))
        called = {id(call.node): frozenset(pair.key for pair in call.kwargs) for call in tree.find_all(nodes.Call)}
        for node in tree.find_all(nodes.Getattr):
            if isinstance(node.node, nodes.Name) and node.node.name == "t":
                yield f"{path.name}:{node.lineno}", node.attr, called.get(id(node))


USES = [*uses(), *uses_in_python()]


def test_every_key_that_a_template_uses_has_words() -> None:
    assert [(where, key) for where, key, _ in USES if key not in ALL] == []


def test_all_words_are_used() -> None:
    assert ALL.keys() - {key for _, key, _ in USES} == set()


def test_no_key_stands_in_two_tables() -> None:
    assert len(ALL) == sum(map(len, TABLES))


def test_every_message_is_filled_in_with_its_own_names() -> None:
    wrong = [
        (where, key)
        for where, key, names in USES
        if isinstance(message := ALL.get(key), str) and names is not None and names != placeholders(message)
    ]
    assert wrong == []


def test_an_unknown_key_is_told() -> None:
    with pytest.raises(AttributeError, match="no_such_words"):
        _ = Texts().no_such_words


def test_a_message_with_bold_words_is_html_and_escapes_what_is_filled_in() -> None:
    words = Unfilled("Review by <b>{day}</b>")(day="<i>")
    assert isinstance(words, Markup)
    assert words == "Review by <b>&lt;i&gt;</b>"


def test_a_plain_message_stays_plain_text_unless_html_is_filled_in() -> None:
    message = Unfilled("{a} & {b}")
    assert not isinstance(message(a="<i>", b="2"), Markup)
    assert message(a=Markup("<b>1</b>"), b="<i>") == Markup("<b>1</b> &amp; &lt;i&gt;")


def test_a_message_is_filled_in_with_its_names_and_no_others() -> None:
    message = Unfilled("Review by {day}")
    for values in ({}, {"date": "x"}, {"day": "x", "date": "y"}):
        with pytest.raises(TypeError):
            message(**values)
    with pytest.raises(TypeError):
        str(message)
