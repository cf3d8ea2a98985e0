"""A round number that stands for a range where something must be drawn at one of its values."""

from __future__ import annotations

from fractions import Fraction

from liningbook.notation.interval import Range

TOWARDS_THE_TOP = Fraction(4, 5)
"""Where the number should lie between the ends: high enough to be seen, and clear of the end."""
BEYOND = Fraction(3, 2)
"""Where nothing ends a range, as much of its lower end is looked at."""


def typical(stretch: Range, is_open: bool = False, step: Fraction | None = None) -> Fraction | None:
    """The roundest number strictly between the ends of a range of amounts, never an end unless it is the only number.

    0.4 stands for `under 0.5`, 0.9 for `0.75 to 1`. `is_open` is a range that goes on: 2.5 stands for `over 2`. With a
    `step` it is one of its multiples. None where nothing is said (`over 0`), or where no multiple lies between.
    """
    low, high = max(stretch.lower.value, Fraction(0)), stretch.upper.value
    if low >= high:
        return low if low == high else None
    share = TOWARDS_THE_TOP
    if is_open:
        if low == 0:
            return None
        high, share = min(high, low * BEYOND), Fraction(1, 2)
    wanted = low + (high - low) * share
    power = step or Fraction(1)
    while not step and power < high:
        power *= 10
    while True:
        first, last = low // power + 1, -(-high // power) - 1
        if first <= last:
            nearest = -((Fraction(1, 2) - wanted / power) // 1)
            return Fraction(min(max(nearest, first), last)) * power
        if step:
            return None
        power /= 10
