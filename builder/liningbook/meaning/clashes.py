"""The entries of `together`: where the layers that the rules advise break one (step 7)."""

from __future__ import annotations

from collections.abc import Mapping

from liningbook.meaning.needed import Needed
from liningbook.meaning.rules import RulesInForce
from liningbook.model.protocol import Pairing
from liningbook.space.region import Region


class Clashes:
    """Where each entry of `together`, by its number, is broken. Raises OutOfTime."""

    def __init__(self, rules: RulesInForce, need: Needed) -> None:
        self.rules = rules
        self.need = need
        self._known: dict[int, dict[str, Region]] = {}

    def cases(self, number: int) -> Region:
        """The cases in which an entry is broken."""
        return Region.union(self.by_layer(number).values())

    def by_layer(self, number: int) -> dict[str, Region]:
        """For each layer of an entry the cases in which it takes part in breaking it.

        The layers of `with` do wherever it is broken; the others where they lack what is required or hold what is
        forbidden.
        """
        if number not in self._known:
            self._known[number] = self._find(self.rules.protocol.pairings[number])
        return self._known[number]

    def _find(self, pairing: Pairing) -> dict[str, Region]:
        held = self.need.scope() & Region.any_of(self.rules.space.boxes(pairing.when))
        found = {layer: Region() for layer in pairing.layers}
        for layer, agents in pairing.require.items():
            found[layer] = self._having(held, pairing.having, layer) & self._broken(pairing, layer, agents)
        for layer, agents in pairing.forbid.items():
            wanted = pairing.having.get(layer)
            bad = agents if wanted is None else tuple(agent for agent in agents if agent in wanted)
            holding = self._having(held, pairing.having, layer) & self._of_agents(layer, bad)
            found[layer] = found[layer] | holding
        broken = Region.union(found.values())
        return {layer: broken if layer in pairing.having else region for layer, region in found.items()}

    def _having(self, held: Region, having: Mapping[str, tuple[str, ...]], without: str) -> Region:
        for layer, agents in having.items():
            if layer != without:
                held = held & self._of_agents(layer, agents)
        return held

    def _broken(self, pairing: Pairing, layer: str, agents: tuple[str, ...]) -> Region:
        """Where the layer may be an agent that meets `with` (if that names the layer) but not `require`."""
        wanted = pairing.having.get(layer)
        if wanted is None:
            return self._without(layer, agents)
        return self._of_agents(layer, tuple(agent for agent in wanted if agent not in agents))

    def _of_agents(self, decision: str, agents: tuple[str, ...]) -> Region:
        """The cases in which an answer to a layer decision, one of several in a conflict, is one of the agents."""
        rules = 0
        for answer, advising in self.rules.answers(decision).items():
            if answer.kind == "layer" and answer.name in agents:
                rules |= advising
        return self.need.of_answer(decision, rules)

    def _without(self, decision: str, agents: tuple[str, ...]) -> Region:
        """The cases in scope in which a layer may be none of the agents: another answer, none, or not needed."""
        rules = 0
        listed = 0
        for answer, advising in self.rules.answers(decision).items():
            if answer.kind == "layer" and answer.name in agents:
                listed |= advising
            else:
                rules |= advising
        other = self.need.of_answer(decision, rules)
        answered = self.need.of_answer(decision, listed)
        return other | self.need.scope().minus(answered.boxes)
