"""Safety that one version gives and another does not: referrals, protection, what is never to be placed.

A decision that is not about a layer *holds a layer back* by an answer that does not lead to it: the layer's
`needed_when`, or that of a decision between the two, does not name it. It does so by a *referral*, an answer of the
decision, or by a *judgement*. Of a case in the scope of a version:

- a referral ends where a layer was held back by one and is so no longer; a judgement where a layer was held back by one
  and is held back no longer;
- protection against an irritant is lost where layers stopped all that brings it, and where now it is live and no layer
  stops something that brings it;
- a `never` is gone where a rule with it held, and where now the decision is needed and no rule with it holds.

Where rules disagree, what all of their answers gave is lost if one does not give it now, and what one of them gave is
lost if none gives it now.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Literal

from liningbook.meaning.layers import Protection
from liningbook.meaning.meaning import Meaning
from liningbook.model.protocol import Protocol
from liningbook.space.boxes import bits
from liningbook.space.region import Region

Kind = Literal["referral", "judgement", "protection", "never"]
"""The gravest first."""


@dataclass(frozen=True)
class Loss:
    """One thing that made for safety and does so no longer, with all the cases.

    `decision` is the one that held back `layers`, or the one under which `name` was never to be placed; of protection
    `name` is the irritant. `rules` are those that said `never`.
    """

    kind: Kind
    decision: str
    name: str
    region: Region = field(repr=False)
    layers: tuple[str, ...] = ()
    rules: tuple[str, ...] = ()


def losses(old: Meaning, new: Meaning, within: Region | None = None) -> tuple[Loss, ...]:
    """All that is lost from one version to another; both must share one space.

    Protection is looked for in the cases of `within` alone: elsewhere the same layers stop the same.
    """
    return (*_referrals(old, new), *_protection(old, new, within), *_nevers(old, new))


# --- referrals --------------------------------------------------------------------------------------------------------


def _referrals(old: Meaning, new: Meaning) -> Iterator[Loss]:
    found: dict[tuple[Kind, str], dict[str, Region]] = {}
    for layer in _layers(old.protocol):
        if layer not in new.protocol.decisions:
            continue
        for by in (_by_all, _by_any):
            now = [by(new, *step) for step in _chain(new.protocol, layer)]
            referred, judged = (Region.union(held[which] for held in now) for which in (0, 1))
            for decision, then in _chain(old.protocol, layer):
                referral, judgement = by(old, decision, then)
                kinds: tuple[tuple[Kind, Region], ...] = (
                    ("referral", referral.minus(referred.boxes)),
                    ("judgement", judgement.minus((referred | judged).boxes)),
                )
                for kind, ended in kinds:
                    if ended:
                        layers = found.setdefault((kind, decision), {})
                        layers[layer] = layers.get(layer, Region()) | ended
    for (kind, decision), by_layer in found.items():
        yield Loss(kind, decision, "", Region.union(by_layer.values()).few_large(), tuple(by_layer))


def _layers(protocol: Protocol) -> list[str]:
    return [name for name, decision in protocol.decisions.items() if decision.is_layer]


def _chain(protocol: Protocol, layer: str) -> Iterator[tuple[str, str]]:
    """The decisions that are not about a layer and must be answered first, each with the one that waits for it."""
    then = layer
    while (needed_when := protocol.decisions[then].needed_when) is not None:
        if not protocol.decisions[needed_when[0]].is_layer:
            yield needed_when[0], then
        then = needed_when[0]


def holding_back(protocol: Protocol) -> frozenset[tuple[str, str]]:
    """The answers that hold a layer back, each with its decision before it."""
    steps = [step for layer in _layers(protocol) for step in _chain(protocol, layer)]
    leading = {step: needed_when[1] for step in steps if (needed_when := protocol.decisions[step[1]].needed_when)}
    return frozenset(
        (decision, answer)
        for (decision, _), answers in leading.items()
        for answer in protocol.decisions[decision].answers
        if answer not in answers
    )


def _by_all(meaning: Meaning, decision: str, then: str) -> tuple[Region, Region]:
    """Where no answer to a decision leads to the one that waits for it: all are referrals, or one is a judgement."""
    answered = meaning.needed(decision).minus(meaning.gap(decision).boxes)
    held, (_, judged) = answered.minus(meaning.needed(then).boxes), _by_any(meaning, decision, then)
    return held.minus(judged.boxes), held & judged


def _by_any(meaning: Meaning, decision: str, then: str) -> tuple[Region, Region]:
    """Where an answer to a decision is a referral, and where one is a judgement."""
    needed_when = meaning.protocol.decisions[then].needed_when
    assert needed_when is not None
    rules = {False: 0, True: 0}
    for answer, advising in meaning.answers(decision).items():
        if answer.kind == "judgement" or answer.name not in needed_when[1]:
            rules[answer.kind == "judgement"] |= advising
    return meaning.cases_of_answer(decision, rules[False]), meaning.cases_of_answer(decision, rules[True])


# --- protection -------------------------------------------------------------------------------------------------------


def _protection(old: Meaning, new: Meaning, within: Region | None) -> Iterator[Loss]:
    if within is not None and not within:
        return
    before, after = Protection(old, within), Protection(new, within)
    for name in new.protocol.irritants:
        if name in old.protocol.irritants:
            lost = before.stopped_by_layers(name) & after.unprotected(name)
            lost = lost | before.stopped_by_any(name) & after.unprotected(name).minus(after.stopped_by_any(name).boxes)
            if lost:
                yield Loss("protection", "", name, lost.few_large())


# --- never ------------------------------------------------------------------------------------------------------------


def _nevers(old: Meaning, new: Meaning) -> Iterator[Loss]:
    for decision in old.protocol.decisions:
        if decision not in new.protocol.decisions:
            continue
        now = _forbidding(new, decision)
        for name, rules in _forbidding(old, decision).items():
            if not _can_be_advised(new.protocol, decision, name):
                continue
            held = Region.any_of(old.boxes_of(rules)).minus(new.boxes_of(now.get(name, 0)))
            gone = old.need.scope_in(held) & new.needed(decision) if held else held
            if gone:
                said = tuple(old.rules[index].id for index in bits(rules) if gone & old.cases_of_rule(index))
                yield Loss("never", decision, name, gone.few_large(), rules=said)


def _can_be_advised(protocol: Protocol, decision: str, name: str) -> bool:
    """Whether an agent serves a layer, or an answer is one of a decision's."""
    asked = protocol.decisions[decision]
    if asked.layer is None:
        return name in asked.answers
    return name in protocol.agents and asked.layer in protocol.agents[name].classes


def _forbidding(meaning: Meaning, decision: str) -> dict[str, int]:
    """The rules with `never` under a decision, by what they name."""
    found: dict[str, int] = {}
    for warned in meaning.warned(decision):
        if warned.always:
            found[warned.agent] = found.get(warned.agent, 0) | 1 << warned.rule
    return found
