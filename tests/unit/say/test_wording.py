"""How numbers, ranges, answers and cases are put in words: every end of a range says whether it is included."""

# A case stands on one line, so that the tables can be read down.
# ruff: noqa: E501

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from liningbook.finding import Span
from liningbook.model.rule import Amount, Condition, Factor
from liningbook.notation.interval import UNBOUNDED, Lower, Range, RangeSet, Upper
from liningbook.notation.quantity import UNITS, parse_quantity
from liningbook.say.amounts import amount_words, number_words, quantity_words, range_words
from liningbook.say.cases import (
    box_words,
    case_parts,
    condition_words,
    count_words,
    sentence_words,
    value_words,
    values_words,
)
from liningbook.say.locale import both, day_words, either

HERE = Span("protocol.yaml", 1, 1, 1, 2)
MM = UNITS["mm"]


def limits(low: str, high: str) -> Range:
    return Range(Lower(Fraction(low), True), Upper(Fraction(high), True))


RDT = Factor("rdt", "Dentine left", "quantity", HERE, unit=MM, limits=limits("0", "6"))
FILLING = Factor(
    "filling", "Filling", "choice", HERE, {"a": "Amalgam", "b": "Composite", "c": "Cast metal", "d": "Glass"}
)
ALLERGY = Factor("allergy", "Allergy", "yes-no", HERE, {"yes": "yes", "no": "no"})
FACTORS = {factor.id: factor for factor in (RDT, FILLING, ALLERGY)}


def stretch(text: str) -> Range:
    """`[0, 0.5)` as a range; a side without a number has no bound."""
    low, high = text[1:-1].split(",")
    return Range(
        Lower(Fraction(low) if low else -UNBOUNDED, text[0] == "["),
        Upper(Fraction(high) if high.strip() else UNBOUNDED, text[-1] == "]"),
    )


@pytest.mark.parametrize(("day", "words"), [("2027-09-01", "1 September 2027"), ("0001-01-31", "31 January 1")])
def test_a_day_in_words(day: str, words: str) -> None:
    assert day_words(date.fromisoformat(day)) == words


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("0.50 mm", "0.5 mm"), (".5 mm", "0.5 mm"), ("2. um", "2 µm"), ("15 a", "15 years"), ("1 a", "1 year"),
        ("1.0 d", "1 day"), ("0 wk", "0 weeks"), ("4 min", "4 min"), ("20 Cel", "20 °C"), ("50 %", "50%"), ("90 deg", "90°"),
        ("2 1", "2"), ("-1 mm", "-1 mm"), ("5 [lbf_av]", "5 lbf"), ("100000 mm", "100000 mm"),
    ],
)  # fmt: skip
def test_a_quantity_in_words(text: str, words: str) -> None:
    assert quantity_words(parse_quantity(text)) == words


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("[0.5, 0.5]", "exactly 0.5 mm"),
        ("[0, 0]", "exactly 0 mm"),
        ("[0, 6]", "any value"),
        ("(,)", "any value"),
        ("[0, 0.5]", "0.5 mm or less"),
        ("[0, 0.5)", "less than 0.5 mm"),
        ("(, 0.5)", "less than 0.5 mm"),
        ("[2, 6]", "2 mm or more"),
        ("(2, 6]", "more than 2 mm"),
        ("(2,)", "more than 2 mm"),
        ("[0.5, 2]", "0.5 mm to 2 mm"),
        ("(0.5, 2]", "more than 0.5 mm, at most 2 mm"),
        ("[0.5, 2)", "at least 0.5 mm, less than 2 mm"),
        ("(0.5, 2)", "more than 0.5 mm, less than 2 mm"),
        ("(0, 0.5]", "more than 0 mm, at most 0.5 mm"),
        ("[5, 6)", "at least 5 mm, less than 6 mm"),
        ("(0, 6)", "more than 0 mm, less than 6 mm"),
    ],
)
def test_a_range_in_words(text: str, words: str) -> None:
    assert range_words(stretch(text), MM, RDT.limits) == words


ends = st.integers(0, 12).map(lambda half: Fraction(half, 2))


