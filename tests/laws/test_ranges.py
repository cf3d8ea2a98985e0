"""Laws of ranges and sets of ranges, held against plain membership of numbers.

Bounds are whole numbers, so a set is known from its whole and half numbers: nothing lies between two of them that is
not like the half between.
"""

from __future__ import annotations

import operator
from fractions import Fraction
from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from liningbook.notation.codec import ranges_from_notation, ranges_notation
from liningbook.notation.interval import Lower, Range, RangeSet, Upper
from liningbook.notation.quantity import UNITS

POINTS = [Fraction(n, 2) for n in range(-2, 15)]
WHOLE = Range(Lower(Fraction(0), True), Upper(Fraction(6), True))

bounds = st.integers(0, 6).map(Fraction)
ranges = st.builds(
    Range, st.builds(Lower, bounds, st.booleans()), st.builds(Upper, bounds, st.booleans())
)  # some are empty
range_lists = st.lists(ranges, max_size=5)
range_sets = range_lists.map(RangeSet.of)


def numbers(held: Range | RangeSet) -> set[Fraction]:
    return {point for point in POINTS if point in held}


@given(ranges)
def test_a_range_is_empty_if_it_holds_no_number(one: Range) -> None:
    assert one.is_empty == (not numbers(one))


@given(ranges, ranges)
def test_the_meet_of_two_ranges_holds_the_numbers_in_both(one: Range, two: Range) -> None:
    assert numbers(one.meet(two)) == numbers(one) & numbers(two)


@given(bounds, st.booleans(), bounds, st.booleans())
def test_bounds_are_ordered_as_the_ranges_they_bound(
    value: Fraction, closed: bool, other: Fraction, other_closed: bool
) -> None:
    low, high = (value, closed), (other, other_closed)
    # An earlier lower bound lets more numbers in; an earlier upper bound fewer.
    starts = [numbers(Range(Lower(*bound), Upper(Fraction(7), True))) for bound in (low, high)]
    ends = [numbers(Range(Lower(Fraction(-1), True), Upper(*bound))) for bound in (low, high)]
    assert (Lower(*low) < Lower(*high)) == (starts[0] > starts[1])
    assert (Upper(*low) < Upper(*high)) == (ends[0] < ends[1])


@given(range_lists)
def test_a_set_holds_what_any_of_its_ranges_holds(some: list[Range]) -> None:
    assert numbers(RangeSet.of(some)) == set().union(*map(numbers, some))


@given(range_lists, range_lists)
def test_two_sets_are_equal_if_they_hold_the_same_numbers(some: list[Range], others: list[Range]) -> None:
    one, two = RangeSet.of(some), RangeSet.of(others)
    assert (one == two) == (numbers(one) == numbers(two))
    assert one == RangeSet.of(reversed(some))


@given(range_lists)
def test_a_set_has_sorted_ranges_with_a_number_between_any_two(some: list[Range]) -> None:
    held = RangeSet.of(some).ranges
    assert not any(one.is_empty for one in held)
    for left, right in pairwise(held):
        assert max(numbers(left)) < min(numbers(right))
        assert max(numbers(left)) + Fraction(1, 2) < min(numbers(right)), "they should be one range"


@given(range_sets, range_sets)
def test_union_and_meet_of_sets(one: RangeSet, two: RangeSet) -> None:
    assert numbers(one | two) == numbers(one) | numbers(two)
    assert numbers(one & two) == numbers(one) & numbers(two)
    assert one | two == two | one
    assert one & two == two & one
    assert one & (one | two) == one
    assert one | (one & two) == one


@given(range_sets, range_sets, range_sets)
def test_meet_distributes_over_union(one: RangeSet, two: RangeSet, three: RangeSet) -> None:
    assert one & (two | three) == (one & two) | (one & three)


@given(range_sets, range_sets)
def test_every_operation_is_the_one_of_its_name_on_sets(one: RangeSet, two: RangeSet) -> None:
    for named in (operator.and_, operator.or_, operator.sub):
        assert numbers(named(one, two)) == named(numbers(one), numbers(two)), named
    operations = {name for name in vars(RangeSet) if not name.startswith("_")} - {"ranges", "of"}
    assert not operations, "an operation that this law does not know"


@given(range_sets, range_sets)
def test_what_is_left_of_a_whole(one: RangeSet, whole: RangeSet) -> None:
    left = whole - one
    assert not (left & one).ranges
    assert left | (one & whole) == whole


@given(range_sets)
def test_what_is_left_of_what_is_left_is_the_set(one: RangeSet) -> None:
    everything = RangeSet.of([WHOLE])
    assert everything - (everything - one) == one


def test_ranges_that_touch_are_one_only_if_one_of_them_holds_the_point() -> None:
    below, above = Upper(Fraction(2), False), Lower(Fraction(2), False)
    left, right = Range(WHOLE.lower, below), Range(above, WHOLE.upper)
    assert len(RangeSet.of([left, right]).ranges) == 2
    assert len(RangeSet.of([left, Range(Lower(Fraction(2), True), WHOLE.upper)]).ranges) == 1


@given(range_sets)
def test_what_the_codec_writes_it_reads_as_the_same_numbers(one: RangeSet) -> None:
    within = one & RangeSet.of([WHOLE])
    written = ranges_notation(within.ranges, UNITS["mm"], WHOLE)
    assert ranges_from_notation(written, UNITS["mm"], WHOLE) == within
