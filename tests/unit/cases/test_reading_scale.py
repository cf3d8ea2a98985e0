"""Thresholds as readings: exact against `take`, and rounded to the cautious side only."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from liningbook.cases.reading_scale import ReadingScale, exact_scale, printed_scale
from liningbook.cases.readings import cells_in, outward, take
from liningbook.finding import Span
from liningbook.model.rule import Factor, Reading
from liningbook.notation.interval import UNBOUNDED, Lower, Range, Upper
from liningbook.notation.quantity import UNITS
from liningbook.space.cells import Axis, _quantity_axis

SPAN = Span("protocol.yaml", 1, 1, 1, 2)


def axis(
    thresholds: list[Fraction],
    scale: Fraction = Fraction(7, 10),
    uncertainty: Fraction = Fraction(2, 5),
    cautious: str = "below",
    step: Fraction | None = None,
    offset: Fraction = Fraction(0),
    guard: Fraction = Fraction(1),
) -> Axis:
    reading = Reading("film", scale, offset, uncertainty, guard, cautious, SPAN)  # type: ignore[arg-type]
    limits = Range(Lower(Fraction(0), True), Upper(Fraction(6), True))
    factor = Factor("rdt", "Depth", "quantity", SPAN, unit=UNITS["mm"], limits=limits, step=step, reading=reading)
    return _quantity_axis(factor, thresholds)


def counts_as(scale: ReadingScale, reading: Fraction) -> int:
    """The cell by the cuts."""
    passed = [cell for cell, cut in scale.cuts.items() if reading > cut.value or (cut.closed and reading == cut.value)]
    return max(passed, default=scale.first)


TENTHS = st.integers(1, 59).map(lambda n: Fraction(n, 10))
AXES = st.builds(
    axis,
    st.lists(TENTHS, max_size=4),
    st.sampled_from([Fraction(7, 10), Fraction(1), Fraction(4, 3), Fraction(11, 10)]),
    st.sampled_from([Fraction(0), Fraction(2, 5), Fraction(7, 20), Fraction(1, 3), Fraction(3)]),
    st.sampled_from(["below", "above"]),
    st.sampled_from([None, Fraction(1, 10)]),
    st.sampled_from([Fraction(0), Fraction(1, 5), Fraction(-1, 4)]),
    st.sampled_from([Fraction(0), Fraction(1), Fraction(1, 2)]),
)
READINGS = st.fractions(0, 14, max_denominator=1000)


@given(found=AXES, reading=READINGS)
def test_a_reading_counts_as_the_cell_that_take_gives(found: Axis, reading: Fraction) -> None:
    scale = exact_scale(found)
    at_the_cuts = [cut.value for cut in scale.cuts.values() if cut.value >= 0]
    for one in [reading, *at_the_cuts, *(value + Fraction(1, 10**9) for value in at_the_cuts)]:
        assert counts_as(scale, one) == take(found, one).cell


@given(found=AXES, count=st.integers(0, 1400))
def test_what_is_printed_is_exact_for_every_reading_to_its_place(found: Axis, count: int) -> None:
    """For every reading on the printed grid the printed bands hold the cell that the advice is of."""
    printed = printed_scale(found)
    assert printed.place is not None
    near = [cut.value + move * printed.place for cut in printed.cuts.values() for move in (-1, 0, 1)]
    for reading in [count * printed.place, *(value for value in near if value >= 0)]:
        assert (reading / printed.place).denominator == 1
        true = take(found, reading).cell
        holding = [cell for cell in range(found.count) if any(reading in r for r in printed.ranges(1 << cell))]
        assert holding == [true]


@given(found=AXES, reading=READINGS)
def test_a_finer_reading_taken_to_the_cautious_side_never_counts_as_more(found: Axis, reading: Fraction) -> None:
    printed, above = printed_scale(found), found.factor.reading is not None and found.factor.reading.cautious == "above"
    assert printed.place is not None
    whole = -(-reading // printed.place) if above else reading // printed.place
    counted, true = counts_as(printed, whole * printed.place), take(found, reading).cell
    assert counted >= true if above else counted <= true


@given(found=AXES)
def test_a_printed_threshold_is_the_next_reading_of_its_place(found: Axis) -> None:
    exact, printed = exact_scale(found), printed_scale(found)
    assert printed.place is not None
    assert printed.cuts.keys() == exact.cuts.keys()
    for cell, cut in printed.cuts.items():
        assert 0 <= cut.value - exact.cuts[cell].value <= printed.place
        assert cut.closed


def test_the_thresholds_of_a_film() -> None:
    found = axis([Fraction(1, 2), Fraction(2)])
    assert [cut.value for cut in exact_scale(found).cuts.values()] == [
        Fraction(9, 7), Fraction(9, 7), Fraction(24, 7), Fraction(24, 7),
    ]  # fmt: skip
    scale = printed_scale(found)
    assert scale.ranges(0b111) == [Range(Lower(-UNBOUNDED, True), Upper(Fraction(12, 10), True))]
    assert scale.ranges(0b11000) == [Range(Lower(Fraction(13, 10), True), Upper(Fraction(34, 10), True))]
    assert scale.ranges(0b1100000) == [Range(Lower(Fraction(35, 10), True), Upper(UNBOUNDED, True))]


@pytest.mark.parametrize(
    ("uncertainty", "step", "place"),
    [("0.4", None, "0.1"), ("0.25", None, "0.01"), ("1", None, "0.1"), ("0", None, "0.01"), ("0", "0.1", "0.1"),
     ("0.25", "0.1", "0.01")],
)  # fmt: skip
def test_the_place_is_that_of_the_uncertainty_or_else_of_the_step(
    uncertainty: str, step: str | None, place: str
) -> None:
    """Tenths at least: a film is read to them, whatever is known of it."""
    found = axis([Fraction(2)], Fraction(1), Fraction(uncertainty), step=None if step is None else Fraction(step))
    assert printed_scale(found).place == Fraction(place)


@pytest.mark.parametrize(
    ("cautious", "value", "said"),
    [
        ("below", "1.05", "1"),
        ("above", "1.05", "1.1"),
        ("below", "1.1", "1.1"),
        ("below", "0.58", "0.58"),  # 0.5 is a threshold, which it does not reach
        ("below", "0.5", "0.5"),
        ("above", "0.48", "0.48"),
        ("below", "0.48", "0.4"),
        ("below", "2.004", "2.004"),
        ("below", "-0.17", "-0.2"),
    ],
)
def test_a_value_is_said_to_the_place_of_the_uncertainty_and_never_across_a_threshold(
    cautious: str, value: str, said: str
) -> None:
    found = axis([Fraction(1, 2), Fraction(2)], cautious=cautious)
    assert take(found, Fraction(1)).to_place(Fraction(value)) == Fraction(said)


@given(found=AXES, reading=READINGS)
def test_what_is_said_of_a_reading_lies_in_its_cell_or_at_the_limit_beside_it(found: Axis, reading: Fraction) -> None:
    taken = take(found, reading)
    said = taken.to_place(taken.value)
    if found.limits.lower.value < said < found.limits.upper.value:
        assert found.cell_of_number(said) == taken.cell
    else:
        assert taken.cell in (0, 1, found.count - 2, found.count - 1)


@given(found=AXES, reading=READINGS)
def test_the_range_that_is_said_holds_the_exact_one_and_meets_no_other_cell(found: Axis, reading: Fraction) -> None:
    taken = take(found, reading)
    said = outward(taken)
    assert said.meet(taken.band) == taken.band
    if found.factor.step is None:
        assert cells_in(found, said) == cells_in(found, taken.band)


def test_a_value_at_a_limit_is_never_read() -> None:
    assert exact_scale(axis([Fraction(1, 2)])).ranges(0b1) == []


def test_what_the_guard_band_keeps_out_of_reach_has_no_reading() -> None:
    found = axis([Fraction(29, 5)])
    assert exact_scale(found).last == found.cell_of_number(Fraction(1))


def test_thresholds_that_would_fall_together_get_more_decimals() -> None:
    found = axis([Fraction(1, 2), Fraction(501, 1000)])
    values = {cut.value for cut in printed_scale(found).cuts.values()}
    assert values == {Fraction(1286, 1000), Fraction(1288, 1000)}


@pytest.mark.parametrize(("cautious", "cut"), [("below", ("9/10", True)), ("above", ("4/5", True))])
def test_with_a_step_a_reading_counts_only_when_a_whole_step_is_passed(cautious: str, cut: tuple[str, bool]) -> None:
    found = axis([Fraction(1, 2)], Fraction(7, 10), Fraction(0), cautious, Fraction(1, 10))
    above = printed_scale(found).cuts[found.cell_of_number(Fraction(1))]
    assert (str(above.value), above.closed) == cut
