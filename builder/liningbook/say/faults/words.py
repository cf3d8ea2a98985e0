"""How the words of a fault are filled in from its values.

The words are templates of `str.format`. A line of help that needs a value which is empty is left out, so that one fault
can carry several pieces of advice of which those apply that have something to name.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from string import Formatter
from typing import Any

from liningbook.sources.text import near, one_line, unbroken


class Say:
    """Message, lines of help and what is said at the place of a fault, as templates."""

    def __init__(self, message: str, *advice: str, label: str = "") -> None:
        self.message, self.help, self.label = message, advice, label


RANGE_OTHERWISE = (
    "write `{range}`",
    "write `{included}` if {number} itself counts, `{excluded}` if it does not",
    "write `{both}`, with `above` for `at_least`, or `below` for `at_most`, where an end itself does not count",
    "check that {taken} is meant: there is no unit",
)
"""How to write a range that stands there in other words or signs; which ends count is for the author to say."""

MOST_NAMED = 8
"""So many rules of one circle are named."""


def shortened(text: str, most: int = 40) -> str:
    """A text short enough for a message."""
    return text if len(text) <= most else text[: most - 1] + "…"


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """The question "did you mean `that`?", or an empty text if no known word is near."""
    best = near(word, known)
    return f"did you mean `{best}`?" if best is not None else ""


def one_of(options: tuple[Any, ...]) -> str:
    """Say to choose from: a, b or c."""
    *others, last = (str(option) for option in options)
    return f"{', '.join(others)} or {last}" if others else last


def circle(names: tuple[str, ...]) -> str:
    """The rules of a circle, a long one cut."""
    return " → ".join(names if len(names) <= MOST_NAMED else (*names[: MOST_NAMED - 1], "…", names[-1]))


FOUND: Mapping[str, str] = {
    "so-many": "{} of them",
    "group": "a group of fields",
    "empty-group": "an empty group",
    "list": "a list",
    "empty-list": "an empty list",
    "empty-text": "an empty text",
    "text": "a text",
    "written": "'{}'",
}
"""What stands where a message says what should."""


def subject(called: tuple[str | int, ...] | str) -> str:
    """What a message calls the value at a path: `title`, item 2 of `authors`; a file has a name instead."""
    if isinstance(called, str):
        return called
    *before, last = called
    if isinstance(last, str):
        return f"`{shortened(last)}`"
    return f"item {last + 1} of {subject(tuple(before)) if before else 'the list'}"


def found(value: tuple[str, Any]) -> str:
    """What stands where something else should."""
    what, written = value
    return FOUND[what].format(shortened(str(written)))


FORMS: Mapping[str, Callable[[Any], str]] = {
    "short": lambda text: shortened(unbroken(text)),
    "path": lambda path: shortened(str(path), 200),
    "one of": one_of,
    "or": lambda names: " or ".join(names),
    "of": lambda name: f" of {shortened(name)}" if name else "",
    "or of": lambda names: " or of ".join(names),
    "circle": circle,
    "subject": subject,
    "found": found,
    "wanted": lambda value: value if isinstance(value, str) else one_of(value),
    "alike": lambda pairs: "; ".join(
        f"there is one called '{shortened(name)}': did you mean `{best}`?" for name, best in pairs
    ),
    "cells": lambda count: "1 cell" if count == 1 else f"{count} cells",
    "apart": lambda cells: " | ".join(shortened(cell) for cell in cells),
    "last": lambda names: names[-1],
    "code": lambda sign: f"U+{ord(sign):04X}",
    "thousands": lambda number: f"{number:,}",
}
"""How a value is written where its placeholder names a form, `{written:short}`; a list has commas without one."""


class _Filler(Formatter):
    def format_field(self, value: Any, form: str) -> str:
        if form:
            return FORMS[form](value)
        return ", ".join(map(str, value)) if isinstance(value, tuple) else str(value)


def fill(template: str, given: Mapping[str, Any]) -> str:
    """A template with its values, on one line."""
    return one_line(_Filler().vformat(template, (), given))


def names_in(template: str) -> set[str]:
    """The values that a template needs."""
    return {name for _, name, _, _ in Formatter().parse(template) if name}


def advice(words: Say, given: Mapping[str, Any]) -> tuple[str, ...]:
    """The lines of help for which there is something to name."""
    return tuple(
        fill(line, given) for line in words.help if all(given[name] not in (None, "", ()) for name in names_in(line))
    )
