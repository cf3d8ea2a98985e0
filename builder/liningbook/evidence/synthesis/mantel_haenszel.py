"""Counts pooled by Mantel and Haenszel's weights.

Variances: of the logarithm of the risk ratio, and of the risk difference, Greenland and Robins, Biometrics
1985;41:55-68. For the difference there is another, Sato's; this one is never negative, and is that of the Cochrane
supplement. Of the logarithm of the odds ratio: Robins, Breslow and Greenland, Biometrics 1986;42:311-23. (Volumes and
pages from memory.)
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import fsum, log, log1p, sqrt

from liningbook.evidence.synthesis.effects import Cells, corrected, has_value
from liningbook.evidence.table import Measure


@dataclass(frozen=True)
class Combined:
    """The pooled effect (a logarithm for ratios), its standard error, and each study's part of the weights."""

    value: float
    standard_error: float
    weights: tuple[float, ...]
    corrected: bool


def combine(measure: Measure, tables: Sequence[Cells], added: Fraction) -> Combined:
    """The tables together: without correction where that has a value, else corrected.

    The tables are those of studies that have an effect: then one of the two has a value.
    """
    needs = not has_value(measure, tables)
    used = [corrected(cells, added) for cells in tables] if needs else tables
    value, variance, weights = _POOL[measure](used)
    total = fsum(weights)
    return Combined(value, sqrt(used[0].unit * variance), tuple(weight / total for weight in weights), needs)


_Found = tuple[float, float, list[float]]


def _risk_ratio(tables: Sequence[Cells]) -> _Found:
    above, below, apart, spread = [], [], [], []
    for a, b, c, d, _ in tables:
        n1, n2 = a + b, c + d
        n = n1 + n2
        above.append(a * n2 / n)
        below.append(c * n1 / n)
        apart.append((a * n2 - c * n1) / n)
        spread.append((n1 * n2 * (a + c) - a * c * n) / n**2)
    r, s = fsum(above), fsum(below)
    return _log(r, s, fsum(apart)), fsum(spread) / (r * s), below


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
    variance = fsum([fsum(first) / (2 * r * r), fsum(middle) / (2 * r * s), fsum(last) / (2 * s * s)])
    return _log(r, s, fsum(apart)), variance, below


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


def _log(above: float, below: float, apart: float) -> float:
    """The logarithm of above / below, of which `apart` is the exact difference."""
    return log1p(apart / below) if 0.5 < above / below < 2 else log(above / below)


_POOL: dict[Measure, Callable[[Sequence[Cells]], _Found]] = {
    "risk-ratio": _risk_ratio,
    "odds-ratio": _odds_ratio,
    "risk-difference": _risk_difference,
}
