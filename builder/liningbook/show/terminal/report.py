"""Findings as text for people and as the JSON of the contract; advice for one case as both."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from liningbook.analysis import Analysis
from liningbook.finding import Finding, Severity, Span
from liningbook.meaning.decide import Outcome
from liningbook.model.protocol import Decision, Protocol
from liningbook.say.answers import answer_words
from liningbook.say.cases import count_words, shortened
from liningbook.say.findings import told
from liningbook.show.terminal.extract import extract_of
from liningbook.sources.yaml_nodes import HIDDEN

MOST_SAID = 600
"""Characters of a message that are shown."""


def findings_json(analysis: Analysis) -> dict[str, Any]:
    """The object that `check --format json` prints."""
    counts: dict[str, int] = {severity.value: analysis.count(severity) for severity in Severity}
    counts["accepted"] = sum(1 for finding in analysis.findings if finding.accepted)
    return {
        "protocol": analysis.title,
        "edition": analysis.edition,
        "on": analysis.day.isoformat(),
        "counts": counts,
        "findings": [_finding_json(finding) for finding in analysis.findings],
    }


def _finding_json(finding: Finding) -> dict[str, Any]:
    found: dict[str, Any] = {
        "kind": finding.kind,
        "severity": finding.severity.value,
        "decision": finding.decision,
        "rules": list(finding.rules),
        "file": finding.span.file,
        "line": finding.span.line,
        "column": finding.span.column,
        "cases": [dict(case) for case in finding.cases],
        "witness": dict(finding.witness) if finding.witness is not None else None,
        "message": told(finding).message,
        **finding.extra,
    }
    if finding.accepted:
        found["accepted"] = True
    return found


def findings_text(analysis: Analysis, say_accepted: bool = False) -> str:
    """The report for people: every finding with the source lines it speaks of, then one line of counts."""
    shown = [finding for finding in analysis.findings if say_accepted or not finding.accepted]
    groups: dict[str, list[Finding]] = {}
    for finding in shown:
        groups.setdefault(str(finding.extra.get("group", f"alone-{len(groups)}")), []).append(finding)
    parts = []
    for first, *others in groups.values():
        text = finding_text(first, analysis.texts)
        if others:
            text += f"\n  with it, most likely from the same cause: {count_words(len(others), 'finding')}"
        for other in others:
            words = told(other)
            text += f"\n    {other.severity.value}: {words.message} ({other.kind})"
            text += "".join(f"\n{line}" for line in _place(other.span, words.label, analysis.texts, "^"))
        parts.append(text)
    parts.append(_summary(analysis))
    return "\n\n".join(parts) + "\n"


def counts_words(analysis: Analysis) -> str:
    """`1 error, 2 warnings (4 accepted by the practice)`."""
    counted = [count_words(number, severity.value) for severity in Severity if (number := analysis.count(severity))]
    accepted = sum(1 for finding in analysis.findings if finding.accepted)
    text = ", ".join(counted) or "nothing found"
    return f"{text} ({accepted} accepted by the practice)" if accepted else text


def message_words(message: str) -> str:
    """A message on one line, without signs that do not show, and not too long."""
    return shortened(" ".join(HIDDEN.sub("\ufffd", message).split()), MOST_SAID)


def _summary(analysis: Analysis) -> str:
    edition = f", edition {analysis.edition}" if analysis.edition else ""
    name = f"{analysis.title}{edition}" if analysis.title else "this protocol"
    text = f"{name}: {counts_words(analysis)}"
    if analysis.protocol is None:
        text += "\nThe sources must be put right first; overlaps, conflicts and gaps were not looked for."
    return text


def finding_text(finding: Finding, texts: Mapping[str, str]) -> str:
    """One finding: severity and message with the kind in brackets, the places, then notes and help."""
    kind = f"{finding.kind}, accepted" if finding.accepted else finding.kind
    words = told(finding)
    lines = [f"{finding.severity.value}: {message_words(words.message)} ({kind})"]
    lines += _place(finding.span, words.label, texts, "^")
    for span, label in words.related:
        lines += _place(span, label, texts, "-")
    lines += [f"  note: {note}" for note in words.notes]
    lines += [f"  help: {text}" for text in words.help]
    lines += [f"  {'mend: ' if not text.startswith(' ') else '      '}{text}" for text in finding.mends]
    return "\n".join(lines)


def _place(span: Span, label: str, texts: Mapping[str, str], mark: str) -> list[str]:
    extract = extract_of(span, label, texts)
    lines = [f"  {extract.place}"]
    if not extract.has_text:
        return lines
    number = f"{extract.line:>5} | "
    row = f"{extract.before}{extract.wrong}{extract.after}"
    under = " " * (len(number) - 2) + "| " + " " * len(extract.before) + mark * len(extract.wrong)
    return [*lines, (number + row).rstrip(), f"{under} {extract.label}".rstrip()]


# --- one case -------------------------------------------------------------------------------------------------------


STATE_WORDS = {
    "not-needed": "not needed in this case",
    "gap": "NO RULE answers this; the dentist decides",
    "conflict": "RULES DISAGREE; the dentist decides",
    "contraindicated": "advised, but another rule says to avoid it; the dentist decides",
    "clash": "advised, but it does not go with another layer; the dentist decides",
}


def outcome_lines(protocol: Protocol, decision: Decision, outcome: Outcome) -> list[str]:
    """What a decision comes to, with the rules that say so."""
    if outcome.state == "answered":
        candidate = outcome.candidates[0]
        lines = [f"{decision.label}: {answer_words(protocol, decision, candidate.answer)}"]
        if candidate.answer.kind == "judgement":
            lines.append(f"    why: {candidate.answer.why}")
        lines.append(f"    by {', '.join(protocol.rules[rule].title for rule in candidate.rules)}")
        return lines
    lines = [f"{decision.label}: {STATE_WORDS[outcome.state]}"]
    for candidate in outcome.candidates:
        words = answer_words(protocol, decision, candidate.answer)
        lines.append(f"    {words}: by {', '.join(protocol.rules[rule].title for rule in candidate.rules)}")
    for agent, rule in outcome.warnings:
        label = protocol.agents[agent].label if decision.is_layer else decision.answers[agent]
        lines.append(f"    avoid {label}: by {protocol.rules[rule].title}")
    for entry in outcome.clashes:
        lines.append(f"    {protocol.pairings[entry].because}")
    return lines
