"""Texts of authors: what of them does not show, one line of them, and the word that was meant by a misspelt one."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable

HIDDEN = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u00ad\u034f\u061c\u115f\u1160\u17b4\u17b5\u180b-\u180f\u200b-\u200f"
    "\u2028-\u202e\u2060-\u206f\u2800\u3164\ud800-\udfff\ufdd0-\ufdef\ufeff\uffa0\ufff9-\uffff"
    "\U0001bca0-\U0001bca3\U0001d173-\U0001d17a\U000e0000-\U000e0fff]"
)
"""Control, zero-width, blank and direction characters: they print as nothing, or turn the order of what is read."""

UNSEEN = re.compile(HIDDEN.pattern + "|[\r\ufe00-\ufe0d]|(?<![\u2190-\u2bff\U0001f000-\U0001faff])[\ufe0e\ufe0f]")
"""What never reaches a reader raw: hidden characters, a return without a new line, variants of what has none."""

_BREAK = re.compile("[ \\t\\r\\n]*[\\t\\r\\n][ \\t\\r\\n]*")


def visible(text: str) -> str:
    """The text with each character that does not show written as what it is, `<U+202E>`; lines and tabs stay."""
    return UNSEEN.sub(lambda found: sign_name(found[0]), text)


def visible_name(name: str) -> str:
    """A text on one line with each character written out that does not show, line ends and tabs too: a file's name."""
    return visible(name).replace("\n", sign_name("\n")).replace("\t", sign_name("\t"))


def sign_name(sign: str) -> str:
    """How a character is written that cannot stand for itself."""
    return f"<U+{ord(sign):04X}>"


def one_line(text: str) -> str:
    """The text without blanks around it, each line break or tab in it (with the blanks there) one space."""
    return unbroken(text.strip())


def unbroken(text: str) -> str:
    """The text with each line break or tab in it (with the blanks there) one space."""
    return _BREAK.sub(" ", text)


def hidden_character(text: str) -> str | None:
    """The first hidden character of a text, or nothing."""
    match = HIDDEN.search(text)
    return match.group() if match else None


def line_and_column(before: str) -> tuple[int, int]:
    """Where the character stands that follows a text; both count from 1."""
    return before.count("\n") + 1, len(before) - before.rfind("\n")


_SPELT = str.maketrans(
    {
        "ä": "ae",
        "ö": "oe",
        "ü": "ue",
        "ß": "ss",
        "æ": "ae",
        "œ": "oe",
        "ø": "oe",
        "å": "aa",
        "ð": "d",
        "þ": "th",
        "ł": "l",
    }
)
"""Letters of other alphabets as they are spelt where there are none."""


def kebab(text: str) -> str:
    """A name of small letters, digits and single hyphens that is near a text; empty where nothing of it is left."""
    spelt = unicodedata.normalize("NFC", text).lower().translate(_SPELT)
    return "-".join(re.findall("[a-z0-9]+", re.sub("[\u0300-\u036f]", "", unicodedata.normalize("NFKD", spelt))))


NEAR = 0.66
"""How alike two words must be, of 1: two of three letters, so that `rtd` is near `rdt`."""

NEAR_IF_LONGER = 0.7
"""How alike they must be where the word has more than three letters, so that `size` is not near `since`."""

LONGEST = 60
"""Longer words are no slips of the pen, and comparing them is slow."""


def near(word: str, known: Iterable[str]) -> str | None:
    """The known word that `word` was probably meant to be, or `None` if none is near.

    Capitals, and hyphens in place of underscores, count for nothing. The order of `known` does not matter.
    """
    if not word or len(word) > LONGEST:
        return None
    folded: dict[str, str] = {}
    for name in sorted(known):
        folded.setdefault(_fold(name), name)
    if _fold(word) in folded:
        return folded[_fold(word)]
    from difflib import get_close_matches

    cutoff = NEAR if len(word) <= 3 else NEAR_IF_LONGER
    best = get_close_matches(_fold(word), folded, n=1, cutoff=cutoff)
    return folded[best[0]] if best else None


def _fold(word: str) -> str:
    return word.strip().lower().replace("_", "-").replace(" ", "-")
