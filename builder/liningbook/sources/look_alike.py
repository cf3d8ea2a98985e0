"""Texts that a reader takes for the same, though capitals, blanks, hyphens or letters that look alike tell them apart.

Standards: Unicode Standard Annex #15, normalization forms (NFKC, NFD); Unicode Technical Standard #39, section 4,
"Confusable Detection": two texts whose skeletons are one look alike. Its table comes with the library
confusable-homoglyphs, and is read only where a text has a letter that is not of the Latin alphabets of Europe.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator, Mapping
from functools import cache
from typing import Any
from unicodedata import normalize

LATIN = set(map(chr, (*range(0x80), *range(0xC0, 0x180)))) - set("\u0131\u0138\u0149\u017f") | {"µ", "\u03bc"}
"""What needs no look into the table: the letters of the languages of Europe (no dotless i, no long s), and micro."""

DASH = re.compile("[\u2010-\u2015\u2212]")


WORD = re.compile(r"[\w|]+")
NUMERAL = re.compile("[Il1|0O]+")
"""What may be a number, Roman or not, is left as it is: "Base 1" and "Base I" are told apart by those who write so."""


def pairs_alike(texts: Iterable[str]) -> Iterator[tuple[int, int]]:
    """The positions of every text that cannot be told from an earlier one, and of the first that it is like."""
    seen: dict[str, int] = {}
    folded = [_even(text) for text in texts]
    is_foreign = any(not set(text) <= LATIN and any(map(str.isalnum, set(text) - LATIN)) for text in folded)
    for at, text in enumerate(folded):
        keys = {text.casefold(), "\1" + WORD.sub(_as_drawn, text).casefold()}
        if is_foreign:
            keys |= {"\0" + _skeleton(text).casefold(), "\0" + _skeleton(text.casefold()).casefold()}
        first = min((seen[key] for key in keys if key in seen), default=None)
        if first is not None:
            yield first, at
        for key in keys:
            seen.setdefault(key, at)


def foreign_letter(text: str) -> str | None:
    """The first letter that is not of the Latin alphabets of Europe."""
    return next((sign for sign in text if sign.isalnum() and sign not in LATIN), None)


def folded(text: str) -> str:
    """The text as it is compared: capitals, blanks around it and several blanks, kinds of hyphens count for nothing."""
    return _even(text).casefold()


def _even(text: str) -> str:
    """One form of every letter, one blank for blanks, one hyphen for hyphens and dashes, one apostrophe."""
    return " ".join(DASH.sub("-", normalize("NFKC", text).replace("’", "'")).split())


def _as_drawn(word: re.Match[str]) -> str:
    """A word with the Latin letters and digits that the table of UTS #39 takes for one written alike."""
    if NUMERAL.fullmatch(word[0]):
        return word[0]
    return word[0].translate(str.maketrans("I1|0", "lllO")).replace("rn", "m")


def _skeleton(text: str) -> str:
    table = _look_alikes()
    return "".join(_prototype(sign, table) for sign in normalize("NFD", text))


def _prototype(sign: str, table: Mapping[str, Any]) -> str:
    """What stands for all signs that look like one.

    The table has both ways what the standard says once, of a sign and its prototype: only a prototype has several.
    """
    others = table.get(sign, ())
    if len(others) != 1:
        return sign
    other: str = others[0]["c"]
    return other if len(table[other]) > 1 else min(sign, other)


@cache
def _look_alikes() -> Mapping[str, Any]:
    from importlib.resources import files

    found: Mapping[str, Any] = json.loads(
        (files("confusable_homoglyphs") / "confusables.json").read_text(encoding="utf-8")
    )
    return found
