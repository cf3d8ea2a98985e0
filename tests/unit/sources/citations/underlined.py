"""What a place underlines, and what findings say: for reading expectations at a glance."""

from __future__ import annotations

from collections.abc import Iterable

from liningbook.finding import Finding, Span
from tests.saying import message_of


def underlined(text: str, span: Span) -> str:
    """The characters that a place covers."""
    lines = text.split("\n")
    if span.line == span.end_line:
        return lines[span.line - 1][span.column - 1 : span.end_column - 1]
    between = lines[span.line : span.end_line - 1]
    last = lines[span.end_line - 1][: span.end_column - 1]
    return "\n".join([lines[span.line - 1][span.column - 1 :], *between, last])


def told(text: str, findings: Iterable[Finding]) -> list[tuple[str, str, str]]:
    """Kind, underlined text and message of each finding."""
    return [(finding.kind, underlined(text, finding.span), message_of(finding)) for finding in findings]
