"""The certainty of a recommendation from that of its outcomes: the lowest among the critical ones.

Guyatt et al., J Clin Epidemiol 2013 (10.1016/j.jclinepi.2012.01.006); outcomes of importance 7 to 9 are critical. The
published exception (the same article; the KCE process book): where all critical outcomes point the same way, the level
of the critical outcome that alone is enough for the recommendation; it may not lie above that of a critical harm (ACIP
GRADE handbook, 2024, chapters 9 to 11).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from liningbook.evidence.grade import START, GradeStep, Manner, RatingUp, certainty, explain, is_weaker, lowest
from liningbook.evidence.synthesis.synthesise import pool_only
from liningbook.evidence.table import CRITICAL, OutcomeTable, StudyTable

Direction = Literal["better", "worse"]

NoException = Literal["no-outcome", "other-way", "above-harm"]
"""Why the exception is in doubt: no critical outcome is of that certainty, the critical outcomes do not all point the
same way, or a critical outcome that is worse is of lower certainty."""


def outcome_steps(outcome: OutcomeTable, rating_up: RatingUp = "current") -> tuple[GradeStep, ...]:
    """How the judgements of an outcome come to its certainty; none where no design is stated."""
    if not outcome.design:
        return ()
    lowered, raised = ({name: one.level for name, one in part.items()} for part in (outcome.lowered, outcome.raised))
    return explain(outcome.design, lowered, raised, Manner(outcome.risk_of_bias_tool, rating_up))


@dataclass(frozen=True)
class RatedOutcome:
    """One outcome as it counts for the whole: its importance (1 to 9), its certainty, and which way it points.

    `level` is empty where none is stated and no judgements give one. `direction` is how the patients fare with the
    intervention, nothing where that could not be computed.
    """

    label: str
    importance: int
    level: str
    direction: Direction | None = None
    kind: Literal["benefit", "harm"] = "benefit"

    @property
    def is_critical(self) -> bool:
        """Whether it counts at all."""
        return self.importance >= CRITICAL


@dataclass(frozen=True)
class Overall:
    """The certainty of the whole, and the critical outcomes that decide it."""

    level: str
    deciding: tuple[str, ...]
    critical: int
    """How many critical outcomes there are."""


def rated(tables: Iterable[StudyTable], rating_up: RatingUp = "current") -> tuple[RatedOutcome, ...]:
    """The outcomes of study tables: each with the certainty that is stated, else that of its judgements."""
    return tuple(
        RatedOutcome(
            outcome.label,
            outcome.importance,
            outcome.certainty or _level(outcome_steps(outcome, rating_up)),
            _direction(outcome),
            outcome.kind,
        )
        for table in tables
        for outcome in table.outcomes.values()
    )


def _level(steps: Sequence[GradeStep]) -> str:
    return steps[-1].level if steps else ""


def _direction(outcome: OutcomeTable) -> Direction | None:
    """By the pooled effect itself, whatever its interval: of a benefit more is better, of a harm less."""
    pooled = pool_only(outcome).pooled
    if pooled is None or pooled.value == 0:
        return None
    return "better" if (pooled.value > 0) == (outcome.kind == "benefit") else "worse"


def of_kind(outcomes: Sequence[RatedOutcome], kind: Literal["benefit", "harm"]) -> str:
    """The lowest certainty among the critical outcomes of a kind, or among all of it where none is critical.

    Empty where there is none.
    """
    graded = [outcome for outcome in outcomes if outcome.kind == kind and outcome.level]
    counted = [outcome for outcome in graded if outcome.is_critical] or graded
    return lowest([outcome.level for outcome in counted]) if counted else ""


def overall(outcomes: Iterable[RatedOutcome]) -> Overall | None:
    """The lowest level among the critical outcomes; nothing where none is critical."""
    critical = [outcome for outcome in outcomes if outcome.is_critical and outcome.level]
    if not critical:
        return None
    level = lowest([outcome.level for outcome in critical])
    return Overall(level, tuple(one.label for one in critical if one.level == level), len(critical))


def given(
    tables: Iterable[StudyTable], design: str, lowered: Mapping[str, int], raised: Mapping[str, int], manner: Manner
) -> str:
    """The lowest certainty that tables and recorded judgements give; empty where neither gives one."""
    found = overall(rated(tables, manner.rating_up))
    levels = [found.level] if found is not None else []
    if design in START:
        levels.append(certainty(design, lowered, raised, manner))
    return lowest(levels) if levels else ""


def exception_doubts(outcomes: Sequence[RatedOutcome], stated: str) -> tuple[NoException, ...]:
    """Why a certainty above the lowest is not covered by the published exception; nothing where it is, or is not above.

    A direction that is not known raises no doubt.
    """
    critical = [outcome for outcome in outcomes if outcome.is_critical and outcome.level]
    if not critical or not is_weaker(lowest([one.level for one in critical]), stated):
        return ()
    found: list[NoException] = [] if any(one.level == stated for one in critical) else ["no-outcome"]
    if len({one.direction for one in critical if one.direction}) > 1:
        found.append("other-way")
        if any(one.direction == "worse" and is_weaker(one.level, stated) for one in critical):
            found.append("above-harm")
    return tuple(found)
