"""`vignettes.yaml` to described cases with the advice they must get."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from liningbook.model.build_frame import answers_to
from liningbook.model.build_materials import agent_fits
from liningbook.model.building import Building
from liningbook.model.protocol import Vignette
from liningbook.model.rule import Factor, Name
from liningbook.model.values import STATES, NotAValue, read_value
from liningbook.sources.node import Node, fields_of, get, listed, text_of
from liningbook.sources.text import near


def build_vignettes(building: Building) -> dict[str, Any]:
    """The vignettes in their order."""
    found = []
    for node in listed(building.folder.root("vignettes")):
        if node.fields is None or building.factors is None:
            continue
        values, numbers = _case(building, building.factors, get(node, "case"))
        place = (get(node, "name") or node).span
        found.append(Vignette(text_of(node, "name"), values, numbers, _expected(building, node), place))
    return {"vignettes": tuple(found)}


def _expected(building: Building, node: Node) -> dict[str, Name]:
    decisions, expect = building.decisions, {}
    for name, child in fields_of(node, "expect").items():
        if not building.known_key(name, child, decisions, "unknown-decision") or not decisions or child.text is None:
            continue
        answer, known = Name(child.text.strip(), child.span), answers_to(building, decisions[name])
        if known is None or answer.id in (*known, "judgement", *STATES):
            expect[name] = answer
        elif decisions[name].is_layer and answer.id in (building.agents or {}):
            agent_fits(building, Node(answer.id, child.span), decisions[name])
        else:
            best = near(answer.id, [*known, "judgement", *STATES])
            building.find("unknown-name", child, "no-such-expectation", decision=name, name=answer.id, near=best,
                          known=tuple(known), states=STATES)  # fmt: skip
    return expect


def _case(
    building: Building, factors: dict[str, Factor], node: Node | None
) -> tuple[dict[str, str], dict[str, Fraction]]:
    """Every factor's value, and the numbers among them; a finding for what is missing or wrong."""
    values: dict[str, str] = {}
    numbers: dict[str, Fraction] = {}
    if node is None or node.fields is None:
        return values, numbers
    for name, child in node.fields.items():
        if not building.known_key(name, child, factors, "unknown-factor") or child.text is None:
            continue
        try:
            values[name], number = read_value(factors[name], child.text)
        except NotAValue as no:
            from liningbook.notation.written_range import range_meant

            if range_meant(child.text):
                building.find(no.kind, child, "not-one-value", written=child.text)
            building.find(no.kind, child, no.what, **no.given)
            continue
        if number is not None:
            numbers[name] = number
    meant = {near(name, factors) for name in node.fields if name not in factors}
    missing = tuple(name for name in factors if name not in node.fields and name not in meant)
    if missing:
        building.find("schema", node.place, "case-incomplete", missing=missing)
    return values, numbers
