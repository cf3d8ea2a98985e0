"""Whether a single study decides the conclusion: each left out in turn, and what was known after each year."""

from __future__ import annotations

from collections.abc import Sequence

from liningbook.evidence.synthesis.effects import Estimate
from liningbook.evidence.synthesis.pooling import pool
from liningbook.evidence.synthesis.result import Caveat, Pooled, Without
from liningbook.evidence.table import OutcomeTable

MOST_STUDIES = 200
"""With more studies than this the work, which grows with their square, is not done; one of them hardly decides."""


def robustness(
    outcome: OutcomeTable, estimates: Sequence[Estimate], whole: Pooled
) -> tuple[tuple[Without, ...], tuple[Without, ...], list[Caveat]]:
    """The pooled effects with each study left out, those of the studies up to each year, and what is to be told."""
    if len(estimates) < 2:
        return (), (), []
    if len(estimates) > MOST_STUDIES:
        return (), (), [Caveat("too-many-to-leave-out", {"studies": len(estimates), "most": MOST_STUDIES})]
    notes: list[Caveat] = []
    cumulative: tuple[Without, ...] = ()
    if undated := tuple(estimate.study for estimate in estimates if estimate.year is None):
        notes.append(Caveat("no-year", {"studies": undated}))
    else:
        cumulative = _cumulative(outcome, estimates)
    return _leave_one_out(outcome, estimates, whole), cumulative, notes


def side(pooled: Pooled) -> int | None:
    """On which side of no effect the interval lies: -1, 1, or 0 where it crosses it; nothing without an interval."""
    if pooled.low is None or pooled.high is None:
        return None
    return (pooled.low > 0) - (pooled.high < 0)


def _differ(one: Pooled, other: Pooled) -> bool:
    sides = side(one), side(other)
    return None not in sides and sides[0] != sides[1]


def _leave_one_out(outcome: OutcomeTable, estimates: Sequence[Estimate], whole: Pooled) -> tuple[Without, ...]:
    found = []
    for index, estimate in enumerate(estimates):
        pooled = pool(outcome, [*estimates[:index], *estimates[index + 1 :]]).pooled
        found.append(Without(estimate.study, pooled, estimate.year, _differ(pooled, whole)))
    return tuple(found)


def _cumulative(outcome: OutcomeTable, estimates: Sequence[Estimate]) -> tuple[Without, ...]:
    """One for each year with a study; it decides where the conclusion is another than the year before."""
    found: list[Without] = []
    before: Pooled | None = None
    for year in sorted({estimate.year for estimate in estimates if estimate.year is not None}):
        new = tuple(estimate.study for estimate in estimates if estimate.year == year)
        pooled = pool(outcome, [estimate for estimate in estimates if (estimate.year or 0) <= year]).pooled
        found.append(Without(new[-1], pooled, year, before is not None and _differ(pooled, before), new))
        before = pooled
    return tuple(found)
