"""A language that is none: every message is ours with strange vowels, so that what no catalogue says shows at once."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from babel.messages.catalog import Catalog
from babel.messages.pofile import write_po

from liningbook.say import catalogue
from tests.unit.say.words import messages

TAG = "de"
VOWELS = str.maketrans("aeiouAEIOU", "äéíöüÄÉÍÖÜ")


def strange(text: str) -> str:
    """A message with strange vowels; its names and tags stay."""
    return "".join(
        part if part[:1] in "{<" else part.translate(VOWELS) for part in re.split(r"(\{\w+\}|</?\w+>)", text)
    )


def write_catalogue(folder: Path) -> None:
    """The catalogue of the strange language, in a folder."""
    said = Catalog(locale=TAG)
    for message in messages():
        one, many = message.forms[0], message.forms[-1]
        if len(message.forms) == 1:
            said.add(one, strange(one), context=message.context)
        else:
            said.add((one, many), (strange(one), strange(many)), context=message.context)
    with (folder / f"{TAG}.po").open("wb") as file:
        write_po(file, said)


@contextmanager
def known_strangely(folder: Path) -> Iterator[None]:
    """Within it the strange language is known, under the tag of a real one; its catalogue is written to the folder."""
    write_catalogue(folder)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(catalogue, "catalogue_dir", lambda: folder)
        patch.setattr(catalogue, "languages", lambda: ("en-GB", TAG))
        catalogue._catalogue.cache_clear()
        yield
    catalogue._catalogue.cache_clear()


@contextmanager
def speaking_strangely(folder: Path) -> Iterator[None]:
    """Within it the strange language is spoken."""
    with known_strangely(folder), catalogue.speaking(TAG):
        yield
