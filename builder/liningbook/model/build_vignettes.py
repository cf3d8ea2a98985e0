"""`vignettes.yaml` to described cases with the advice they must get."""

from __future__ import annotations

from typing import Any

from liningbook.model.build_frame import answers_to
from liningbook.model.building import Building
from liningbook.model.protocol import Vignette
from liningbook.model.read_when import read_case
from liningbook.model.rule import Name
from liningbook.model.values import STATES
from liningbook.sources.node import Node, fields_of, get, listed, text_of


def build_vignettes(building: Building) -> dict[str, Any]:
    """The vignettes in their order."""
    context, decisions = building.context, building.decisions
    found = []
    for node in listed(building.folder.root("vignettes")):
        if node.fields is None or context.factors is None:
            continue
        values, numbers = read_case(context, context.factors, get(node, "case"))
        expect = {}
        for name, child in fields_of(node, "expect").items():
            if not context.known_key(name, child, decisions, "unknown-decision") or not decisions or child.text is None:
                continue
            known = answers_to(decisions[name], building.agents)
            words = None if known is None else [*known, "judgement", *STATES]
            if context.known(Node(child.text.strip(), child.span), words, "unknown-answer", of=name):
                expect[name] = Name(child.text.strip(), child.span)
        name_node = get(node, "name")
        place = name_node.span if name_node is not None else node.span
        found.append(Vignette(text_of(node, "name"), values, numbers, expect, place))
    return {"vignettes": tuple(found)}
