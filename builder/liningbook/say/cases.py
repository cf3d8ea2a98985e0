"""Cases, and what a rule asks of them, in words."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from liningbook.model.protocol import Protocol
from liningbook.model.rule import Condition, Conditions, Factor, When
from liningbook.notation.codec import ranges_from_notation
from liningbook.notation.quantity import parse_quantity
from liningbook.say.amounts import brief_range, quantity_words, range_words
from liningbook.say.catalogue import gettext
from liningbook.say.locale import both, either

_STOPS = tuple(".!?…:;")
_CLOSING = "\"'”’»)]"

Parts = Sequence[tuple[str, str]]
"""Label and words of each factor that must be named."""


def condition_words(factor: Factor, condition: Condition) -> str:
    """What a rule asks of one factor, without its label."""
    if condition.numbers is not None and factor.unit is not None:
        return either([range_words(r, factor.unit, factor.limits) for r in condition.numbers.ranges])
    return values_words(factor, condition.values)


def values_words(factor: Factor, values: Sequence[str]) -> str:
    """Values of a choice by their labels; a choice that leaves out few of many is said by what it leaves out."""
    if factor.kind == "yes-no":
        return either([yes_or_no(value) for value in values])
    left_out = [value for value in factor.values if value not in values]
    if len(values) > 2 and left_out and len(left_out) * 2 <= len(values):
        return gettext("not {values}").format(values=either([factor.values[value] for value in left_out]))
    return either([factor.values[value] for value in values])


def yes_or_no(value: str) -> str:
    """`yes` or `no`, as the language says it."""
    return gettext("yes") if value == "yes" else gettext("no")


def conditions_words(protocol: Protocol, conditions: Conditions) -> list[tuple[str, str]]:
    """Label and words of each condition, in the order of the factors."""
    return [
        (factor.label, condition_words(factor, conditions.conditions[name]))
        for name, factor in protocol.factors.items()
        if name in conditions.conditions
    ]


def when_words(protocol: Protocol, when: When) -> str:
    """A whole `when` on one line."""
    return alternatives([line_words(conditions_words(protocol, conditions)) for conditions in when])


def case_parts(factors: Mapping[str, Factor], case: Mapping[str, Any], brief: bool = False) -> list[tuple[str, str]]:
    """Label and words of each factor that a box (in the notation of the sources) speaks of."""
    found = []
    for name, factor in factors.items():
        if name in case:
            found.append((factor.label, _notation_words(factor, case[name], brief)))
    return found


def _notation_words(factor: Factor, value: Any, brief: bool) -> str:
    if factor.kind == "quantity" and factor.unit is not None and factor.limits is not None:
        ranges = ranges_from_notation(value, factor.unit, factor.limits).ranges
        say = brief_range if brief else range_words
        return either([say(stretch, factor.unit, factor.limits) for stretch in ranges])
    return values_words(factor, value if isinstance(value, list) else [value])


def box_words(factors: Mapping[str, Factor], case: Mapping[str, Any]) -> str:
    """A box on one line: `Restoration: Amalgam; Remaining dentine thickness: exactly 0.5 mm`."""
    return line_words(case_parts(factors, case))


def line_words(parts: Parts) -> str:
    """Label and words of each factor on one line."""
    return "; ".join(labelled(label, words) for label, words in parts) or gettext("every case")


def labelled(label: str, text: str) -> str:
    """A text after its label: `Restoration: Amalgam`."""
    return gettext("{label}: {text}").format(label=label, text=text)


def alternatives(texts: Sequence[str]) -> str:
    """Lines of which any holds."""
    return f" — {gettext('or')} ".join(texts)


def capital(text: str) -> str:
    """The text with a capital at its head, as the beginning of a sentence or a heading; `µ` stays what it is."""
    return text[:1].upper() + text[1:] if text[:1] not in ("µ", "ß") else text


def sentences(texts: Iterable[str]) -> str:
    """Texts one after another as sentences: one that ends without a stop, and is not the last, is given one."""
    *first, last = [text.strip() for text in texts if text.strip()] or [""]
    return " ".join([*map(full_stop, first), last])


def full_stop(text: str) -> str:
    """A text with a stop at its end, unless it has one."""
    return text if text.rstrip(_CLOSING)[-1:] in _STOPS else f"{text}."


def shortened(text: str, most: int = 80) -> str:
    """A text short enough for a title."""
    return text if len(text) <= most else f"{text[: most - 1]}…"


def sentence_words(parts: Parts) -> str:
    """A case, or a set of them, as the end of a sentence."""
    if not parts:
        return gettext("in every case")
    return gettext("where {conditions}").format(conditions=_conditions(parts))


def if_words(parts: Sequence[Parts]) -> str:
    """Alternatives as the end of a sentence: `if Pulp is exposed — or if Caries is deep`."""
    if not all(parts):
        return gettext("in every case")
    return alternatives([gettext("if {conditions}").format(conditions=_conditions(one)) for one in parts])


def _conditions(parts: Parts) -> str:
    return both([gettext("{factor} is {value}").format(factor=label, value=words) for label, words in parts])


def value_words(factor: Factor, text: str) -> str:
    """One value of a factor, by its label or as number and unit."""
    if factor.kind == "quantity":
        return quantity_words(parse_quantity(text))
    return yes_or_no(text) if factor.kind == "yes-no" else factor.values[text]


def count_words(number: int, one: str) -> str:
    """`1 rule`, `3 rules`; for English alone, as the command line speaks it."""
    return f"{number} {one if number == 1 else one + 's'}"


def joined(items: Iterable[str]) -> str:
    """A plain comma list."""
    return ", ".join(items)
