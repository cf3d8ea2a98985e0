"""Texts of authors: what of them does not show, and one line of them."""

from __future__ import annotations

import re

HIDDEN = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u00ad\u034f\u061c\u115f\u1160\u17b4\u17b5\u180b-\u180f\u200b-\u200f"
    "\u2028-\u202e\u2060-\u206f\u3164\ud800-\udfff\ufdd0-\ufdef\ufeff\uffa0\ufff9-\uffff\U000e0000-\U000e0fff]"
)
"""Control, zero-width, blank and direction characters: they print as nothing, or turn the order of what is read."""

_BREAK = re.compile("[ \\t\\r\\n]*[\\t\\r\\n][ \\t\\r\\n]*")


def one_line(text: str) -> str:
    """The text without blanks around it, each line break or tab in it (with the blanks there) one space."""
    return _BREAK.sub(" ", text.strip())


def hidden_character(text: str) -> str | None:
    """The first hidden character of a text, or nothing."""
    match = HIDDEN.search(text)
    return match.group() if match else None


def line_and_column(before: str) -> tuple[int, int]:
    """Where the character stands that follows a text; both count from 1."""
    return before.count("\n") + 1, len(before) - before.rfind("\n")


def kebab(text: str) -> str:
    """A name of small letters, digits and single hyphens that is near a text; empty where nothing of it is left."""
    return "-".join(re.findall("[a-z0-9]+", text.lower()))
