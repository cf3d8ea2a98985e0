"""From what was read to the value that counts: correction, uncertainty and guard band.

Terms and formulas: JCGM 106:2012, Evaluation of measurement data: the role of measurement uncertainty in conformity
assessment. A reading r is corrected to y = scale r + offset; U is the expanded uncertainty of y (k = 2), so u = U/2.
With a guard band w = g U the value that counts is y - w (or y + w), on the cautious side. Numbers are exact but for
the normal distribution. A reading never reaches a factor's limit: what would, stops just short of it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import product
from math import ceil, erf, floor, sqrt

from liningbook.finding import Refused
from liningbook.meaning.decide import Advice, Outcome, decide
from liningbook.meaning.meaning import Meaning
from liningbook.model.protocol import Exclusion
from liningbook.model.rule import Factor
from liningbook.notation.interval import Lower, Range, Upper
from liningbook.space.boxes import Box, bits
from liningbook.space.cells import Axis


class NoReading(Refused):
    """Why a factor cannot be read off."""


@dataclass(frozen=True)
class Taken:
    """A reading of one factor, in its unit.

    `corrected` is y before it stops short of a limit; `band` holds the values within U of it that occur; `cell` is the
    cell of the value that counts and `value` that value, or one of its cell where it `stops_short` of a limit.
    """

    reading: Fraction
    corrected: Fraction
    band: Range
    cell: int
    value: Fraction
    stops_short: bool
    is_doubtful: bool
    """Whether the corrected value lies outside the limits by more than the uncertainty: read or typed wrongly."""
    axis: Axis = field(repr=False, compare=False)

    def to_place(self, value: Fraction, up: bool | None = None) -> Fraction:
        """A value as it is said: to the decimal place of the uncertainty, on the cautious side unless told `up` or not.

        It gets more places where it would else be said to be at, or beyond, a threshold that it does not reach; a limit
        is none, and is said in other words. JCGM 100:2008 (GUM), 7.2.6: no more places than the uncertainty has.
        """
        how = self.axis.factor.reading
        assert how is not None
        digits = decimal_places(how.uncertainty)
        if not how.uncertainty or (self.axis.factor.step is not None and value == self.value):
            return value
        is_up = how.cautious == "above" if up is None else up
        limits = self.axis.limits
        points = [point for point in self.axis.places if limits.lower.value < point < limits.upper.value]
        while True:
            said = to_decimal_place(value, digits, is_up)
            low, high = sorted((said, value))
            if said == value or not any(low <= point <= high for point in points):
                return said
            digits += 1


def take(axis: Axis, reading: Fraction) -> Taken:
    """The value that counts for a reading in the factor's unit. Raises NoReading."""
    factor = axis.factor
    how, limits = factor.reading, factor.limits
    if how is None or limits is None:
        raise NoReading("no-way-of-reading", label=factor.label)
    guard = how.guard_band * how.uncertainty
    if how.cautious is None and (guard or factor.step):
        raise NoReading("no-side-of-reading", label=factor.label)
    corrected = how.scale * reading + how.offset
    y = _within(factor, _on_step(factor, corrected))
    counted = _on_step(factor, y + guard if how.cautious == "above" else y - guard)
    cell, value = _inside(axis, counted)
    stops_short = not limits.lower.value < counted < limits.upper.value
    band = _short_of(factor, y - how.uncertainty, y + how.uncertainty)
    is_doubtful = not (
        limits.lower.value - how.uncertainty <= corrected <= limits.upper.value + how.uncertainty and reading >= 0
    )
    return Taken(reading, corrected, band, cell, value, stops_short, is_doubtful, axis)


def outward(taken: Taken) -> Range:
    """The values within the uncertainty of a reading as they are said: rounded outward, short of the limits."""
    band, limits = taken.band, taken.axis.limits
    low, high = taken.to_place(band.lower.value, up=False), taken.to_place(band.upper.value, up=True)
    lower = Lower(low, band.lower.closed) if low > limits.lower.value else Lower(limits.lower.value, False)
    upper = Upper(high, band.upper.closed) if high < limits.upper.value else Upper(limits.upper.value, False)
    return Range(lower, upper)


def decimal_places(number: Fraction) -> int:
    """How many places a decimal number has after its point; as many as it needs, and 2 for one that never ends."""
    return next((n for n in range(40) if (number * 10**n).denominator == 1), 2)


def to_decimal_place(number: Fraction, digits: int, up: bool) -> Fraction:
    """The number with so many places, the next one down or up."""
    scaled = number * 10**digits
    return Fraction(ceil(scaled) if up else floor(scaled), 10**digits)


def _within(factor: Factor, value: Fraction) -> Fraction:
    """The value brought back to a limit if it lies beyond; with a step, to the last multiple short of it."""
    limits, step = factor.limits, factor.step
    assert limits is not None
    low, high = limits.lower.value, limits.upper.value
    if step is not None and low + step < high:
        low, high = low + step, high - step
    return min(max(value, low), high)


