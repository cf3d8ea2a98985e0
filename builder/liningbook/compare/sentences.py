"""Where two texts part: the sentences that only one of them has."""

from __future__ import annotations

import re
from itertools import takewhile

LEAD = 6
"""So many words before the first that differs are kept."""


def parted(before: str, after: str) -> tuple[str, str]:
    """The sentences that went and those that came, from a few words before the first that differs.

    Both are empty where the sentences only stand in another order or on other lines.
    """
    old, new = _sentences(before), _sentences(after)
    went, came = _words_beside(old, new), _words_beside(new, old)
    alike = sum(1 for _ in takewhile(lambda pair: pair[0] == pair[1], zip(went, came, strict=False)))
    start = max(0, alike - LEAD)
    return _from(went, start), _from(came, start)


def _sentences(text: str) -> list[str]:
    return re.split(r"(?<=[.!?]) ", " ".join(text.split()))


def _words_beside(some: list[str], others: list[str]) -> list[str]:
    return [word for sentence in some if sentence not in others for word in sentence.split(" ")]


def _from(words: list[str], start: int) -> str:
    kept = " ".join(words[start:])
    return f"… {kept}" if start and kept else kept
