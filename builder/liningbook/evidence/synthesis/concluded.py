"""What the interval of the pooled effect says: on which side of no effect it lies, or that it leaves that open."""

from __future__ import annotations

from math import log
from typing import Literal

from liningbook.evidence.synthesis.result import Synthesis
from liningbook.evidence.table import OutcomeTable

Conclusion = Literal["less", "more", "little", "open", "no-interval"]
"""Less or more than with the comparator; too little to matter either way; not settled; no interval."""


def concluded(outcome: OutcomeTable, synthesis: Synthesis) -> Conclusion | None:
    """What the interval says; None without a pooled effect.

    `little` is said only where the author states what would matter, and the whole interval is nearer to no effect.
    """
    pooled = synthesis.pooled
    if pooled is None:
        return None
    if pooled.low is None or pooled.high is None:
        return "no-interval"
    margin = matters_from(outcome)
    if margin and max(abs(pooled.low), abs(pooled.high)) < margin:
        return "little"
    if pooled.high < 0:
        return "less"
    return "more" if pooled.low > 0 else "open"


def matters_from(outcome: OutcomeTable) -> float:
    """How far from no effect, on the scale of pooling, an effect begins to matter; 0 where nothing is stated."""
    if outcome.threshold is None:
        return 0.0
    return abs(log(outcome.threshold) if outcome.is_ratio else float(outcome.threshold))