def _on_step(factor: Factor, value: Fraction) -> Fraction:
    """The next whole multiple of the step on the cautious side, if the factor has a step."""
    if factor.step is None or factor.reading is None:
        return value
    if factor.reading.cautious == "above":
        return -(-value // factor.step) * factor.step
    return value // factor.step * factor.step


def _inside(axis: Axis, value: Fraction) -> tuple[int, Fraction]:
    """The cell of a value, and the value; one at or beyond a limit is taken just short of it."""
    limits = axis.factor.limits
    assert limits is not None
    if axis.count == 1:  # the limits are one value
        return 0, limits.lower.value
    if limits.lower.value < value < limits.upper.value:
        return axis.cell_of_number(value), value
    cell = 1 if value <= limits.lower.value else axis.count - 2
    if axis.count == 2:  # with a step nothing may lie between the limits
        cell = 0 if value <= limits.lower.value else 1
    return cell, _nearest(axis, cell, value <= limits.lower.value)


def _nearest(axis: Axis, cell: int, low: bool) -> Fraction:
    """A value of the cell: with a step the multiple nearest the limit, else a short decimal."""
    stretch, step = axis.cells[cell], axis.factor.step
    if step is None or stretch.lower.value == stretch.upper.value:
        return axis.sample_number(1 << cell)
    if low:
        return (stretch.lower.value // step + 1) * step
    return (-(-stretch.upper.value // step) - 1) * step


def _short_of(factor: Factor, low: Fraction, high: Fraction) -> Range:
    """The values from `low` to `high` that do not reach the limits; with a step, from multiple to multiple."""
    limits, step = factor.limits, factor.step
    assert limits is not None
    if step is not None:
        low, high = -(-low // step) * step, high // step * step
    lower = Lower(low, True) if low > limits.lower.value else Lower(limits.lower.value, False)
    upper = Upper(high, True) if high < limits.upper.value else Upper(limits.upper.value, False)
    return Range(lower, upper)


def judged_band(factor: Factor, value: Fraction) -> Range | None:
    """The values within the uncertainty of one judged by eye, itself included; nothing where none is stated.

    As with readings they stop short of a limit, unless that is what was judged.
    """
    if factor.judged is None or factor.limits is None:
        return None
    band = _short_of(factor, value - factor.judged.uncertainty, value + factor.judged.uncertainty)
    lower = Lower(value, True) if value == factor.limits.lower.value else band.lower
    upper = Upper(value, True) if value == factor.limits.upper.value else band.upper
    return Range(lower, upper)


def cells_in(axis: Axis, band: Range) -> int:
    """The cells in which a value of the band can lie, as a mask."""
    step = axis.factor.step
    mask = 0
    for number, cell in enumerate(axis.cells):
        common = cell.meet(band)
        if not common.is_empty and (step is None or common.has_multiple(step)):
            mask |= 1 << number
    return mask


@dataclass(frozen=True)
class OtherAdvice:
    """What else the advice could be within the uncertainty of what was read off or judged by eye.

    `otherwise` maps each decision that is not the same for every such value to its other outcomes; `not_covered` are
    the exclusions that could apply and do not.
    """

    otherwise: Mapping[str, tuple[Outcome, ...]]
    not_covered: tuple[Exclusion, ...]

    @property
    def is_borderline(self) -> bool:
        """Whether the advice is not the same for every such value."""
        return bool(self.otherwise or self.not_covered)


def doubt(meaning: Meaning, case: Box, bands: Mapping[str, Range], advice: Advice) -> OtherAdvice:
    """Compares the advice with that for every value within the bands of some factors."""
    axes = [(meaning.space.index[name], band) for name, band in bands.items()]
    options = [list(bits(cells_in(meaning.space.axes[axis], band))) for axis, band in axes]
    seen: dict[str, list[Outcome]] = {name: [outcome] for name, outcome in advice.outcomes.items()}
    not_covered: list[Exclusion] = []
    for cells in product(*options):
        other = list(case)
        for (axis, _), cell in zip(axes, cells, strict=True):
            other[axis] = 1 << cell
        found = decide(meaning, tuple(other))
        if found.excluded is not None and advice.excluded is None and found.excluded not in not_covered:
            not_covered.append(found.excluded)
        for name, outcome in found.outcomes.items():
            known = seen.setdefault(name, [])
            if all(outcome.said != one.said for one in known):
                known.append(outcome)
    first = 0 if advice.excluded is not None else 1
    otherwise = {name: tuple(outcomes[first:]) for name, outcomes in seen.items() if outcomes[first:]}
    return OtherAdvice(otherwise, tuple(not_covered))


def probability_above(threshold: Fraction, value: Fraction, expanded: Fraction) -> float:
    """The probability that the true value lies above a threshold, for a normal distribution about the corrected value.

    JCGM 106:2012, 7.3: Phi((y - T) / u) with u = U/2. The distribution is not cut off at the factor's limits. Without
    uncertainty it is 1 or 0 (1/2 at the threshold itself).
    """
    if not expanded:
        return 0.5 if value == threshold else float(value > threshold)
    return (1 + erf(float((value - threshold) / (expanded / 2)) / sqrt(2))) / 2


def reading_for(factor: Factor, value: Fraction) -> Fraction | None:
    """The reading whose corrected value, moved by the guard band to the cautious side, is just `value`."""
    how = factor.reading
    if how is None:
        return None
    guard = how.guard_band * how.uncertainty
    wanted = value - guard if how.cautious == "above" else value + guard
    return (wanted - how.offset) / how.scale
