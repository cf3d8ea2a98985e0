"""What Python words for the look-up in the page, so that there is one wording: plain data for one JSON text.

The browser finds an answer's words by its decision and by the canonical JSON (RFC 8785) of the answer as the bundle
holds it; rules, factors and the entries of `together` by their id or their place in the bundle.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from liningbook.digest import canonical
from liningbook.exchange.outcomes import answer_json
from liningbook.model.protocol import Answer, Decision, Evidence, Factor, Protocol
from liningbook.say import grades as evidence_words
from liningbook.say.amounts import amount_words, number_words, quantity_words
from liningbook.say.answers import answer_words, layer_details
from liningbook.show.terminal.report import STATE_WORDS
from liningbook.show.views.build_view import Viewer

_FILM = re.compile(r"radiograph|x-?ray|film|bitewing", re.IGNORECASE)


def page_words(viewer: Viewer) -> dict[str, Any]:
    """The words for one edition: its identity, its factors, decisions, answers, rules, references and pairings."""
    protocol, who = viewer.protocol, viewer.identity()
    return {
        "identity": {
            "title": who.title,
            "practice": who.practice,
            "edition": who.edition,
            "status": who.status_words,
            "review_by": who.review_by,
            "use_until": who.use_until,
            "digest": who.digest,
            "contact": who.contact,
            "cautions": list(who.cautions),
        },
        "states": dict(STATE_WORDS),
        "factors": {factor.id: _factor(viewer, factor) for factor in protocol.factors.values()},
        "decisions": {decision.id: _decision(viewer, decision) for decision in protocol.decisions.values()},
        **_rules(viewer),
        "certainties": {name: evidence_words.certainty_meaning(name) for name in evidence_words.CERTAINTY_MEANINGS},
        "references": {
            str(number): reference_name(protocol.references[name].data)
            for name, number in viewer.rules.reference_numbers.items()
        },
        "together": [f"{fact.label}: {fact.text}" for fact in viewer.lists.pairings(reasons=False)],
    }


def _rules(viewer: Viewer) -> dict[str, Any]:
    """The rules in the order of their numbers: id, place of the grade in `grades`, numbers of the references."""
    known = viewer.rules.reference_numbers
    by_id = {rule.id: rule for rule in viewer.meaning.rules}
    grades: dict[str, int] = {}
    rows = []
    for name in viewer.rules.numbers:
        evidence = by_id[name].evidence
        place = grades.setdefault(grade_words(evidence), len(grades))
        rows.append([name, place, [known[cited.id] for cited in evidence.cites if cited.id in known]])
    return {"grades": list(grades), "rules": rows}


def _factor(viewer: Viewer, factor: Factor) -> dict[str, str]:
    """How far a quantity goes and how it is read off; nothing to say of a choice."""
    if factor.kind != "quantity":
        return {}
    told = viewer.lists.factor(factor)
    found = {"values": told.values}
    if factor.reading is not None and factor.unit is not None:
        method = factor.reading.method
        found["read"] = "film reading" if _FILM.search(method) else "reading"
        found["how"] = told.reading
        found["uncertainty"] = number_words(factor.reading.uncertainty, factor.unit)
    return found


def _decision(viewer: Viewer, decision: Decision) -> dict[str, Any]:
    protocol = viewer.protocol
    opening = protocol.opening(decision.id)
    answers = {}
    for rule in viewer.meaning.rules:
        if decision.id in rule.advise:
            answer = rule.advise[decision.id]
            answers[answer_key(answer)] = _answer(protocol, decision, answer)
    return {
        "gate": opening is not None,
        "goes_on": sorted(opening or ()),
        "answers": dict(sorted(answers.items())),
    }


def answer_key(answer: Answer) -> str:
    """By what the browser finds an answer's words: the canonical JSON of the answer as the bundle holds it."""
    return canonical(answer_json(answer)).decode()


def _answer(protocol: Protocol, decision: Decision, answer: Answer) -> dict[str, Any]:
    """An answer's kind, the answer in full, and for a layer each of its parts with what it is about."""
    found: dict[str, Any] = {"kind": answer.kind, "words": answer_words(protocol, decision, answer)}
    if answer.kind == "judgement":
        found["why"] = answer.why
    if answer.kind == "layer":
        found["agent"] = protocol.agents[answer.name].label
        found["details"] = layer_details(protocol, answer)
        found["facts"] = _layer_facts(protocol, answer)
    return found


def _layer_facts(protocol: Protocol, answer: Answer) -> list[list[str]]:
    facts = []
    if place := answer.place or protocol.agents[answer.name].place:
        facts.append(["Where", protocol.places[place]])
    if answer.thickness:
        facts.append(["How thick", amount_words(answer.thickness)])
    if answer.coats is not None:
        facts.append(["Coats", str(answer.coats)])
    if answer.wait:
        facts.append(["Then wait", f"{quantity_words(answer.wait)} before the next layer"])
    facts += [
        ["Order", f"{word} the {protocol.decisions[other].label.lower()}"]
        for word, other in (("before", answer.before), ("after", answer.after))
        if other
    ]
    return facts


def grade_words(evidence: Evidence) -> str:
    """What a rule rests on, on one line: `conditional recommendation, low certainty`, or `good practice`."""
    parts = []
    if evidence.strength:
        parts.append(evidence_words.strength(evidence.strength))
    if evidence.certainty:
        parts.append(evidence_words.certainty(evidence.certainty))
    if evidence.level is not None:
        parts.append(evidence_words.level(evidence.level, evidence.question or "benefit"))
    if evidence.basis != "research" or not parts:
        parts.insert(0, evidence_words.basis(evidence.basis))
    return ", ".join(parts)


def reference_name(data: Mapping[str, object]) -> str:
    """A reference by its first author and year, `Marlow 2019`; by its title where it has no author."""
    authors = data.get("author")
    names = [_family(person) for person in authors] if isinstance(authors, list) else []
    names = [name for name in names if name and name != "others"]
    who = names[0] if names else str(data.get("title", "") or data.get("id", ""))
    if isinstance(authors, list) and len(authors) > 1 and names:
        who += f" and {names[1]}" if len(authors) == len(names) == 2 else " et al."
    return f"{who} {year}" if (year := _year(data)) else who


def _family(person: object) -> str:
    if not isinstance(person, dict):
        return ""
    particle = str(person.get("non-dropping-particle", "") or "")
    family = str(person.get("family", "") or person.get("literal", "") or "")
    return f"{particle} {family}".strip()


def _year(data: Mapping[str, object]) -> str:
    issued = data.get("issued")
    parts = issued.get("date-parts") if isinstance(issued, dict) else None
    first = parts[0] if isinstance(parts, list) and parts else None
    return str(first[0]) if isinstance(first, list) and first else ""
