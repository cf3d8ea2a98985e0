"""Findings as SARIF, so that a platform shows them on the lines of a pull request.

Standard: OASIS, Static Analysis Results Interchange Format (SARIF) Version 2.1.0, with Errata 01 (28 August 2023).
Columns count Unicode code points (3.30.5), as ours do; the end of a region is exclusive in both.
"""

from __future__ import annotations

import hashlib
import json
from typing import Any
from urllib.parse import quote

from liningbook import __version__
from liningbook.analysis import Analysis
from liningbook.checks.identity import same_thing
from liningbook.checks.registry import CHECKS, SOURCE_KINDS, help_page
from liningbook.finding import Finding, Severity, Span
from liningbook.say.findings import told
from liningbook.say.told import Told

SCHEMA = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
LEVELS = {Severity.ERROR: "error", Severity.WARNING: "warning", Severity.NOTE: "note"}

SOURCE_WORDS: dict[str, str] = {
    "unreadable": "A source file cannot be read.",
    "schema": "A field of a source is unknown, missing or of the wrong kind.",
    "unit": "A number has no unit, or one that is not known.",
    "unknown-name": "A name is used that the protocol does not define.",
    "empty-range": "A range holds no value.",
    "out-of-limits": "A value lies beyond the limits of its factor or off its step.",
    "override-circle": "Rules override one another in a circle.",
}
"""What the kinds of finding mean that stop the analysis."""


def sarif(analysis: Analysis, folder: str = "") -> dict[str, Any]:
    """The log of one run. `folder` is the protocol's folder relative to the root of the repository, with `/`."""
    kinds = [*SOURCE_KINDS, *(check.kind for check in CHECKS)]
    index = {kind: number for number, kind in enumerate(kinds)}
    run: dict[str, Any] = {
        "tool": {"driver": {"name": "Liningbook", "version": __version__, "rules": [_rule(kind) for kind in kinds]}},
        "columnKind": "unicodeCodePoints",
        "results": [_result(finding, index, folder) for finding in analysis.findings],
        "properties": {"protocol": analysis.title, "edition": analysis.edition, "on": analysis.day.isoformat()},
    }
    return {"$schema": SCHEMA, "version": "2.1.0", "runs": [run]}


def _rule(kind: str) -> dict[str, Any]:
    page = help_page(kind) or SOURCE_WORDS[kind]
    severity = next((check.severity for check in CHECKS if check.kind == kind), Severity.ERROR)
    return {
        "id": kind,
        "shortDescription": {"text": page.partition("\n")[0]},
        "fullDescription": {"text": page},
        "help": {"text": page},
        "defaultConfiguration": {"level": LEVELS[severity]},
    }


def _result(finding: Finding, index: dict[str, int], folder: str) -> dict[str, Any]:
    words = told(finding)
    result: dict[str, Any] = {
        "ruleId": finding.kind,
        "ruleIndex": index[finding.kind],
        "level": LEVELS[finding.severity],
        "message": {"text": _message(words)},
        "locations": [{"physicalLocation": _place(finding.span, folder)}],
        "partialFingerprints": {"liningbook/v1": _fingerprint(finding)},
        "properties": _properties(finding),
    }
    if words.related:
        result["relatedLocations"] = [
            _related(number, span, label, folder) for number, (span, label) in enumerate(words.related)
        ]
    if finding.accepted:
        result["suppressions"] = [{"kind": "external", "justification": words.notes[-1] if words.notes else ""}]
    return result


def _message(words: Told) -> str:
    """The message, and in lines of their own the notes and what to do."""
    lines = [words.message, *words.notes, *(f"What to do: {text}" for text in words.help)]
    return "\n".join(lines)


def _place(span: Span, folder: str) -> dict[str, Any]:
    name = "/".join(part for part in (folder, span.file) if part)
    region = {
        "startLine": span.line, "startColumn": span.column, "endLine": span.end_line, "endColumn": span.end_column,
    }  # fmt: skip
    return {"artifactLocation": {"uri": quote(name, errors="surrogateescape")}, "region": region}


def _related(number: int, span: Span, label: str, folder: str) -> dict[str, Any]:
    return {"id": number, "physicalLocation": _place(span, folder), "message": {"text": label or "see here"}}


def _properties(finding: Finding) -> dict[str, Any]:
    found: dict[str, Any] = {
        "decision": finding.decision,
        "rules": list(finding.rules),
        "cases": [dict(case) for case in finding.cases],
        "witness": dict(finding.witness) if finding.witness is not None else None,
        **finding.extra,
    }
    return {key: value for key, value in found.items() if value not in (None, [], ())}


def _fingerprint(finding: Finding) -> str:
    """The same for the same thing in another version, whatever lines were added above it."""
    return hashlib.sha256(repr(same_thing(finding)).encode()).hexdigest()[:32]


def sarif_text(analysis: Analysis, folder: str = "") -> str:
    """The log as JSON text."""
    return json.dumps(sarif(analysis, folder), ensure_ascii=False, indent=1) + "\n"
