"""Certainty of evidence from the recorded judgements, by the rules of GRADE.

Start: Guyatt et al., BMJ 2008;336:995-8 (randomised trials start high, observational studies low). Observational
studies start high too where their risk of bias is judged with ROBINS-I, which then lowers for confounding and selection
(Schünemann et al., J Clin Epidemiol 2019;111:105-14), by up to three levels (from memory). Lowering: five domains,
imprecision by up to three levels since GRADE guidance 34 and 35, J Clin Epidemiol 2022;150. Raising: Guyatt et al., J
Clin Epidemiol 2011;64:1311-6; it counts only for observational studies with no reason for lowering (Schünemann et al.,
footnote of table 1). With ROBINS-I the risk of bias stands in for the lower start, so that raising looks at the other
domains only (from memory). The older arithmetic (GRADE Working Group, BMJ 2004;328:1490) adds and subtracts whatever is
recorded.
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

STARTS_HIGH = "robins-i"
"""The tool for risk of bias with which observational studies start high."""

LOWERED_AT_MOST: Mapping[str, int] = {
    "risk-of-bias": 3,
    "inconsistency": 2,
    "indirectness": 2,
    "imprecision": 3,
    "publication-bias": 2,
}
"""Each reason for lowering, with the most levels it may take away."""

BIAS_AT_MOST = 2
"""What risk of bias may take away where no tool is named that starts observational studies high."""

RAISED_AT_MOST: Mapping[str, int] = {"large-effect": 2, "dose-response": 1, "plausible-confounding": 1}
"""Each reason for raising, with the most levels it may add."""

RatingUp = Literal["current", "arithmetic-2004"]

RaiseIgnored = Literal["randomised", "lowered", "lowered-otherwise"]
"""Why a raise may not count: the design, something lowered, or something other than risk of bias lowered."""


@dataclass(frozen=True)
class Manner:
    """How judgements are counted: the tool with which risk of bias was judged, and when raising counts."""

    tool: str = ""
    rating_up: RatingUp = "current"


USUAL = Manner()


@dataclass(frozen=True)
class GradeStep:
    """One step on the way to a level.

    `what` is `starts`, `lowered`, `raised`, `not-raised`, `floor`, `ceiling` or `ends`; `name` is the design (or the
    tool that starts it high) or the reason, `by` a number of levels, `level` the one that the step is at, and `ignored`
    why a raise does not count.
    """

    what: str
    level: str = ""
    name: str = ""
    by: int = 0
    ignored: str = ""


def certainty(design: str, lowered: Mapping[str, int], raised: Mapping[str, int], manner: Manner = USUAL) -> str:
    """The level that the judgements give.

    `lowered` and `raised` map a reason to a number of levels, 0 or more. Raises ValueError for a design, a
    reason or a number that is none.
    """
    return LEVELS[min(max(_unbounded(design, lowered, raised, manner), 0), len(LEVELS) - 1)]


def explain(
    design: str, lowered: Mapping[str, int], raised: Mapping[str, int], manner: Manner = USUAL
) -> tuple[GradeStep, ...]:
    """How `certainty` comes to its level, in the order of the reasons' tables."""
    name = design if START[_known_design(design)] == _start(design, manner) else manner.tool
    steps = [GradeStep("starts", level=_start(design, manner), name=name)]
    steps += [GradeStep("lowered", name=reason, by=value) for reason, value in _lowerings(lowered, manner)]
    ignored = raising_ignored(design, lowered, raised, manner)
    what = "not-raised" if ignored else "raised"
    for reason, value in _counted(raised, RAISED_AT_MOST):
        steps.append(GradeStep(what, name=reason, by=value, ignored=ignored or ""))
    place = _unbounded(design, lowered, raised, manner)
    last = "floor" if place < 0 else "ceiling" if place >= len(LEVELS) else "ends"
    return (*steps, GradeStep(last, level=certainty(design, lowered, raised, manner)))


def raising_ignored(
    design: str, lowered: Mapping[str, int], raised: Mapping[str, int], manner: Manner = USUAL
) -> RaiseIgnored | None:
    """Why a recorded raise does not count; None where there is nothing to say."""
    if not _counted(raised, RAISED_AT_MOST) or manner.rating_up == "arithmetic-2004":
        return None
    if _known_design(design) != "observational":
        return "randomised"
    reasons = {reason for reason, _ in _lowerings(lowered, manner)}
    if manner.tool == STARTS_HIGH:
        return "lowered-otherwise" if reasons - {"risk-of-bias"} else None
    return "lowered" if reasons else None


def is_weaker(first: str, second: str) -> bool:
    """Whether the first level of certainty is below the second."""
    return LEVELS.index(first) < LEVELS.index(second)


def lowest(levels: list[str]) -> str:
    """The weakest of some levels of certainty, one at least."""
    return min(levels, key=LEVELS.index)


def _start(design: str, manner: Manner) -> str:
    level = START[_known_design(design)]
    return "high" if manner.tool == STARTS_HIGH and design == "observational" else level


def _unbounded(design: str, lowered: Mapping[str, int], raised: Mapping[str, int], manner: Manner) -> int:
    """The place in `LEVELS` before it is held within the lowest and the highest."""
    place = LEVELS.index(_start(design, manner))
    place -= sum(value for _, value in _lowerings(lowered, manner))
    if not raising_ignored(design, lowered, raised, manner):
        place += sum(value for _, value in _counted(raised, RAISED_AT_MOST))
    return place


def _lowerings(lowered: Mapping[str, int], manner: Manner) -> list[tuple[str, int]]:
    bias = {} if manner.tool == STARTS_HIGH else {"risk-of-bias": BIAS_AT_MOST}
    return _counted(lowered, {**LOWERED_AT_MOST, **bias})


def _counted(judgements: Mapping[str, int], at_most: Mapping[str, int]) -> list[tuple[str, int]]:
    """The judgements that are not zero, in the order of their table."""
    for reason, value in judgements.items():
        if reason not in at_most:
            raise ValueError(f"'{reason}' is no reason among {', '.join(at_most)}")
        if not 0 <= value <= at_most[reason]:
            raise ValueError(f"{reason} is {value}; it counts levels from 0 to {at_most[reason]}")
    return [(reason, judgements[reason]) for reason in at_most if judgements.get(reason)]


def _known_design(design: str) -> str:
    if design not in START:
        raise ValueError(f"'{design}' is no design among {', '.join(START)}")
    return design
