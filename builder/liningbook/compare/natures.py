"""What a thing of a protocol is, apart from its name and its place in the sources.

Every function gives a value that can be compared and hashed: equal for two things that are all else equal.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping, Sequence
from fractions import Fraction
from operator import attrgetter

from liningbook.model.protocol import Agent
from liningbook.model.rule import Condition, Conditions, Decision, Evidence, Factor, Judged, Name, Reading, Rule, When
from liningbook.notation.interval import Lower, Range, Upper

_READING = attrgetter("method", "scale", "offset", "uncertainty", "guard_band", "cautious")
_EVIDENCE = attrgetter(
    *("basis", "certainty", "strength", "design", "level", "question", "note", "because"),
    *("risk_of_bias_tool", "setting"),
)


def of_factor(factor: Factor) -> Hashable:
    """Label, kind, values, unit, limits, step, how it is read off or judged, and whether it is always asked."""
    unit = factor.unit.code if factor.unit else ""
    values, how = tuple(factor.values.items()), of_reading(factor.reading)
    judged = of_judged(factor.judged)
    return (factor.label, factor.kind, values, unit, factor.limits, factor.step, how, judged, factor.always_ask)


def of_reading(reading: Reading | None) -> Hashable:
    """Everything that a reading is corrected with."""
    return None if reading is None else _READING(reading)


def of_judged(judged: Judged | None) -> Hashable:
    """How sure a value is that is judged by eye."""
    return None if judged is None else (judged.uncertainty, judged.cautious)


def of_decision(decision: Decision) -> Hashable:
    """Label, layer, answers and when it is needed."""
    return (decision.label, decision.layer, tuple(decision.answers.items()), decision.needed_when)


OF_AGENT: Mapping[str, Callable[[Agent], Hashable]] = {
    "classes": lambda agent: frozenset(agent.classes),
    "blocks": lambda agent: frozenset((b.irritant, b.thickness.base if b.thickness else None) for b in agent.blocks),
    "emits": lambda agent: frozenset(agent.emits),
    "place": lambda agent: agent.place,
}
"""What an agent does, by fields: its classes, what it stops and gives off, the most it covers."""


def of_agent(agent: Agent) -> Hashable:
    """Label, and what it does."""
    return (agent.label, *(nature(agent) for nature in OF_AGENT.values()))


def of_when(when: When, factors: Mapping[str, Factor]) -> Hashable:
    """The cases that are named, however they are written and in whichever unit."""
    return frozenset(_conditions(conditions, factors) for conditions in when)


def _conditions(conditions: Conditions, factors: Mapping[str, Factor]) -> Hashable:
    natures = {name: _condition(c, factors[name]) for name, c in conditions.conditions.items()}
    return frozenset((name, nature) for name, nature in natures.items() if nature is not None)


def _condition(condition: Condition, factor: Factor) -> Hashable:
    """What is asked of a factor; nothing where any value will do."""
    if condition.numbers is None:
        return None if set(condition.values) == set(factor.values) else frozenset(condition.values)
    limits, step = factor.limits, factor.step
    assert limits is not None
    assert factor.unit is not None
    by = factor.unit.size
    ranges = [_on_step(item, step) for item in condition.numbers.ranges] if step else condition.numbers.ranges
    found = [
        (
            None if item.lower == limits.lower else (item.lower.value * by, item.lower.closed),
            None if item.upper == limits.upper else (item.upper.value * by, item.upper.closed),
        )
        for item in _joined(ranges, step)
    ]
    return None if found == [(None, None)] else tuple(found)


def _on_step(stretch: Range, step: Fraction) -> Range:
    """From the first to the last multiple of the step."""
    low, high = -(-stretch.lower.value // step) * step, stretch.upper.value // step * step
    if low == stretch.lower.value and not stretch.lower.closed:
        low += step
    if high == stretch.upper.value and not stretch.upper.closed:
        high -= step
    return Range(Lower(low, True), Upper(high, True))


def _joined(ranges: Sequence[Range], step: Fraction | None) -> list[Range]:
    """Ranges between which no multiple of the step lies as one."""
    found: list[Range] = []
    for item in ranges:
        if found and step is not None and item.lower.value - found[-1].upper.value <= step:
            found[-1] = Range(found[-1].lower, item.upper)
        else:
            found.append(item)
    return found


def of_evidence(evidence: Evidence) -> Hashable:
    """What a rule rests on and the grade that its author states."""
    adjusted = (evidence.adjusted.to, evidence.adjusted.because) if evidence.adjusted else None
    steps = (frozenset(evidence.lowered.items()), frozenset(evidence.raised.items()), adjusted)
    said = frozenset((name, one.because) for name, one in evidence.judged.items())
    allowing = (frozenset(evidence.good_practice.items()), situation_of(evidence))
    named = (frozenset(name.id for name in names) for names in (evidence.cites, evidence.tables))
    return (*_EVIDENCE(evidence), *steps, said, *allowing, *named)


def situation_of(evidence: Evidence) -> tuple[str, ...]:
    """What is stated of the situation that allows strong advice on weak evidence, in the order of its fields."""
    one = evidence.situation
    return (one.name, one.benefit, one.harm, one.way, one.about) if one is not None else ()


def of_advice(rule: Rule) -> Hashable:
    """What a rule advises, avoids and overrides; any two judgements are equal."""
    advise = frozenset((decision, answer.meaning) for decision, answer in rule.advise.items())
    overrides = frozenset(name.id for name in rule.overrides)
    return (advise, _named(rule.avoid), _named(rule.never), overrides)


def _named(table: Mapping[str, tuple[Name, ...]]) -> Hashable:
    return frozenset((decision, frozenset(name.id for name in names)) for decision, names in table.items() if names)


def of_rule(rule: Rule, factors: Mapping[str, Factor]) -> Hashable:
    """Everything about a rule but its name."""
    whys = frozenset((decision, answer.why) for decision, answer in rule.advise.items() if answer.why)
    words = (rule.title, rule.body.strip(), whys)
    days = (rule.valid_from, rule.valid_until, rule.review_by.on if rule.review_by else None)
    return (of_when(rule.when, factors), of_advice(rule), of_evidence(rule.evidence), words, days)
