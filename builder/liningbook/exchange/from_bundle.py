"""A rule bundle back to the sources that it was made from, as far as it holds them.

A bundle is a protocol on the days for which it holds; read on another day its rules all apply. What a bundle does not
hold (vignettes, accepted warnings, the card) plays no part in how a case is treated. JSON is also YAML, so the sources
are written as JSON and read like any others.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date
from typing import Any

from liningbook.digest import digest_of
from liningbook.resources import schema
from liningbook.say.command import stops
from liningbook.say.safety import STANDING_CAUTIONS

NOT_WRITTEN = ("id", "symbol", "thresholds")
"""Keys of an entry that the sources do not write: its name, and what follows from other keys."""


NAMED = ("factors", "decisions", "places", "irritants", "agents", "rules")
"""The lists whose entries have names that the sources give once."""


class NotABundle(Exception):
    """Why a file cannot be read as a bundle, in words for the user."""


def read_bundle(content: bytes, name: str) -> dict[str, Any]:
    """The bundle of a file, its shape, version and digest checked. Raises NotABundle."""
    try:
        bundle = json.loads(content.decode("utf-8-sig"), object_pairs_hook=_once)
    except (ValueError, RecursionError):
        raise NotABundle(stops.NO_JSON.format(name=name)) from None
    if not isinstance(bundle, dict) or bundle.get("format") != "liningbook-bundle":
        raise NotABundle(stops.NO_BUNDLE.format(name=name))
    if bundle.get("version") != 1:
        raise NotABundle(stops.OTHER_BUNDLE_VERSION.format(name=name, version=bundle.get("version")))
    _check(bundle, name)
    return bundle


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """An object whose keys stand once each: of a key that stands twice every reader could take another value."""
    found = dict(pairs)
    if len(found) != len(pairs):
        raise ValueError("a key stands twice")
    return found


def _check(bundle: dict[str, Any], name: str) -> None:
    import jsonschema_rs

    error = next(jsonschema_rs.Draft202012Validator(schema("bundle")).iter_errors(bundle), None)
    if error is not None:
        place = "/".join(map(str, error.instance_path)) or stops.ITS_TOP
        raise NotABundle(stops.BUNDLE_DAMAGED.format(name=name, place=place))
    protocol = bundle["protocol"]
    if any(entry["question"] >= len(protocol.get("stop_questions", ())) for entry in protocol.get("screens", ())):
        raise NotABundle(stops.BUNDLE_DAMAGED.format(name=name, place="protocol/screens"))
    if not _are_days(bundle["holds"]):
        raise NotABundle(stops.BUNDLE_DAMAGED.format(name=name, place="holds"))
    twice = next(_named_twice(bundle), None)
    if twice is not None:
        raise NotABundle(stops.BUNDLE_DAMAGED.format(name=name, place=twice))
    try:
        digest = digest_of(bundle)
    except ValueError as no:  # a number that no canonical form has
        raise NotABundle(stops.BUNDLE_WITHOUT_FORM.format(name=name, why=no)) from None
    if digest != bundle["digest"]:
        raise NotABundle(stops.BUNDLE_CHANGED.format(name=name))


def _are_days(holds: Mapping[str, str | None]) -> bool:
    """Whether a bundle's days exist, the first not after the last."""
    try:
        first, last = (date.fromisoformat(day) if day else None for day in (holds["from"], holds["until"]))
    except ValueError:
        return False
    return first is None or last is None or first <= last


def _named_twice(bundle: Mapping[str, Any]) -> Iterator[str]:
    """The place of every entry with the name of an earlier one of its list: as sources one would hide the other."""
    lists = {key: bundle.get(key, ()) for key in NAMED}
    for key, part in (("factors", "values"), ("decisions", "answers")):
        lists |= {f"{key}/{at}/{part}": entry.get(part, ()) for at, entry in enumerate(bundle[key])}
    for place, entries in lists.items():
        seen: set[str] = set()
        for at, entry in enumerate(entries):
            if entry["id"] in seen:
                yield f"{place}/{at}/id"
            seen.add(entry["id"])


