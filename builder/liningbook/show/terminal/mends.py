"""What would mend a finding, as words and as JSON."""

from __future__ import annotations

from typing import Any

from liningbook.analysis import Analysis
from liningbook.exchange.outcomes import outcome_json
from liningbook.meaning.decide import Outcome
from liningbook.meaning.difference import Change
from liningbook.mending import Mend
from liningbook.model.protocol import Protocol
from liningbook.say.answers import answer_words
from liningbook.say.cases import box_words, count_words
from liningbook.say.findings import told

MOST_SAID = 4


def mend_lines(analysis: Analysis, mend: Mend) -> list[str]:
    """A mend in a few lines: what to write, what it changes, what it brings."""
    assert analysis.protocol is not None
    lines = [mend.words]
    if not mend.changes:
        lines.append("  no case would be treated differently")
    for change in mend.changes[:MOST_SAID]:
        lines.append(f"  {change_words(analysis.protocol, change, analysis)}")
    if len(mend.changes) > MOST_SAID:
        lines.append(f"  and {count_words(len(mend.changes) - MOST_SAID, 'further change')}")
    lines += [f"  but then: {told(finding).message} ({finding.kind})" for finding in mend.brings[:MOST_SAID]]
    if mend.removes > 0:
        lines.append(f"  this also mends {count_words(mend.removes, 'other finding')}")
    return lines


def change_words(protocol: Protocol, change: Change, analysis: Analysis) -> str:
    """One change on one line: where, what it was, what it would be."""
    decision = protocol.decisions[change.decision]
    assert analysis.meaning is not None
    boxes = change.region.boxes
    where = box_words(protocol.factors, analysis.meaning.space.notation(boxes[0]))
    more = f" (and {count_words(len(boxes) - 1, 'further set')} of cases)" if len(boxes) > 1 else ""

    def words(outcome: Outcome) -> str:
        answers = " / ".join(answer_words(protocol, decision, c.answer) for c in outcome.candidates)
        return (
            answers
            if outcome.state == "answered"
            else f"{SHORT_STATES.get(outcome.state, outcome.state)} {answers}".strip()
        )

    return f"{decision.label}, {where}{more}: {words(change.before)} → {words(change.after)}"


SHORT_STATES = {
    "gap": "no rule",
    "conflict": "rules disagree:",
    "contraindicated": "to be avoided:",
    "clash": "does not go together:",
    "not-needed": "not needed",
    "out-of-scope": "not covered",
}


def mend_json(analysis: Analysis, mend: Mend) -> dict[str, Any]:
    """A mend for `check --mend --format json`."""
    assert analysis.meaning is not None
    space = analysis.meaning.space
    return {
        "words": mend.words,
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
                "cases": [space.notation(box) for box in change.region],
                "before": outcome_json(change.before),
                "after": outcome_json(change.after),
            }
            for change in mend.changes
        ],
        "brings": [{"kind": finding.kind, "message": told(finding).message} for finding in mend.brings],
        "removes": mend.removes,
    }
