"""What an author meant by a text that stands where the format wants something else: a range, a day, a list of names.

Each function gives the values for the words of the advice, none where it cannot tell. Where a text may mean two things
both are given.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from datetime import date
from typing import Any

from liningbook.notation.quantity import NotAQuantity, parse_quantity
from liningbook.notation.written_range import range_meant
from liningbook.sources.node import Node, get
from liningbook.sources.shape_values import Path, written
from liningbook.sources.text import kebab

Meant = Mapping[str, Any]

NOTHING: Meant = dict.fromkeys(
    (
        *("range", "included", "excluded", "number", "both", "taken", "quantity"),
        *("day", "day_first", "month_first", "list", "whole", "field"),
    ),
    "",
)
"""The values of what cannot be told."""

_YEAR_FIRST = re.compile(r"(\d{4})([./-])(\d{1,2})\2(\d{1,2})")
_YEAR_LAST = re.compile(r"(\d{1,2})(\. ?|[/ -])(\d{1,2})\2(\d{4}|\d{2})")
_NAMED = re.compile(
    r"(?P<day>\d{1,2})(?:\.|st|nd|rd|th|er|º)?\s+(?:of\s+|de\s+)?(?P<month>[^\W\d]+)\.?,?\s+(?:de\s+)?(?P<year>\d{4})"
    r"|(?P<first>[^\W\d]+)\.?\s+(?P<then>\d{1,2})(?:st|nd|rd|th)?,?\s+(?P<last>\d{4})"
)
_MONTHS = (
    "jan|ene", "feb|fev", "mar|mae", "apr|avr|abr", "may|mai", "jun|juin", "jul|juil", "aug|aou|ago", "sep", "oct|okt",
    "nov", "dec|dez|dic",
)  # fmt: skip
"""How the names of the months begin in the languages of the outputs, without accents."""


def day_meant(text: str) -> Meant:
    """The day that a text such as `01.12.2027` or `1 December 2027` means, or the two that it may mean."""
    days = list(dict.fromkeys(day for day in _days(text.strip()) if day is not None))
    if not days:
        return {}
    day, first, second = (days[0], "", "") if len(days) == 1 else ("", *days)
    return {"day": day, "day_first": first, "month_first": second}


def _days(text: str) -> list[date | None]:
    if found := _YEAR_FIRST.fullmatch(text):
        year, one, two = int(found[1]), int(found[3]), int(found[4])
        return [_day(year, one, two) or _day(year, two, one)]
    if found := _YEAR_LAST.fullmatch(text):
        year, one, two = int(found[4]), int(found[1]), int(found[3])
        year += 2000 if year < 100 else 0
        return [_day(year, two, one), _day(year, one, two)]
    if found := _NAMED.fullmatch(text):
        month = _month(found["month"] or found["first"])
        return [_day(int(found["year"] or found["last"]), month, int(found["day"] or found["then"]))]
    return []


def _month(name: str) -> int:
    """The number of a month from its name; 0 for another word."""
    letters = kebab(name)
    numbers = (n for most in (4, 3) for n, starts in enumerate(_MONTHS, 1) if letters[:most] in starts.split("|"))
    return next(numbers, 0)


def _day(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        return None


def thickness_meant(text: str) -> Meant:
    """The range that a text such as `up to 0.5 mm` means; a number alone may be any end of one."""
    if meant := range_meant(text):
        return meant
    try:
        return {"quantity": parse_quantity(text)}
    except NotAQuantity:
        return {}


def list_meant(text: str, of_names: bool) -> Meant:
    """The list that a single text stands for; names may have commas between them."""
    items = [name for name in re.split(r"[\s,;]+", text) if name] if of_names else [" ".join(text.split())]
    return {"list": written(items)} if any(items) else {}


def text_meant(node: Node, path: Path) -> Meant:
    """The text that a group of fields stands for: one that a colon cut in two, or the label in a group with one."""
    label, fields = get(node, "label"), node.fields or {}
    if path and isinstance(path[-1], str):
        return {"field": f"{path[-1]}: {written(label.text)}"} if label is not None and label.text else {}
    if len(fields) != 1:
        return {}
    (name, child), start = next(iter(fields.items())), (node.span.line, node.span.column)
    is_cut = child.text and child.key_span is not None and start == (child.key_span.line, child.key_span.column)
    return {"whole": written(" ".join(f"{name}: {child.text}".split()))} if is_cut else {}


MEANT: Mapping[str, Callable[[str], Meant]] = {"date": day_meant, "range": thickness_meant}
"""By the name of a definition of the schemas, what a text that does not fit it may mean."""
