"""The thresholds of a quantity on the scale of what is read off: which readings count as which cell.

Terms: JCGM 106:2012, as in `cases/readings.py`, whose `take` says which cell a reading counts as. Here the same is
turned round: a cell begins with the least reading that counts as it. Exact until it is rounded for print.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, floor

from liningbook.cases.readings import reading_for, take
from liningbook.model.rule import Factor
from liningbook.notation.interval import UNBOUNDED, Lower, Range, Upper
from liningbook.space.boxes import runs
from liningbook.space.cells import Axis

DIGITS = 2
"""Decimals of a printed reading; more where two thresholds would fall together."""

_FAR = Fraction(10**12)
"""A reading beyond any scale."""


@dataclass(frozen=True)
class ReadingScale:
    """Which readings count as which cells of a quantity. A reading counts as one of the cells `first` to `last`.

    `cuts[k]` is where the readings begin that count as cell `k` or a higher one, for the cells after the first.
    """

    first: int
    last: int
    cuts: Mapping[int, Lower]

    @property
    def mask(self) -> int:
        """The cells that a reading can count as."""
        return (1 << (self.last + 1)) - (1 << self.first)

    def ranges(self, mask: int) -> list[Range]:
        """The readings that count as cells of a mask; an end that no reading reaches is UNBOUNDED away."""
        found = []
        for low, high in runs(mask & self.mask):
            lower = self.cuts.get(low, Lower(-UNBOUNDED, True))
            after = self.cuts.get(high + 1)
            upper = Upper(UNBOUNDED, True) if after is None else Upper(after.value, not after.closed)
            if not (stretch := Range(lower, upper)).is_empty:
                found.append(stretch)
        return found


def exact_scale(axis: Axis) -> ReadingScale:
    """The cells as readings, exactly. Raises NoReading where the factor is not read off."""
    limits = axis.factor.limits
    least = Fraction(0) if limits is not None and limits.lower.value >= 0 else -_FAR
    first, last = take(axis, least).cell, take(axis, _FAR).cell
    return ReadingScale(first, last, {cell: _cut(axis, cell) for cell in range(first + 1, last + 1)})


def printed_scale(axis: Axis) -> ReadingScale:
    """The cells as readings, thresholds rounded to the cautious side, so that a doubtful reading never counts as more.

    (As less, where the cautious side is above.) Two decimals, or as many as keep the thresholds apart.
    """
    exact = exact_scale(axis)
    values = {cut.value for cut in exact.cuts.values()}
    digits = DIGITS
    while len({_rounded(axis.factor, value, digits) for value in values}) < len(values):
        digits += 1
    cuts = {cell: Lower(_rounded(axis.factor, cut.value, digits), cut.closed) for cell, cut in exact.cuts.items()}
    return ReadingScale(exact.first, exact.last, cuts)


def _rounded(factor: Factor, reading: Fraction, digits: int) -> Fraction:
    above = factor.reading is not None and factor.reading.cautious == "above"
    scaled = reading * 10**digits
    return Fraction(floor(scaled) if above else ceil(scaled), 10**digits)


def _cut(axis: Axis, cell: int) -> Lower:
    """Where the readings begin that count as a cell or a higher one."""
    factor, start = axis.factor, axis.cells[cell].lower
    if factor.step is None:
        reading = reading_for(factor, start.value)
        assert reading is not None
        return Lower(reading, start.closed)
    return _cut_on_step(factor, start, factor.step)


def _cut_on_step(factor: Factor, start: Lower, step: Fraction) -> Lower:
    """Where those readings begin with a step, to a multiple of which corrected and counted value are both taken."""
    how = factor.reading
    assert how is not None
    guard = how.guard_band * how.uncertainty
    least = start.value if start.closed else start.value + step
    if how.cautious == "above":
        corrected = (least - step - guard) // step * step
        return Lower((corrected - how.offset) / how.scale, False)
    corrected = -(-(least + guard) // step) * step
    return Lower((corrected - how.offset) / how.scale, True)
