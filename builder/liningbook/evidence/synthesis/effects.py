"""The effect in each study, with its variance, from counts, from means or as it was reported.

Sources: Cochrane Handbook for Systematic Reviews of Interventions, chapter 10, and its statistical supplement (Deeks
and Higgins). Counts stay whole numbers until the last division, so that each effect and variance is rounded once.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import log, log1p, sqrt
from typing import NamedTuple

from liningbook.evidence.synthesis.quantiles import Z
from liningbook.evidence.synthesis.result import Caveat, LeftOut
from liningbook.evidence.table import Counts, Means, Measure, OutcomeTable, Reported, Study

FARTHEST_LOG = 700.0
"""A logarithm beyond this has no ratio of double precision."""

LARGEST, LEAST_VARIANCE, LARGEST_VARIANCE = 1e50, 1e-50, 1e100
"""Effects and variances beyond these are left out: with them squares and products would leave double precision."""

MOST = 10**12
"""Arms of more people than have ever lived are impossible."""

HALF = Fraction(1, 2)
"""What is usually added to empty cells; for what has no value otherwise, even where the table adds nothing."""

LOPSIDED = 0.25
"""From this part of its half width on, an estimate's distance from the middle of its interval is told."""


class Cells(NamedTuple):
    """The cells of a table of counts as whole numbers: each is `unit` times what was counted or added."""

    events: int
    others: int
    comparator_events: int
    comparator_others: int
    unit: int = 1

    @property
    def has_zero(self) -> bool:
        """Whether a cell is empty."""
        return 0 in self[:4]

    def finer(self, unit: int, added: int = 0) -> Cells:
        """The cells in so many parts of what they count, with some parts added to each."""
        a, b, c, d, own = self
        return Cells(a * unit + added, b * unit + added, c * unit + added, d * unit + added, own * unit)


class Estimate(NamedTuple):
    """The effect of one study on the scale of pooling; `cells` are its counts, as they were counted."""

    study: str
    value: float
    variance: float
    low: float
    high: float
    year: int | None = None
    corrected: bool = False
    cells: Cells | None = None


class _NoEffectError(Exception):
    """A study gives no effect; its text is the code that says why."""


def estimates(outcome: OutcomeTable) -> tuple[list[Estimate], list[LeftOut], list[Caveat]]:
    """The effects of the studies that have one, the studies left out, and what is to be told."""
    found: list[Estimate] = []
    left_out: list[LeftOut] = []
    lopsided: list[str] = []
    added = _added(outcome)
    for study in outcome.studies:
        try:
            estimate = _estimate(outcome, study, added)
        except _NoEffectError as why:
            left_out.append(LeftOut(study.study, str(why)))
        except OverflowError:
            left_out.append(LeftOut(study.study, "out-of-range"))
        else:
            found.append(estimate)
            off = abs(estimate.value - (estimate.low + estimate.high) / 2)
            if study.reported and off > LOPSIDED * (estimate.high - estimate.low) / 2:
                lopsided.append(study.study)
    notes = []
    if corrected := tuple(estimate.study for estimate in found if estimate.corrected):
        notes.append(Caveat("zero-cells-added", {"studies": corrected, "added": float(added)}))
    if lopsided:
        notes.append(Caveat("lopsided-interval", {"studies": tuple(lopsided)}))
    return found, left_out, notes


def cells_of(study: Study) -> Cells | None:
    """The counts of a study; nothing where it gives none, or impossible ones."""
    treated, comparator = study.treated, study.comparator
    if not (isinstance(treated, Counts) and isinstance(comparator, Counts)):
        return None
    a, n1, c, n2 = treated.events, treated.total, comparator.events, comparator.total
    if 0 <= a <= n1 <= MOST and 0 <= c <= n2 <= MOST and n1 * n2 > 0:
        return Cells(a, n1 - a, c, n2 - c)
    return None


def corrected(cells: Cells, added: Fraction) -> Cells:
    """The cells in parts of a count that `added` is whole in; with it added to all four where one is empty."""
    return cells.finer(added.denominator, added.numerator if cells.has_zero else 0)


def of_cells(measure: Measure, cells: Cells) -> tuple[float, float]:
    """Effect and variance. Raises ZeroDivisionError where a cell that has to be counted is empty."""
    a, b, c, d, unit = cells
    n1, n2 = a + b, c + d
    match measure:
        case "risk-ratio":
            variance = unit * (b * c * n2 + d * a * n1) / (a * n1 * c * n2)
            return log_of_ratio(a * n2, c * n1), variance
        case "odds-ratio":
            variance = unit * (b * c * d + a * c * d + a * b * d + a * b * c) / (a * b * c * d)
            return log_of_ratio(a * d, b * c), variance
        case _:
            variance = unit * (a * b * n2**3 + c * d * n1**3) / (n1 * n2) ** 3
            return (a * n2 - c * n1) / (n1 * n2), variance


