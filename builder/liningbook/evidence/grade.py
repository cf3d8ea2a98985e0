"""Certainty of evidence from the recorded judgements, by the rules of GRADE.

Start: Guyatt et al., BMJ 2008;336:995-8 (randomised trials start high, observational studies low). Lowering: five
domains, imprecision by up to three levels since GRADE guidance 34 and 35, J Clin Epidemiol 2022;150. Raising: Guyatt
et al., J Clin Epidemiol 2011;64:1311-6; it counts only for observational studies with no reason for lowering
(Schünemann et al., J Clin Epidemiol 2019;111:105-14, footnote of table 1).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

LEVELS: tuple[str, ...] = ("very-low", "low", "moderate", "high")
"""All levels of certainty, from the weakest to the strongest."""

WEAK_LEVELS: frozenset[str] = frozenset({"very-low", "low"})
"""Levels on which a strong recommendation needs a reason of its own."""

START: Mapping[str, str] = {"randomised": "high", "observational": "low"}
"""The level at which each design starts."""

LOWERED_AT_MOST: Mapping[str, int] = {
    "risk-of-bias": 2,
    "inconsistency": 2,
    "indirectness": 2,
    "imprecision": 3,
    "publication-bias": 2,
}
"""Each reason for lowering, with the most levels it may take away."""

RAISED_AT_MOST: Mapping[str, int] = {"large-effect": 2, "dose-response": 1, "plausible-confounding": 1}
"""Each reason for raising, with the most levels it may add."""

RaiseIgnored = Literal["randomised", "lowered"]
"""Why a raise may not count: the studies are no observational ones, or something is lowered."""


@dataclass(frozen=True)
class GradeStep:
    """One step on the way to a level.

    `what` is `starts`, `lowered`, `raised`, `not-raised`, `floor`, `ceiling` or `ends`; `name` is the design or the
    reason, `by` a number of levels, `level` the one that the step is at, and `ignored` why a raise does not count.
    """

    what: str
    level: str = ""
    name: str = ""
    by: int = 0
    ignored: str = ""


def certainty(design: str, lowered: Mapping[str, int], raised: Mapping[str, int]) -> str:
    """The level that the judgements give.

    `lowered` and `raised` map a reason to a number of levels, 0 or more. Raises ValueError for a design, a
    reason or a number that is none.
    """
    return LEVELS[min(max(_unbounded(design, lowered, raised), 0), len(LEVELS) - 1)]


def explain(design: str, lowered: Mapping[str, int], raised: Mapping[str, int]) -> tuple[GradeStep, ...]:
    """How `certainty` comes to its level, in the order of the reasons' tables."""
    steps = [GradeStep("starts", level=START[_known_design(design)], name=design)]
    steps += [GradeStep("lowered", name=reason, by=value) for reason, value in _counted(lowered, LOWERED_AT_MOST)]
    ignored = raising_ignored(design, lowered, raised)
    what = "not-raised" if ignored else "raised"
    for reason, value in _counted(raised, RAISED_AT_MOST):
        steps.append(GradeStep(what, name=reason, by=value, ignored=ignored or ""))
    place = _unbounded(design, lowered, raised)
    last = "floor" if place < 0 else "ceiling" if place >= len(LEVELS) else "ends"
    return (*steps, GradeStep(last, level=certainty(design, lowered, raised)))


def raising_ignored(design: str, lowered: Mapping[str, int], raised: Mapping[str, int]) -> RaiseIgnored | None:
    """Why a recorded raise does not count; None where there is nothing to say."""
    if not _counted(raised, RAISED_AT_MOST):
        return None
    if _known_design(design) != "observational":
        return "randomised"
    return "lowered" if _counted(lowered, LOWERED_AT_MOST) else None


def is_weaker(first: str, second: str) -> bool:
    """Whether the first level of certainty is below the second."""
    return LEVELS.index(first) < LEVELS.index(second)


def _unbounded(design: str, lowered: Mapping[str, int], raised: Mapping[str, int]) -> int:
    """The place in `LEVELS` before it is held within the lowest and the highest."""
    place = LEVELS.index(START[_known_design(design)])
    place -= sum(value for _, value in _counted(lowered, LOWERED_AT_MOST))
    if not raising_ignored(design, lowered, raised):
        place += sum(value for _, value in _counted(raised, RAISED_AT_MOST))
    return place


def _counted(judgements: Mapping[str, int], known: Mapping[str, int]) -> list[tuple[str, int]]:
    """The judgements that are not zero, in the order of their table."""
    for reason, value in judgements.items():
        if reason not in known:
            raise ValueError(f"'{reason}' is no reason among {', '.join(known)}")
        if value < 0:
            raise ValueError(f"{reason} is {value}; it counts levels from 0 up")
    return [(reason, judgements[reason]) for reason in known if judgements.get(reason)]


def _known_design(design: str) -> str:
    if design not in START:
        raise ValueError(f"'{design}' is no design among {', '.join(START)}")
    return design
