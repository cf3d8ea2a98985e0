"""The thresholds of a quantity on the scale of what is read off: which readings count as which cell.

Terms: JCGM 106:2012, as in `cases/readings.py`, whose `take` says which cell a reading counts as. Here the same is
turned round: a cell begins with the least reading that counts as it. What is printed is given to the decimal place of
the uncertainty (JCGM 100:2008, 7.2.6) and is exact for readings to that place.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from liningbook.cases.readings import decimal_places, reading_for, take
from liningbook.model.rule import Factor
from liningbook.notation.interval import UNBOUNDED, Lower, Range, Upper
from liningbook.space.boxes import runs
from liningbook.space.cells import Axis

DIGITS = 2
"""Decimals of a printed reading where neither an uncertainty nor a step says how many."""

FEWEST = 1
"""Decimals that a printed reading has at least."""
_FAR = Fraction(10**12)
"""A reading beyond any scale."""


@dataclass(frozen=True)
class ReadingScale:
    """Which readings count as which cells of a quantity. A reading counts as one of the cells `first` to `last`.

    `cuts[k]` is where the readings begin that count as cell `k` or a higher one, for the cells after the first. With a
    `place`, such as 0.1, only its multiples are spoken of, and every cut is one that belongs to what it begins.
    """

    first: int
    last: int
    cuts: Mapping[int, Lower]
    place: Fraction | None = None

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
            upper = Upper(UNBOUNDED, True) if after is None else self._end_before(after)
            if not (stretch := Range(lower, upper)).is_empty:
                found.append(stretch)
        return found

    def shown(self, cell: int, up_to: bool) -> tuple[Fraction, bool]:
        """Where a cell begins, or `up_to` where readings end that count as less; whether that reading counts itself."""
        cut = self.cuts[cell]
        if not up_to:
            return cut.value, cut.closed
        end = self._end_before(cut)
        return end.value, end.closed

    def _end_before(self, cut: Lower) -> Upper:
        """Where the readings end that come before a cut."""
        return Upper(cut.value, not cut.closed) if self.place is None else Upper(cut.value - self.place, True)


def exact_scale(axis: Axis) -> ReadingScale:
    """The cells as readings, exactly. Raises NoReading where the factor is not read off."""
    limits = axis.factor.limits
    least = Fraction(0) if limits is not None and limits.lower.value >= 0 else -_FAR
    first, last = take(axis, least).cell, take(axis, _FAR).cell
    return ReadingScale(first, last, {cell: _cut(axis, cell) for cell in range(first + 1, last + 1)})


def printed_scale(axis: Axis) -> ReadingScale:
    """The cells as readings to the decimal place of the uncertainty; exact for every reading to that place.

    Without an uncertainty the place is that of the step, or the second. It is the first at least, since a film is read
    to tenths whatever is known of it, and a smaller one where between two thresholds no reading would be left. Raises
    NoReading.
    """
    exact = exact_scale(axis)
    how, step = axis.factor.reading, axis.factor.step
    assert how is not None
    size = how.uncertainty or step
    digits = max(FEWEST, decimal_places(size)) if size else DIGITS
    while not _keeps_apart(exact, cuts := _on_grid(exact, digits)):
        digits += 1
    return ReadingScale(exact.first, exact.last, cuts, Fraction(1, 10**digits))


def _on_grid(exact: ReadingScale, digits: int) -> dict[int, Lower]:
    """Every cut as the first reading with so many decimals that counts as its cell or a higher one."""
    place = Fraction(1, 10**digits)
    return {
        cell: Lower(((cut.value // place + 1) if not cut.closed else -(-cut.value // place)) * place, True)
        for cell, cut in exact.cuts.items()
    }


def _keeps_apart(exact: ReadingScale, cuts: Mapping[int, Lower]) -> bool:
    """Whether a reading is left between any two cuts that are apart."""
    return all(
        cuts[cell].value < cuts[cell + 1].value or cut.value == exact.cuts[cell + 1].value
        for cell, cut in exact.cuts.items()
        if cell + 1 in exact.cuts
    )


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
