"""Warnings that the practice has looked at and accepts (`accepted` in protocol.yaml)."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from liningbook.checks.facts import cases_of
from liningbook.checks.inquiry import Inquiry
from liningbook.finding import Finding, Severity
from liningbook.model.protocol import Acceptance


def mark_accepted(inquiry: Inquiry, findings: Iterable[Finding]) -> list[Finding]:
    """The findings, those accepted marked so.

    A warning or note is accepted if each of its cases lies in the `when` of an entry of its kind that is in force on
    the day; one that speaks of no cases needs an entry of its kind without `when`. Errors are never accepted.
    """
    return [_marked(inquiry, finding) for finding in findings]


def _marked(inquiry: Inquiry, finding: Finding) -> Finding:
    if finding.severity is Severity.ERROR:
        return finding
    entries = [entry for entry in inquiry.protocol.accepted if _is_about(inquiry, entry, finding)]
    cases = cases_of(finding)
    if cases is not None and cases.region:
        allowed = [box for entry in entries for box in inquiry.meaning.space.boxes(entry.when)]
        accepted = cases.region.is_within(allowed)
    else:
        accepted = any(conditions.conditions == {} for entry in entries for conditions in entry.when)
    return replace(finding, accepted=tuple(entries)) if accepted else finding


def _is_about(inquiry: Inquiry, entry: Acceptance, finding: Finding) -> bool:
    about = finding.fact.about()
    if entry.kind != finding.kind or (entry.until is not None and entry.until < (about.on or inquiry.day)):
        return False
    for key, wanted in entry.narrowed.items():
        if key == "rules":
            if not set(about.rules).issuperset(_words(wanted)):
                return False
        elif key == "file":
            if finding.span.file != wanted:
                return False
        elif str(about.decision if key == "decision" else about.further.get(key, "")) != wanted:
            return False
    return True


def _words(value: object) -> tuple[str, ...]:
    return value if isinstance(value, tuple) else (str(value),)
