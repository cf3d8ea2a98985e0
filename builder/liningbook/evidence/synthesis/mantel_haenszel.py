"""Counts pooled by Mantel and Haenszel's weights.

Variances: of the logarithm of the risk ratio, and of the risk difference, Greenland and Robins, Biometrics
1985;41:55-68. For the difference there is another, Sato's; this one is never negative, and is that of the Cochrane
supplement. Of the logarithm of the odds ratio: Robins, Breslow and Greenland, Biometrics 1986;42:311-23. (Volumes and
pages from memory.)
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from math import fsum, log, log1p, sqrt

from liningbook.evidence.synthesis.effects import Cells, corrected
from liningbook.evidence.table import Measure


@dataclass(frozen=True)
class Combined:
    """The pooled effect (a logarithm for ratios), its standard error, and each study's part of the weights."""

    value: float
    standard_error: float
    weights: tuple[float, ...]
    corrected: bool


def combine(measure: Measure, tables: Sequence[Cells], added: Fraction) -> Combined | None:
    """The tables together: without correction where that has a value, else corrected, else nothing.

    Nothing is left where what is added is beyond double precision.
    """
    found = _combine(measure, tables)
    if found is None and added > 0:
        try:
            found = _combine(measure, [corrected(cells, added) for cells in tables])
        except OverflowError:
            return None
        return found and replace(found, corrected=True)
    return found


def _combine(measure: Measure, tables: Sequence[Cells]) -> Combined | None:
    """The pooled effect, or nothing where it, its variance or the weights have no value."""
    unit = tables[0].unit
    match measure:
        case "risk-ratio":
            value, variance, weights = _risk_ratio(tables)
        case "odds-ratio":
            value, variance, weights = _odds_ratio(tables)
        case _:
            value, variance, weights = _risk_difference(tables)
    total = fsum(weights)
    if value is None or variance <= 0 or total <= 0:
        return None
    return Combined(value, sqrt(unit * variance), tuple(weight / total for weight in weights), corrected=False)


_Found = tuple[float | None, float, list[float]]


def _risk_ratio(tables: Sequence[Cells]) -> _Found:
    above, below, apart, spread = [], [], [], []
    for a, b, c, d, _ in tables:
        n1, n2 = a + b, c + d
        n = n1 + n2
        above.append(a * n2 / n)
        below.append(c * n1 / n)
        apart.append((a * n2 - c * n1) / n)
        spread.append((n1 * n2 * (a + c) - a * c * n) / n**2)
    value = _log(fsum(above), fsum(below), fsum(apart))
    return value, fsum(spread) / (fsum(above) * fsum(below)) if value is not None else 0.0, below


def _odds_ratio(tables: Sequence[Cells]) -> _Found:
    above, below, apart, first, middle, last = [], [], [], [], [], []
    for a, b, c, d, _ in tables:
        n = a + b + c + d
        above.append(a * d / n)
        below.append(b * c / n)
        apart.append((a * d - b * c) / n)
        first.append((a + d) * a * d / n**2)
        middle.append(((a + d) * b * c + (b + c) * a * d) / n**2)
        last.append((b + c) * b * c / n**2)
    r, s = fsum(above), fsum(below)
    value = _log(r, s, fsum(apart))
    if value is None:
        return None, 0.0, below
    return value, fsum([fsum(first) / (2 * r * r), fsum(middle) / (2 * r * s), fsum(last) / (2 * s * s)]), below


def _risk_difference(tables: Sequence[Cells]) -> _Found:
    apart, weights, spread = [], [], []
    for a, b, c, d, _ in tables:
        n1, n2 = a + b, c + d
        n = n1 + n2
        apart.append((a * n2 - c * n1) / n)
        weights.append(n1 * n2 / n)
        spread.append((a * b * n2**3 + c * d * n1**3) / (n1 * n2 * n**2))
    total = fsum(weights)
    return fsum(apart) / total, fsum(spread) / total**2, weights


def _log(above: float, below: float, apart: float) -> float | None:
    """The logarithm of above / below, of which `apart` is the exact difference; nothing where one of them is 0."""
    if not above or not below:
        return None
    return log1p(apart / below) if 0.5 < above / below < 2 else log(above / below)
