"""Irritants that reach the pulp, and protection that is lost where the dentine gets thinner."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from liningbook.checks.facts import CaseFact
from liningbook.checks.inquiry import Inquiry
from liningbook.finding import About, Fact, Span
from liningbook.meaning.layers import Protection
from liningbook.model.protocol import Irritant
from liningbook.model.rule import Factor
from liningbook.space.boxes import Box
from liningbook.space.region import Region


@dataclass(frozen=True)
class Unprotected(CaseFact):
    """An irritant that nothing stops: `bringing` are entries of `sources`, `emitting` agents that give it off."""

    irritant: Irritant
    bringing: tuple[Span, ...]
    emitting: tuple[Span, ...]

    def about(self) -> About:
        """The irritant."""
        return About(further={"irritant": self.irritant.id})


@dataclass(frozen=True)
class LessProtection(Unprotected):
    """One that a layer stops on the other side of the factors, and none on their cautious side."""

    factors: tuple[Factor, ...]


def unprotected(inquiry: Inquiry) -> Iterator[Fact]:
    """An irritant can reach the pulp, and by the practice's own table neither dentine nor a layer stops it.

    What brings irritants, what dentine stops and what each agent stops is written in materials.yaml. A layer counts
    only from its stated thickness, and only if it covers the place on which the irritant acts; what an agent gives
    off must be stopped by a layer placed before it.
    """
    protection = Protection.of(inquiry.meaning)
    for irritant in inquiry.protocol.irritants.values():
        region = protection.unprotected(irritant.id)
        if region:
            cases = inquiry.cases(region)
            yield Unprotected(irritant.span, cases, irritant, *_bringing(inquiry, protection, irritant, cases.region))


def _bringing(
    inquiry: Inquiry, protection: Protection, irritant: Irritant, region: Region
) -> tuple[tuple[Span, ...], tuple[Span, ...]]:
    """The entries of `sources` that bring the irritant there, and the agents that give it off."""
    bringing = tuple(
        entry.span
        for entry in inquiry.protocol.sources
        if irritant.id in entry.irritants and region & Region.any_of(inquiry.meaning.space.boxes(entry.when))
    )
    agents: dict[str, Span] = {}
    for layers, cases in protection.combinations:
        for layer in layers.emitters(inquiry.protocol, irritant.id):
            if cases & region:
                agent = inquiry.protocol.agents[layers.answers[layer].name]
                agents[agent.id] = agent.span
    return bringing, tuple(span for _, span in sorted(agents.items()))


def less_protection(inquiry: Inquiry) -> Iterator[Fact]:
    """Where the dentine gets thinner, all else equal, the layer that stopped an irritant is lost.

    The cautious side is that of the factor's `reading`, or else of its `judged`. The cases listed lie on it: the
    irritant is still live there, no layer stops it, and on the other side one did.
    """
    protection = Protection.of(inquiry.meaning)
    for irritant in inquiry.protocol.irritants.values():
        bare = protection.unprotected(irritant.id)
        if not bare:
            continue
        region, factors = _lost(inquiry, bare, protection.stopped_by_layers(irritant.id))
        if region:
            cases = inquiry.cases(region)
            brought = _bringing(inquiry, protection, irritant, cases.region)
            yield LessProtection(irritant.span, cases, irritant, *brought, tuple(factors))


def _lost(inquiry: Inquiry, bare: Region, kept: Region) -> tuple[Region, list[Factor]]:
    """The bare cases that lie on the cautious side of a kept one, and the factors along which they do."""
    found = Region()
    factors = []
    for number, axis in enumerate(inquiry.meaning.space.axes):
        cautious = _cautious_of(axis.factor)
        if cautious is None:
            continue
        beyond = [_cautious_side(box, number, axis.full, cautious) for box in kept]
        lost = bare & Region.any_of(box for box in beyond if box is not None)
        if lost:
            factors.append(axis.factor)
        found = found | lost
    return found, factors


def _cautious_of(factor: Factor) -> str | None:
    """The side to which a doubtful value is taken, if the factor says so: that of its readings first."""
    if factor.reading is not None and factor.reading.cautious is not None:
        return factor.reading.cautious
    return factor.judged.cautious if factor.judged is not None else None


def _cautious_side(box: Box, axis: int, full: int, cautious: str) -> Box | None:
    """The cases that differ from one of the box on one axis only, towards the cautious side."""
    mask = box[axis]
    lowest, highest = mask & -mask, 1 << (mask.bit_length() - 1)
    side = highest - 1 if cautious == "below" else full & ~(2 * lowest - 1)
    return (*box[:axis], side, *box[axis + 1 :]) if side else None
