"""`materials.yaml` to agents, irritants, places, pairings, sources and barriers."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from liningbook.model.build_values import (
    STATES,
    Context,
    get,
    listed,
    names_of,
    read_amount,
    read_when,
    text_of,
    texts_of,
)
from liningbook.model.protocol import Agent, Block, Decision, Exposure, Irritant, Pairing
from liningbook.notation.quantity import UNITS
from liningbook.sources.yaml_nodes import Node, one_line


@dataclass(frozen=True)
class Materials:
    """What `materials.yaml` says that needs neither factors nor decisions. `None` stands for what cannot be read."""

    places: dict[str, str] = field(default_factory=dict)
    irritants: dict[str, Irritant] = field(default_factory=dict)
    agents: dict[str, Agent] | None = None


def read_materials(context: Context, root: Node | None) -> Materials:
    """Places, irritants and agents."""
    places_node, irritants_node, agents_node = get(root, "places"), get(root, "irritants"), get(root, "agents")
    places = {}
    if places_node is not None and places_node.fields is not None:
        places = {name: one_line(child.text or "") or name for name, child in places_node.fields.items()}
    irritants = {}
    if irritants_node is not None and irritants_node.fields is not None:
        for name, child in irritants_node.fields.items():
            acts_on = _place(context, get(child, "acts_on"), places)
            irritants[name] = Irritant(name, text_of(child, "label") or name, acts_on, child.key_span or child.span)
    if agents_node is None or agents_node.fields is None:
        return Materials(places, irritants, None)
    for name, child in agents_node.fields.items():
        context.taken(child, name, (*STATES, "none", "judgement"))
    context.broken |= {name for name, child in agents_node.fields.items() if child.fields is None}
    agents = {
        name: _agent(context, name, child, places, irritants)
        for name, child in agents_node.fields.items()
        if child.fields is not None
    }
    return Materials(places, irritants, agents)


def _place(context: Context, node: Node | None, places: Mapping[str, str]) -> str | None:
    if node is None or node.text is None or not context.known(node, places, "place"):
        return None
    return node.text


def _agent(
    context: Context, name: str, node: Node, places: Mapping[str, str], irritants: Mapping[str, Irritant]
) -> Agent:
    blocks = []
    for item in listed(get(node, "blocks")):
        named = get(item, "irritant") if item.fields is not None else item
        if named is None or named.text is None or not context.known(named, irritants, "irritant"):
            continue
        blocks.append(Block(named.text, read_amount(context, get(item, "thickness"), UNITS["mm"])))
    return Agent(
        id=name,
        label=text_of(node, "label") or name,
        classes=texts_of(node, "class"),
        span=node.key_span or node.span,
        blocks=tuple(blocks),
        emits=read_irritants(context, get(node, "emits"), irritants),
        place=_place(context, get(node, "place"), places),
    )


def read_irritants(context: Context, node: Node | None, irritants: Iterable[str]) -> tuple[str, ...]:
    """The irritants in a list; a finding for each that is not known."""
    known = list(irritants)
    return tuple(n.id for n in names_of(node) if context.known(Node(n.id, n.span), known, "irritant"))


def read_exposures(context: Context, root: Node | None, key: str, irritants: Iterable[str]) -> tuple[Exposure, ...]:
    """The entries of `sources` or `barriers`."""
    return tuple(
        Exposure(
            when=read_when(context, get(node, "when")),
            irritants=read_irritants(context, get(node, "irritants"), irritants),
            because=text_of(node, "because"),
            cites=names_of(get(node, "cites")),
            span=node.span,
        )
        for node in listed(get(root, key))
        if node.fields is not None
    )


def read_pairings(
    context: Context, root: Node | None, decisions: Mapping[str, Decision] | None, agents: Mapping[str, Agent] | None
) -> tuple[Pairing, ...]:
    """The entries of `together`."""
    return tuple(
        Pairing(
            having=_layers(context, get(node, "with"), decisions, agents),
            require=_layers(context, get(node, "require"), decisions, agents),
            forbid=_layers(context, get(node, "forbid"), decisions, agents),
            when=read_when(context, get(node, "when")),
            because=text_of(node, "because"),
            cites=names_of(get(node, "cites")),
            span=node.span,
        )
        for node in listed(get(root, "together"))
        if node.fields is not None
    )


def _layers(
    context: Context,
    node: Node | None,
    decisions: Mapping[str, Decision] | None,
    agents: Mapping[str, Agent] | None,
) -> dict[str, tuple[str, ...]]:
    found: dict[str, tuple[str, ...]] = {}
    layers = None if decisions is None else [d.id for d in decisions.values() if d.is_layer]
    for name, child in ((node.fields or {}) if node is not None else {}).items():
        if not context.known_key(name, child, layers, "layer decision"):
            continue
        decision = decisions.get(name) if decisions else None
        good = [n for n in names_of(child) if agent_fits(context, Node(n.id, n.span), decision, agents)]
        found[name] = tuple(n.id for n in good)
    return found


def agent_fits(context: Context, node: Node, decision: Decision | None, agents: Mapping[str, Agent] | None) -> bool:
    """Whether an agent is known and of the class of a layer decision; a finding (`unknown-name`) if not."""
    if agents is None or decision is None or node.text is None:
        return node.text is not None
    fitting = [a.id for a in agents.values() if decision.layer in a.classes]
    if node.text in agents and node.text not in fitting:
        context.find("unknown-name", node, f"{agents[node.text].label} is no {decision.layer}",
                     f"choose an agent whose class is {decision.layer}: {', '.join(fitting) or 'there is none yet'}",
                     f"or add {decision.layer} to the class of {node.text} in materials.yaml")  # fmt: skip
        return False
    return context.known(node, fitting, "agent")
