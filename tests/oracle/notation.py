"""The notation of `when` read once more, from the contract alone: quantities, conditions and boxes of cases.

Nothing of Liningbook is used here. Numbers are fractions of the factor's unit. A factor is the mapping that stands in
`protocol.yaml`. `read_box` is strict: it takes only what an output may say, in its shortest form.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Any

# How large a unit is among those of its kind. Source: UCUM 2.1 (a is the Julian year, mo a twelfth of it).
SIZES = {
    "mm": ("length", Fraction(1)),
    "um": ("length", Fraction(1, 1000)),
    "cm": ("length", Fraction(10)),
    "d": ("time", Fraction(1)),
    "a": ("time", Fraction(1461, 4)),
    "mo": ("time", Fraction(1461, 48)),
    "s": ("time", Fraction(1, 86400)),
    "min": ("time", Fraction(1, 1440)),
    "N": ("force", Fraction(1)),
    "kN": ("force", Fraction(1000)),
    "Cel": ("temperature", Fraction(1)),
}

SHORTEST = re.compile(r"-?(0|[1-9][0-9]*)(\.[0-9]*[1-9])?\Z")

LOWER, UPPER = ("above", "at_least"), ("below", "at_most")


class Unsound(AssertionError):
    """An output breaks the notation of the contract."""


def size(text: str) -> tuple[str, Fraction]:
    """The kind of a quantity and its exact size in the first unit of its kind: `500 um` is ('length', 1/2)."""
    match = re.match(r"([-+]?[0-9]*\.?[0-9]*) ?(\S+)\Z", str(text))
    assert match, f"{text!r} is no quantity"
    kind, one = SIZES[match[2]]
    return kind, Fraction(match[1]) * one


def number(text: str, unit: str) -> Fraction:
    """The exact value of a quantity in another unit."""
    kind, value = size(text)
    assert kind == SIZES[unit][0], f"{text!r} cannot be given in {unit}"
    return value / SIZES[unit][1]


def decimal(value: Fraction) -> str:
    """The shortest exact decimal."""
    digits = next(n for n in range(60) if (value * 10**n).denominator == 1)
    whole = str(abs(value.numerator * 10**digits // value.denominator)).rjust(digits + 1, "0")
    text = f"{whole[:-digits]}.{whole[-digits:]}" if digits else whole
    return f"-{text}" if value < 0 else text


def values_of(factor: Mapping[str, Any]) -> list[str]:
    """What a choice or yes-no factor may be, in the order of the source."""
    return ["yes", "no"] if factor["kind"] == "yes-no" else list(factor["values"])


def limits_of(factor: Mapping[str, Any]) -> tuple[Fraction, Fraction]:
    return number(factor["at_least"], factor["unit"]), number(factor["at_most"], factor["unit"])


def step_of(factor: Mapping[str, Any]) -> Fraction | None:
    return number(factor["step"], factor["unit"]) if "step" in factor else None


def as_list(value: Any) -> list[Any]:
    return list(value) if isinstance(value, list) else [value]


def mappings(when: Any) -> list[Mapping[str, Any]]:
    """A `when` as the list of mappings any of which may hold: left out or empty, it is one that always does."""
    if isinstance(when, list):
        return when or [{}]
    return [when or {}]


def in_range(bounds: Mapping[str, str], value: Fraction, unit: str) -> bool:
    """Whether a value lies in one range."""
    holds = {
        "above": lambda limit: value > limit,
        "at_least": lambda limit: value >= limit,
        "below": lambda limit: value < limit,
        "at_most": lambda limit: value <= limit,
        "exactly": lambda limit: value == limit,
    }
    return all(holds[key](number(text, unit)) for key, text in bounds.items())


def meets(factor: Mapping[str, Any], condition: Any, value: Any) -> bool:
    """Whether a factor's value meets a condition."""
    if factor["kind"] == "quantity":
        return any(in_range(bounds, value, factor["unit"]) for bounds in as_list(condition))
    if isinstance(condition, Mapping):
        return value not in as_list(condition["not"])
    return value in as_list(condition)


def holds(factors: Mapping[str, Any], when: Any, case: Mapping[str, Any]) -> bool:
    """Whether a `when` holds for a case (a value for every factor; numbers in the factor's unit)."""
    return any(
        all(meets(factors[name], condition, case[name]) for name, condition in mapping.items())
        for mapping in mappings(when)
    )


def thresholds(factor: str, unit: str, whens: Sequence[Any]) -> set[Fraction]:
    """Every number that a list of `when` compares a quantity with."""
    return {
        number(text, unit)
        for when in whens
        for mapping in mappings(when)
        if factor in mapping
        for bounds in as_list(mapping[factor])
        for text in bounds.values()
    }


# --- outputs --------------------------------------------------------------------------------------------------------


def check(sound: bool, text: str) -> None:
    if not sound:
        raise Unsound(text)


def read_output_number(factor: Mapping[str, Any], text: Any) -> Fraction:
    """A quantity in an output: in the factor's unit, shortest, within the limits and on the step."""
    check(isinstance(text, str), f"{text!r} is not a text")
    digits, _, unit = text.partition(" ")
    check(unit == factor["unit"] and bool(SHORTEST.match(digits)) and digits != "-0", f"{text!r} is not canonical")
    value = Fraction(digits)
    low, high = limits_of(factor)
    check(low <= value <= high, f"{text!r} lies beyond the limits")
    step = step_of(factor)
    check(step is None or (value / step).denominator == 1, f"{text!r} is off the step")
    return value


def read_box(factors: Mapping[str, Any], box: Any) -> None:
    """Raises Unsound unless the box is written as the contract says of `cases`."""
    check(isinstance(box, Mapping), f"{box!r} is no mapping")
    for name, condition in box.items():
        check(name in factors, f"{name!r} is no factor")
        factor = factors[name]
        if factor["kind"] == "quantity":
            check(condition != [], f"no range of {name}")
            for bounds in as_list(condition):
                _read_bounds(factor, bounds)
        elif factor["kind"] == "yes-no":
            check(condition in ("yes", "no"), f"{condition!r} is neither yes nor no")
        else:
            check(isinstance(condition, list) and bool(condition), f"{condition!r} is no list of values")
            check(len(set(condition)) == len(condition), f"{condition!r} says a value twice")
            check(set(condition) <= set(values_of(factor)), f"{condition!r} holds an unknown value")


def _read_bounds(factor: Mapping[str, Any], bounds: Any) -> None:
    check(isinstance(bounds, Mapping) and bool(bounds), f"{bounds!r} is no range")
    keys = set(bounds)
    check(keys <= {*LOWER, *UPPER, "exactly"}, f"{bounds!r} has an unknown bound")
    check(keys == {"exactly"} or "exactly" not in keys, f"{bounds!r} has more than `exactly`")
    check(not keys.issuperset(LOWER) and not keys.issuperset(UPPER), f"{bounds!r} has two bounds of one side")
    for text in bounds.values():
        read_output_number(factor, text)


def read_witness(factors: Mapping[str, Any], witness: Any) -> dict[str, Any]:
    """A witness as a case: a value for every factor, in the order of the factors."""
    check(isinstance(witness, Mapping) and list(witness) == list(factors), f"{witness!r} has not every factor")
    case: dict[str, Any] = {}
    for name, factor in factors.items():
        if factor["kind"] == "quantity":
            case[name] = read_output_number(factor, witness[name])
        else:
            check(witness[name] in values_of(factor), f"{witness[name]!r} is no value of {name}")
            case[name] = witness[name]
    return case
