"""Findings in the JSON of the contract (`check --format json`), and their further keys, which SARIF has as well.

What is said in JSON is English, whatever the language of the protocol.
"""

from __future__ import annotations

from typing import Any

from liningbook.analysis import Analysis
from liningbook.checks.facts import cases_of
from liningbook.exchange.outcomes import loss_about, outcome_json
from liningbook.finding import Finding, Severity
from liningbook.mending import Mend
from liningbook.model.protocol import Protocol
from liningbook.resources import ENGLISH
from liningbook.say.catalogue import speaking
from liningbook.say.findings import told
from liningbook.say.mends import mend_warnings, mend_words
from liningbook.space.share import share_text


def findings_json(analysis: Analysis) -> dict[str, Any]:
    """The object that `check --format json` prints."""
    counts: dict[str, int] = {severity.value: analysis.count(severity) for severity in Severity}
    counts["accepted"] = sum(1 for finding in analysis.findings if finding.accepted)
    with speaking(ENGLISH):
        return {
            "protocol": analysis.title,
            "edition": analysis.edition,
            "on": analysis.day.isoformat(),
            "counts": counts,
            "placing_order": _placing_order(analysis.protocol),
            "findings": [_finding_json(finding) for finding in analysis.findings],
        }


def _placing_order(protocol: Protocol | None) -> list[str]:
    """The layer decisions in the order in which layers are placed, unless a rule asks for another one."""
    return [name for name, decision in protocol.decisions.items() if decision.is_layer] if protocol else []


def _finding_json(finding: Finding) -> dict[str, Any]:
    cases, further = facts_json(finding)
    about = finding.fact.about()
    found: dict[str, Any] = {
        "kind": finding.kind,
        "severity": finding.severity.value,
        "decision": about.decision,
        "rules": list(about.rules),
        "file": finding.span.file,
        "line": finding.span.line,
        "column": finding.span.column,
        **cases,
        "message": told(finding).message,
        **further,
    }
    if finding.accepted:
        found["accepted"] = True
    return found


def facts_json(finding: Finding) -> tuple[dict[str, Any], dict[str, Any]]:
    """The `cases` with their `witness`, and the further keys of the kind."""
    about, cases = finding.fact.about(), cases_of(finding)
    boxes = cases.region.boxes if cases is not None else ()
    listed: dict[str, Any] = {"cases": [], "witness": dict(about.case) if about.case is not None else None}
    further = dict(about.further)
    if cases is not None:
        listed["cases"] = [cases.space.notation(box) for box in boxes]
        listed["witness"] = cases.space.witness(boxes[0]) if boxes else None
        if cases.doubt is not None:
            least, most = cases.doubt.least, cases.doubt.most
            further["complete"] = False
            further["bounds"] = {"least": share_text(least, upwards=False), "most": share_text(most, upwards=True)}
    if about.on is not None:
        further["on"] = about.on.isoformat()
    if finding.group:
        further["group"] = finding.group
    if finding.mends is not None:
        further["mends"] = [mend_json(mend) for mend in finding.mends]
    return listed, further


def mend_json(mend: Mend) -> dict[str, Any]:
    """A mend for `check --mend --format json`."""
    return {
        "words": mend_words(mend),
        "edits": [
            {
                "file": edit.span.file,
                "line": edit.span.line,
                "column": edit.span.column,
                "end_line": edit.span.end_line,
                "end_column": edit.span.end_column,
                "text": edit.text,
            }
            for edit in mend.edits
        ],
        "changes": [
            {
                "decision": change.decision,
                "cases": [mend.meaning.space.notation(box) for box in change.region],
                "before": outcome_json(change.before),
                "after": outcome_json(change.after),
            }
            for change in mend.ranking.in_order
        ],
        "loses": [
            {
                **loss_about(loss),
                "cases": [mend.meaning.space.notation(box) for box in loss.region],
            }
            for loss in mend.losses
        ]
        + [{"kind": "vignette", "vignette": dict(finding.fact.about().further)["vignette"]} for finding in mend.fails],
        "warnings": list(mend_warnings(mend)),
        "brings": [{"kind": finding.kind, "message": told(finding).message} for finding in mend.brings],
        "removes": mend.removes,
    }
