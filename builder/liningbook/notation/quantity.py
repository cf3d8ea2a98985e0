"""Exact quantities: a decimal number and a unit code of UCUM.

Numbers are held as fractions from the text to the output; binary floating point is used nowhere.
Unit codes and their sizes: The Unified Code for Units of Measure (UCUM), Regenstrief Institute, version 2.1.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from liningbook.finding import Refused


@dataclass(frozen=True)
class Unit:
    """A unit of measure.

    `code` is the UCUM code, `size` its exact size in the first unit of its `dimension`,
    `symbol` what is printed after a number, `word` the word for people where the symbol is not one (years for `a`).
    """

    code: str
    dimension: str
    size: Fraction
    symbol: str
    word: str = ""

    def print_symbol(self, one: bool = False) -> str:
        """What people read after a number: `mm`, `years`; `one` asks for the singular."""
        return self.word if self.word and one else self.symbol


_SIZES: Mapping[str, Mapping[str, str]] = {
    "length": {
        "m": "1", "dm": "1/10", "cm": "1/100", "mm": "1/1000", "um": "1/1000000", "nm": "1/1000000000",
        "[in_i]": "127/5000",
    },
    "time": {
        "s": "1", "ms": "1/1000", "min": "60", "h": "3600", "d": "86400", "wk": "604800", "mo": "2629800",
        "a": "31557600",
    },
    "temperature": {"Cel": "1"},
    "kelvin": {"K": "1"},
    "force": {"N": "1", "kN": "1000", "[lbf_av]": "8896443230521/2000000000000"},
    "pressure": {"Pa": "1", "kPa": "1000", "MPa": "1000000", "GPa": "1000000000"},
    "mass": {"g": "1", "mg": "1/1000", "kg": "1000", "ug": "1/1000000"},
    "volume": {"L": "1", "mL": "1/1000", "uL": "1/1000000"},
    "share": {"%": "1/100", "1": "1"},
    "acidity": {"[pH]": "1"},
    "angle": {"deg": "1"},
    "current": {"uA": "1/1000000", "mA": "1/1000", "A": "1"},
    "voltage": {"mV": "1/1000", "V": "1"},
    "resistance": {"Ohm": "1", "kOhm": "1000"},
}  # fmt: skip
"""Dimension, then code, to the size."""

_SYMBOLS: Mapping[str, str] = {
    "um": "µm", "[in_i]": "in", "d": "days", "wk": "weeks", "mo": "months", "a": "years", "Cel": "°C",
    "[lbf_av]": "lbf", "ug": "µg", "uL": "µL", "1": "", "[pH]": "pH", "deg": "°", "uA": "µA", "Ohm": "Ω", "kOhm": "kΩ",
}  # fmt: skip
"""What is printed for a unit where that is not its code."""

_WORDS: Mapping[str, str] = {"d": "day", "wk": "week", "mo": "month", "a": "year"}

UNITS: Mapping[str, Unit] = {
    code: Unit(code, dimension, Fraction(size), _SYMBOLS.get(code, code), _WORDS.get(code, ""))
    for dimension, sizes in _SIZES.items()
    for code, size in sizes.items()
}

WRITTEN_OTHERWISE: Mapping[str, str] = {
    "micron": "um", "microns": "um", "millimetre": "mm", "millimetres": "mm",
    "millimeter": "mm", "millimeters": "mm", "MM": "mm", "Mm": "mm", "inch": "[in_i]", "in": "[in_i]",
    "year": "a", "years": "a", "yr": "a", "y": "a", "month": "mo", "months": "mo", "week": "wk", "weeks": "wk",
    "w": "wk", "day": "d", "days": "d", "hour": "h", "hours": "h", "hr": "h", "minute": "min", "minutes": "min",
    "mins": "min", "sec": "s", "secs": "s", "second": "s", "seconds": "s", "°C": "Cel", "C": "Cel", "degC": "Cel",
    "l": "L", "ml": "mL", "lbf": "[lbf_av]", "lb": "[lbf_av]", "percent": "%", "ph": "[pH]",
    "pH": "[pH]", "ohm": "Ohm", "Ω": "Ohm", "newton": "N", "newtons": "N",
}  # fmt: skip
"""What people write for a unit, and the code to write instead."""

MICRO = str.maketrans("\u00b5\u03bc", "uu")
"""The micro sign and the Greek letter, which look alike: each is read as the `u` of UCUM."""

ONE_NUMBER = re.compile(r"\s*[+-]?[0-9.,]+\s*[^\s0-9.,]*\s*")
"""A number, perhaps with a unit, as nearly all quantities are written."""

DECIMAL = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)\Z")


@dataclass(frozen=True)
class Quantity:
    """An exact number of a unit, as the author wrote it: `value` in `unit`."""

    value: Fraction
    unit: Unit

    @property
    def base(self) -> Fraction:
        """The value in the first unit of its dimension; what comparisons use."""
        return self.value * self.unit.size

    def in_unit(self, unit: Unit) -> Fraction:
        """The value in another unit of the same dimension."""
        return self.value * self.unit.size / unit.size

    def __str__(self) -> str:
        return f"{decimal_text(self.value)} {self.unit.code}"


class NotAQuantity(Refused):
    """Why a text is no quantity: a code, and the values that its words need."""


def has_finite_decimal(value: Fraction) -> bool:
    """Whether the value can be written exactly as a decimal number."""
    rest = value.denominator
    for prime in (2, 5):
        while rest % prime == 0:
            rest //= prime
    return rest == 1


def decimal_text(value: Fraction) -> str:
    """The shortest exact decimal: `0.5`, `2`, `0.0021`. Raises ValueError where there is none (1/3)."""
    if not has_finite_decimal(value):
        raise ValueError(f"{value} has no exact decimal form")
    digits, scaled = 0, abs(value)
    while scaled.denominator != 1:
        digits, scaled = digits + 1, scaled * 10
    text = str(scaled.numerator).rjust(digits + 1, "0")
    text = f"{text[:-digits]}.{text[-digits:]}" if digits else text
    return f"-{text}" if value < 0 else text


def short_decimal_between(low: Fraction, high: Fraction) -> Fraction:
    """A decimal with as few digits as possible strictly between two numbers, the one nearest their middle."""
    middle = (low + high) / 2
    scale = 1
    while True:
        nearest = Fraction(round(middle * scale), scale)
        if low < nearest < high:
            return nearest
        scale *= 10


MAX_DIGITS = 40
"""No number of the sources has more digits, in its own unit or in that of its factor (see `is_too_long`)."""


def is_too_long(value: Fraction) -> bool:
    """Whether a number that has a decimal form has more than `MAX_DIGITS` digits."""
    if abs(value.numerator) < 10 ** (MAX_DIGITS // 2) and value.denominator < 2 ** (MAX_DIGITS // 2):
        return False  # as nearly always: half of the digits before the point, half after it
    return len(decimal_text(abs(value)).replace(".", "")) > MAX_DIGITS


def not_too_long(value: Fraction) -> Fraction:
    """The value. Raises NotAQuantity if it has too many digits for any printed page."""
    if is_too_long(value):
        raise NotAQuantity("too-long", most=MAX_DIGITS)
    return value


def parse_number(text: str) -> Fraction:
    """An exact decimal number from its text; raises NotAQuantity."""
    if not DECIMAL.match(text):
        if re.match(r"[+-]?[0-9]+,[0-9]+\Z", text):
            raise _comma(text, "")
        raise NotAQuantity("not-decimal", written=text)
    if len(text) > 2 * MAX_DIGITS:  # a number between two of the longest still fits
        raise NotAQuantity("too-long", most=MAX_DIGITS)
    return Fraction(text.rstrip(".") if text.endswith(".") else text)


def parse_quantity(text: str, like: Unit | None = None) -> Quantity:
    """A quantity from its text, `0.5 mm`; `like` is the unit that is wanted, used for advice and for the dimension.

    Raises NotAQuantity with what to write instead.
    """
    example = like.code if like else "mm"
    text = text.strip()
    match = re.match(r"([+-]?[0-9.,]+)\s*(.*)\Z", text, re.DOTALL)
    if not match or _NO_UNIT.match(match.group(2)):
        raise _no_quantity(text, example)
    number, code = match.group(1), match.group(2).strip().translate(MICRO)
    if "," in number and (DECIMAL.match(number.replace(",", ".")) or THOUSANDS.match(number)):
        raise _comma(number, f" {code or example}")
    if not DECIMAL.match(number):
        raise NotAQuantity("not-decimal-quantity", written=number, example=example)
    value = parse_number(number)
    if not code:
        raise NotAQuantity("no-unit", number=number, example=example)
    unit = UNITS.get(code)
    if unit is None:
        meant = _unit_meant(code)
        instead = f"{number} {meant}" if meant else ""
        raise NotAQuantity("unknown-unit", code=code, instead=instead, units=() if meant else _same_kind(like))
    if like is not None and unit.dimension != like.dimension:
        raise NotAQuantity("other-dimension", unit=unit.code, like=like.code, units=_same_kind(like))
    return Quantity(value, unit)


def parse_short_quantity(text: str, like: Unit) -> Quantity:
    """A quantity from its text as `parse_quantity` reads it; raises NotAQuantity for too many digits as well."""
    quantity = parse_quantity(text, like)
    not_too_long(quantity.value)
    return quantity


def parse_unit(code: str) -> Unit:
    """A unit from its UCUM code; raises NotAQuantity with what to write instead."""
    bare = code.strip().translate(MICRO)
    if bare in UNITS:
        return UNITS[bare]
    if meant := _unit_meant(bare):
        raise NotAQuantity("unknown-unit-meant", code=code, meant=meant)
    raise NotAQuantity("unknown-unit-code", code=code)


THOUSANDS = re.compile(r"[+-]?[1-9][0-9]{0,2}(?:,[0-9]{3})+(?:\.[0-9]*)?\Z")


def _comma(number: str, unit: str) -> NotAQuantity:
    """What is wrong with a comma. Whether it marks thousands or decimals is never guessed."""
    point, plain = number.replace(",", "."), number.replace(",", "")
    if not THOUSANDS.match(number):
        return NotAQuantity("decimal-comma", point=f"{point}{unit}")
    if not DECIMAL.match(point):
        return NotAQuantity("commas", plain=f"{plain}{unit}")
    return NotAQuantity("comma", plain=f"{plain}{unit}", point=f"{point}{unit}")


_NO_UNIT = re.compile(r"(?!1\Z)[0-9.,+/^*×–−-]|[eE][+-]?[0-9]")
"""How what follows a number begins if it is no unit: `1 000 mm`, `1/2 mm`, `0.5-1 mm`, `5e-1 mm`."""

_SIGNS = {"<": "below", "<=": "at_most", "≤": "at_most", ">": "above", ">=": "at_least", "≥": "at_least"}


def _no_quantity(text: str, example: str) -> NotAQuantity:
    """What is wrong with a text that is not one number with, perhaps, a unit."""
    sign = re.match(r"(<=|>=|[<>≤≥])\s*(\S.*)\Z", text, re.DOTALL)
    if sign:
        return NotAQuantity("sign", sign=sign.group(1), bound=_SIGNS[sign.group(1)], number=sign.group(2))
    if text.startswith("−"):
        return NotAQuantity("minus", number=text[1:])
    if re.match(r"[+-]?[0-9.]+[eE][+-]?[0-9]+", text):
        return NotAQuantity("exponent")
    return NotAQuantity("not-one-number", written=text, example=example)


def _unit_meant(code: str) -> str | None:
    """The code of the unit that was probably meant."""
    bare = code.rstrip(".")
    meant = WRITTEN_OTHERWISE.get(bare) or WRITTEN_OTHERWISE.get(bare.lower())
    return meant or next((known for known in (bare, bare.lower()) if known in UNITS), None)


def _same_kind(like: Unit | None) -> tuple[str, ...]:
    """The codes of the units that will do, the one that is wanted first."""
    codes = [u.code for u in UNITS.values() if like is None or u.dimension == like.dimension]
    return tuple(sorted(codes, key=lambda code: like is not None and code != like.code))
