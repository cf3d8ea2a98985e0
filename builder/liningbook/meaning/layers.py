"""Which layers are placed together, and what each combination of them stops.

An irritant is present where an entry of `sources` says so or a chosen agent gives it off. It is live where the dentine
does not stop it (`barriers`). A layer stops it if its agent blocks it, from the stated thickness on, and lies at least
where the irritant acts; an agent's own irritant only if the layer is placed before that agent.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from liningbook.meaning.decide import Advice, Candidate, Outcome, placing_order
from liningbook.meaning.meaning import Meaning
from liningbook.model.protocol import Block, Exposure, Protocol
from liningbook.model.rule import Answer
from liningbook.space.boxes import Box
from liningbook.space.budget import stop_if_spent
from liningbook.space.region import Region


def stops(protocol: Protocol, answer: Answer | None, irritant: str) -> bool:
    """Whether a layer, if placed, stops an irritant, whatever gives it off."""
    if answer is None or answer.kind != "layer" or not _lies_there(protocol, answer, irritant):
        return False
    blocks = protocol.agents[answer.name].blocks
    return any(block.irritant == irritant and _thick_enough(answer, block) for block in blocks)


def place_rank(protocol: Protocol, answer: Answer) -> int:
    """How much a layer covers: the number of its place, from the least; 0 in a protocol without places."""
    order = list(protocol.places)
    place = answer.place or protocol.agents[answer.name].place
    return order.index(place) if place else max(len(order) - 1, 0)


def _lies_there(protocol: Protocol, answer: Answer, irritant: str) -> bool:
    """Whether the layer covers at least the place on which the irritant acts."""
    acts_on = protocol.irritants[irritant].acts_on
    return acts_on is None or place_rank(protocol, answer) >= list(protocol.places).index(acts_on)


def _thick_enough(answer: Answer, block: Block) -> bool:
    """Whether every thickness that the answer allows is one at which the agent stops the irritant."""
    if block.thickness is None:
        return True
    if answer.thickness is None:
        return False
    mine, needed = answer.thickness.base, block.thickness.base
    return needed.lower <= mine.lower and mine.upper <= needed.upper


@dataclass(frozen=True)
class Layers:
    """The answers to the layer decisions that stand together, and in which order those placed are placed."""

    answers: Mapping[str, Answer]
    order: tuple[str, ...]

    def stoppers(self, protocol: Protocol, irritant: str, before: str | None = None) -> list[str]:
        """The placed layers that stop an irritant; `before` counts only those placed before that layer."""
        counted = self.order if before is None else self.order[: self.order.index(before)]
        return [layer for layer in counted if stops(protocol, self.answers[layer], irritant)]

    def emitters(self, protocol: Protocol, irritant: str) -> list[str]:
        """The placed layers whose agent gives off an irritant."""
        return [layer for layer in self.order if irritant in protocol.agents[self.answers[layer].name].emits]


@dataclass(frozen=True)
class Threat:
    """An irritant that is present in one case: what brings it, and what stops it ("by this protocol's table").

    `sources` and `barriers` are numbers of entries of materials.yaml; `emitted_by` maps a layer to the layers placed
    before it that stop what it gives off; `stopped_by` are the layers that stop what comes from the sources.
    """

    irritant: str
    sources: tuple[int, ...]
    barriers: tuple[int, ...]
    stopped_by: tuple[str, ...]
    emitted_by: Mapping[str, tuple[str, ...]]

    @property
    def is_live(self) -> bool:
        """Whether the dentine leaves it through."""
        return not self.barriers

    @property
    def is_stopped(self) -> bool:
        """Whether dentine or layers stop it, whatever brings it."""
        if self.barriers:
            return True
        return bool(self.stopped_by or not self.sources) and all(self.emitted_by.values())


def threats(meaning: Meaning, case: Box, advice: Advice) -> tuple[Threat, ...]:
    """Every irritant present in a case with one answer to each decision, in the order of materials.yaml."""
    protocol = meaning.protocol
    if not any(o.state != "not-needed" and protocol.decisions[n].is_layer for n, o in advice.outcomes.items()):
        return ()
    answers = {name: outcome.answer for name, outcome in advice.outcomes.items() if outcome.answer is not None}
    layers = Layers(answers, advice.placing_order)
    found = []
    for name in protocol.irritants:
        sources = _entries(meaning, protocol.sources, name, case)
        emitted = {
            layer: tuple(layers.stoppers(protocol, name, before=layer)) for layer in layers.emitters(protocol, name)
        }
        if sources or emitted:
            barriers = _entries(meaning, protocol.barriers, name, case)
            found.append(Threat(name, sources, barriers, tuple(layers.stoppers(protocol, name)), emitted))
    return tuple(found)


def _entries(meaning: Meaning, entries: tuple[Exposure, ...], irritant: str, case: Box) -> tuple[int, ...]:
    return tuple(
        number
        for number, entry in enumerate(entries)
        if irritant in entry.irritants and meaning.space.holds(entry.when, case)
    )


class Protection:
    """The protection of all cases, or of some, as regions. In a conflict every combination of the candidates counts."""

    def __init__(self, meaning: Meaning, within: Region | None = None) -> None:
        self.meaning = meaning
        self.within = within
        self.protocol = meaning.protocol
        self._collected: dict[tuple[str, bool], Region] = {}
        self.layers = tuple(name for name, decision in meaning.protocol.decisions.items() if decision.is_layer)

    @cached_property
    def combinations(self) -> tuple[tuple[Layers, Region], ...]:
        """Which layers stand together, and where. Cases in which no layer decision is needed are left out."""
        wanted = Region.union(self.meaning.needed(layer) for layer in self.layers)
        if self.within is not None:
            wanted = wanted & self.within
        return tuple(self._combine({}, 0, wanted)) if wanted else ()

    def _combine(self, chosen: dict[str, Answer], position: int, region: Region) -> Iterator[tuple[Layers, Region]]:
        stop_if_spent(len(region.boxes))
        if position == len(self.layers):
            yield Layers(dict(chosen), _order(chosen)), region
            return
        layer = self.layers[position]
        for answer, cases in self._heard[layer].items():
            if part := region & cases:
                yield from self._combine({**chosen, layer: answer}, position + 1, part)
        if rest := region.minus(self._answered[layer]):
            yield from self._combine(chosen, position + 1, rest)

    @cached_property
    def _heard(self) -> dict[str, dict[Answer, Region]]:
        return {
            layer: {answer: self.meaning.cases_of_answer(layer, rules) for answer, rules in answers.items()}
            for layer in self.layers
            for answers in [self.meaning.answers(layer)]
        }

    @cached_property
    def _answered(self) -> dict[str, list[Box]]:
        return {layer: [box for cases in self._heard[layer].values() for box in cases] for layer in self.layers}

    def exposed_to(self, entries: tuple[Exposure, ...], irritant: str) -> list[Box]:
        """The boxes of the entries of `sources` or `barriers` that speak of an irritant."""
        return [box for e in entries if irritant in e.irritants for box in self.meaning.space.boxes(e.when)]

    def unprotected(self, irritant: str) -> Region:
        """Where an irritant is live and something that brings it is stopped by no layer."""
        open_ = self._collect(irritant, stopped=False)
        return open_.minus(self.exposed_to(self.protocol.barriers, irritant))

    def stopped_by_layers(self, irritant: str) -> Region:
        """Where an irritant is present and layers stop all that brings it, whichever conflicting answer is taken."""
        return self.stopped_by_any(irritant).minus(self._collect(irritant, stopped=False).boxes)

    def stopped_by_any(self, irritant: str) -> Region:
        """Where an irritant is present and layers stop all that brings it, if one of conflicting answers is taken."""
        return self._collect(irritant, stopped=True)

    @classmethod
    def of(cls, meaning: Meaning) -> Protection:
        """The protection of a meaning, worked out once."""
        if meaning.protection is None:
            meaning.protection = cls(meaning)
        assert isinstance(meaning.protection, cls)
        return meaning.protection

    def _collect(self, irritant: str, stopped: bool) -> Region:
        key = (irritant, stopped)
        if key not in self._collected:
            self._collected[key] = self._find(irritant, stopped)
        return self._collected[key]

    def _find(self, irritant: str, stopped: bool) -> Region:
        sources = self.exposed_to(self.protocol.sources, irritant)
        outside = Region.any_of(sources)
        found = Region()
        for layers, region in self.combinations:
            outer_stopped = bool(layers.stoppers(self.protocol, irritant))
            emitters = layers.emitters(self.protocol, irritant)
            inner_stopped = all(layers.stoppers(self.protocol, irritant, before=layer) for layer in emitters)
            found = found | _part(region, outside, sources, outer_stopped, bool(emitters), inner_stopped, stopped)
        return found


def _part(
    region: Region,
    outside: Region,
    sources: list[Box],
    outer_stopped: bool,
    emitted: bool,
    inner_stopped: bool,
    stopped: bool,
) -> Region:
    """The part of a combination's cases in which what brings the irritant is (or is not) stopped by layers.

    With a source both what comes from outside and what is given off must be stopped; without one, what is given off.
    """
    with_source = (outer_stopped and inner_stopped) == stopped
    without_source = emitted and inner_stopped == stopped
    if with_source and without_source:
        return region
    if with_source:
        return region & outside
    return region.minus(sources) if without_source else Region()


def _order(answers: Mapping[str, Answer]) -> tuple[str, ...]:
    placed = {name: Outcome("answered", (Candidate(answer, ()),)) for name, answer in answers.items()}
    return placing_order(placed)