def bundle_holds(bundle: Mapping[str, Any], day: date) -> bool:
    """Whether a bundle holds on a day."""
    first, last = bundle["holds"]["from"], bundle["holds"]["until"]
    return (first is None or first <= day.isoformat()) and (last is None or day.isoformat() <= last)


def sources_of(bundle: Mapping[str, Any], day: date) -> dict[str, str]:
    """The source files of a bundle, by path, with their texts. On a day on which it does not hold no rule has days."""
    known = {rule["id"] for rule in bundle["rules"]}
    frame = {**bundle["protocol"], "excluded": bundle.get("excluded", [])}
    # Approved were sources that a bundle does not hold in full: against what it holds a digest says nothing.
    approvals = [{key: value for key, value in entry.items() if key != "digest"} for entry in frame.get("approved", ())]
    frame |= {"approved": approvals} if approvals else {}
    frame.pop("held_as", None)
    own = [text for text in frame["cautions"] if text not in STANDING_CAUTIONS]
    frame["cautions"] = own or list(STANDING_CAUTIONS[:1])  # a protocol without any was a protocol once
    frame |= _asked_first(frame.get("stop_questions", ()), frame.pop("screens", ()))
    frame["factors"], frame["decisions"] = _by_name(bundle["factors"]), _by_name(bundle["decisions"])
    files = {"protocol.yaml": _text(frame), "materials.yaml": _text(_materials(bundle))}
    files["references.json"] = _text(bundle["references"])
    for rule in bundle["rules"]:
        unsaid = ("id", "why") if bundle_holds(bundle, day) else ("id", "why", "valid")
        head = {key: value for key, value in rule.items() if key not in unsaid}
        # The tables that a rule rests on are no part of a bundle, nor what is said of them.
        told = {key: value for key, value in rule["evidence"].items() if key not in ("tables", "because", "judged")}
        head |= {"evidence": {**told, **_judged(rule["evidence"])}}
        head["overrides"] = [name for name in rule.get("overrides", ()) if name in known]
        files[f"rules/{rule['id']}.md"] = f"---\n{_text(head)}---\n{rule.get('why', '')}\n"
    return files


def _judged(evidence: Mapping[str, Any]) -> dict[str, Any]:
    """What is lowered and raised, each with its sentence where it has one."""
    because = evidence.get("judged", {})
    return {
        field: {
            name: {"level": level, "because": because[name]} if name in because else level
            for name, level in evidence[field].items()
        }
        for field in ("lowered", "raised")
        if field in evidence
    }


def _text(value: Any) -> str:
    """One line of JSON: no line of it can be taken for the end of the front matter."""
    return json.dumps(value, ensure_ascii=False) + "\n"


def _labels(table: Iterable[Mapping[str, str]]) -> dict[str, str]:
    return {entry["id"]: entry["label"] for entry in table}


def _by_name(entries: Iterable[Mapping[str, Any]]) -> dict[str, dict[str, Any]]:
    """Entries by their names, values and answers as tables of labels."""
    return {
        entry["id"]: {
            key: _labels(value) if key in ("values", "answers") else "yes" if value is True else value
            for key, value in entry.items()
            if key not in NOT_WRITTEN
        }
        for entry in entries
    }


def _asked_first(questions: Sequence[str], screens: Iterable[Mapping[str, Any]]) -> dict[str, Any]:
    """The stop questions, each with the cases that it screens, if the bundle says so."""
    found: list[Any] = list(questions)
    for entry in screens:
        found[entry["question"]] = {"ask": questions[entry["question"]], "screens": entry["when"]}
    return {"stop_questions": found} if found else {}


def _materials(bundle: Mapping[str, Any]) -> dict[str, Any]:
    found: dict[str, Any] = {"places": _labels(bundle.get("places", ()))}
    found |= {key: _by_name(bundle.get(key, ())) for key in ("irritants", "agents")}
    found |= {key: bundle.get(key) for key in ("together", "sources", "barriers")}
    return {key: value for key, value in found.items() if value}
