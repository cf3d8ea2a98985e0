"""A whole decision as a table, in words. English alone: it is printed by the command `table`."""

from __future__ import annotations

from collections.abc import Sequence

from liningbook.say.answers import state_words
from liningbook.say.cases import count_words

ANY = "any"
RULES = "Rules"
TITLE = "{decision}: {title}, edition {edition}, {practice}"


def table_summary(rows: int, least: int) -> str:
    """How many rows it has, and that it cannot have fewer than so many."""
    fewest = "no table can have fewer" if least == rows else f"no table can have fewer than {least}"
    return f"{count_words(rows, 'row')}, disjoint, every case in scope; {fewest}"


def no_answer(state: str, answers: Sequence[str]) -> str:
    """What stands where there is no single answer."""
    return f"{state_words(state)}: {' / '.join(answers)}" if answers else state_words(state)
