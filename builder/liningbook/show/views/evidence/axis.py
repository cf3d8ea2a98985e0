"""Which part of the scale a forest plot shows, and the round values that are named on it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from math import ceil, exp, floor, isfinite, log, log10

from liningbook.show.views.evidence.forest import Spot, Tick

FURTHEST = log(1000)
"""Ratios beyond 1000 and below 0.001 are drawn as arrows at the edge."""
_LEAST = log(1.2)
_BEYOND = 0.75
"""How far, by the span of what must be seen, the intervals of single studies may widen the axis."""


def shown_part(
    marks: Sequence[Spot], musts: Sequence[float], is_ratio: bool, further: Sequence[Spot] = ()
) -> tuple[float, float]:
    """The ends of the axis: all estimates and `musts`, and of the intervals what is not far off; so of those `further`.

    They are moved outward to round values.
    """
    inner = [*musts, *(mark.value for mark in marks)]
    outer = [end for mark in (*marks, *further) for end in (mark.low, mark.high) if end is not None] + inner
    if is_ratio:
        inner, outer = ([min(max(value, -FURTHEST), FURTHEST) for value in values] for values in (inner, outer))
    low, high = min(inner), max(inner)
    span = max(high - low, _LEAST) if is_ratio else (high - low)
    if not span:
        span = max(outer) - min(outer) or 1.0
    low, high = max(min(outer), low - _BEYOND * span), min(max(outer), high + _BEYOND * span)
    if high - low < span / 2:
        low, high = low - span / 4, high + span / 4
    return _rounded_ratios(low, high) if is_ratio else _rounded_differences(low, high)


def ticks(low: float, high: float, is_ratio: bool, words: Callable[[float], str]) -> tuple[tuple[Tick, ...], ...]:
    """Sets of round values between the ends, from many to few; `words` says a value as it is read."""
    found: list[tuple[Tick, ...]] = []
    for values in _ratio_sets(exp(low), exp(high)) if is_ratio else _difference_sets(low, high):
        if len(values) >= 2 or not found:
            found.append(tuple(Tick(log(value) if is_ratio else value, words(value)) for value in values))
    return tuple(found)


def _ratio_sets(low: float, high: float) -> Iterator[list[float]]:
    """Of ratios: 1, 2 and 5 and their tenfolds, tenfolds, hundredfolds; steps of one size where the axis is short."""
    by = [value * 10.0**power for power in range(-6, 7) for value in (1, 2, 5)]
    sets = [[one for one in every if low * (1 - 1e-9) <= one <= high * (1 + 1e-9)] for every in (by, by[::3], by[::6])]
    return iter(sets) if len(sets[0]) > 2 else _difference_sets(low, high)


def _difference_sets(low: float, high: float) -> Iterator[list[float]]:
    for step in _steps((high - low) / 8):
        yield _multiples(step, low, high)
        if high - low < 2 * step:
            return


def _steps(least: float) -> Iterator[float]:
    """1, 2 and 5 and their tenfolds, from the first that is not below `least`."""
    power = floor(log10(least))
    while True:
        for first in (1, 2, 5):
            if (step := first * 10.0**power) >= least * (1 - 1e-9):
                yield step
        power += 1


def _multiples(step: float, low: float, high: float) -> list[float]:
    first, last = ceil(low / step - 1e-9), floor(high / step + 1e-9)
    digits = max(0, -floor(log10(step)))
    return [round(number * step, digits) + 0.0 for number in range(first, last + 1)]


def _rounded_ratios(low: float, high: float) -> tuple[float, float]:
    if high - low < log(3):
        first, last = _rounded_differences(exp(low), exp(high))
        return log(first), log(last)
    by = [log(value * 10.0**power) for power in range(-6, 7) for value in (1, 1.5, 2, 3, 5, 7)]
    return max(value for value in by if value <= low + 1e-9), min(value for value in by if value >= high - 1e-9)


def _rounded_differences(low: float, high: float) -> tuple[float, float]:
    assert isfinite(low) and isfinite(high)
    step = next(_steps((high - low) / 10))
    return floor(low / step + 1e-9) * step, ceil(high / step - 1e-9) * step
