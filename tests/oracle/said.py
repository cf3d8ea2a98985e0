"""The cases that a finding speaks of in words, read back into the notation of `when`: English, from its wording alone.

Nothing of Liningbook is used here. A factor is the mapping that stands in `protocol.yaml`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

UNITS = {
    "mm": "mm", "µm": "um", "cm": "cm", "day": "d", "days": "d", "week": "wk", "weeks": "wk", "month": "mo",
    "months": "mo", "year": "a", "years": "a", "s": "s", "min": "min", "N": "N", "kN": "kN", "°C": "Cel",
}  # fmt: skip

QUANTITY = r"-?[0-9]+(?:\.[0-9]+)? (?:" + "|".join(sorted(UNITS, key=len, reverse=True)) + r")\b"
BARE = r"(-?[0-9]+(?:\.[0-9]+)?(?: [^ 0-9]+)?)"
"""A number with its unit, or without one where it follows the number after it."""
RANGES = [
    (rf"exactly ({QUANTITY})", ("exactly",)),
    (rf"at least ({QUANTITY}), less than ({QUANTITY})", ("at_least", "below")),
    (rf"more than ({QUANTITY}), at most ({QUANTITY})", ("above", "at_most")),
    (rf"more than ({QUANTITY}), less than ({QUANTITY})", ("above", "below")),
    (rf"from {BARE}(?:,| up to) under ({QUANTITY})", ("at_least", "below")),
    (rf"over {BARE} up to ({QUANTITY})", ("above", "at_most")),
    (rf"over {BARE}(?:,| up to) under ({QUANTITY})", ("above", "below")),
    (rf"{BARE} to ({QUANTITY})", ("at_least", "at_most")),
    (rf"({QUANTITY}) or less", ("at_most",)),
    (rf"({QUANTITY}) or more", ("at_least",)),
    (rf"less than ({QUANTITY})", ("below",)),
    (rf"more than ({QUANTITY})", ("above",)),
    (rf"up to ({QUANTITY})", ("at_most",)),
    (rf"under ({QUANTITY})", ("below",)),
    (rf"from ({QUANTITY})", ("at_least",)),
    (rf"over ({QUANTITY})", ("above",)),
]

CUT = "…"


@dataclass(frozen=True)
class Said:
    """What a message says of a box: a condition a factor, in words; some may be cut short, and some left out."""

    words: Mapping[str, str]
    left_out: bool = False


@dataclass(frozen=True)
class Message:
    """The first box of a finding as its message has it, and whether the message says that there are others."""

    first: Said
    elsewhere: bool
    perhaps: bool


class Unreadable(AssertionError):
    """Words that say nothing of cases, or not what they should look like."""


def read_message(factors: Mapping[str, Any], text: str) -> Message:
    """The end of a message: `where A is x, B is y and C is z, …, and elsewhere`."""
    text, perhaps = _without(text, ", and perhaps elsewhere")
    text, elsewhere = _without(text, ", and elsewhere")
    text, left_out = _without(text, f", {CUT}")
    if text.endswith(" in every case"):
        return Message(Said({}), elsewhere, perhaps)
    labels = _alternatives(_names(factors))
    starts = [found.start() for found in re.finditer(rf"\bwhere (?=(?:{labels}) is )", text)]
    if not starts:
        raise Unreadable(text)
    parts = re.split(rf"(?:^where |, | and )({labels}) is ", text[starts[-1] :])
    if parts[0]:
        raise Unreadable(text)
    return Message(Said(_by_name(factors, parts[1::2], parts[2::2]), left_out), elsewhere, perhaps)


def read_line(factors: Mapping[str, Any], text: str) -> Said:
    """A box, or one case, on a line of its own: `A: x; B: y`."""
    if text == "every case":
        return Said({})
    parts = [part.partition(": ") for part in text.split("; ")]
    return Said(_by_name(factors, [label for label, _, _ in parts], [words for _, _, words in parts]))


def read_condition(factor: Mapping[str, Any], words: str) -> Any:
    """What is said of one factor, in the notation of `when`."""
    if factor["kind"] == "quantity":
        return _ranges(factor["unit"], words)
    if factor["kind"] == "yes-no":
        return [words]
    rest, excluded = (words[4:], True) if words.startswith("not ") else (words, False)
    by_label = {label: value for value, label in factor["values"].items()}
    values = [by_label[label] for label in _listed(rest, _alternatives(by_label))]
    return [value for value in factor["values"] if value not in values] if excluded else values


def read_value(factor: Mapping[str, Any], words: str) -> str:
    """One value in words, as the text of a case."""
    if factor["kind"] == "quantity":
        return _quantity(factor["unit"], words)
    if factor["kind"] == "yes-no":
        return words
    return next(value for value, label in factor["values"].items() if label == words)


def _ranges(unit: str, words: str) -> list[dict[str, str]]:
    found = []
    while words:
        for pattern, keys in RANGES:
            match = re.match(rf"{pattern}(?:, | or |$)", words)
            if match:
                found.append({key: _quantity(unit, text) for key, text in zip(keys, match.groups(), strict=True)})
                words = words[match.end() :]
                break
        else:
            raise Unreadable(words)
    return found


def _quantity(unit: str, words: str) -> str:
    number, _, symbol = words.partition(" ")
    assert not symbol or UNITS[symbol] == unit, words
    return f"{number} {unit}"


def _listed(words: str, labels: str) -> Sequence[str]:
    if not re.fullmatch(rf"(?:{labels})(?:(?:, | or )(?:{labels}))*", words):
        raise Unreadable(words)
    return re.findall(rf"(?:^|, | or )({labels})", words)


def _by_name(factors: Mapping[str, Any], labels: Iterable[str], words: Iterable[str]) -> dict[str, str]:
    names = _names(factors)
    return {names[label]: text for label, text in zip(labels, words, strict=True)}


def _names(factors: Mapping[str, Any]) -> dict[str, str]:
    """Each factor by its label; one without is shown by its name."""
    names = {factor.get("label", name): name for name, factor in factors.items()}
    assert len(names) == len(factors), "two factors of one label"
    return names


def _without(text: str, end: str) -> tuple[str, bool]:
    return text.removesuffix(end), text.endswith(end)


def _alternatives(labels: Iterable[str]) -> str:
    return "|".join(re.escape(label) for label in sorted(labels, key=len, reverse=True))
