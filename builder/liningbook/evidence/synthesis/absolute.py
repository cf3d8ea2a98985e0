"""The effect in people: how many more or fewer in 1000, and the number needed to treat.

Sources: Cochrane Handbook 5.1, section 12.5, and chapter 15 of the current one; the interval of the number needed,
through infinity, Altman, BMJ 1998;317:1309-12 (from memory).
"""

from __future__ import annotations

from collections.abc import Callable
from math import ceil, exp, expm1
from statistics import median

from liningbook.evidence.synthesis.effects import cells_of
from liningbook.evidence.synthesis.result import Absolute, Caveat, NumberNeeded, Pooled
from liningbook.evidence.table import OutcomeTable

LEAST_DIFFERENCE = 1e-9
"""A difference in risk that is smaller has no number needed: it would be a thousand million or more."""


def absolute(outcome: OutcomeTable, pooled: Pooled) -> tuple[Absolute | None, list[Caveat]]:
    """The pooled effect and its limits at the comparator's risk, which stays the same; and what is to be told."""
    if outcome.measure == "mean-difference":
        return None, []
    stated = outcome.comparator_risk
    risk = _median_risk(outcome) if stated is None else float(stated)
    if risk is None and outcome.is_ratio:
        return None, [Caveat("no-comparator-risk")]
    if (risk == 0 and outcome.is_ratio) or (risk == 1 and outcome.measure == "odds-ratio"):
        return None, [Caveat("comparator-risk-at-end", {"risk": risk})]
    difference = _difference(outcome, risk)
    ends = [pooled.value] if pooled.low is None or pooled.high is None else [pooled.value, pooled.low, pooled.high]
    found = [difference(end) for end in ends]
    what = "risk-out-of-range" if outcome.is_ratio else "difference-out-of-range"
    notes = [Caveat(what)] if any(is_cut for _, is_cut in found) else []
    values = [value + 0.0 for value, _ in found]  # no -0.0
    if 0 < abs(values[0]) < LEAST_DIFFERENCE:
        notes.append(Caveat("number-too-large"))
    numbers = [_number_needed(outcome, value) for value in values]
    low, high = (min(values), max(values)) if len(values) == 3 else (None, None)
    return (
        Absolute(
            comparator_risk=risk,
            is_stated=stated is not None,
            per_1000=1000 * values[0],
            low=None if low is None else 1000 * low,
            high=None if high is None else 1000 * high,
            number_needed=numbers[0],
            number_low=numbers[1] if len(numbers) == 3 else None,
            number_high=numbers[2] if len(numbers) == 3 else None,
            through_infinity=pooled.low is not None and pooled.high is not None and pooled.low < 0 < pooled.high,
        ),
        notes,
    )


def _median_risk(outcome: OutcomeTable) -> float | None:
    """The median of the comparator's risk in all studies that give counts."""
    tables = [cells for study in outcome.studies if (cells := cells_of(study))]
    return median([c / (c + d) for _, _, c, d, _ in tables]) if tables else None


def _difference(outcome: OutcomeTable, known: float | None) -> Callable[[float], tuple[float, bool]]:
    """What turns an effect into a difference in risk, and says whether a risk had to be kept within 0 and 1."""
    risk = known or 0.0
    least, most = (-1.0, 1.0) if known is None else (-known, 1 - known)

    def of_risk_ratio(value: float) -> tuple[float, bool]:
        change = risk * expm1(value)
        return min(change, 1 - risk), change > 1 - risk

    def of_odds_ratio(value: float) -> tuple[float, bool]:
        return (1 - risk) * risk * expm1(value) / ((1 - risk) + risk * exp(value)), False

    def of_difference(value: float) -> tuple[float, bool]:
        return max(least, min(value, most)), not least <= value <= most

    return {"risk-ratio": of_risk_ratio, "odds-ratio": of_odds_ratio}.get(outcome.measure, of_difference)


def _number_needed(outcome: OutcomeTable, difference: float) -> NumberNeeded | None:
    """1 / |difference| rounded up, where what rounding has added to a whole number does not count."""
    if abs(difference) < LEAST_DIFFERENCE:
        return None
    exact = 1 / abs(difference)
    nearest = round(exact)
    number = nearest if abs(exact - nearest) <= 1e-9 * exact else ceil(exact)
    is_more = difference > 0
    return NumberNeeded(number, "benefit" if is_more == (outcome.kind == "benefit") else "harm")
