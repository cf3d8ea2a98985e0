"""The words of the templates, by key: `t.contents`, `t.review_by(day=…)`; a template holds no other words.

A table says an English message for a key, marked with `N_`; its `{names}` are filled in by those who use it. A message
that holds `<b>` becomes HTML, with what is filled in escaped; any other is plain text, which the template escapes.
Where the words depend on a number or on facts, the table names a function of this room instead.
"""

from __future__ import annotations

import string
from collections import ChainMap
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any

from liningbook.say.catalogue import Messages, filled, gettext
from liningbook.say.texts import card, changes, chart, copies, evidence, page, preview, protocol, shared

TABLES: tuple[Messages, ...] = (
    shared.TEXTS,
    protocol.TEXTS,
    chart.TEXTS,
    card.TEXTS,
    copies.TEXTS,
    page.TEXTS,
    changes.TEXTS,
    evidence.TEXTS,
    preview.TEXTS,
)
_ALL: Messages = MappingProxyType(ChainMap(*map(dict, TABLES)))


@dataclass(frozen=True)
class Unfilled:
    """A message whose `{names}` are still to be filled in; it cannot be shown as it is."""

    message: str

    def __call__(self, **values: Any) -> str:
        """The message with the values, in the language spoken. Raises TypeError where its names are not these."""
        if values.keys() != placeholders(self.message):
            raise TypeError(f"{self.message!r} is filled in with {sorted(values)}")
        return filled(gettext(self.message), **values)

    def __html__(self) -> str:
        raise TypeError(f"{self.message!r} is not filled in")

    __str__ = __html__


class Texts:
    """All messages by key, for the templates. An unknown key is an AttributeError, which the engine reports."""

    def __getattr__(self, key: str) -> Any:
        message = _ALL.get(key)
        if message is None:
            raise AttributeError(key)
        if not isinstance(message, str):
            return message
        return Unfilled(message) if placeholders(message) else filled(gettext(message))


t = Texts()
"""The one table that all read."""


@cache
def placeholders(message: str) -> frozenset[str]:
    """The names that are to be filled into a message."""
    return frozenset(name for _, name, _, _ in string.Formatter().parse(message) if name is not None)
