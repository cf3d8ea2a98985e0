"""What a reading comes to, and which bands of advice readings cannot tell apart: contract, sections 2, 7 and 8.

A reading r is corrected to y = scale x r + offset. It counts as y - w (cautious `below`) or y + w (`above`), w being
`guard_band` times U, and the advice may be any for a value within U of y. No value reaches a limit: what would, counts
as lying just inside it. With a step, y is taken to the next multiple on the cautious side.
Source of the terms: JCGM 106:2012.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import product
from math import ceil, floor
from typing import Any

from tests.oracle.brute import Brute, Judgement, Regions
from tests.oracle.grid import Grid, axis_of
from tests.oracle.notation import limits_of, number, step_of

Said = tuple[str, frozenset[Any]]
"""State and distinct answers of a decision: two cases get the same advice if these are the same."""

Band = tuple[Fraction, bool, Fraction, bool]
"""A range: lower end, whether it counts, upper end, whether it counts."""


@dataclass(frozen=True)
class Taken:
    """What a reading comes to, in the factor's unit. `value` lies in the stretch in which the case is looked at."""

    corrected: Fraction
    value: Fraction
    stops_short: bool
    """Whether y or y -/+ w would have reached a limit: then `value` is any number just inside it."""
    band: Band


def corrected(factor: Mapping[str, Any], read: Fraction) -> Fraction:
    """y, before any step."""
    how = factor["reading"]
    offset = number(how["offset"], factor["unit"]) if "offset" in how else Fraction(0)
    return Fraction(how.get("scale", "1")) * read + offset


def take(factor: Mapping[str, Any], read: Fraction, axis: Sequence[Fraction]) -> Taken:
    """One reading. `axis` are the factor's values of which each stands for its stretch (`axis_of`)."""
    how, (low, high), step = factor["reading"], limits_of(factor), step_of(factor)
    expanded = number(how["uncertainty"], factor["unit"])
    below = how["cautious"] == "below"
    guard = Fraction(how.get("guard_band", "0")) * expanded
    y = corrected(factor, read)
    centre = y
    if step is not None:
        centre = step * (floor(y / step) if below else ceil(y / step))
        assert (guard / step).denominator == (expanded / step).denominator == 1, "the contract fixes whole steps only"
    inside = step or Fraction(0)
    centre = min(max(centre, low + inside), high - inside)
    value = centre - guard if below else centre + guard
    stops_short = not low < value < high
    if stops_short:
        value = axis[1] if value <= low else axis[-1] - inside if step else axis[-2]
    return Taken(y, value, stops_short, _band(centre, expanded, low, high, step))


def _band(centre: Fraction, expanded: Fraction, low: Fraction, high: Fraction, step: Fraction | None) -> Band:
    """Within U of a value, short of the limits. With a step the ends are multiples that count."""
    first, last = centre - expanded, centre + expanded
    if step is not None:
        return max(first, low + step), True, min(last, high - step), True
    return max(first, low), first > low, min(last, high), last < high


def in_band(band: Band, value: Fraction) -> bool:
    """Whether a value is in a range."""
    low, with_low, high, with_high = band
    return (low <= value if with_low else low < value) and (value <= high if with_high else value < high)


def said(judged: Judgement, decision: str) -> Said:
    """What the advice says under a decision."""
    return judged.states[decision], frozenset(judged.answers[decision])


@dataclass(frozen=True)
class Expected:
    """What must be replied: the advice, and by decision what else it could be."""

    taken: Mapping[str, Taken]
    advice: Judgement
    otherwise: Mapping[str, set[Said]]
    may_leave_scope: bool
    """Whether some value is out of scope and the one that counts is not, or the other way round."""

    @property
    def is_borderline(self) -> bool:
        return self.may_leave_scope or bool(self.otherwise)


def expect(brute: Brute, whens: Sequence[Any], given: Mapping[str, Any], read: Mapping[str, Fraction]) -> Expected:
    """The reply to a case of which some factors are given and some are read."""
    taken: dict[str, Taken] = {}
    choices: dict[str, list[Any]] = {}
    for name, factor in brute.factors.items():
        if name not in read:
            choices[name] = [given[name]]
            continue
        taken[name] = take(factor, read[name], axis_of(name, factor, whens))
        band = taken[name].band
        choices[name] = [v for v in axis_of(name, factor, whens, (band[0], band[2])) if in_band(band, v)]
    advice = brute.advise({name: taken[name].value if name in read else given[name] for name in brute.factors})
    otherwise: dict[str, set[Said]] = {}
    may_leave_scope = False
    for values in product(*choices.values()):
        other = brute.advise(dict(zip(choices, values, strict=True)))
        may_leave_scope |= other.in_scope != advice.in_scope
        for decision in other.states:
            if not advice.in_scope or said(other, decision) != said(advice, decision):
                otherwise.setdefault(decision, set()).add(said(other, decision))
    return Expected(taken, advice, otherwise, may_leave_scope)