def log_of_ratio(above: int, below: int) -> float:
    """The natural logarithm of a ratio of two positive whole numbers of any size, with close to full precision."""
    if below < 2 * above and above < 2 * below:
        return log1p((above - below) / below)
    if abs(above.bit_length() - below.bit_length()) < 1000:
        return log(above / below)
    return log(above) - log(below)


def has_value(measure: Measure, tables: Sequence[Cells]) -> bool:
    """Whether Mantel and Haenszel's effect and its variance have one without correction."""
    match measure:
        case "risk-ratio":
            return any(a for a, _, _, _, _ in tables) and any(c for _, _, c, _, _ in tables)
        case "odds-ratio":
            return any(a and d for a, _, _, d, _ in tables) and any(b and c for _, b, c, _, _ in tables)
        case _:
            return any((a and b) or (c and d) for a, b, c, d, _ in tables)


def _added(outcome: OutcomeTable) -> Fraction:
    """What is added for the effect of a study with an empty cell.

    Mantel and Haenszel's effect does without: no study is kept from it for an empty cell where nothing is to be added.
    """
    if outcome.zero_cells or outcome.weights != "mantel-haenszel":
        return outcome.zero_cells
    tables = [cells for study in outcome.studies if (cells := cells_of(study))]
    if outcome.is_ratio:
        tables = [cells for cells in tables if _nothing_compared(cells) is None]
    return HALF if has_value(outcome.measure, tables) else outcome.zero_cells


def _estimate(outcome: OutcomeTable, study: Study, added: Fraction) -> Estimate:
    """The effect of a study; raises what says why there is none."""
    cells = cells_of(study)
    is_corrected = False
    if cells is None and outcome.weights == "mantel-haenszel":
        raise _NoEffectError("no-counts")
    if study.reported is not None:
        value, variance, limits = _as_reported(outcome, study.reported)
        return _within_range(outcome, Estimate(study.study, value, variance, *limits, study.year))
    if cells is None:
        value, variance = _of_means(outcome, study)
    elif outcome.measure == "mean-difference":
        raise _NoEffectError("no-means")
    else:
        if outcome.is_ratio and (why := _nothing_compared(cells)):
            raise _NoEffectError(why)
        is_corrected = cells.has_zero and added > 0
        try:
            used = corrected(cells, added) if is_corrected else cells
            value, variance = of_cells(outcome.measure, used)
        except ZeroDivisionError:
            raise _NoEffectError("zero-cell") from None
    half = Z * sqrt(max(0.0, variance))
    return _within_range(
        outcome, Estimate(study.study, value, variance, value - half, value + half, study.year, is_corrected, cells)
    )


def _of_means(outcome: OutcomeTable, study: Study) -> tuple[float, float]:
    """Effect and variance of means."""
    one, other = study.treated, study.comparator
    if not (isinstance(one, Means) and isinstance(other, Means)):
        raise _NoEffectError("impossible")
    if outcome.measure != "mean-difference":
        raise _NoEffectError("no-counts")
    if min(one.number, other.number) < 1:
        raise _NoEffectError("impossible")
    return float(one.mean - other.mean), float(one.deviation**2 / one.number + other.deviation**2 / other.number)


def _nothing_compared(cells: Cells) -> str | None:
    """Why a study cannot say anything about a ratio; nothing where it can."""
    if cells.events == cells.comparator_events == 0:
        return "no-events"
    return "all-events" if cells.others == cells.comparator_others == 0 else None


def _as_reported(outcome: OutcomeTable, reported: Reported) -> tuple[float, float, tuple[float, float]]:
    """Effect, variance and limits: the limits as reported, else from the standard error."""
    given = [reported.estimate, *(limit for limit in (reported.low, reported.high) if limit is not None)]
    if outcome.is_ratio and min(given) <= 0:
        raise _NoEffectError("impossible")
    value, *limits = [log_of_ratio(*each.as_integer_ratio()) if outcome.is_ratio else float(each) for each in given]
    if reported.standard_error is not None:
        error = float(reported.standard_error)
        if error < 0:
            raise _NoEffectError("impossible")
        return value, error * error, (value - Z * error, value + Z * error)
    if len(limits) != 2 or not limits[0] <= value <= limits[1]:
        raise _NoEffectError("impossible")
    return value, ((limits[1] - limits[0]) / (2 * Z)) ** 2, (limits[0], limits[1])


def _within_range(outcome: OutcomeTable, estimate: Estimate) -> Estimate:
    """The estimate, if it can be computed with."""
    if estimate.variance <= 0:
        raise _NoEffectError("no-variance")
    farthest = FARTHEST_LOG if outcome.is_ratio else LARGEST
    ends = (abs(estimate.value), abs(estimate.low), abs(estimate.high))
    if max(ends) > farthest or not LEAST_VARIANCE <= estimate.variance <= LARGEST_VARIANCE:
        raise _NoEffectError("out-of-range")
    return estimate
