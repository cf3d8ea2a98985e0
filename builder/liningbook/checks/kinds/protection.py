"""Irritants that reach the pulp, and protection that is lost where the dentine gets thinner."""

from __future__ import annotations

from collections.abc import Iterator

from liningbook.checks.inquiry import Inquiry
from liningbook.finding import Finding, Label, Severity, Span
from liningbook.meaning.layers import Protection
from liningbook.model.protocol import Factor, Irritant
from liningbook.space.boxes import Box
from liningbook.space.region import Region


def unprotected(inquiry: Inquiry) -> Iterator[Finding]:
    """An irritant can reach the pulp, and by the practice's own table neither dentine nor a layer stops it.

    What brings irritants, what dentine stops and what each agent stops is written in materials.yaml. A layer counts
    only from its stated thickness, and only if it covers the place on which the irritant acts; what an agent gives
    off must be stopped by a layer placed before it.
    """
    protection = Protection.of(inquiry.meaning)
    for irritant in inquiry.protocol.irritants.values():
        region = protection.unprotected(irritant.id)
        if not region:
            continue
        region = region.few_large()
        yield inquiry.about_cases(
            "unprotected",
            Severity.WARNING,
            f"nothing stops {_lower(irritant.label)} {inquiry.in_brief(region)}",
            irritant.span,
            region,
            label="neither dentine nor a layer stops it there, by this protocol's table",
            related=_bringing(inquiry, protection, irritant, region),
            advice=[
                "place a layer that stops it, thick enough and on every place it acts on",
                "or correct `sources`, `barriers` or `blocks` in materials.yaml, if they do not say what is so",
                "or add this warning to `accepted` in protocol.yaml, with the reason",
            ],
            extra={"irritant": irritant.id},
        )


def _bringing(inquiry: Inquiry, protection: Protection, irritant: Irritant, region: Region) -> list[Label]:
    """The entries of `sources` that bring the irritant there, and the agents that give it off."""
    labels = [
        Label(entry.span, "brings it")
        for entry in inquiry.protocol.sources
        if irritant.id in entry.irritants and region & Region.any_of(inquiry.meaning.space.boxes(entry.when))
    ]
    agents: dict[str, Span] = {}
    for layers, cases in protection.combinations:
        for layer in layers.emitters(inquiry.protocol, irritant.id):
            if cases & region:
                agent = inquiry.protocol.agents[layers.answers[layer].name]
                agents[agent.id] = agent.span
    return labels + [Label(span, "gives it off") for _, span in sorted(agents.items())]


def less_protection(inquiry: Inquiry) -> Iterator[Finding]:
    """Where the dentine gets thinner, all else equal, the layer that stopped an irritant is lost.

    The cautious side is the one that the factor's `reading` names. The cases listed are those on that side: the
    irritant is still live there, no layer stops it, and on the other side one did.
    """
    protection = Protection.of(inquiry.meaning)
    for irritant in inquiry.protocol.irritants.values():
        bare = protection.unprotected(irritant.id)
        if not bare:
            continue
        region, factors = _lost(inquiry, bare, protection.stopped_by_layers(irritant.id))
        if not region:
            continue
        region = region.few_large()
        labels = " or ".join(factor.label for factor in factors)
        yield inquiry.about_cases(
            "less-protection",
            Severity.WARNING,
            f"on the cautious side of {labels} no layer stops {_lower(irritant.label)} any more "
            f"{inquiry.in_brief(region)}",
            irritant.span,
            region,
            label="no layer stops it there, though one does on the less cautious side",
            related=_bringing(inquiry, protection, irritant, region),
            advice=[
                "place a layer against it in these cases too",
                "or add this warning to `accepted` in protocol.yaml, with the reason",
            ],
            extra={"irritant": irritant.id},
        )


def _lost(inquiry: Inquiry, bare: Region, kept: Region) -> tuple[Region, list[Factor]]:
    """The bare cases that lie on the cautious side of a kept one, and the factors along which they do."""
    found = Region()
    factors = []
    for number, axis in enumerate(inquiry.meaning.space.axes):
        reading = axis.factor.reading
        if reading is None or reading.cautious is None:
            continue
        beyond = [_cautious_side(box, number, axis.full, reading.cautious) for box in kept]
        lost = bare & Region.any_of(box for box in beyond if box is not None)
        if lost:
            factors.append(axis.factor)
        found = found | lost
    return found, factors


def _cautious_side(box: Box, axis: int, full: int, cautious: str) -> Box | None:
    """The cases that differ from one of the box on one axis only, towards the cautious side."""
    mask = box[axis]
    lowest, highest = mask & -mask, 1 << (mask.bit_length() - 1)
    side = highest - 1 if cautious == "below" else full & ~(2 * lowest - 1)
    return (*box[:axis], side, *box[axis + 1 :]) if side else None


def _lower(label: str) -> str:
    return label[0].lower() + label[1:] if label[1:2].islower() else label
