"""Exact quantities: a decimal number and a unit code of UCUM.

Numbers are held as fractions from the text to the output; binary floating point is used nowhere.
Unit codes and their sizes: The Unified Code for Units of Measure (UCUM), Regenstrief Institute, version 2.1.
"""

from __future__ import annotations

import re
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
        if self.word:
            return self.word if one else self.word + "s"
        return self.symbol


def _units() -> dict[str, Unit]:
    table = [
        ("m", "length", "1", "m", ""),
        ("dm", "length", "1/10", "dm", ""),
        ("cm", "length", "1/100", "cm", ""),
        ("mm", "length", "1/1000", "mm", ""),
        ("um", "length", "1/1000000", "µm", ""),
        ("nm", "length", "1/1000000000", "nm", ""),
        ("[in_i]", "length", "127/5000", "in", ""),
        ("s", "time", "1", "s", ""),
        ("ms", "time", "1/1000", "ms", ""),
        ("min", "time", "60", "min", ""),
        ("h", "time", "3600", "h", ""),
        ("d", "time", "86400", "days", "day"),
        ("wk", "time", "604800", "weeks", "week"),
        ("mo", "time", "2629800", "months", "month"),
        ("a", "time", "31557600", "years", "year"),
        ("Cel", "temperature", "1", "°C", ""),
        ("K", "kelvin", "1", "K", ""),
        ("N", "force", "1", "N", ""),
        ("kN", "force", "1000", "kN", ""),
        ("[lbf_av]", "force", "8896443230521/2000000000000", "lbf", ""),
        ("Pa", "pressure", "1", "Pa", ""),
        ("kPa", "pressure", "1000", "kPa", ""),
        ("MPa", "pressure", "1000000", "MPa", ""),
        ("GPa", "pressure", "1000000000", "GPa", ""),
        ("g", "mass", "1", "g", ""),
        ("mg", "mass", "1/1000", "mg", ""),
        ("kg", "mass", "1000", "kg", ""),
        ("ug", "mass", "1/1000000", "µg", ""),
        ("L", "volume", "1", "L", ""),
        ("mL", "volume", "1/1000", "mL", ""),
        ("uL", "volume", "1/1000000", "µL", ""),
        ("%", "share", "1/100", "%", ""),
        ("1", "share", "1", "", ""),
        ("[pH]", "acidity", "1", "pH", ""),
        ("deg", "angle", "1", "°", ""),
        ("uA", "current", "1/1000000", "µA", ""),
        ("mA", "current", "1/1000", "mA", ""),
        ("A", "current", "1", "A", ""),
        ("mV", "voltage", "1/1000", "mV", ""),
        ("V", "voltage", "1", "V", ""),
        ("Ohm", "resistance", "1", "Ω", ""),
        ("kOhm", "resistance", "1000", "kΩ", ""),
    ]
    return {code: Unit(code, dim, Fraction(size), symbol, word) for code, dim, size, symbol, word in table}


UNITS: dict[str, Unit] = _units()

WRITTEN_OTHERWISE: dict[str, str] = {
    "µm": "um", "μm": "um", "micron": "um", "microns": "um", "millimetre": "mm", "millimetres": "mm",
    "millimeter": "mm", "millimeters": "mm", "MM": "mm", "Mm": "mm", "inch": "[in_i]", "in": "[in_i]",
    "year": "a", "years": "a", "yr": "a", "y": "a", "month": "mo", "months": "mo", "week": "wk", "weeks": "wk",
    "w": "wk", "day": "d", "days": "d", "hour": "h", "hours": "h", "hr": "h", "minute": "min", "minutes": "min",
    "mins": "min", "sec": "s", "secs": "s", "second": "s", "seconds": "s", "°C": "Cel", "C": "Cel", "degC": "Cel",
    "l": "L", "ml": "mL", "µL": "uL", "µg": "ug", "lbf": "[lbf_av]", "lb": "[lbf_av]", "percent": "%", "ph": "[pH]",
    "pH": "[pH]", "ohm": "Ohm", "Ω": "Ohm", "newton": "N", "newtons": "N",
}  # fmt: skip
"""What people write for a unit, and the code to write instead."""

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
    digits = 0
    scaled = value
    while scaled.denominator != 1:
        scaled *= 10
        digits += 1
    text = str(abs(scaled.numerator))
    if digits:
        text = text.rjust(digits + 1, "0")
        text = f"{text[:-digits]}.{text[-digits:]}"
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
    number, code = match.group(1), match.group(2).strip()
    if "," in number and (DECIMAL.match(number.replace(",", ".")) or _THOUSANDS.match(number)):
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


def parse_unit(code: str) -> Unit:
    """A unit from its UCUM code; raises NotAQuantity with what to write instead."""
    unit = UNITS.get(code.strip())
    if unit is None:
        meant = _unit_meant(code.strip())
        if meant:
            raise NotAQuantity("unknown-unit-meant", code=code, meant=meant)
        raise NotAQuantity("unknown-unit-code", code=code)
    return unit


_THOUSANDS = re.compile(r"[+-]?[1-9][0-9]{0,2}(?:,[0-9]{3})+(?:\.[0-9]*)?\Z")


def _comma(number: str, unit: str) -> NotAQuantity:
    """What is wrong with a comma. Whether it marks thousands or decimals is never guessed."""
    point, plain = number.replace(",", "."), number.replace(",", "")
    if not _THOUSANDS.match(number):
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
