"""What else differs in the materials of two versions."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping, Sequence

from liningbook.compare import natures
from liningbook.compare.noting.note import Note, in_both, of_keys, of_lists, of_text
from liningbook.model.protocol import Exposure, Pairing, Protocol


def materials(old: Protocol, new: Protocol) -> Iterator[Note]:
    """Agents, irritants, and the entries of the tables."""
    yield from of_keys("materials", "agent", old.agents, new.agents)
    yield from of_keys("materials", "irritant", old.irritants, new.irritants)
    for name, agent, other in in_both(old.agents, new.agents):
        for field, nature in natures.OF_AGENT.items():
            if nature(agent) != nature(other):
                yield Note("materials", "agent", name, field)
    for name, irritant, now in in_both(old.irritants, new.irritants):
        yield from of_text("materials", "irritant", name, "acts_on", irritant.acts_on or "", now.acts_on or "")
    for field in ("sources", "barriers", "together"):
        if _nature(old, field) != _nature(new, field):
            yield Note("materials", "table", field, "entries")
    for field in ("together", "sources", "barriers"):
        both = [_entries(protocol, field) for protocol in (old, new)]
        yield from of_lists("words", "table", field, "because", *([entry.because for entry in table] for table in both))
        cites = ([name.id for entry in table for name in entry.cites] for table in both)
        yield from of_lists("evidence", "table", field, "cites", *cites)


def _entries(protocol: Protocol, field: str) -> Sequence[Pairing | Exposure]:
    return protocol.pairings if field == "together" else getattr(protocol, field)


def _nature(protocol: Protocol, field: str) -> Hashable:
    """What the entries of a table do, in whatever order."""

    def layers(table: Mapping[str, tuple[str, ...]]) -> Hashable:
        return frozenset((layer, frozenset(agents)) for layer, agents in table.items())

    def does(entry: Pairing | Exposure) -> Hashable:
        if isinstance(entry, Pairing):
            return layers(entry.having), layers(entry.require), layers(entry.forbid)
        return frozenset(entry.irritants)

    return frozenset((does(e), natures.of_when(e.when, protocol.factors)) for e in _entries(protocol, field))
