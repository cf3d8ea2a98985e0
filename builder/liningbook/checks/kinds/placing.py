"""Layers that are placed in an order that the practice's own materials, entries or answers contradict."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import combinations

from liningbook.checks.facts import CaseFact
from liningbook.checks.inquiry import Inquiry
from liningbook.finding import About, Fact, Span
from liningbook.meaning.layers import Layers, Protection, place_rank, stops
from liningbook.model.protocol import Pairing, Protocol
from liningbook.model.rule import Answer, Decision, Rule
from liningbook.space.boxes import bits
from liningbook.space.region import Region


@dataclass(frozen=True)
class CoversLess(CaseFact):
    """A layer placed over one that covers more; `above` and `below` are the answers by which they are placed there."""

    protocol: Protocol = field(repr=False)
    upper: Decision
    lower: Decision
    above: tuple[Answer, ...]
    below: tuple[Answer, ...]
    rules: tuple[Rule, ...]

    def about(self) -> About:
        """Both layers, the upper one as the decision."""
        further = {"contradicts": "places", "over": self.lower.id}
        return About(self.upper.id, tuple(rule.id for rule in self.rules), further, telling=0)


@dataclass(frozen=True)
class TooLate(CaseFact):
    """An entry of `together`, by its number, whose required layer comes after what gives off what it is to stop."""

    protocol: Protocol = field(repr=False)
    number: int
    pairing: Pairing
    required: Decision
    giving: Decision
    irritants: tuple[str, ...]
    rules: tuple[Rule, ...]

    def about(self) -> About:
        """The entry, and the layer that comes too late."""
        further = {"contradicts": "together", "entry": self.number, "over": self.giving.id}
        return About(self.required.id, tuple(rule.id for rule in self.rules), further, telling=0)


@dataclass(frozen=True)
class NotKept(CaseFact):
    """A `before` or `after` of an answer that the placing order does not keep, since others contradict it."""

    wish: str
    layer: Decision
    other: Decision
    rules: tuple[Rule, ...]

    def about(self) -> About:
        """The layer that asks, and what it asks for."""
        further = {"contradicts": "wishes", "wish": self.wish, "layer": self.other.id}
        return About(self.layer.id, tuple(rule.id for rule in self.rules), further, telling=0)


Key = tuple[str, str, str | int]
"""What is wrong: the layer that it speaks of first, the other one, and the wish or the number of the entry."""


@dataclass
class _Seen:
    """Where something is wrong, and the answers by which its layers are placed there."""

    regions: list[Region] = field(default_factory=list)
    answers: dict[str, dict[Answer, None]] = field(default_factory=dict)

    def add(self, layers: Layers, region: Region, *names: str) -> None:
        self.regions.append(region)
        for name in names:
            self.answers.setdefault(name, {})[layers.answers[name]] = None


def placing_order(inquiry: Inquiry) -> Iterator[Fact]:
    """Layers are placed in an order that the practice's own words contradict.

    Layers are placed in the order of `decisions`, each moved only by `before` or `after` in its own answer. Asked about
    is, in every case and for every combination of the answers that the rules give:

    - a layer placed over one that covers more (`place`), such as one of the deepest spot over one of all walls; not so
      where the lower one stops what the upper one gives off, as a varnish under an acid cement does;
    - a layer that an entry of `together` requires, and that stops what a layer of its `with` gives off, placed over
      that layer, where nothing placed before it stops the same: it comes too late for what it is required for;
    - a `before` or `after` that cannot be kept, because other answers of the same case ask for the opposite.

    What else two layers of `together` have to do with one another says nothing of their order, and is not guessed at.
    """
    if not _may_occur(inquiry):
        return
    protocol = inquiry.protocol
    seen: dict[Key, _Seen] = {}
    for layers, region in Protection.of(inquiry.meaning).combinations:
        for lower, upper in combinations(layers.order, 2):
            if _covers_less(protocol, layers.answers[upper], layers.answers[lower]):
                seen.setdefault((upper, lower, ""), _Seen()).add(layers, region, upper, lower)
        for name, other, wish in _wishes(layers):
            if (layers.order.index(name) < layers.order.index(other)) != (wish == "before"):
                seen.setdefault((name, other, wish), _Seen()).add(layers, region, name)
        for number, pairing in enumerate(protocol.pairings):
            for required, giving in _too_late(protocol, layers, pairing):
                held = region & Region.any_of(inquiry.meaning.space.boxes(pairing.when))
                if held:
                    seen.setdefault((required, giving, number), _Seen()).add(layers, held, required, giving)
    names = list(protocol.decisions)
    for key in sorted(seen, key=lambda key: (str(key[2]), names.index(key[0]), names.index(key[1]))):
        yield _fact(inquiry, key, seen[key])


def _covers_less(protocol: Protocol, upper: Answer, lower: Answer) -> bool:
    """Whether a layer covers less than one under it, which is not there to stop what the upper one gives off."""
    if place_rank(protocol, upper) >= place_rank(protocol, lower):
        return False
    return not any(stops(protocol, lower, irritant) for irritant in protocol.agents[upper.name].emits)


def _may_occur(inquiry: Inquiry) -> bool:
    """Whether any two answers could contradict: most protocols need not be looked at case by case."""
    protocol, meaning = inquiry.protocol, inquiry.meaning
    layers = [name for name, decision in protocol.decisions.items() if decision.is_layer]
    placed = {name: [a for a in meaning.answers(name) if a.kind == "layer"] for name in layers}
    if any(answer.before or answer.after for answers in placed.values() for answer in answers):
        return True
    ranks = {name: [place_rank(protocol, answer) for answer in answers] for name, answers in placed.items()}
    for lower, upper in combinations(layers, 2):
        if ranks[lower] and ranks[upper] and min(ranks[upper]) < max(ranks[lower]):
            return True
    return any(
        protocol.agents[agent].emits and layers.index(giving) < layers.index(required)
        for pairing in protocol.pairings
        for giving, agents in pairing.having.items()
        for agent in agents
        for required in pairing.require
    )


def _wishes(layers: Layers) -> Iterator[tuple[str, str, str]]:
    """What the answers of the layers placed ask for: a layer, another one that is placed, `before` or `after`."""
    for name in layers.order:
        answer = layers.answers[name]
        for other, wish in ((answer.before, "before"), (answer.after, "after")):
            if other is not None and other in layers.order:
                yield name, other, wish


def _too_late(protocol: Protocol, layers: Layers, pairing: Pairing) -> Iterator[tuple[str, str]]:
    """Required layers of an entry that are placed over a layer of `with` whose irritant they are to stop."""
    agents = {name: layers.answers[name].name for name in layers.order}
    if not all(agents.get(name) in listed for name, listed in pairing.having.items()):
        return
    for giving in pairing.having:
        for required, listed in pairing.require.items():
            if agents.get(required) in listed and _unstopped(protocol, layers, giving, required):
                yield required, giving


def _unstopped(protocol: Protocol, layers: Layers, giving: str, required: str) -> list[str]:
    """What a layer gives off that another one stops but lies over it, while nothing placed before it stops it."""
    if layers.order.index(giving) >= layers.order.index(required):
        return []
    return [
        irritant
        for irritant in protocol.agents[layers.answers[giving].name].emits
        if stops(protocol, layers.answers[required], irritant)
        and not layers.stoppers(protocol, irritant, before=giving)
    ]


def _fact(inquiry: Inquiry, key: Key, found: _Seen) -> Fact:
    name, other, what = key
    protocol = inquiry.protocol
    decisions = protocol.decisions
    cases = inquiry.cases(Region.any_of(box for region in found.regions for box in region))
    rules = _rules(inquiry, found, cases.region)
    if isinstance(what, int):
        pairing = protocol.pairings[what]
        irritants = tuple(
            irritant
            for irritant in protocol.irritants
            if any(irritant in protocol.agents[answer.name].emits for answer in found.answers[other])
            and any(stops(protocol, answer, irritant) for answer in found.answers[name])
        )
        return TooLate(
            pairing.span, cases, protocol, what, pairing, decisions[name], decisions[other], irritants, rules
        )
    if what:
        return NotKept(_asked_at(rules, name), cases, what, decisions[name], decisions[other], rules)
    above, below = tuple(found.answers[name]), tuple(found.answers[other])
    return CoversLess(decisions[name].span, cases, protocol, decisions[name], decisions[other], above, below, rules)


def _asked_at(rules: tuple[Rule, ...], decision: str) -> Span:
    return next(rule.advise[decision].span for rule in rules if decision in rule.advise)


def _rules(inquiry: Inquiry, found: _Seen, region: Region) -> tuple[Rule, ...]:
    """The rules by which the layers are placed so, in some of the cases."""
    meaning = inquiry.meaning
    numbers = {
        index
        for layer, answers in found.answers.items()
        for answer in answers
        for index in bits(meaning.answers(layer)[answer])
        if meaning.cases_heard(layer, index) & region
    }
    return tuple(inquiry.rule(index) for index in sorted(numbers))
