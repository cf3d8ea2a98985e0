"""Every text of a view, with words that say where it stands: for what must look at all that is drawn."""

from __future__ import annotations

import dataclasses
import html
import re
from collections.abc import Iterator

from liningbook.say.outputs import paper
from liningbook.show.views.copies_view import CopyRow
from liningbook.show.views.pieces import ReferenceView, RuleView
from liningbook.show.views.view import Cell, ExceptionRow, Identity


def view_texts(view: object) -> Iterator[tuple[str, str]]:
    """Where, and the text; HTML is given as the text that it shows."""
    return _texts(view, "")


def _texts(value: object, where: str) -> Iterator[tuple[str, str]]:
    if isinstance(value, str):
        is_html = where.endswith("html")
        text = html.unescape(re.sub("<[^>]*>", "", value)) if is_html else value
        yield where.removesuffix(" html"), text
    elif isinstance(value, tuple):
        for item in value:
            yield from _texts(item, where)
    elif dataclasses.is_dataclass(value):
        name = _name_of(value) or where
        for field in dataclasses.fields(value):
            words = field.name.replace("_", " ")
            yield from _texts(getattr(value, field.name), f"{name}, {words}" if name else words)


def _name_of(value: object) -> str:
    match value:
        case RuleView(id=name):
            return paper.RULE.format(name=name)
        case Cell(id=name):
            return paper.CELL.format(name=name)
        case CopyRow(room=name):
            return paper.ROOM.format(name=name)
        case ExceptionRow(triggers=triggers):
            return paper.exception_name(triggers)
        case ReferenceView(id=name):
            return paper.REFERENCE.format(name=name)
        case Identity():
            return paper.PROTOCOL
    return ""
