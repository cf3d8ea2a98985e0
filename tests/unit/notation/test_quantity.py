"""Units, exact numbers, and what is said of a text that is no quantity."""

# A case stands on one line, so that the tables can be read down.
# ruff: noqa: E501

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from liningbook.notation.quantity import (
    MAX_DIGITS,
    UNITS,
    WRITTEN_OTHERWISE,
    NotAQuantity,
    Quantity,
    decimal_text,
    has_finite_decimal,
    is_too_long,
    parse_number,
    parse_quantity,
    parse_unit,
    short_decimal_between,
)
from liningbook.say.faults import reason_words

MM = UNITS["mm"]


def refused(text: str, like: str | None = "mm") -> tuple[str, str]:
    """Why a text is no quantity, and what to write instead."""
    with pytest.raises(NotAQuantity) as no:
        parse_quantity(text, UNITS[like] if like else None)
    reason, _, instead = reason_words(no.value).partition("; ")
    return reason, instead.removeprefix("write ")


# --- numbers ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("0", Fraction(0)),
        ("007", Fraction(7)),
        ("0.50", Fraction(1, 2)),
        (".5", Fraction(1, 2)),
        ("1.", Fraction(1)),
        ("-0.25", Fraction(-1, 4)),
        ("+3", Fraction(3)),
        ("0.1000000000000000055511151231257827", Fraction("0.1000000000000000055511151231257827")),
    ],
)
def test_a_decimal_is_read_exactly(text: str, value: Fraction) -> None:
    assert parse_number(text) == value


@pytest.mark.parametrize(
    "text",
    ["", ".", "-", "1.2.3", "1,5", "1e3", "0x1", "½", "٣", "\uff11", "1_000", "1 000", "nan", "inf", "1\n", " 1"],
)
def test_anything_else_is_no_number(text: str) -> None:
    with pytest.raises(NotAQuantity):
        parse_number(text)


@pytest.mark.parametrize(
    ("value", "text"),
    [
        ("0", "0"),
        ("-0", "0"),
        ("0.50", "0.5"),
        ("100", "100"),
        ("-0.001", "-0.001"),
        ("1/8", "0.125"),
        ("1/80", "0.0125"),
    ],
)
def test_a_number_is_written_as_its_shortest_decimal(value: str, text: str) -> None:
    assert decimal_text(Fraction(value)) == text


def test_a_third_has_no_decimal() -> None:
    assert not has_finite_decimal(Fraction(1, 3))
    with pytest.raises(ValueError, match="1/3 has no exact decimal form"):
        decimal_text(Fraction(1, 3))


@given(st.integers(-(10**45), 10**45), st.integers(0, 45))
def test_a_number_is_too_long_if_its_digits_are_more_than_allowed(digits: int, places: int) -> None:
    value = Fraction(digits, 10**places)
    assert is_too_long(value) == (sum(sign.isdigit() for sign in decimal_text(value)) > MAX_DIGITS)


@pytest.mark.parametrize(
    ("low", "high", "between"),
    [("0", "1", "0.5"), ("0.5", "2", "1"), ("0", "0.5", "0.2"), ("-1", "1", "0"), ("0.51", "0.52", "0.515")],
)
def test_a_number_between_two_has_few_digits_and_lies_near_their_middle(low: str, high: str, between: str) -> None:
    assert short_decimal_between(Fraction(low), Fraction(high)) == Fraction(between)


def test_a_number_between_two_of_the_longest_can_be_read_again() -> None:
    low, high = Fraction(1, 10 ** (MAX_DIGITS - 1)), Fraction(2, 10 ** (MAX_DIGITS - 1))
    between = short_decimal_between(low, high)
    assert low < between < high
    assert parse_quantity(str(Quantity(between, MM))).value == between


# --- units ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("500 um", "0.5 mm"), ("0.05 cm", "0.5 mm"), ("1 [in_i]", "25.4 mm"), ("1 a", "12 mo"), ("2 wk", "14 d"),
        ("90 s", "1.5 min"), ("1 [lbf_av]", "4.4482216152605 N"), ("1 GPa", "1000 MPa"), ("50 %", "0.5 1"), ("1 a", "365.25 d"),
    ],
)  # fmt: skip
def test_quantities_are_compared_by_size(one: str, other: str) -> None:
    assert parse_quantity(one).base == parse_quantity(other).base


def test_a_quantity_is_kept_as_written() -> None:
    quantity = parse_quantity(" 0.50mm ", MM)
    assert (quantity.value, quantity.unit.code, str(quantity)) == (Fraction(1, 2), "mm", "0.5 mm")
    assert quantity.in_unit(UNITS["um"]) == 500


@pytest.mark.parametrize("blank", ["", " ", "  ", "\t", "\u00a0", "\u2009", "\u202f"])
def test_any_blank_or_none_may_stand_before_the_unit(blank: str) -> None:
    assert parse_quantity(f"0.5{blank}mm") == Quantity(Fraction(1, 2), MM)


