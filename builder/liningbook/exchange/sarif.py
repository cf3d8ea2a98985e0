"""Findings as SARIF, so that a platform shows them on the lines of a pull request.

Standard: OASIS, Static Analysis Results Interchange Format (SARIF) Version 2.1.0, with Errata 01 (28 August 2023).
Columns count Unicode code points (3.30.5), as ours do; the end of a region is exclusive in both.
"""

from __future__ import annotations

import hashlib
import re
from typing import Any
from urllib.parse import quote

from liningbook import __version__
from liningbook.analysis import Analysis
from liningbook.checks.facts import same_thing
from liningbook.checks.registry import KINDS, Kind
from liningbook.exchange.findings import facts_json
from liningbook.finding import Finding, Severity, Span
from liningbook.resources import ENGLISH
from liningbook.say.catalogue import speaking
from liningbook.say.findings import told
from liningbook.say.pages import PROGRAM, SEE_HERE, help_page, what_to_do

SCHEMA = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
LEVELS = {Severity.ERROR: "error", Severity.WARNING: "warning", Severity.NOTE: "note"}


def sarif(analysis: Analysis, folder: str = "") -> dict[str, Any]:
    """The log of one run. `folder` is the protocol's folder relative to the root of the repository, with `/`."""
    index = {row.kind: number for number, row in enumerate(KINDS)}
    with speaking(ENGLISH):
        run: dict[str, Any] = {
            "tool": {"driver": {"name": PROGRAM, "version": __version__, "rules": [_rule(row) for row in KINDS]}},
            "columnKind": "unicodeCodePoints",
            "results": [_result(finding, index, folder) for finding in analysis.findings],
            "properties": {"protocol": analysis.title, "edition": analysis.edition, "on": analysis.day.isoformat()},
        }
    return {"$schema": SCHEMA, "version": "2.1.0", "runs": [run]}


def _rule(row: Kind) -> dict[str, Any]:
    page = help_page(row)
    return {
        "id": row.kind,
        "shortDescription": _message(page.partition("\n")[0]),
        "fullDescription": _message(page),
        "help": _message(page),
        "defaultConfiguration": {"level": LEVELS[row.severity]},
    }


def _result(finding: Finding, index: dict[str, int], folder: str) -> dict[str, Any]:
    words = told(finding)
    result: dict[str, Any] = {
        "ruleId": finding.kind,
        "ruleIndex": index[finding.kind],
        "level": LEVELS[finding.severity],
        "message": _message("\n".join([words.message, *words.notes, *map(what_to_do, words.help)])),
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


def _message(text: str) -> dict[str, str]:
    """A text that a reader of the log sees as it is: nothing in it is a placeholder (3.11.5) or a link (3.11.6)."""
    text = text.replace("{", "{{").replace("}", "}}")
    return {"text": re.sub(r"[\\\[\]]", r"\\\g<0>", text) if "](" in text else text}


def _place(span: Span, folder: str) -> dict[str, Any]:
    name = "/".join(part for part in (folder, span.file) if part)
    region = {
        "startLine": span.line, "startColumn": span.column, "endLine": span.end_line, "endColumn": span.end_column,
    }  # fmt: skip
    return {"artifactLocation": {"uri": quote(name, errors="surrogateescape")}, "region": region}


def _related(number: int, span: Span, label: str, folder: str) -> dict[str, Any]:
    return {"id": number, "physicalLocation": _place(span, folder), "message": _message(label or SEE_HERE)}


def _properties(finding: Finding) -> dict[str, Any]:
    about, (cases, further) = finding.fact.about(), facts_json(finding)
    found: dict[str, Any] = {"decision": about.decision, "rules": list(about.rules), **cases, **further}
    return {key: value for key, value in found.items() if value not in (None, [], ())}


def _fingerprint(finding: Finding) -> str:
    """What tells a finding from others, alike in another version whatever lines were added above it."""
    return hashlib.sha256(repr(same_thing(finding)).encode()).hexdigest()[:32]
