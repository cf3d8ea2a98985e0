"""The machine-readable rule bundle: everything needed to answer a case with no other file.

Its digest is the SHA-256 of its canonical form (RFC 8785, JSON Canonicalization Scheme) without the digest itself.
Numbers with a unit are texts; `coats`, grades and levels are the only numbers. Order is carried by lists, never by
keys.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from datetime import date, timedelta
from typing import Any

from liningbook.analysis import Analysis
from liningbook.digest import canonical, digest_of
from liningbook.exchange.outcomes import amount_json, answer_json, outcome_json
from liningbook.finding import Severity
from liningbook.meaning.chart import choose_layout
from liningbook.meaning.meaning import Meaning
from liningbook.meaning.table import table_of
from liningbook.model.protocol import (
    Agent,
    Decision,
    Evidence,
    Exposure,
    Factor,
    Pairing,
    Protocol,
    Rule,
    When,
)
from liningbook.notation.quantity import UNITS, WRITTEN_OTHERWISE, Quantity, Unit, decimal_text
from liningbook.say.safety import STANDING_CAUTIONS

__all__ = ["FORMAT", "VERSION", "bundle_bytes", "bundle_of", "canonical", "chart_of", "digest_of", "frame_of"]

FORMAT = "liningbook-bundle"
VERSION = 1


def bundle_of(analysis: Analysis) -> dict[str, Any]:
    """The bundle with its digest, as plain values."""
    protocol, meaning = analysis.protocol, analysis.meaning
    assert protocol is not None and meaning is not None
    found: dict[str, Any] = {
        "format": FORMAT,
        "version": VERSION,
        "draft": any(finding.severity is Severity.ERROR for finding in analysis.findings),
        "protocol": _particulars(protocol),
        "holds": _holds(meaning),
        **frame_of(meaning),
        "together": [_pairing(meaning, pairing) for pairing in protocol.pairings],
        "sources": [_exposure(meaning, entry) for entry in protocol.sources],
        "barriers": [_exposure(meaning, entry) for entry in protocol.barriers],
        "excluded": [
            _without_empty({"when": _when(meaning, e.when), "because": e.because, "instead": e.instead})
            for e in protocol.excluded
        ],
        "rules": [_rule(meaning, rule) for rule in meaning.rules],
        "tables": [
            {
                "decision": decision,
                "rows": [
                    {"when": meaning.space.notation(row.box), **outcome_json(row.outcome)}
                    for row in table_of(meaning, decision)
                ],
            }
            for decision in protocol.decisions
        ],
        **chart_of(meaning),
        "references": [dict(entry.data, id=name) for name, entry in sorted(protocol.references.items())],
    }
    found["digest"] = digest_of(found)
    return found


def frame_of(meaning: Meaning) -> dict[str, Any]:
    """What cases are put in and answered with: units, factors, decisions, places, irritants and agents."""
    protocol = meaning.protocol
    return {
        "units": [_unit(unit) for unit in _units(meaning)],
        "factors": [_factor(meaning, factor) for factor in protocol.factors.values()],
        "decisions": [_decision(decision) for decision in protocol.decisions.values()],
        "places": _labels(protocol.places),
        "irritants": [
            _without_empty({"id": i.id, "label": i.label, "acts_on": i.acts_on}) for i in protocol.irritants.values()
        ],
        "agents": [_agent(agent) for agent in protocol.agents.values()],
    }


def bundle_bytes(bundle: Mapping[str, Any]) -> bytes:
    """The bundle as a file: UTF-8, one value a line."""
    return (json.dumps(bundle, ensure_ascii=False, indent=1) + "\n").encode()


def _without_empty(found: dict[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in found.items() if value not in (None, "", (), [], {})}


def _day(day: date | None) -> str | None:
    return day.isoformat() if day else None


def _labels(table: Mapping[str, str]) -> list[dict[str, str]]:
    return [{"id": name, "label": label} for name, label in table.items()]


def _particulars(protocol: Protocol) -> dict[str, Any]:
    return _without_empty(
        {
            "title": protocol.title,
            "practice": protocol.practice,
            "edition": protocol.edition,
            "status": protocol.status,
            "in_force_from": _day(protocol.in_force_from),
            "review_by": _day(protocol.review_by.on),
            "authors": [{"name": p.name, "role": p.role, "interests": p.interests} for p in protocol.authors],
            "approved": [{"name": p.name, "role": p.role, "on": _day(p.on)} for p in protocol.approved],
            "scope": protocol.scope,
            "cautions": [*protocol.cautions, *STANDING_CAUTIONS],
            "contact": protocol.contact,
            "stop_questions": list(protocol.stop_questions),
            "site_address": protocol.site_address,
            "evidence_scheme": protocol.scheme,
        }
    )


def _holds(meaning: Meaning) -> dict[str, str | None]:
    """The days around the one looked at on which the same rules are valid; `None` is without end."""
    starts: list[date] = []
    ends: list[date] = []
    for rule in meaning.protocol.rules.values():
        if rule.valid_from is not None and rule.valid_from <= meaning.day:
            starts.append(rule.valid_from)
        elif rule.valid_from is not None:
            ends.append(rule.valid_from - timedelta(days=1))
        if rule.valid_until is not None and rule.valid_until < meaning.day:
            starts.append(rule.valid_until + timedelta(days=1))
        elif rule.valid_until is not None:
            ends.append(rule.valid_until)
    return {"from": _day(max(starts, default=None)), "until": _day(min(ends, default=None))}


def chart_of(meaning: Meaning) -> dict[str, Any]:
    """Which factor makes the bands of the chart and which its columns; nothing where there is no chart."""
    layout = choose_layout(meaning)
    if layout is None:
        return {}
    axes = meaning.space.axes
    return {"chart": {"bands": axes[layout.band_axis].factor.id, "columns": axes[layout.column_axis].factor.id}}


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
    return _without_empty(
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
            found["reading"] = _without_empty(
                {
                    "method": reading.method,
                    "scale": decimal_text(reading.scale),
                    "offset": str(Quantity(reading.offset, factor.unit)),
                    "uncertainty": str(Quantity(reading.uncertainty, factor.unit)),
                    "guard_band": decimal_text(reading.guard_band),
                    "cautious": reading.cautious,
                }
            )
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
        _without_empty({"irritant": b.irritant, "thickness": amount_json(b.thickness) if b.thickness else None})
        for b in agent.blocks
    ]
    return _without_empty(
        {
            "id": agent.id,
            "label": agent.label,
            "class": list(agent.classes),
            "blocks": blocks,
            "emits": list(agent.emits),
            "place": agent.place,
        }
    )


def _when(meaning: Meaning, when: When) -> list[dict[str, Any]]:
    """A `when` in the notation of the sources: a list of mappings, any of which may hold."""
    return [meaning.space.notation(meaning.space.box(conditions)) for conditions in when]


def _names(table: Mapping[str, Iterable[str]]) -> dict[str, list[str]]:
    return {layer: list(names) for layer, names in table.items()}


def _pairing(meaning: Meaning, pairing: Pairing) -> dict[str, Any]:
    return _without_empty(
        {
            "with": _names(pairing.having),
            "require": _names(pairing.require),
            "forbid": _names(pairing.forbid),
            "when": _when(meaning, pairing.when),
            "because": pairing.because,
            "cites": [name.id for name in pairing.cites],
        }
    )


def _exposure(meaning: Meaning, entry: Exposure) -> dict[str, Any]:
    return _without_empty(
        {
            "when": _when(meaning, entry.when),
            "irritants": list(entry.irritants),
            "because": entry.because,
            "cites": [name.id for name in entry.cites],
        }
    )


def _rule(meaning: Meaning, rule: Rule) -> dict[str, Any]:
    valid = _without_empty({"from": _day(rule.valid_from), "until": _day(rule.valid_until)})
    return _without_empty(
        {
            "id": rule.id,
            "title": rule.title,
            "when": _when(meaning, rule.when),
            "advise": {name: answer_json(answer) for name, answer in rule.advise.items()},
            "avoid": {name: [n.id for n in names] for name, names in rule.avoid.items()},
            "never": {name: [n.id for n in names] for name, names in rule.never.items()},
            "overrides": [name.id for name in rule.overrides],
            "evidence": _evidence(rule.evidence),
            "valid": valid,
            "review_by": _day(rule.review_by.on) if rule.review_by else None,
            "why": rule.body.strip(),
        }
    )


def _evidence(evidence: Evidence) -> dict[str, Any]:
    adjusted = None
    if evidence.adjusted:
        adjusted = {"to": evidence.adjusted.to, "because": evidence.adjusted.because}
    return _without_empty(
        {
            "basis": evidence.basis,
            "certainty": evidence.certainty,
            "strength": evidence.strength,
            "design": evidence.design,
            "lowered": dict(evidence.lowered),
            "raised": dict(evidence.raised),
            "level": evidence.level,
            "question": evidence.question,
            "adjusted": adjusted,
            "note": evidence.note,
            "cites": [name.id for name in evidence.cites],
        }
    )
