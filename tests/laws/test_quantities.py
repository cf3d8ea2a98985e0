"""Laws of exact quantities: what is read is what was written, whatever the unit."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import assume, given
from hypothesis import strategies as st

from liningbook.notation.quantity import (
    UNITS,
    Quantity,
    Unit,
    decimal_text,
    has_finite_decimal,
    parse_number,
    parse_quantity,
    short_decimal_between,
)
from tests.oracle.notation import SHORTEST, SIZES, decimal, size

units = st.sampled_from(sorted(UNITS)).map(UNITS.__getitem__)
decimals = st.builds(
    lambda digits, places: Fraction(digits, 10**places), st.integers(-(10**9), 10**9), st.integers(0, 9)
)
fractions = st.fractions(-1000, 1000, max_denominator=5000)


@given(decimals)
def test_a_number_is_written_as_its_shortest_decimal(value: Fraction) -> None:
    text = decimal_text(value)
    assert SHORTEST.match(text)
    assert text != "-0"
    assert text == decimal(value)
    assert parse_number(text) == value


@given(fractions)
def test_only_a_number_with_a_decimal_is_written_as_one(value: Fraction) -> None:
    has_one = (value * 10**20).denominator == 1
    assert has_finite_decimal(value) == has_one
    if has_one:
        assert Fraction(decimal_text(value)) == value


@given(decimals, units, st.sampled_from(["", " ", "  "]), st.sampled_from(["", "+"]), st.integers(0, 3))
def test_a_quantity_is_read_as_it_was_written(value: Fraction, unit: Unit, space: str, sign: str, zeros: int) -> None:
    assert parse_quantity(str(Quantity(value, unit))) == Quantity(value, unit)
    # A unit that starts with a digit cannot follow a number without a space.
    assume(space or not unit.code[0].isdigit())
    digits = decimal_text(value)
    digits += ("" if "." in digits else "." if zeros else "") + "0" * zeros
    text = f"{'' if value < 0 else sign}{digits}{space}{unit.code}"
    assert parse_quantity(text) == Quantity(value, unit)


@given(decimals, units, units)
def test_a_change_of_unit_loses_nothing(value: Fraction, unit: Unit, other: Unit) -> None:
    assume(unit.dimension == other.dimension)
    there = Quantity(Quantity(value, unit).in_unit(other), other)
    assert there.base == Quantity(value, unit).base
    assert there.in_unit(unit) == value


@given(decimals, st.sampled_from(sorted(SIZES)), st.sampled_from(sorted(SIZES)))
def test_units_are_as_large_as_the_oracle_says(value: Fraction, code: str, other: str) -> None:
    kind, here = size(f"{decimal(value)} {code}")
    assume(SIZES[other][0] == kind)
    assert parse_quantity(f"{decimal(value)} {code}").in_unit(UNITS[other]) == here / SIZES[other][1]


@given(fractions, fractions)
def test_the_short_decimal_between_two_numbers_is_the_shortest(one: Fraction, two: Fraction) -> None:
    low, high = sorted((one, two))
    assume(low < high)
    found = short_decimal_between(low, high)
    assert low < found < high
    places = len(decimal_text(found).partition(".")[2])
    if places:
        scale = 10 ** (places - 1)
        assert low * scale // 1 + 1 >= high * scale, "a decimal with one digit less lies between them"
    scale = 10**places
    nearer = [Fraction(found.numerator * scale // found.denominator + by, scale) for by in (-1, 1)]
    middle = (low + high) / 2
    assert all(abs(found - middle) <= abs(other - middle) for other in nearer)
