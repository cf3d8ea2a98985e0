"""The part of the bundle that does not hang on the rules' tables: quantities, factors, decisions, agents, the chart."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from liningbook.exchange.outcomes import amount_json
from liningbook.meaning.chart import choose_layout
from liningbook.meaning.meaning import Meaning
from liningbook.model.protocol import Agent
from liningbook.model.rule import Decision, Factor
from liningbook.notation.quantity import UNITS, WRITTEN_OTHERWISE, Quantity, Unit, decimal_text

FORMAT = "liningbook-bundle"
VERSION = 1


def frame_of(meaning: Meaning) -> dict[str, Any]:
    """What cases are put in and answered with: units, factors, decisions, places, irritants and agents."""
    protocol = meaning.protocol
    return {
        "units": [_unit(unit) for unit in _units(meaning)],
        "factors": [_factor(meaning, factor) for factor in protocol.factors.values()],
        "decisions": [_decision(decision) for decision in protocol.decisions.values()],
        "places": _labels(protocol.places),
        "irritants": [
            without_empty({"id": i.id, "label": i.label, "acts_on": i.acts_on}) for i in protocol.irritants.values()
        ],
        "agents": [_agent(agent) for agent in protocol.agents.values()],
    }


def chart_of(meaning: Meaning) -> dict[str, Any]:
    """Which factor makes the bands of the chart and which its columns; nothing where there is no chart."""
    layout = choose_layout(meaning)
    if layout is None:
        return {}
    axes = meaning.space.axes
    return {"chart": {"bands": axes[layout.band_axis].factor.id, "columns": axes[layout.column_axis].factor.id}}


def _labels(table: Mapping[str, str]) -> list[dict[str, str]]:
    return [{"id": name, "label": label} for name, label in table.items()]


def _units(meaning: Meaning) -> list[Unit]:
    """All units of every kind of quantity in the protocol: a case may be told in any of them."""
    protocol = meaning.protocol
    answers = [answer for rule in meaning.rules for answer in rule.advise.values()]
    amounts = [answer.thickness for answer in answers]
    amounts += [block.thickness for agent in protocol.agents.values() for block in agent.blocks]
    kinds = {factor.unit.dimension for factor in protocol.factors.values() if factor.unit}
    kinds |= {amount.unit.dimension for amount in amounts if amount}
    kinds |= {answer.wait.unit.dimension for answer in answers if answer.wait}
    return [unit for unit in UNITS.values() if unit.dimension in kinds]


def _unit(unit: Unit) -> dict[str, Any]:
    return without_empty(
        {
            "code": unit.code,
            "symbol": unit.print_symbol(),
            "one": unit.print_symbol(one=True),
            "dimension": unit.dimension,
            "size": str(unit.size),
            "also_written": [text for text, code in WRITTEN_OTHERWISE.items() if code == unit.code],
        }
    )


def _factor(meaning: Meaning, factor: Factor) -> dict[str, Any]:
    found: dict[str, Any] = {"id": factor.id, "label": factor.label, "kind": factor.kind}
    if factor.always_ask:
        found["always_ask"] = True
    if factor.kind == "choice":
        found["values"] = _labels(factor.values)
    if factor.kind == "quantity" and factor.unit and factor.limits:
        found["unit"] = factor.unit.code
        found["symbol"] = factor.unit.print_symbol()
        found["at_least"] = str(Quantity(factor.limits.lower.value, factor.unit))
        found["at_most"] = str(Quantity(factor.limits.upper.value, factor.unit))
        if factor.step is not None:
            found["step"] = str(Quantity(factor.step, factor.unit))
        places = meaning.space.axes[meaning.space.index[factor.id]].places
        found["thresholds"] = [str(Quantity(value, factor.unit)) for value in sorted(places)]
        if factor.reading is not None:
            reading = factor.reading
            found["reading"] = without_empty(
                {
                    "method": reading.method,
                    "scale": decimal_text(reading.scale),
                    "offset": str(Quantity(reading.offset, factor.unit)),
                    "uncertainty": str(Quantity(reading.uncertainty, factor.unit)),
                    "guard_band": decimal_text(reading.guard_band),
                    "cautious": reading.cautious,
                }
            )
        if factor.judged is not None:
            uncertainty = str(Quantity(factor.judged.uncertainty, factor.unit))
            found["judged"] = {"uncertainty": uncertainty, "cautious": factor.judged.cautious}
    return found


def _decision(decision: Decision) -> dict[str, Any]:
    found: dict[str, Any] = {"id": decision.id, "label": decision.label}
    if decision.layer is not None:
        found["layer"] = decision.layer
    else:
        found["answers"] = _labels(decision.answers)
    if decision.needed_when is not None:
        found["needed_when"] = {decision.needed_when[0]: list(decision.needed_when[1])}
    return found


def _agent(agent: Agent) -> dict[str, Any]:
    blocks = [
        without_empty({"irritant": b.irritant, "thickness": amount_json(b.thickness) if b.thickness else None})
        for b in agent.blocks
    ]
    return without_empty(
        {
            "id": agent.id,
            "label": agent.label,
            "class": list(agent.classes),
            "blocks": blocks,
            "emits": list(agent.emits),
            "place": agent.place,
        }
    )


def without_empty(found: dict[str, Any]) -> dict[str, Any]:
    """The keys that say something."""
    return {key: value for key, value in found.items() if value not in (None, "", (), [], {})}
