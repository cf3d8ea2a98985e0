"""The machine-readable rule bundle: everything needed to answer a case with no other file.

Its digest is the SHA-256 of its canonical form (RFC 8785, JSON Canonicalization Scheme) without the digest itself.
Numbers with a unit are texts; `coats`, grades and levels are the only numbers. Order is carried by lists, never by
keys.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any

from liningbook.analysis import Analysis
from liningbook.digest import digest_of
from liningbook.exchange.frame import FORMAT, VERSION, chart_of, frame_of, without_empty
from liningbook.exchange.outcomes import answer_json, outcome_json
from liningbook.finding import Severity
from liningbook.meaning.meaning import Meaning
from liningbook.meaning.table import table_of
from liningbook.model.edition import days_of_rules, status_held
from liningbook.model.protocol import Approval, Exposure, Pairing, Person
from liningbook.model.rule import Evidence, Rule, When
from liningbook.say.safety import STANDING_CAUTIONS


def bundle_of(analysis: Analysis) -> dict[str, Any]:
    """The bundle with its digest, as plain values."""
    protocol, meaning = analysis.protocol, analysis.meaning
    assert protocol is not None and meaning is not None
    found: dict[str, Any] = {
        "format": FORMAT,
        "version": VERSION,
        "draft": any(finding.severity is Severity.ERROR for finding in analysis.findings),
        "protocol": _particulars(meaning),
        "holds": _holds(meaning),
        **frame_of(meaning),
        "together": [_pairing(meaning, pairing) for pairing in protocol.pairings],
        "sources": [_exposure(meaning, entry) for entry in protocol.sources],
        "barriers": [_exposure(meaning, entry) for entry in protocol.barriers],
        "excluded": [
            without_empty({"when": _when(meaning, e.when), "because": e.because, "instead": e.instead})
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


def bundle_bytes(bundle: Mapping[str, Any]) -> bytes:
    """The bundle as a file: UTF-8, one value a line."""
    return (json.dumps(bundle, ensure_ascii=False, indent=1) + "\n").encode()


def _day(day: date | None) -> str | None:
    return day.isoformat() if day else None


def _particulars(meaning: Meaning) -> dict[str, Any]:
    protocol = meaning.protocol
    return without_empty(
        {
            "title": protocol.title,
            "practice": protocol.practice,
            "edition": protocol.edition,
            "status": protocol.status,
            # Who evaluates the bundle cannot tell that one in force is to be taken for a draft.
            "held_as": held if (held := status_held(protocol)) != protocol.status else "",
            "in_force_from": _day(protocol.in_force_from),
            "review_by": _day(protocol.review_by.on),
            "authors": [_author(person) for person in protocol.authors],
            "approved": [_approval(p) for p in protocol.approved],
            "scope": protocol.scope,
            "cautions": [*protocol.cautions, *STANDING_CAUTIONS],
            "contact": protocol.contact,
            "stop_questions": list(protocol.asked_first),
            "screens": [
                {"question": number, "when": _when(meaning, question.screens)}
                for number, question in enumerate(protocol.stop_questions)
                if question.screens is not None
            ],
            "site_address": protocol.site_address,
            "evidence_scheme": protocol.scheme,
            "rating_up": protocol.rating_up if protocol.rating_up != "current" else None,
        }
    )


def _author(person: Person) -> dict[str, str]:
    said = {"name": person.name, "role": person.role, "interests": person.interests}
    return {**said, "orcid": person.orcid} if person.orcid else said


def _approval(approval: Approval) -> dict[str, Any]:
    said = {"name": approval.name, "role": approval.role, "on": _day(approval.on), "digest": approval.digest}
    return without_empty(said)


def _holds(meaning: Meaning) -> dict[str, str | None]:
    """The days around the one looked at on which the same rules are valid; `None` is without end."""
    first, last = days_of_rules(meaning.protocol, meaning.day)
    return {"from": _day(first), "until": _day(last)}


def _when(meaning: Meaning, when: When) -> list[dict[str, Any]]:
    """A `when` in the notation of the sources: a list of mappings, any of which may hold."""
    return [meaning.space.notation(meaning.space.box(conditions)) for conditions in when]


def _names(table: Mapping[str, Iterable[str]]) -> dict[str, list[str]]:
    return {layer: list(names) for layer, names in table.items()}


def _pairing(meaning: Meaning, pairing: Pairing) -> dict[str, Any]:
    return without_empty(
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
    return without_empty(
        {
            "when": _when(meaning, entry.when),
            "irritants": list(entry.irritants),
            "because": entry.because,
            "cites": [name.id for name in entry.cites],
        }
    )


def _rule(meaning: Meaning, rule: Rule) -> dict[str, Any]:
    valid = without_empty({"from": _day(rule.valid_from), "until": _day(rule.valid_until)})
    return without_empty(
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
            "dissent": [{"name": one.name, "reason": one.reason} for one in rule.dissent],
            "why": rule.body.strip(),
        }
    )


def _evidence(evidence: Evidence) -> dict[str, Any]:
    adjusted = None
    if evidence.adjusted:
        moved = evidence.adjusted
        adjusted = without_empty({"to": moved.to, "because": moved.because, "for": moved.reason})
    situation = None
    if (stated := evidence.situation) is not None:
        about: dict[str, str] = {stated.way: stated.about} if stated.way else {}
        situation = without_empty({"name": stated.name, "benefit": stated.benefit, "harm": stated.harm, **about})
    return without_empty(
        {
            "basis": evidence.basis,
            "certainty": evidence.certainty,
            "strength": evidence.strength,
            "design": evidence.design,
            "lowered": dict(evidence.lowered),
            "raised": dict(evidence.raised),
            "judged": {name: one.because for name, one in evidence.judged.items() if one.because},
            "risk_of_bias_tool": evidence.risk_of_bias_tool,
            "setting": evidence.setting,
            "situation": situation,
            "good_practice": dict(evidence.good_practice),
            "level": evidence.level,
            "question": evidence.question,
            "adjusted": adjusted,
            "note": evidence.note,
            "cites": [name.id for name in evidence.cites],
            "tables": [name.id for name in evidence.tables],
            "because": evidence.because,
        }
    )
