"""Why a case gets its advice, in words: what kept a rule silent, and how sure a reading is. English alone."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from liningbook.model.protocol import Decision, Protocol
from liningbook.say.locale import either

HEADING = "Why:"
ALWAYS_NEEDED = "needed in every case"
EVERY_CONDITION = "every condition holds"
NEVER = "never, and nothing overrides it"
TO_BE_AVOIDED = "to be avoided"
MARKS: Mapping[str, str] = {
    "heard": "heard",
    "silenced": "silenced",
    "does-not-apply": "does not apply",
    "would-apply": "would apply",
}


def switched_off(titles: Iterable[str]) -> str:
    """A warning that other rules override."""
    return f"switched off by {_quoted(titles)}"


def overridden(titles: Iterable[str]) -> str:
    """A rule that other rules override."""
    return f"overridden by {_quoted(titles)}"


def _quoted(titles: Iterable[str]) -> str:
    return ", ".join(f"“{title}”" for title in titles)


def needed_words(protocol: Protocol, decision: Decision, needed: bool) -> str:
    """Whether a decision is to be made, and why."""
    if decision.needed_when is None:
        return ALWAYS_NEEDED
    on, wanted = decision.needed_when
    earlier = protocol.decisions[on]
    labels = [protocol.agents[w].label if w in protocol.agents else earlier.answers.get(w, w) for w in wanted]
    return f"{'needed' if needed else 'not needed'}: it is if {earlier.label} is {either(labels)}"


def failed_condition(label: str, value: str, wanted: str) -> str:
    """A condition that does not hold."""
    return f"{label} is {value}, the rule wants {wanted}"


def failed_words(sets: Iterable[Sequence[str]]) -> str:
    """For each set of conditions of a rule, those that do not hold."""
    return "; or ".join(" and ".join(failed) for failed in sets)


def decision_line(label: str, because: str) -> str:
    """A decision, and whether it is needed."""
    return f"  {label} ({because})"


def rule_lines(mark: str, title: str, says: str, because: str) -> tuple[str, str]:
    """A rule that could have spoken."""
    return f"    {MARKS[mark]}: {title} → {says}", f"        {because}"


def warning_lines(title: str, label: str, because: str) -> tuple[str, str]:
    """A rule that warns."""
    return f"    warns: {title} → {label}", f"        {because}"


def probability_line(factor: str, threshold: str, share: str) -> str:
    """How likely a value that was read off lies above a threshold."""
    return f"  Probability that {factor} is truly above {threshold}: {share} (normal distribution)"
