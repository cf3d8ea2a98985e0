"""Ranges of exact numbers: lower and upper bounds as two types, and sets of ranges in one canonical form.

Two range sets are equal exactly when they hold the same numbers.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from functools import total_ordering


@total_ordering
@dataclass(frozen=True)
class Lower:
    """Where a range starts: `value`, itself included if `closed`."""

    value: Fraction
    closed: bool

    def __lt__(self, other: Lower) -> bool:
        return (self.value, not self.closed) < (other.value, not other.closed)


@dataclass(frozen=True, order=True)
class Upper:
    """Where a range ends: `value`, itself included if `closed`."""

    value: Fraction
    closed: bool


@dataclass(frozen=True)
class Range:
    """The numbers from a lower to an upper bound."""

    lower: Lower
    upper: Upper

    @property
    def is_empty(self) -> bool:
        """Whether no number at all lies in the range."""
        if self.lower.value == self.upper.value:
            return not (self.lower.closed and self.upper.closed)
        return self.lower.value > self.upper.value

    def __contains__(self, number: Fraction) -> bool:
        above = number >= self.lower.value if self.lower.closed else number > self.lower.value
        below = number <= self.upper.value if self.upper.closed else number < self.upper.value
        return above and below

    def has_multiple(self, step: Fraction) -> bool:
        """Whether a whole multiple of `step` lies in the range."""
        first = -(-self.lower.value // step) * step
        if first == self.lower.value and not self.lower.closed:
            first += step
        return first in self

    def touches(self, later: Range) -> bool:
        """Whether nothing lies between this range and one that starts no earlier."""
        if later.lower.value != self.upper.value:
            return later.lower.value < self.upper.value
        return self.upper.closed or later.lower.closed

    def meet(self, other: Range) -> Range:
        """The numbers in both (perhaps none)."""
        return Range(max(self.lower, other.lower), min(self.upper, other.upper))


UNBOUNDED = Fraction(10**30)
"""So far away is a bound that is not there."""

EVERYTHING = Range(Lower(-UNBOUNDED, True), Upper(UNBOUNDED, True))


@dataclass(frozen=True)
class RangeSet:
    """Any of several ranges, sorted, apart and none empty."""

    ranges: tuple[Range, ...]

    @classmethod
    def of(cls, ranges: Iterable[Range]) -> RangeSet:
        """The canonical set of the numbers in any of the ranges."""
        kept: list[Range] = []
        for item in sorted((r for r in ranges if not r.is_empty), key=lambda r: r.lower):
            if kept and kept[-1].touches(item):
                kept[-1] = Range(kept[-1].lower, max(kept[-1].upper, item.upper))
            else:
                kept.append(item)
        return cls(tuple(kept))

    def __contains__(self, number: Fraction) -> bool:
        return any(number in r for r in self.ranges)

    def __or__(self, other: RangeSet) -> RangeSet:
        return RangeSet.of((*self.ranges, *other.ranges))

    def __and__(self, other: RangeSet) -> RangeSet:
        return RangeSet.of(a.meet(b) for a in self.ranges for b in other.ranges)

    def __sub__(self, other: RangeSet) -> RangeSet:
        """The numbers in this set and not in the other."""
        left = list(self.ranges)
        for item in other.ranges:
            before = Range(EVERYTHING.lower, Upper(item.lower.value, not item.lower.closed))
            after = Range(Lower(item.upper.value, not item.upper.closed), EVERYTHING.upper)
            left = [whole.meet(side) for whole in left for side in (before, after)]
        return RangeSet.of(left)
