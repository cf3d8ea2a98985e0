"""Ranges as people write them (`> 0.5 mm`, `under 0,5 mm`, `0.5-2 mm`), and how the sources write them.

Nothing is read so: it says what to write instead. Whether an end itself counts is never guessed; where the author's
words leave it open (`0.5 to 2 mm`), both ways of writing it are offered.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from liningbook.notation.quantity import DECIMAL, MICRO, ONE_NUMBER, THOUSANDS, UNITS, WRITTEN_OTHERWISE, Unit

_BEFORE: Mapping[str, re.Pattern[str]] = {
    "below": re.compile(
        "<|under|below|(less|smaller|thinner) than|unter|(weniger|kleiner|dünner) als|moins de|sous"
        "|inférieure? à|menos de|menor que",
        re.IGNORECASE,
    ),
    "exactly": re.compile("=|exactly|genau|exactement|exactamente", re.IGNORECASE),
    "at_most": re.compile(
        "<=|=<|≤|⩽|at[ _]most|(no|not) (more|over) than|max(imum|imal)?|höchstens|nicht mehr als|au plus|au maximum"
        "|(como )?máximo",
        re.IGNORECASE,
    ),
    "above": re.compile(
        ">|over|above|(more|greater|larger|thicker) than|über|(mehr|größer|dicker) als|plus de|supérieure? à"
        "|más de|mayor que",
        re.IGNORECASE,
    ),
    "at_least": re.compile(
        ">=|=>|≥|⩾|at[ _]least|(no|not) less than|min(imum|imal)?|mindestens|au moins|au minimum|al menos"
        "|(como )?mínimo",
        re.IGNORECASE,
    ),
    "start": re.compile("from|between|ab|von|zwischen|à partir de|dès|de|entre|desde|a partir de", re.IGNORECASE),
    "end": re.compile("up to|to|until|bis( zu)?|jusqu['’]à|hasta", re.IGNORECASE),
}
"""What people write before a number, by the bound that it means; `start` and `end` leave open whether it counts."""

_AFTER: Mapping[str, re.Pattern[str]] = {
    "at_most": re.compile(
        "(or|and) (less|below|under|thinner)|(oder|und) (weniger|darunter)|ou moins|o menos", re.IGNORECASE
    ),
    "at_least": re.compile("(or|and) (more|above|over|thicker)|(oder|und) (mehr|darüber)|ou plus|o más", re.IGNORECASE),
}
"""What people write after a number and its unit."""

_LINK = re.compile(r"(-|–|—|−|…|,|;|&|up to|to|bis( zu)?|à|a|and|und|et|y|but|jusqu['’]à|hasta)")
_STARTS, _ENDS = ("above", "at_least", "start"), ("below", "at_most", "end")

_COUNTS = {"start": "at_least", "end": "at_most"}
_DOES_NOT = {"start": "above", "end": "below"}

_NUMBER = re.compile(r"(?<![\w.,])[+-]?(?:[0-9]+(?:[.,][0-9]+)*|\.[0-9]+)")
_UNIT = re.compile(
    "|".join(re.escape(code) for code in sorted({*UNITS, *WRITTEN_OTHERWISE} - {"1"}, key=len, reverse=True))
)
_BETWEEN = re.compile(r"(<=?|≤)\s*[^\W\d][\w -]*(<=?|≤)")
"""What stands between two numbers in `0.5 mm < rdt <= 2 mm`."""


def range_meant(text: str, like: Unit | None = None) -> Mapping[str, Any] | None:
    """How a text that people read as a range is written in the sources, as values for words; `None` if it is none.

    `range` is the notation where the text decides all of it. `included` and `excluded` are the two ways where it leaves
    one end open, whether `number` counts or not; `both` is the range with both ends included where it leaves both open.
    `taken` is the unit of `like` (else mm) where the text has none. What does not apply is empty.
    """
    found = None if ONE_NUMBER.fullmatch(text) else _bounds(" ".join(text.split()).translate(MICRO))
    if found is None:
        return None
    taken = "" if any(unit for _, _, unit in found) else like.code if like else "mm"
    last = taken or next(unit for _, _, unit in reversed(found) if unit)
    bounds = [(bound, f"{number} {unit or last}") for bound, number, unit in found]
    left_open = [quantity for bound, quantity in bounds if bound in _COUNTS]
    given = dict.fromkeys(("range", "included", "excluded", "number", "both"), "") | {"taken": taken}
    counting, other = _notation(bounds, _COUNTS), _notation(bounds, _DOES_NOT)
    if not left_open:
        return given | {"range": counting}
    if len(left_open) == 1:
        return given | {"included": counting, "excluded": other, "number": left_open[0]}
    return given | {"both": counting}


def _notation(bounds: list[tuple[str, str]], decided: Mapping[str, str]) -> str:
    return "{" + ", ".join(f"{decided.get(bound, bound)}: {quantity}" for bound, quantity in bounds) + "}"


def _bounds(text: str) -> list[tuple[str, str, str]] | None:
    """Bound, number and unit (perhaps none) of each end of a range, the lower one first."""
    numbers = list(_NUMBER.finditer(text))
    if not 1 <= len(numbers) <= 2:
        return None
    first = _bound(_BEFORE, text[: numbers[0].start()])
    parts = []
    for number, stop in zip(numbers, [*(n.start() for n in numbers[1:]), len(text)], strict=True):
        unit = _UNIT.match(text, number.end() + (text[number.end() : number.end() + 1] == " "), stop)
        end = unit.end() if unit and not text[unit.end() : stop][:1].isalpha() else number.end()
        rest = text[end:stop].strip()
        if not rest and stop < len(text):  # `0,5 a 2 mm`: the `a` is no year
            end, rest = number.end(), text[number.end() : stop].strip()
        parts.append((_plain(number[0]), _code(unit[0]) if unit and end == unit.end() else "", rest))
    (value, code, rest), *others = parts
    if first is None or any(not DECIMAL.match(n.replace(",", "")) for n, _, _ in parts):
        return None
    if not others:
        after = _bound(_AFTER, rest)
        return [(first or after, value, code)] if after is not None and bool(first) != bool(after) else None
    other_number, other_unit, last = others[0]
    between, after = _between(first, rest), _bound(_AFTER, last)
    if between is None or after is None:
        return None
    one, other = (between[0] or "start", value, code), (between[1] or after or "end", other_number, other_unit)
    if one[0] in _ENDS and other[0] in _STARTS:
        one, other = other, one
    return [one, other] if one[0] in _STARTS and other[0] in _ENDS and not _is_empty(one, other) else None


def _is_empty(low: tuple[str, str, str], high: tuple[str, str, str]) -> bool:
    """Whether nothing lies between two ends; one without a unit has that of the other."""
    sizes = []
    for _, number, unit in (low, high):
        size = UNITS[unit or low[2] or high[2] or "1"].size
        sizes.append(Fraction(number) * size if DECIMAL.match(number) else None)
    return sizes[0] is not None and sizes[1] is not None and sizes[0] > sizes[1]


def _between(first: str, middle: str) -> tuple[str, str] | None:
    """The bounds that the words before the first number, and those between the two, mean; `None` for other words."""
    if named := _BETWEEN.fullmatch(middle):
        lower, upper = ("at_least" if named[1] != "<" else "above"), ("at_most" if named[2] != "<" else "below")
        return None if first else (lower, upper)
    after, before = ("|".join(words.pattern for words in table.values()) for table in (_AFTER, _BEFORE))
    parts = re.fullmatch(
        rf"(?P<after>{after})?\s*(?P<link>{_LINK.pattern})?\s*(?P<before>{before})?", middle, re.IGNORECASE
    )
    if parts is None or not (parts["link"] or parts["before"]):
        return None
    return first or _bound(_AFTER, parts["after"] or "") or "", _bound(_BEFORE, parts["before"] or "") or ""


def _bound(table: Mapping[str, re.Pattern[str]], words: str) -> str | None:
    """The bound that words mean, empty for no words, `None` for others."""
    words = words.strip(" .:")
    found = (bound for bound, pattern in table.items() if pattern.fullmatch(words))
    return next(found, None) if words else ""


def _plain(number: str) -> str:
    """A number with a decimal point for its comma; one whose comma may mark thousands as it is."""
    point = number.replace(",", ".")
    return point if DECIMAL.match(point) and not THOUSANDS.match(number) else number


def _code(unit: str) -> str:
    return unit if unit in UNITS else WRITTEN_OTHERWISE[unit]
