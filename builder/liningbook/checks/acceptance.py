"""Warnings that the practice has looked at and accepts (`accepted` in protocol.yaml)."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from liningbook.checks.inquiry import Inquiry
from liningbook.finding import Finding, Severity
from liningbook.model.protocol import Acceptance
from liningbook.say.locale import day_words
from liningbook.space.boxes import Box
from liningbook.space.region import Region


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
    if not entries:
        return finding
    space = inquiry.meaning.space
    if finding.cases:
        allowed = [box for entry in entries for box in space.boxes(entry.when)]
        if not Region.any_of(_boxes(inquiry, finding)).is_within(allowed):
            return finding
    elif not any(conditions.conditions == {} for entry in entries for conditions in entry.when):
        return finding
    reasons = [f"accepted{f' by {e.by}' if e.by else ''}: {e.because}" + _until(e) for e in entries]
    return finding.accept("; ".join(reasons))


def _until(entry: Acceptance) -> str:
    return f" (until {day_words(entry.until)})" if entry.until else ""


def _is_about(inquiry: Inquiry, entry: Acceptance, finding: Finding) -> bool:
    day = date.fromisoformat(finding.extra["on"]) if "on" in finding.extra else inquiry.day
    if entry.kind != finding.kind or (entry.until is not None and entry.until < day):
        return False
    for key, wanted in entry.narrowed.items():
        if key == "rules":
            if not set(finding.rules).issuperset(_words(wanted)):
                return False
        elif str(finding.decision if key == "decision" else finding.extra.get(key, "")) != wanted:
            return False
    return True


def _words(value: object) -> tuple[str, ...]:
    return value if isinstance(value, tuple) else (str(value),)


def _boxes(inquiry: Inquiry, finding: Finding) -> list[Box]:
    """The boxes of a finding, back from the notation of the sources."""
    return [inquiry.meaning.space.from_notation(case) for case in finding.cases]
