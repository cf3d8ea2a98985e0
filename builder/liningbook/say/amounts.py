"""Numbers, ranges and layer thicknesses in words, for findings and outputs alike.

Numbers are exact decimals with a leading zero and no trailing one; a range says for each end whether it is included.
"""

from __future__ import annotations

from fractions import Fraction

from liningbook.model.rule import Amount
from liningbook.notation.interval import UNBOUNDED, Range
from liningbook.notation.quantity import Quantity, Unit, decimal_text
from liningbook.say.catalogue import N_, gettext, ngettext
from liningbook.say.locale import decimal_words, is_one


def any_value() -> str:
    """What is said of a factor on which nothing turns."""
    return gettext("any value")


def number_words(value: Fraction, unit: Unit) -> str:
    """`0.5 mm`, `15 years`, `2 µm`."""
    number = decimal_words(decimal_text(value))
    symbol = unit_words(unit, value)
    if not symbol:
        return number
    if symbol == "%":
        return gettext("{number}%").format(number=number)
    return f"{number}{symbol}" if symbol == "°" else f"{number} {symbol}"


def unit_words(unit: Unit, value: Fraction) -> str:
    """What people read after a number: `mm`, `years`."""
    number = 1 if is_one(value) else 2
    match unit.code:
        case "d":
            return ngettext("day", "days", number)
        case "wk":
            return ngettext("week", "weeks", number)
        case "mo":
            return ngettext("month", "months", number)
        case "a":
            return ngettext("year", "years", number)
    return unit.symbol


def quantity_words(quantity: Quantity) -> str:
    """The number and the unit of a quantity."""
    return number_words(quantity.value, quantity.unit)


Ends = tuple[bool | None, bool | None]
"""Of the lower and the upper end of a range: whether it belongs to it, or nothing where it is not said."""

_WORDS: dict[Ends, str] = {
    (None, True): N_("{value} or less"),
    (None, False): N_("less than {value}"),
    (True, None): N_("{value} or more"),
    (False, None): N_("more than {value}"),
    (True, True): N_("{low} to {high}"),
    (True, False): N_("at least {low}, less than {high}"),
    (False, True): N_("more than {low}, at most {high}"),
    (False, False): N_("more than {low}, less than {high}"),
}

_FEW_WORDS: dict[Ends, str] = {
    (None, True): N_("up to {value}"),
    (None, False): N_("under {value}"),
    (True, None): N_("from {value}"),
    (False, None): N_("over {value}"),
    (True, True): N_("{low} to {high}"),
    (True, False): N_("from {low} up to under {high}"),
    (False, True): N_("over {low} up to {high}"),
    (False, False): N_("over {low} up to under {high}"),
}


def range_words(stretch: Range, unit: Unit, limits: Range | None = None) -> str:
    """A range in words; an end at `limits` (or without a bound) is not said.

    `exactly 0.5 mm`, `0.5 mm or less`, `more than 0.5 mm, at most 2 mm`.
    """
    return _range_in(_WORDS, stretch, unit, limits, number_words(stretch.lower.value, unit))


def brief_range(stretch: Range, unit: Unit, limits: Range | None = None) -> str:
    """A range in few words, as the band of a chart is called: `up to 1.29 mm`, `over 1.29 up to 3.43 mm`.

    An end at `limits` (or without a bound) is not said.
    """
    return _range_in(_FEW_WORDS, stretch, unit, limits, decimal_words(decimal_text(stretch.lower.value)))


def _range_in(words: dict[Ends, str], stretch: Range, unit: Unit, limits: Range | None, first: str) -> str:
    """A range in one of the tables of words; `first` is its lower end where the upper one follows."""
    lower, upper = stretch.lower, stretch.upper
    low, high = number_words(lower.value, unit), number_words(upper.value, unit)
    if lower.value == upper.value:
        return gettext("exactly {value}").format(value=low)
    from_start = lower.value == -UNBOUNDED or (limits is not None and lower == limits.lower)
    to_end = upper.value == UNBOUNDED or (limits is not None and upper == limits.upper)
    if from_start and to_end:
        return any_value()
    said = gettext(words[None if from_start else lower.closed, None if to_end else upper.closed])
    return said.format(value=high if from_start else low, low=first, high=high)


def amount_words(amount: Amount) -> str:
    """A layer's thickness: `under 0.5 mm`, `0.75 to 1 mm`, `2 to 5 µm`."""
    lower, upper, unit = amount.range.lower, amount.range.upper, amount.unit
    if lower.value == upper.value:
        return number_words(lower.value, unit)
    if upper.value == UNBOUNDED:
        words = gettext("{value} or more") if lower.closed else gettext("over {value}")
        return words.format(value=number_words(lower.value, unit))
    if lower.value in (-UNBOUNDED, 0) and (lower.value == -UNBOUNDED or not lower.closed):
        words = gettext("up to {value}") if upper.closed else gettext("under {value}")
        return words.format(value=number_words(upper.value, unit))
    if lower.closed and upper.closed:
        low = decimal_words(decimal_text(lower.value))
        return gettext("{low} to {high}").format(low=low, high=number_words(upper.value, unit))
    return range_words(amount.range, unit)


def probability_words(share: float) -> str:
    """A probability as how many of a hundred, never rounded to certainty: `about 98 in 100`, `more than 99 in 100`."""
    count = round(share * 100)
    if count > 99:
        return gettext("more than 99 in 100")
    if count < 1:
        return gettext("less than 1 in 100")
    return gettext("about {count} in 100").format(count=count)