@given(ends, ends, st.booleans(), st.booleans(), ends, ends, st.booleans(), st.booleans())
def test_two_ranges_have_the_same_words_only_if_they_are_the_same(
    a: Fraction, b: Fraction, starts: bool, stops: bool, c: Fraction, d: Fraction, begins: bool, ends: bool
) -> None:
    one, other = Range(Lower(a, starts), Upper(b, stops)), Range(Lower(c, begins), Upper(d, ends))
    if one.is_empty or other.is_empty:
        return
    assert (range_words(one, MM, RDT.limits) == range_words(other, MM, RDT.limits)) == (one == other)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("[1, 1]", "1 mm"), ("[0.75, 1]", "0.75 to 1 mm"), ("(, 0.5)", "under 0.5 mm"), ("(, 0.5]", "up to 0.5 mm"),
        ("(0, 0.5]", "up to 0.5 mm"), ("[0.75,)", "0.75 mm or more"), ("(0.75,)", "over 0.75 mm"),
        ("(0.5, 1]", "more than 0.5 mm, at most 1 mm"),
    ],
)  # fmt: skip
def test_a_thickness_in_words(text: str, words: str) -> None:
    assert amount_words(Amount(stretch(text), MM)) == words


def test_a_thickness_is_worded_in_its_own_unit() -> None:
    assert amount_words(Amount(stretch("[2, 5]"), UNITS["um"])) == "2 to 5 µm"


@pytest.mark.parametrize(
    ("items", "any_of", "all_of"),
    [(["a"], "a", "a"), (["a", "b"], "a or b", "a and b"), (["a", "b", "c"], "a, b or c", "a, b and c")],
)
def test_lists_in_words(items: Sequence[str], any_of: str, all_of: str) -> None:
    assert (either(items), both(items)) == (any_of, all_of)


@pytest.mark.parametrize(
    ("values", "words"),
    [
        (["a"], "Amalgam"),
        (["a", "c"], "Amalgam or Cast metal"),
        (["a", "b", "d"], "not Cast metal"),
        (["a", "b", "c", "d"], "Amalgam, Composite, Cast metal or Glass"),
    ],
)
def test_values_in_words(values: Sequence[str], words: str) -> None:
    assert values_words(FILLING, values) == words


def test_a_condition_in_words() -> None:
    numbers = RangeSet.of([stretch("[0, 0.5)"), stretch("(2, 6]")])
    assert condition_words(RDT, Condition("rdt", HERE, HERE, numbers)) == "less than 0.5 mm or more than 2 mm"
    assert condition_words(ALLERGY, Condition("allergy", HERE, HERE, values=("no",))) == "no"


CASES: list[tuple[dict[str, Any], str, str]] = [
    ({}, "every case", "in every case"),
    ({"rdt": {"exactly": "0.5 mm"}}, "Dentine left: exactly 0.5 mm", "where Dentine left is exactly 0.5 mm"),
    ({"rdt": {"at_most": "0.5 mm"}}, "Dentine left: 0.5 mm or less", "where Dentine left is 0.5 mm or less"),
    ({"rdt": [{"below": "0.5 mm"}, {"above": "2 mm"}]}, "Dentine left: less than 0.5 mm or more than 2 mm", "where Dentine left is less than 0.5 mm or more than 2 mm"),
    ({"allergy": "yes", "filling": ["a", "b"]}, "Filling: Amalgam or Composite; Allergy: yes", "where Filling is Amalgam or Composite and Allergy is yes"),
]  # fmt: skip


@pytest.mark.parametrize(("case", "line", "sentence"), CASES)
def test_a_box_of_cases_in_words(case: dict[str, Any], line: str, sentence: str) -> None:
    assert box_words(FACTORS, case) == line
    assert sentence_words(case_parts(FACTORS, case)) == sentence


def test_one_case_in_words() -> None:
    assert value_words(RDT, "1.25 mm") == "1.25 mm"
    assert value_words(FILLING, "c") == "Cast metal"
    assert value_words(ALLERGY, "no") == "no"


@pytest.mark.parametrize(("number", "words"), [(0, "0 rules"), (1, "1 rule"), (2, "2 rules")])
def test_a_count_in_words(number: int, words: str) -> None:
    assert count_words(number, "rule") == words


@given(st.fractions(max_denominator=10**6).filter(lambda f: not f.denominator % 7), st.sampled_from(sorted(UNITS)))
def test_a_number_without_a_decimal_is_never_printed(value: Fraction, code: str) -> None:
    with pytest.raises(ValueError, match="no exact decimal form"):
        number_words(value, UNITS[code])
