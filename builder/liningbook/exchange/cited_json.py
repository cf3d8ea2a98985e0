"""What rests on a work, as JSON (`cited --format json`)."""

from __future__ import annotations

from typing import Any

from liningbook.control.cited import CitedWork, Portion
from liningbook.finding import Span
from liningbook.meaning.meaning import Meaning
from liningbook.resources import ENGLISH
from liningbook.say.catalogue import speaking
from liningbook.say.references import format_reference
from liningbook.space.share import share_text


def cited_json(meaning: Meaning, work: CitedWork) -> dict[str, Any]:
    """The work, what rests on it with its places, and the cases by decision, in the notation of the sources."""
    with speaking(ENGLISH):
        text = format_reference(work.reference.data)
    tables = {rule.id: [name.id for name in names] for rule, names in work.resting.through}
    places = {rule.id: name.span for rule, name in work.resting.rules}
    return {
        "reference": work.reference.id,
        "also_listed_as": list(work.also),
        "text": text,
        "retracted": _retracted(work),
        "title_asks": work.is_asked,
        "on": meaning.day.isoformat(),
        "rules": [
            {
                "rule": rule.id,
                "title": rule.title,
                "cites": rule.id in places,
                "tables": tables.get(rule.id, []),
                "in_force": rule in work.in_force,
                **_at(places.get(rule.id, rule.span)),
            }
            for rule in work.resting.all_rules
        ],
        "materials": [
            {"table": table, "entry": number, **_at(name.span)} for table, number, name in work.resting.entries
        ],
        "studies": [
            {"table": table.id, "outcome": outcome.id, **_at(study.places["study"])}
            for table, outcome, study in work.resting.studies
        ],
        "decisions": {
            decided.decision: {"advises": _part(meaning, decided.advises), "only": _part(meaning, decided.only)}
            for decided in work.decisions
        },
    }


def _retracted(work: CitedWork) -> dict[str, Any] | None:
    if work.retraction is None:
        return None
    listed = work.retraction.listed
    said: dict[str, Any] = {key: text for key in ("on", "because") if (text := getattr(work.retraction, key))}
    return {**said, "listed": {"file": listed[0], "row": listed[1]}} if listed else said


def _at(span: Span) -> dict[str, Any]:
    return {"file": span.file, "line": span.line, "column": span.column}


def _part(meaning: Meaning, part: Portion) -> dict[str, Any]:
    if part.region is None:
        return {"complete": False}
    found: dict[str, Any] = {"cases": [meaning.space.notation(box) for box in part.region.boxes]}
    return found if part.share is None else {**found, "share": share_text(part.share, upwards=True)}
