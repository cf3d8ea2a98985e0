"""Thresholds as readings: exact against `take`, and rounded to the cautious side only."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from liningbook.cases.reading_scale import ReadingScale, exact_scale, printed_scale
from liningbook.cases.readings import take
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


@given(found=AXES, reading=READINGS)
def test_a_printed_threshold_is_never_rounded_to_the_incautious_side(found: Axis, reading: Fraction) -> None:
    printed, above = printed_scale(found), found.factor.reading is not None and found.factor.reading.cautious == "above"
    near = [cut.value + move for cut in printed.cuts.values() for move in (Fraction(-1, 200), 0, Fraction(1, 200))]
    for one in [reading, *(value for value in near if value >= 0)]:
        counted, true = counts_as(printed, one), take(found, one).cell
        assert counted >= true if above else counted <= true


@given(found=AXES)
def test_a_printed_threshold_lies_within_a_hundredth_of_the_exact_one(found: Axis) -> None:
    exact, printed = exact_scale(found), printed_scale(found)
    assert printed.cuts.keys() == exact.cuts.keys()
    for cell, cut in printed.cuts.items():
        assert abs(cut.value - exact.cuts[cell].value) < Fraction(1, 100)
        assert cut.closed == exact.cuts[cell].closed


def test_the_thresholds_of_a_film() -> None:
    found = axis([Fraction(1, 2), Fraction(2)])
    assert [cut.value for cut in exact_scale(found).cuts.values()] == [
        Fraction(9, 7), Fraction(9, 7), Fraction(24, 7), Fraction(24, 7),
    ]  # fmt: skip
    scale = printed_scale(found)
    assert scale.ranges(0b111) == [Range(Lower(-UNBOUNDED, True), Upper(Fraction(129, 100), True))]
    assert scale.ranges(0b11000) == [Range(Lower(Fraction(129, 100), False), Upper(Fraction(343, 100), True))]
    assert scale.ranges(0b1100000) == [Range(Lower(Fraction(343, 100), False), Upper(UNBOUNDED, True))]


def test_a_value_at_a_limit_is_never_read() -> None:
    assert exact_scale(axis([Fraction(1, 2)])).ranges(0b1) == []


def test_what_the_guard_band_keeps_out_of_reach_has_no_reading() -> None:
    found = axis([Fraction(29, 5)])
    assert exact_scale(found).last == found.cell_of_number(Fraction(1))


def test_thresholds_that_would_fall_together_get_more_decimals() -> None:
    found = axis([Fraction(1, 2), Fraction(501, 1000)])
    values = {cut.value for cut in printed_scale(found).cuts.values()}
    assert values == {Fraction(1286, 1000), Fraction(1288, 1000)}


@pytest.mark.parametrize(("cautious", "cut"), [("below", ("43/50", True)), ("above", ("71/100", False))])
def test_with_a_step_a_reading_counts_only_when_a_whole_step_is_passed(cautious: str, cut: tuple[str, bool]) -> None:
    found = axis([Fraction(1, 2)], Fraction(7, 10), Fraction(0), cautious, Fraction(1, 10))
    above = printed_scale(found).cuts[found.cell_of_number(Fraction(1))]
    assert (str(above.value), above.closed) == cut
