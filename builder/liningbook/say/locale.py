"""Numbers, dates and lists as the language spoken writes them (Unicode CLDR, through Babel)."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date
from fractions import Fraction
from typing import TYPE_CHECKING, Literal

from liningbook.resources import ENGLISH
from liningbook.say.catalogue import language

if TYPE_CHECKING:
    from babel import Locale


ENGLISH_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
"""As Citing Medicine has them; CLDR writes Sept."""


def day_words(day: date) -> str:
    """`1 September 2027`, `1. September 2027`."""
    from babel.dates import format_date

    return format_date(day, "long", _locale())


def month_of_year(day: date) -> str:
    """The month of a day, with its year: `June 2028`."""
    from babel.dates import format_skeleton

    return str(format_skeleton("yMMMM", day, locale=_locale()))


def month_words(number: int) -> str:
    """The short name of a month, from 1: `Mar`."""
    if language() == ENGLISH:
        return ENGLISH_MONTHS[number - 1]
    from babel.dates import get_month_names

    return str(get_month_names("abbreviated", locale=_locale())[number])


def ordinal_words(number: int) -> str:
    """`2nd`; in other languages the number alone, to which the message adds what it needs."""
    if language() != ENGLISH:
        return str(number)
    ending = "th" if number % 100 in (11, 12, 13) else {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"{number}{ending}"


def decimal_words(text: str) -> str:
    """An exact decimal (`0.5`) with the language's own sign (`0,5`); no digit changes and none is grouped."""
    if "." not in text or language() == ENGLISH:
        return text
    from babel.numbers import get_decimal_symbol

    return text.replace(".", get_decimal_symbol(_locale()))


_UNIT_NAMES = {
    "m": "length-meter", "dm": "length-decimeter", "cm": "length-centimeter", "mm": "length-millimeter",
    "um": "length-micrometer", "nm": "length-nanometer", "[in_i]": "length-inch", "s": "duration-second",
    "ms": "duration-millisecond", "min": "duration-minute", "h": "duration-hour", "d": "duration-day",
    "wk": "duration-week", "mo": "duration-month", "a": "duration-year", "Cel": "temperature-celsius",
    "K": "temperature-kelvin", "N": "force-newton", "Pa": "pressure-pascal", "g": "mass-gram", "kg": "mass-kilogram",
    "mg": "mass-milligram", "ug": "mass-microgram", "L": "volume-liter", "mL": "volume-milliliter",
    "%": "concentr-percent", "deg": "angle-degree", "A": "electric-ampere", "mA": "electric-milliampere",
    "V": "electric-volt", "Ohm": "electric-ohm",
}  # fmt: skip
"""UCUM's code of a unit, and what CLDR calls it."""


def unit_name(unit: str) -> str:
    """A unit by its UCUM code in words, as what is counted is called (`millimetres`); nothing where CLDR has none."""
    from babel.units import get_unit_name

    return (get_unit_name(_UNIT_NAMES[unit], locale=_locale()) or "") if unit in _UNIT_NAMES else ""


def is_one(value: Fraction) -> bool:
    """Whether what is counted stands in the singular: after 1, in French after 0.5 as well."""
    return value == 1 if language() == ENGLISH else _locale().plural_form(float(value)) == "one"


def plural_forms(message: Callable[[int], str]) -> dict[str, str]:
    """The forms of a message by the plural categories (CLDR) of the numbers that they go with."""
    category = _locale().plural_form
    return {category(number): message(number) for number in range(200, -1, -1)}


def either(words: Sequence[str]) -> str:
    """`a`, `a or b`, `a, b or c`."""
    return _listed(words, "or")


def both(words: Sequence[str]) -> str:
    """`a`, `a and b`, `a, b and c`."""
    return _listed(words, "standard")


def _listed(words: Sequence[str], style: Literal["or", "standard"]) -> str:
    if len(words) == 1:
        return words[0]
    if language() == ENGLISH:  # as CLDR has it, without loading it: `check` starts at once
        return f"{', '.join(words[:-1])} {'or' if style == 'or' else 'and'} {words[-1]}"
    from babel.lists import format_list

    return format_list(words, style=style, locale=_locale())


def _locale() -> Locale:
    from babel import Locale

    return Locale.parse(language(), sep="-")
