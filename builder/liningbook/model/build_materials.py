"""`materials.yaml` to agents, irritants, places, pairings, sources and barriers."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from liningbook.model.building import Building
from liningbook.model.context import Context
from liningbook.model.protocol import Agent, Block, Exposure, Irritant, Pairing
from liningbook.model.read_values import names_of, read_amount
from liningbook.model.read_when import read_when
from liningbook.model.rule import Decision
from liningbook.model.values import STATES
from liningbook.notation.quantity import UNITS
from liningbook.sources.node import Node, fields_of, get, labels_of, listed, text_of, texts_of


def define_materials(building: Building) -> None:
    """Places, irritants and agents, which need neither factors nor decisions."""
    context, root = building.context, building.folder.root("materials")
    if root is None:
        return
    agents, places, irritants = get(root, "agents"), labels_of(root, "places"), {}
    for name, child in fields_of(root, "irritants").items():
        acts_on = _place(context, get(child, "acts_on"), places)
        irritants[name] = Irritant(name, text_of(child, "label") or name, acts_on, child.place)
    building.places, building.irritants = places, irritants
    if agents is None or agents.fields is None:
        return
    for name, child in agents.fields.items():
        context.taken(child, name, (*STATES, "none", "judgement"))
    context.broken |= {name for name, child in agents.fields.items() if child.fields is None}
    building.agents = {
        name: _agent(context, name, child, places, irritants)
        for name, child in agents.fields.items()
        if child.fields is not None
    }


def build_materials(building: Building) -> dict[str, Any]:
    """Agents, irritants and places, and the entries of `together`, `sources` and `barriers`."""
    context, root, irritants = building.context, building.folder.root("materials"), building.irritants or {}
    return {
        "places": building.places or {},
        "irritants": irritants,
        "agents": building.agents or {},
        "pairings": _pairings(building, root),
        "sources": _exposures(context, root, "sources", irritants),
        "barriers": _exposures(context, root, "barriers", irritants),
    }


def _place(context: Context, node: Node | None, places: Mapping[str, str]) -> str | None:
    if node is None or node.text is None or not context.known(node, places, "unknown-place"):
        return None
    return node.text


def _agent(
    context: Context, name: str, node: Node, places: Mapping[str, str], irritants: Mapping[str, Irritant]
) -> Agent:
    blocks = []
    for item in listed(get(node, "blocks")):
        named = get(item, "irritant") if item.fields is not None else item
        if named is None or named.text is None or not context.known(named, irritants, "unknown-irritant"):
            continue
        blocks.append(Block(named.text, read_amount(context, get(item, "thickness"), UNITS["mm"])))
    return Agent(
        id=name,
        label=text_of(node, "label") or name,
        classes=texts_of(node, "class"),
        span=node.place,
        blocks=tuple(blocks),
        emits=_irritants(context, get(node, "emits"), irritants),
        place=_place(context, get(node, "place"), places),
    )


def _irritants(context: Context, node: Node | None, irritants: Iterable[str]) -> tuple[str, ...]:
    """The irritants in a list; a finding for each that is not known."""
    known = list(irritants)
    return tuple(n.id for n in names_of(node) if context.known(Node(n.id, n.span), known, "unknown-irritant"))


def _exposures(context: Context, root: Node | None, key: str, irritants: Iterable[str]) -> tuple[Exposure, ...]:
    """The entries of `sources` or `barriers`."""
    return tuple(
        Exposure(
            when=read_when(context, get(node, "when")),
            irritants=_irritants(context, get(node, "irritants"), irritants),
            because=text_of(node, "because"),
            cites=names_of(get(node, "cites")),
            span=node.span,
        )
        for node in listed(get(root, key))
        if node.fields is not None
    )


def _pairings(building: Building, root: Node | None) -> tuple[Pairing, ...]:
    """The entries of `together`."""
    return tuple(
        Pairing(
            having=_layers(building, get(node, "with")),
            require=_layers(building, get(node, "require")),
            forbid=_layers(building, get(node, "forbid")),
            when=read_when(building.context, get(node, "when")),
            because=text_of(node, "because"),
            cites=names_of(get(node, "cites")),
            span=node.span,
        )
        for node in listed(get(root, "together"))
        if node.fields is not None
    )


def _layers(building: Building, node: Node | None) -> dict[str, tuple[str, ...]]:
    context, decisions = building.context, building.decisions
    found: dict[str, tuple[str, ...]] = {}
    layers = None if decisions is None else [d.id for d in decisions.values() if d.is_layer]
    for name, child in fields_of(node).items():
        if not context.known_key(name, child, layers, "unknown-layer-decision"):
            continue
        decision = decisions.get(name) if decisions else None
        good = [n for n in names_of(child) if agent_fits(context, Node(n.id, n.span), decision, building.agents)]
        found[name] = tuple(n.id for n in good)
    return found


def agent_fits(context: Context, node: Node, decision: Decision | None, agents: Mapping[str, Agent] | None) -> bool:
    """Whether an agent is known and of the class of a layer decision; a finding (`unknown-name`) if not."""
    if agents is None or decision is None or node.text is None:
        return node.text is not None
    fitting = [a.id for a in agents.values() if decision.layer in a.classes]
    if node.text in agents and node.text not in fitting:
        context.find("unknown-name", node, "agent-of-other-class", label=agents[node.text].label, layer=decision.layer,
                     fitting=tuple(fitting), without="" if fitting else decision.layer, agent=node.text)  # fmt: skip
        return False
    return context.known(node, fitting, "unknown-agent")
