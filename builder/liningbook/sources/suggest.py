"""The known word nearest to a misspelt one."""

from __future__ import annotations

from collections.abc import Iterable

NEAR = 0.66
"""How alike two words must be, of 1: two of three letters, so that `rtd` is near `rdt`."""

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

    best = get_close_matches(_fold(word), folded, n=1, cutoff=NEAR)
    return folded[best[0]] if best else None


def _fold(word: str) -> str:
    return word.strip().lower().replace("_", "-").replace(" ", "-")
