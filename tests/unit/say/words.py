"""What is said in say/, as it is extracted for the catalogues."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import NamedTuple

from babel.messages.extract import extract_from_dir

import liningbook

SAY = Path(liningbook.__file__).parent / "say"
KEYWORDS = {"gettext": None, "ngettext": (1, 2), "pgettext": ((1, "c"), 2), "N_": None}


class Message(NamedTuple):
    """An English message: its one form or both, and its context."""

    forms: tuple[str, ...]
    context: str | None


@cache
def messages() -> tuple[Message, ...]:
    """All messages, each once."""
    return tuple(dict.fromkeys(_extracted()))


def _extracted() -> Iterator[Message]:
    for _, _, found, _, context in extract_from_dir(SAY, method_map=[("**.py", "python")], keywords=KEYWORDS):
        yield Message((found,) if isinstance(found, str) else tuple(found), context)
