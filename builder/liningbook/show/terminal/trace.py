"""Why a case gets its advice: every rule that could have spoken, and what kept it silent, in words."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from liningbook.cases.question import Reply
from liningbook.cases.readings import probability_above
from liningbook.meaning.decide import is_needed
from liningbook.meaning.meaning import Meaning
from liningbook.model.protocol import Decision, Rule
from liningbook.say.amounts import number_words, probability_words
from liningbook.say.answers import answer_words, name_or_label
from liningbook.say.cases import condition_words, value_words
from liningbook.say.command import why as words
from liningbook.space.boxes import bits, inside


@dataclass(frozen=True)
class Heard:
    """One rule under one decision: `status` is heard, silenced or does-not-apply; `because` says why in words."""

    rule: str
    says: str
    status: str
    because: str


@dataclass(frozen=True)
class Reason:
    """One decision: whether it was needed and why, and every rule that advises on it."""

    decision: str
    needed: bool
    because: str
    rules: tuple[Heard, ...]
    warnings: tuple[tuple[str, str, str], ...] = ()
    """Rule, what it says to avoid, and whether that stands, in words, for rules that hold and warn."""


def reasons(meaning: Meaning, reply: Reply) -> tuple[Reason, ...]:
    """The trace of a case, decision by decision; rules that are heard first."""
    if reply.advice.excluded is not None:
        return ()
    return tuple(_reason(meaning, reply, decision) for decision in meaning.protocol.decisions.values())


def _reason(meaning: Meaning, reply: Reply, decision: Decision) -> Reason:
    needed = is_needed(decision, reply.advice.outcomes)
    heard = [_heard(meaning, reply, decision, index) for index in bits(meaning.advising(decision.id))]
    order = {"heard": 0, "silenced": 1, "does-not-apply": 2}
    return Reason(
        decision.id,
        needed,
        words.needed_words(meaning.protocol, decision, needed),
        tuple(sorted(heard, key=lambda item: order[item.status])),
        tuple(_warnings(meaning, reply, decision)),
    )


def _warnings(meaning: Meaning, reply: Reply, decision: Decision) -> Iterator[tuple[str, str, str]]:
    """What rules that hold say to avoid under a decision."""
    holding = [
        index
        for index in bits(meaning.speaking(decision.id))
        if any(inside(reply.question.case, box) for box in meaning.boxes[index])
    ]
    for warned in meaning.warned(decision.id):
        if warned.rule not in holding:
            continue
        rule = meaning.rules[warned.rule]
        label = name_or_label(meaning.protocol, decision, warned.agent)
        winners = [meaning.rules[other].title for other in bits(meaning.overridden_by[warned.rule]) if other in holding]
        if warned.always:
            yield rule.id, label, words.NEVER
        elif winners:
            yield rule.id, label, words.switched_off(winners)
        else:
            yield rule.id, label, words.TO_BE_AVOIDED


def _heard(meaning: Meaning, reply: Reply, decision: Decision, index: int) -> Heard:
    rule = meaning.rules[index]
    says = answer_words(meaning.protocol, decision, rule.advise[decision.id])
    if not any(inside(reply.question.case, box) for box in meaning.boxes[index]):
        return Heard(rule.id, says, "does-not-apply", words.failed_words(_failed(meaning, reply, rule)))
    silencers = [
        meaning.rules[other]
        for other in bits(meaning.overridden_by[index] & meaning.advising(decision.id))
        if any(inside(reply.question.case, box) for box in meaning.boxes[other])
    ]
    if silencers:
        return Heard(rule.id, says, "silenced", words.overridden(s.title for s in silencers))
    return Heard(rule.id, says, "heard", words.EVERY_CONDITION)


def _failed(meaning: Meaning, reply: Reply, rule: Rule) -> Iterator[list[str]]:
    """For each set of conditions of the rule, those that do not hold."""
    space, case = meaning.space, reply.question.case
    for conditions in rule.when:
        box = space.box(conditions)
        yield [
            words.failed_condition(
                factor.label,
                value_words(factor, reply.question.values[name]),
                condition_words(factor, conditions.conditions[name]),
            )
            for name, factor in meaning.protocol.factors.items()
            if name in conditions.conditions and not box[space.index[name]] & case[space.index[name]]
        ]


def probabilities(meaning: Meaning, reply: Reply) -> list[tuple[str, str, str]]:
    """For each reading and threshold: factor, threshold in words, and the probability that the true value lies above.

    JCGM 106:2012, with the normal distribution about the corrected value, not cut off at the limits.
    """
    found = []
    for name, taken in reply.question.taken.items():
        factor = meaning.protocol.factors[name]
        axis = meaning.space.axes[meaning.space.index[name]]
        reading, limits = factor.reading, factor.limits
        assert reading is not None and limits is not None and factor.unit is not None
        corrected = reading.scale * taken.reading + reading.offset
        for threshold in sorted(axis.places):
            if threshold not in (limits.lower.value, limits.upper.value):
                share = probability_above(threshold, corrected, reading.uncertainty)
                found.append((factor.label, number_words(threshold, factor.unit), probability_words(share)))
    return found


def why_json(meaning: Meaning, reply: Reply) -> dict[str, Any]:
    """The trace for `case --why --format json`."""
    return {
        "decisions": {
            reason.decision: {
                "needed": reason.needed,
                "because": reason.because,
                "rules": [
                    {"rule": h.rule, "says": h.says, "status": h.status, "because": h.because} for h in reason.rules
                ],
                "warnings": [
                    {"rule": rule, "avoid": label, "because": because} for rule, label, because in reason.warnings
                ],
            }
            for reason in reasons(meaning, reply)
        },
        "probability_above": [
            {"factor": factor, "threshold": threshold, "probability": share}
            for factor, threshold, share in probabilities(meaning, reply)
        ],
    }


def why_text(meaning: Meaning, reply: Reply) -> str:
    """The trace for people."""
    protocol = meaning.protocol
    lines = [words.HEADING]
    for reason in reasons(meaning, reply):
        lines.append(words.decision_line(protocol.decisions[reason.decision].label, reason.because))
        for item in reason.rules:
            mark = "would-apply" if item.status == "heard" and not reason.needed else item.status
            lines += words.rule_lines(mark, protocol.rules[item.rule].title, item.says, item.because)
        for rule, label, because in reason.warnings:
            lines += words.warning_lines(protocol.rules[rule].title, label, because)
    for factor, threshold, share in probabilities(meaning, reply):
        lines.append(words.probability_line(factor, threshold, share))
    return "\n".join(lines) + "\n"
