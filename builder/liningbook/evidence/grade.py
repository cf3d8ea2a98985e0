"""Certainty of evidence from the recorded judgements, by the rules of GRADE.

Start: Guyatt et al., BMJ 2008;336:995-8 (randomised trials start high, observational studies low). Lowering: five
domains, imprecision by up to three levels since GRADE guidance 34 and 35, J Clin Epidemiol 2022;150. Raising: Guyatt
et al., J Clin Epidemiol 2011;64:1311-6; it counts only for observational studies with no reason for lowering
(Schünemann et al., J Clin Epidemiol 2019;111:105-14, footnote of table 1).
"""

from __future__ import annotations

from collections.abc import Mapping

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

RAISED_IGNORED: Mapping[str, str] = {
    "randomised": "raising counts for observational studies only",
    "lowered": "raising counts only where nothing is lowered",
}
"""The situations in which a raise does not count, in words."""


def certainty(design: str, lowered: Mapping[str, int], raised: Mapping[str, int]) -> str:
    """The level that the judgements give.

    `lowered` and `raised` map a reason to a number of levels, 0 or more. Raises ValueError for a design, a
    reason or a number that is none.
    """
    return LEVELS[min(max(_unbounded(design, lowered, raised), 0), len(LEVELS) - 1)]


def explain(design: str, lowered: Mapping[str, int], raised: Mapping[str, int]) -> tuple[str, ...]:
    """How `certainty` comes to its level, one plain step a line, in the order of the reasons' tables."""
    steps = [f"starts at {_plain(START[_known_design(design)])} ({design})"]
    steps += [f"lowered by {value} for {_plain(reason)}" for reason, value in _counted(lowered, LOWERED_AT_MOST)]
    ignored = raising_ignored(design, lowered, raised)
    for reason, value in _counted(raised, RAISED_AT_MOST):
        if ignored:
            steps.append(f"not raised by {value} for {_plain(reason)}: {RAISED_IGNORED[ignored]}")
        else:
            steps.append(f"raised by {value} for {_plain(reason)}")
    place = _unbounded(design, lowered, raised)
    level = certainty(design, lowered, raised)
    if place < 0:
        steps.append(f"stays at {_plain(level)}: it cannot go lower")
    elif place >= len(LEVELS):
        steps.append(f"stays at {_plain(level)}: it cannot go higher")
    else:
        steps.append(f"ends at {_plain(level)}")
    return tuple(steps)


def raising_ignored(design: str, lowered: Mapping[str, int], raised: Mapping[str, int]) -> str | None:
    """The key of `RAISED_IGNORED` that says why a recorded raise does not count; None where there is nothing to say."""
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


def _plain(name: str) -> str:
    return name.replace("-", " ")
