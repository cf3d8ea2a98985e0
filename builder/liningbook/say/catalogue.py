"""The language in which words are said, and its catalogue.

English (`en-GB`) is written in this room and is its own key; every other language is one file, `catalogues/<tag>.po`
(GNU gettext's PO format, read with Babel). So English needs no catalogue, and `check` starts at once. The language is
that of the context (PEP 567): whoever makes an output says `with speaking(protocol.language):` around it.
"""

from __future__ import annotations

import gettext as library
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache
from io import BytesIO
from typing import Any

from liningbook.resources import ENGLISH, catalogue_dir, languages

Messages = Mapping[str, str | Callable[..., str]]
"""A table of words by key: an English message, marked with `N_`, or a function that words it."""

_language: ContextVar[str] = ContextVar("language", default=ENGLISH)


def language() -> str:
    """The tag of the language that is spoken now."""
    return _language.get()


@contextmanager
def speaking(tag: str) -> Iterator[None]:
    """Within it everything is said in a language. Raises KeyError for one without a catalogue."""
    if tag not in languages():
        raise KeyError(tag)
    token = _language.set(tag)
    try:
        yield
    finally:
        _language.reset(token)


def gettext(message: str) -> str:
    """A message in the language spoken; its `{names}` are filled in by the caller with `str.format`."""
    return _catalogue(language()).gettext(message)


def ngettext(one: str, many: str, number: int) -> str:
    """The form of a message that goes with a number."""
    return _catalogue(language()).ngettext(one, many, number)


def pgettext(context: str, message: str) -> str:
    """A message whose English alone does not say which of its senses is meant: the context tells the translator."""
    return _catalogue(language()).pgettext(context, message)


def filled(said: str, **values: Any) -> str:
    """A message with its `{names}` filled in: as HTML if it holds `<b>` or a value is HTML, the rest then escaped."""
    from markupsafe import Markup, escape

    if "<" in said:
        return Markup(said).format(**values)
    if any(hasattr(value, "__html__") for value in values.values()):
        return escape(said).format(**values)
    return said.format(**values)


def N_(message: str) -> str:
    """A message of a table: marked for the catalogues here, said (with `gettext`) where it is taken from the table."""
    return message


@cache
def _catalogue(tag: str) -> library.NullTranslations:
    if tag == ENGLISH:
        return library.NullTranslations()
    from babel.messages.mofile import write_mo
    from babel.messages.pofile import read_po

    compiled = BytesIO()
    with (catalogue_dir() / f"{tag}.po").open("rb") as file:
        write_mo(compiled, read_po(file, locale=tag.replace("-", "_")))
    compiled.seek(0)
    return library.GNUTranslations(compiled)
