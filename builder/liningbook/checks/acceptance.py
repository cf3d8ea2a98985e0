"""Warnings that the practice has looked at and accepts (`accepted` in protocol.yaml)."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from liningbook.checks.facts import cases_of
from liningbook.checks.inquiry import Inquiry
from liningbook.finding import About, Finding, Severity
from liningbook.model.protocol import Acceptance


def mark_accepted(inquiry: Inquiry, findings: Iterable[Finding]) -> list[Finding]:
    """The findings, those accepted marked so.

    A warning or note is accepted if each of its cases lies in the `when` of an entry of its kind that is in force on
    the day; one that speaks of no cases needs an entry of its kind without `when`. Errors are never accepted. One that
    was accepted until a day that is past is marked with the entries that are in force no more.
    """
    return [_marked(inquiry, finding) for finding in findings]


def _marked(inquiry: Inquiry, finding: Finding) -> Finding:
    if finding.severity is Severity.ERROR:
        return finding
    entries = [entry for entry in inquiry.protocol.accepted if _is_about(entry, finding)]
    day = finding.fact.about().on or inquiry.day
    in_force = [entry for entry in entries if entry.until is None or entry.until >= day]
    if _cover(inquiry, in_force, finding):
        return replace(finding, accepted=tuple(in_force))
    if len(in_force) < len(entries) and _cover(inquiry, entries, finding):
        return replace(finding, lapsed=tuple(entry for entry in entries if entry not in in_force))
    return finding


def _cover(inquiry: Inquiry, entries: Sequence[Acceptance], finding: Finding) -> bool:
    cases = cases_of(finding)
    if cases is not None and cases.region:
        allowed = [box for entry in entries for box in inquiry.meaning.space.boxes(entry.when)]
        return cases.region.is_within(allowed)
    return any(conditions.conditions == {} for entry in entries for conditions in entry.when)


def _is_about(entry: Acceptance, finding: Finding) -> bool:
    about = finding.fact.about()
    if entry.kind != finding.kind:
        return False
    for key, wanted in entry.narrowed.items():
        if key == "rules":
            if not set(about.rules).issuperset(_words(wanted)):
                return False
        elif key == "file":
            if finding.span.file != wanted:
                return False
        elif wanted not in _named(about, key):
            return False
    return True


def _named(about: About, key: str) -> tuple[str, ...]:
    """What a finding is about by one of the keys; several factors and decisions may stand in a list."""
    own = about.decision if key == "decision" else about.further.get(key, "")
    return (str(own), *about.further.get(f"{key}s", ()))


def _words(value: object) -> tuple[str, ...]:
    return value if isinstance(value, tuple) else (str(value),)
