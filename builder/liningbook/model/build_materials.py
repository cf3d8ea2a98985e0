"""`materials.yaml` to agents, irritants, places, pairings, sources and barriers."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from liningbook.model.building import Building
from liningbook.model.protocol import Agent, Block, Exposure, Irritant, Pairing
from liningbook.model.read_values import names_of, read_amount
from liningbook.model.read_when import read_when
from liningbook.model.rule import Decision
from liningbook.model.values import NOTHING_PLACED, STATES
from liningbook.notation.quantity import UNITS
from liningbook.resources import ENGLISH
from liningbook.sources.look_alike import folded
from liningbook.sources.node import Node, fields_of, get, labels_of, listed, text_of, texts_of


def define_materials(building: Building) -> None:
    """Places, irritants and agents, which need neither factors nor decisions."""
    root = building.folder.root("materials")
    if root is None:
        return
    for what in ("places", "irritants", "agents"):
        building.told_apart(fields_of(root, what), what)
    building.places, building.irritants = labels_of(root, "places"), {}
    for name, child in fields_of(root, "irritants").items():
        acts_on = building.name(get(child, "acts_on"), building.places, "unknown-place")
        building.irritants[name] = Irritant(name, text_of(child, "label") or name, acts_on, child.place)
    agents = get(root, "agents")
    if agents is None or agents.fields is None:
        return
    for name, child in agents.fields.items():
        building.taken(child, name, (*STATES, "none", "judgement"))
    building.broken |= {name for name, child in agents.fields.items() if child.fields is None}
    building.agents = {
        name: _agent(building, name, child) for name, child in agents.fields.items() if child.fields is not None
    }


def build_materials(building: Building) -> dict[str, Any]:
    """Agents, irritants and places, and the entries of `together`, `sources` and `barriers`."""
    root = building.folder.root("materials")
    _refuse_nothing(building, fields_of(root, "agents"))
    return {
        "places": building.places or {},
        "irritants": building.irritants or {},
        "agents": building.agents or {},
        "pairings": tuple(
            Pairing(
                having=_layers(building, node, "with"),
                require=_layers(building, node, "require"),
                forbid=_layers(building, node, "forbid"),
                when=read_when(building, get(node, "when")),
                because=text_of(node, "because"),
                cites=names_of(get(node, "cites")),
                span=node.span,
            )
            for node in listed(get(root, "together"))
            if node.fields is not None
        ),
        "sources": _exposures(building, get(root, "sources")),
        "barriers": _exposures(building, get(root, "barriers")),
    }


def _refuse_nothing(building: Building, agents: Mapping[str, Node]) -> None:
    """A finding (`schema`) for every agent that is called as if nothing were placed; the card would number it."""
    language = text_of(building.folder.root("protocol"), "language") or ENGLISH
    layers = [decision for decision in (building.decisions or {}).values() if decision.is_layer]
    said = NOTHING_PLACED.get(language, ())
    words = {folded(text.format(layer=decision.label)) for text in said for decision in layers}
    for node in agents.values():
        label = get(node, "label")
        if label is not None and folded((label.text or "").rstrip(" .")) in words:
            building.find("schema", label, "label-of-nothing")


def _agent(building: Building, name: str, node: Node) -> Agent:
    blocks = []
    for item in listed(get(node, "blocks")):
        named = get(item, "irritant") if item.fields is not None else item
        irritant = building.name(named, building.irritants, "unknown-irritant")
        if irritant is not None:
            blocks.append(Block(irritant, read_amount(building, get(item, "thickness"), UNITS["mm"])))
    return Agent(
        id=name,
        label=text_of(node, "label") or name,
        classes=texts_of(node, "class"),
        span=node.place,
        blocks=tuple(blocks),
        emits=_irritants(building, get(node, "emits")),
        place=building.name(get(node, "place"), building.places, "unknown-place"),
    )


def _irritants(building: Building, node: Node | None) -> tuple[str, ...]:
    return tuple(name.id for name in building.names(node, building.irritants or {}, "unknown-irritant"))


def _exposures(building: Building, node: Node | None) -> tuple[Exposure, ...]:
    """The entries of `sources` or `barriers`."""
    return tuple(
        Exposure(
            when=read_when(building, get(entry, "when")),
            irritants=_irritants(building, get(entry, "irritants")),
            because=text_of(entry, "because"),
            cites=names_of(get(entry, "cites")),
            span=entry.span,
        )
        for entry in listed(node)
        if entry.fields is not None
    )


def _layers(building: Building, entry: Node, key: str) -> dict[str, tuple[str, ...]]:
    """The agents that an entry of `together` names under each layer decision."""
    decisions, found = building.decisions, dict[str, tuple[str, ...]]()
    layers = None if decisions is None else [d.id for d in decisions.values() if d.is_layer]
    building.without_decision(get(entry, key), key)
    for name, child in fields_of(entry, key).items():
        if building.known_key(name, child, layers, "unknown-layer-decision"):
            decision = decisions.get(name) if decisions else None
            found[name] = tuple(n.text or "" for n in listed(child) if agent_fits(building, n, decision))
    return found


def agent_fits(building: Building, node: Node, decision: Decision | None) -> bool:
    """Whether an agent is known and of the class of a layer decision; a finding (`unknown-name`) if not."""
    agents = building.agents
    if agents is None or decision is None or node.text is None:
        return node.text is not None
    fitting = [agent.id for agent in agents.values() if decision.layer in agent.classes]
    if node.text in agents and node.text not in fitting:
        building.find("unknown-name", node, "agent-of-other-class", label=agents[node.text].label,
                      layer=decision.layer, fitting=tuple(fitting), without="" if fitting else decision.layer,
                      agent=node.text)  # fmt: skip
        return False
    return building.known(node, fitting, "unknown-agent")
