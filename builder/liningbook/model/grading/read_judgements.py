"""Judgements of the domains of GRADE, as rules and study tables write them."""

from __future__ import annotations

from liningbook.evidence.table import Judgement
from liningbook.model.read_values import whole_number
from liningbook.sources.node import Node, fields_of, text_of


def read_judgements(node: Node | None, key: str) -> dict[str, Judgement]:
    """What is judged under `lowered` or `raised`, by domain: a number of levels, or `{level, because}`.

    The place is that of the domain's name. What the schema has reported (no number of levels) is passed over.
    """
    found = {}
    for name, child in fields_of(node, key).items():
        level = whole_number(child.text if child.fields is None else text_of(child, "level"))
        if level is not None:
            found[name] = Judgement(level, text_of(child, "because"), child.place)
    return found


def levels_of(judged: dict[str, Judgement]) -> dict[str, int]:
    """The number of levels of each judgement."""
    return {name: judgement.level for name, judgement in judged.items()}
