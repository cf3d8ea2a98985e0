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
from liningbook.say.locale import either
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
        _needed_words(meaning, decision, needed),
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
            yield rule.id, label, "never, and nothing overrides it"
        elif winners:
            yield rule.id, label, f"switched off by {', '.join(f'“{title}”' for title in winners)}"
        else:
            yield rule.id, label, "to be avoided"


def _needed_words(meaning: Meaning, decision: Decision, needed: bool) -> str:
    if decision.needed_when is None:
        return "needed in every case"
    on, wanted = decision.needed_when
    earlier = meaning.protocol.decisions[on]
    labels = [
        meaning.protocol.agents[w].label if w in meaning.protocol.agents else earlier.answers.get(w, w) for w in wanted
    ]
    return f"{'needed' if needed else 'not needed'}: it is if {earlier.label} is {either(labels)}"


def _heard(meaning: Meaning, reply: Reply, decision: Decision, index: int) -> Heard:
    rule = meaning.rules[index]
    says = answer_words(meaning.protocol, decision, rule.advise[decision.id])
    if not any(inside(reply.question.case, box) for box in meaning.boxes[index]):
        return Heard(rule.id, says, "does-not-apply", "; or ".join(_failed(meaning, reply, rule)))
    silencers = [
        meaning.rules[other]
        for other in bits(meaning.overridden_by[index] & meaning.advising(decision.id))
        if any(inside(reply.question.case, box) for box in meaning.boxes[other])
    ]
    if silencers:
        return Heard(rule.id, says, "silenced", f"overridden by {', '.join(f'“{s.title}”' for s in silencers)}")
    return Heard(rule.id, says, "heard", "every condition holds")


def _failed(meaning: Meaning, reply: Reply, rule: Rule) -> Iterator[str]:
    """For each set of conditions of the rule, those that do not hold."""
    space, case = meaning.space, reply.question.case
    for conditions in rule.when:
        box = space.box(conditions)
        failed = [
            f"{factor.label} is {value_words(factor, reply.question.values[name])}, "
            f"the rule wants {condition_words(factor, conditions.conditions[name])}"
            for name, factor in meaning.protocol.factors.items()
            if name in conditions.conditions and not box[space.index[name]] & case[space.index[name]]
        ]
        yield " and ".join(failed)


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
    lines = ["Why:"]
    marks = {"heard": "heard", "silenced": "silenced", "does-not-apply": "does not apply"}
    for reason in reasons(meaning, reply):
        lines.append(f"  {protocol.decisions[reason.decision].label} ({reason.because})")
        for item in reason.rules:
            mark = "would apply" if item.status == "heard" and not reason.needed else marks[item.status]
            lines.append(f"    {mark}: {protocol.rules[item.rule].title} → {item.says}")
            lines.append(f"        {item.because}")
        for rule, label, because in reason.warnings:
            lines.append(f"    warns: {protocol.rules[rule].title} → {label}")
            lines.append(f"        {because}")
    for factor, threshold, share in probabilities(meaning, reply):
        lines.append(f"  Probability that {factor} is truly above {threshold}: {share} (normal distribution)")
    return "\n".join(lines) + "\n"