@pytest.mark.parametrize("micro", ["u", "\u00b5", "\u03bc"])
def test_micro_is_read_however_it_is_typed(micro: str) -> None:
    assert parse_quantity(f"500 {micro}m", MM) == Quantity(Fraction(500), UNITS["um"])
    assert parse_quantity(f"5{micro}g").unit is UNITS["ug"]
    assert parse_unit(f" {micro}m ") is UNITS["um"]


def test_every_unit_is_found_by_its_code_and_no_other_word_is_one() -> None:
    assert all(parse_unit(code).code == code for code in UNITS)
    assert not WRITTEN_OTHERWISE.keys() & UNITS.keys()
    assert set(WRITTEN_OTHERWISE.values()) <= UNITS.keys()


@pytest.mark.parametrize(
    ("code", "one", "printed"),
    [
        ("mm", True, "mm"),
        ("um", False, "µm"),
        ("a", True, "year"),
        ("a", False, "years"),
        ("d", False, "days"),
        ("1", True, ""),
    ],
)
def test_people_read_a_symbol_or_a_word(code: str, one: bool, printed: str) -> None:
    assert UNITS[code].print_symbol(one) == printed


# --- advice -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "reason", "instead"),
    [
        ("0.5", "the number has no unit", "`0.5 mm`, if mm is meant"),
        ("0,5 mm", "the number has a decimal comma", "`0.5 mm`"),
        ("0,5", "the number has a decimal comma", "`0.5 mm`"),
        ("0,500 mm", "the number has a decimal comma", "`0.500 mm`"),
        ("1,000 um", "the number has a comma", "`1000 um` or `1.000 um`, whichever is meant"),
        ("1,000,000 um", "the number has commas", "`1000000 um`"),
        ("1,000.5 um", "the number has commas", "`1000.5 um`"),
        ("1.2.3 mm", "'1.2.3' is not a decimal number", "for example `0.5 mm`"),
        ("500 µs", "'us' is not a unit that Liningbook knows", "the unit as mm, m, dm, cm, um, nm or [in_i]"),
        ("0.5 MM", "'MM' is not a unit that Liningbook knows", "`0.5 mm`"),
        ("0.5 mm.", "'mm.' is not a unit that Liningbook knows", "`0.5 mm`"),
        ("2 inch", "'inch' is not a unit that Liningbook knows", "`2 [in_i]`"),
        ("3 ells", "'ells' is not a unit that Liningbook knows", "the unit as mm, m, dm, cm, um, nm or [in_i]"),
        ("5 a", "'a' measures another kind of thing than 'mm'", "the unit as mm, m, dm, cm, um, nm or [in_i]"),
        ("5e-1 mm", "the number is written with an exponent", "it in full, as a decimal number"),
        ("< 0.5 mm", "the sign < is not used in numbers here", "a range, such as `{below: 0.5 mm}`"),
        ("<=0.5 mm", "the sign <= is not used in numbers here", "a range, such as `{at_most: 0.5 mm}`"),
        ("≥ 0.5 mm", "the sign ≥ is not used in numbers here", "a range, such as `{at_least: 0.5 mm}`"),
        ("> 0.5 mm", "the sign > is not used in numbers here", "a range, such as `{above: 0.5 mm}`"),
        ("−0.5 mm", "the minus before the number is not the hyphen of the keyboard", "`-0.5 mm`"),
        ("1" * 100 + " mm", "the number has more than 40 digits", "a number that can be measured"),
    ],
)  # fmt: skip
def test_a_text_that_is_no_quantity_is_told_what_to_write(text: str, reason: str, instead: str) -> None:
    assert refused(text) == (reason, instead)


@pytest.mark.parametrize(
    "text",
    ["", "mm", "½ mm", "1/2 mm", "1 000 mm", "0.5-1 mm", "0.5 – 1 mm", "1 × 2 mm", "--1 mm", "some mm", "\uff11 mm"],
)
def test_a_text_that_is_not_one_number_is_told_so(text: str) -> None:
    assert refused(text) == (
        f"'{text}' is not one number with its unit",
        "a decimal number and a unit, for example `0.5 mm`",
    )


def test_a_long_text_is_cut_in_the_message() -> None:
    reason, _ = refused("x" * 500)
    assert len(reason) < 100


@pytest.mark.parametrize(
    ("code", "instead"), [("millimetre", "`mm`"), ("years", "`a`"), ("Years", "`a`"), ("MM", "`mm`")]
)
def test_a_unit_written_otherwise_is_told_its_code(code: str, instead: str) -> None:
    with pytest.raises(NotAQuantity) as no:
        parse_unit(code)
    assert reason_words(no.value).endswith(f"; write {instead}")


@given(st.text(max_size=30))
def test_any_text_is_a_quantity_or_is_told_why_not(text: str) -> None:
    try:
        quantity = parse_quantity(text, MM)
    except NotAQuantity:
        assert refused(text)[0]
    else:
        assert parse_quantity(str(quantity), MM) == quantity
