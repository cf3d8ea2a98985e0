"""What findings say, for expectations in words."""

from __future__ import annotations

from collections.abc import Iterable

from liningbook.finding import Finding, Span
from liningbook.say.findings import told


def message_of(finding: Finding) -> str:
    return told(finding).message


def messages_of(findings: Iterable[Finding]) -> list[str]:
    return [message_of(finding) for finding in findings]


def advice_of(finding: Finding) -> tuple[str, ...]:
    return told(finding).help


def related_of(finding: Finding) -> list[tuple[Span, str]]:
    """The further places, with what is said at each."""
    return list(told(finding).related)


def notes_of(finding: Finding) -> tuple[str, ...]:
    return told(finding).notes
