"""A round number stands for a range, and never an end that is not meant."""

from __future__ import annotations

from fractions import Fraction
from itertools import product

import pytest

from liningbook.notation.interval import UNBOUNDED, Lower, Range, Upper
from liningbook.notation.typical import typical

F = Fraction


def between(low: str, high: str, closed: bool = True) -> Range:
    return Range(Lower(F(low), closed), Upper(F(high), closed))


@pytest.mark.parametrize(
    ("stretch", "number"),
    [
        (between("0", "0.5", False), "0.4"),
        (between("0.75", "1"), "0.9"),
        (between("2", "5"), "4"),
        (between("0.5", "2"), "1"),
        (between("1", "1"), "1"),
        (between("0.31", "0.32"), "0.318"),
        (between("0", "30000"), "20000"),
    ],
)
def test_a_round_number_stands_for_a_range(stretch: Range, number: str) -> None:
    assert typical(stretch) == F(number)


def test_a_range_that_goes_on_is_drawn_a_little_beyond_its_end() -> None:
    assert typical(Range(Lower(F(2), False), Upper(UNBOUNDED, True)), is_open=True) == F("2.5")
    assert typical(Range(Lower(F(2), False), Upper(F("2.2"), True)), is_open=True) == F("2.1")
    assert typical(Range(Lower(F(0), False), Upper(UNBOUNDED, True)), is_open=True) is None


def test_a_step_is_kept_to() -> None:
    assert typical(between("0", "1"), step=F(1, 4)) == F(3, 4)
    assert typical(between("0.5", "1"), step=F(1, 2)) is None


def test_no_end_of_an_open_range_is_ever_taken() -> None:
    ends = [F(n, 8) for n in range(0, 40, 3)]
    for low, high, is_open, step in product(ends, ends, (False, True), (None, F(1, 10), F(3, 16))):
        if low < high:
            found = typical(between(str(low), str(high), False), is_open, step)
            assert found is None or low < found < high
            assert found is not None or step is not None or (is_open and low == 0)