# --- bands of one advice ---------------------------------------------------------------------------------------------


@dataclass
class Narrow:
    """The cells of bands that must be found indistinct, and of those that may be, by factor and band."""

    must: dict[tuple[str, Band], int]
    may: dict[tuple[str, Band], int]


def narrow_bands(grid: Grid, regions: Regions, factors: Mapping[str, Any]) -> Narrow:
    """Every band of one advice that is narrower than readings can tell, all other factors held.

    Both ends of a band are changes of advice (or of scope) or limits. A limit's own point is left out, since no reading
    reaches it. With a step it is open where between two multiples the change lies, so a band is as narrow as from its
    first to its last multiple and as wide as from the multiple before to the one after.
    """
    advice = _advice_by_cell(regions)
    found = Narrow({}, {})
    for name, factor in factors.items():
        if "uncertainty" not in factor.get("reading", {}):
            continue
        expanded = number(factor["reading"]["uncertainty"], factor["unit"])
        if not expanded:
            continue
        axis, stride = grid.axes[name], grid.strides[name]
        for start in range(grid.count):
            if start // stride % len(axis):
                continue
            cells = [start + n * stride for n in range(len(axis))]
            for first, last in _runs([advice.get(cell) for cell in cells[1:-1]]):
                run = range(first + 1, last + 2)
                at_low, at_high = run[0] == 1, run[-1] == len(axis) - 2
                if advice.get(cells[run[0]]) is None or (at_low and at_high):
                    continue
                band = _band_of(axis, run[0], run[-1], step_of(factor))
                limit = expanded if at_low or at_high else 2 * expanded
                least, most = _widths(axis, run[0], run[-1], step_of(factor))
                bits = sum(1 << cells[n] for n in run)
                for where, width in ((found.must, most), (found.may, least)):
                    if width < limit:
                        where[name, band] = where.get((name, band), 0) | bits
    return found


def _advice_by_cell(regions: Regions) -> dict[int, frozenset[tuple[str, Said]]]:
    """What is said under each decision, for cells in scope."""
    gathered: dict[int, set[tuple[str, Said]]] = {}
    for (decision, outcome), cells in regions.outcomes.items():
        what = (decision, (outcome[0], frozenset(meaning for meaning, _ in outcome[1])))
        while cells:
            lowest = cells & -cells
            gathered.setdefault(lowest.bit_length() - 1, set()).add(what)
            cells ^= lowest
    return {cell: frozenset(says) for cell, says in gathered.items()}


def _runs(values: Sequence[Any]) -> Iterable[tuple[int, int]]:
    """First and last position of each run of equal values."""
    start = 0
    for n in range(1, len(values) + 1):
        if n == len(values) or values[n] != values[start]:
            yield start, n - 1
            start = n


def _band_of(axis: Sequence[Fraction], first: int, last: int, step: Fraction | None) -> Band:
    if step is not None:
        return axis[first], True, _last_multiple(axis, last, step), True
    # Thresholds and stretches between them alternate.
    low = (axis[first - 1], False) if first % 2 else (axis[first], True)
    high = (axis[last + 1], False) if last % 2 else (axis[last], True)
    return (*low, *high)


def _last_multiple(axis: Sequence[Fraction], n: int, step: Fraction) -> Fraction:
    """The last multiple of the stretch that a value stands for: the one before the next value."""
    return axis[n + 1] - step


def _widths(axis: Sequence[Fraction], first: int, last: int, step: Fraction | None) -> tuple[Fraction, Fraction]:
    low, _, high, _ = _band_of(axis, first, last, step)
    if step is None:
        return high - low, high - low
    return high - low, high - low + 2 * step


def read_band(factor: Mapping[str, Any], condition: Mapping[str, str]) -> Band:
    """The band that an output's condition means; an end left out is the limit. With a step its ends are multiples."""
    unit, step = factor["unit"], step_of(factor)
    (low, high), with_low, with_high = limits_of(factor), True, True
    for key, text in condition.items():
        value = number(text, unit)
        if key in ("above", "at_least", "exactly"):
            low, with_low = value, key != "above"
        if key in ("below", "at_most", "exactly"):
            high, with_high = value, key != "below"
    if step is not None:
        return low if with_low else low + step, True, high if with_high else high - step, True
    return low, with_low, high, with_high
