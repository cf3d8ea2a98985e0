"""Why a case gets its advice: every rule that could have spoken, and what kept it silent."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction

from liningbook.cases.question import Reply
from liningbook.cases.readings import probability_above
from liningbook.meaning.decide import is_needed
from liningbook.meaning.meaning import Meaning
from liningbook.model.rule import Answer, Condition, Decision, Factor, Rule
from liningbook.space.boxes import bits, meets
from liningbook.space.cover import is_covered

HEARD, SILENCED, DOES_NOT_APPLY, DEPENDS = "heard", "silenced", "does-not-apply", "depends"


@dataclass(frozen=True)
class Unmet:
    """A condition that the case does not meet, with the case's own value as text."""

    factor: Factor
    value: str
    condition: Condition


@dataclass(frozen=True)
class Speaker:
    """One rule that advises under a decision, and whether it is heard there.

    `winners` override it in this case; `unmet` are, for each set of its conditions, those that do not hold. It
    `depends` where missing factors decide whether it is heard, which are then named.
    """

    rule: Rule
    answer: Answer
    status: str
    winners: tuple[Rule, ...] = ()
    unmet: tuple[tuple[Unmet, ...], ...] = ()
    depends: tuple[Factor, ...] = ()


@dataclass(frozen=True)
class Warner:
    """A rule that holds and says to avoid something: `always`, or unless one of the `winners` overrides it.

    Whether it stands may depend on missing factors.
    """

    rule: Rule
    avoided: str
    always: bool
    winners: tuple[Rule, ...]
    depends: tuple[Factor, ...] = ()


@dataclass(frozen=True)
class Reason:
    """One decision: whether it was needed, every rule that advises on it (those heard first), and those that warn.

    `needed` is nothing where that hangs on what is missing.
    """

    decision: Decision
    needed: bool | None
    speakers: tuple[Speaker, ...]
    warners: tuple[Warner, ...]


def reasons(meaning: Meaning, reply: Reply) -> tuple[Reason, ...]:
    """The trace of a case, decision by decision; nothing for a case out of scope."""
    if reply.advice.excluded is not None:
        return ()
    return tuple(_reason(meaning, reply, decision) for decision in meaning.protocol.decisions.values())


def _reason(meaning: Meaning, reply: Reply, decision: Decision) -> Reason:
    speakers = [_speaker(meaning, reply, decision, index) for index in bits(meaning.advising(decision.id))]
    order = (HEARD, SILENCED, DEPENDS, DOES_NOT_APPLY)
    settled = decision.needed_when is None or decision.needed_when[0] in reply.advice.outcomes
    return Reason(
        decision,
        is_needed(decision, reply.advice.outcomes) if settled else None,
        tuple(sorted(speakers, key=lambda speaker: order.index(speaker.status))),
        tuple(_warners(meaning, reply, decision)),
    )


def _warners(meaning: Meaning, reply: Reply, decision: Decision) -> Iterator[Warner]:
    for warned in meaning.warned(decision.id):
        held = _holds(meaning, reply, warned.rule)
        if held is False:
            continue
        over = 0 if warned.always else meaning.overridden_by[warned.rule] & meaning.speaking(decision.id)
        winners, perhaps = _over(meaning, reply, over)
        depends = _depends(meaning, reply, [warned.rule, *perhaps]) if not held or (perhaps and not winners) else ()
        yield Warner(meaning.rules[warned.rule], warned.agent, warned.always, winners, depends)


def _speaker(meaning: Meaning, reply: Reply, decision: Decision, index: int) -> Speaker:
    rule = meaning.rules[index]
    answer = rule.advise[decision.id]
    held = _holds(meaning, reply, index)
    if held is False:
        return Speaker(rule, answer, DOES_NOT_APPLY, unmet=tuple(_unmet(meaning, reply, rule)))
    winners, perhaps = _over(meaning, reply, meaning.overridden_by[index] & meaning.advising(decision.id))
    if not held or (perhaps and not winners):
        return Speaker(rule, answer, DEPENDS, depends=_depends(meaning, reply, [index, *perhaps]))
    return Speaker(rule, answer, SILENCED if winners else HEARD, winners)


def _over(meaning: Meaning, reply: Reply, rules: int) -> tuple[tuple[Rule, ...], list[int]]:
    """Those of a set of rules that hold, and the numbers of those of which that hangs on what is missing."""
    held = {index: _holds(meaning, reply, index) for index in bits(rules)}
    winners = tuple(meaning.rules[index] for index, holds in held.items() if holds)
    return winners, [index for index, holds in held.items() if holds is None]


def _holds(meaning: Meaning, reply: Reply, index: int) -> bool | None:
    """Whether a rule holds; nothing where that hangs on what is missing."""
    boxes = [box for box in meaning.boxes[index] if meets(reply.question.case, box)]
    return is_covered(reply.question.case, boxes) or (None if boxes else False)


def _depends(meaning: Meaning, reply: Reply, rules: Iterable[int]) -> tuple[Factor, ...]:
    """The missing factors of which the rules ask something that is not known."""
    asked = {name for index in rules for conditions in meaning.rules[index].when for name in conditions.conditions}
    return tuple(meaning.protocol.factors[name] for name in reply.question.missing if name in asked)


def _unmet(meaning: Meaning, reply: Reply, rule: Rule) -> Iterator[tuple[Unmet, ...]]:
    space, case = meaning.space, reply.question.case
    for conditions in rule.when:
        box = space.box(conditions)
        yield tuple(
            Unmet(factor, reply.question.values[name], conditions.conditions[name])
            for name, factor in meaning.protocol.factors.items()
            if name in conditions.conditions and not box[space.index[name]] & case[space.index[name]]
        )


@dataclass(frozen=True)
class Above:
    """The probability that the value of a factor lies above a threshold, given in the factor's unit."""

    factor: Factor
    threshold: Fraction
    probability: float


def probabilities(meaning: Meaning, reply: Reply) -> Iterator[Above]:
    """For each reading and threshold.

    JCGM 106:2012, with the normal distribution about the corrected value, not cut off at the limits.
    """
    for name, taken in reply.question.taken.items():
        factor = meaning.protocol.factors[name]
        axis = meaning.space.axes[meaning.space.index[name]]
        reading, limits = factor.reading, factor.limits
        assert reading is not None
        assert limits is not None
        corrected = reading.scale * taken.reading + reading.offset
        for threshold in sorted(axis.places):
            if threshold not in (limits.lower.value, limits.upper.value):
                yield Above(factor, threshold, probability_above(threshold, corrected, reading.uncertainty))
