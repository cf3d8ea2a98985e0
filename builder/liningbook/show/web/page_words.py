"""What Python words for the look-up in the page, so that there is one wording: plain data for one JSON text.

The browser finds an answer's words by its decision and by the canonical JSON (RFC 8785) of the answer as the bundle
holds it; rules, factors and the entries of `together` by their id or their place in the bundle.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from liningbook.model.protocol import Protocol
from liningbook.model.rule import Evidence, Factor
from liningbook.say.amounts import unit_words
from liningbook.say.answers import STATES, barred_words, state_words
from liningbook.say.cases import labelled
from liningbook.say.grades import BASES, CERTAINTIES, CERTAINTY_MEANINGS, STRENGTHS, level, word
from liningbook.say.locale import unit_name
from liningbook.say.look_up.asked import reading_words, value_words, way_words
from liningbook.say.look_up.words import authors_words, script_words
from liningbook.say.outputs.rules import dissent_line
from liningbook.say.references import retracted_name
from liningbook.show.viewer import Viewer
from liningbook.show.views.answer_table import decision_words
from liningbook.show.web.page_questions import asked


def page_words(viewer: Viewer) -> dict[str, Any]:
    """The words for one edition: those of the language, its identity, factors, answers, rules, references, pairings."""
    protocol, who = viewer.protocol, viewer.identity()
    put = asked(protocol)
    return {
        **script_words(),
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
        "states": {**{state: state_words(state) for state in STATES}, **barred_words(protocol)},
        "factors": {
            name: {"asks": put.questions[name], "notes": put.notes.get(name, []), **_factor(viewer, factor)}
            for name, factor in protocol.factors.items()
        },
        "sets": [{"asks": words, "factors": names} for words, names in put.sets],
        "ask_first": put.first,
        "decisions": decision_words(viewer.meaning),
        **_rules(viewer),
        "certainties": {name: word(CERTAINTY_MEANINGS, name) for name in CERTAINTY_MEANINGS},
        "references": {str(number): _cited(protocol, name) for name, number in viewer.rules.reference_numbers.items()},
        "together": [labelled(fact.label, fact.text) for fact in viewer.lists.pairings(reasons=False)],
    }


def _cited(protocol: Protocol, name: str) -> str:
    """A reference in few words, and that it was retracted."""
    said = reference_name(protocol.references[name].data)
    return retracted_name(said) if name in protocol.retracted else said


def _rules(viewer: Viewer) -> dict[str, Any]:
    """The rules in the order of their numbers: id, place of the grade in `grades`, numbers of the references."""
    known = viewer.rules.reference_numbers
    by_id = {rule.id: rule for rule in viewer.meaning.rules}
    grades: dict[str, int] = {}
    rows = []
    for name in viewer.rules.numbers:
        evidence = by_id[name].evidence
        place = grades.setdefault(grade_words(evidence, len(by_id[name].dissent)), len(grades))
        rows.append([name, place, [known[cited.id] for cited in evidence.cites if cited.id in known]])
    return {"grades": list(grades), "rules": rows}


def _factor(viewer: Viewer, factor: Factor) -> dict[str, Any]:
    """How far a quantity goes, how its fields are called and how it is read off; nothing to say of a choice."""
    if factor.kind != "quantity" or factor.unit is None:
        return {}
    told, reading = viewer.lists.factor(factor), factor.reading
    unit = unit_words(factor.unit, Fraction(2))
    is_read = reading is not None and (
        reading.cautious is not None or not (reading.guard_band * reading.uncertainty or factor.step)
    )
    found: dict[str, Any] = {"values": told.values, "unit": unit, "value": value_words(is_read, unit)}
    found["write"] = unit_name(factor.unit.code) or unit
    if reading is not None:
        found["ways"] = way_words(reading.method, factor.unit.dimension == "length")
        found["reading"] = {**reading_words(unit), "taken": told.reading}
    return found


def grade_words(evidence: Evidence, dissents: int = 0) -> str:
    """What a rule rests on, on one line: `conditional recommendation, low certainty`, and how many do not agree."""
    parts = []
    if evidence.strength:
        parts.append(word(STRENGTHS, evidence.strength))
    if evidence.certainty:
        parts.append(word(CERTAINTIES, evidence.certainty))
    if evidence.level is not None:
        parts.append(level(evidence.level, evidence.question or "benefit"))
    if evidence.basis != "research" or not parts:
        parts.insert(0, word(BASES, evidence.basis))
    if dissents:
        parts.append(dissent_line(dissents))
    return ", ".join(parts)


def reference_name(data: Mapping[str, object]) -> str:
    """A reference by its first author and year, `Marlow 2019`; by its title where it has no author."""
    authors = data.get("author")
    names = [_family(person) for person in authors] if isinstance(authors, list) else []
    names = [name for name in names if name and name != "others"]
    who = names[0] if names else str(data.get("title", "") or data.get("id", ""))
    if isinstance(authors, list) and len(authors) > 1 and names:
        who = authors_words(names[0], names[1] if len(authors) == len(names) == 2 else "")
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
