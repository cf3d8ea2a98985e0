"""What would mend a finding. English alone: only the command line says it."""

from __future__ import annotations

from collections.abc import Iterator

from liningbook.checks.proposals import Override, Sign, Step
from liningbook.meaning.decide import Outcome
from liningbook.meaning.difference import Change
from liningbook.mending import Mend
from liningbook.model.protocol import Protocol
from liningbook.model.rule import Decision
from liningbook.say.answers import answer_words
from liningbook.say.cases import box_words, count_words
from liningbook.say.changes.safety import loss_words
from liningbook.say.findings import told as told_of

MOST_SAID = 4

NO_MEND = "none was found that can be tried out"

SHORT_STATES = {
    "gap": "no rule",
    "conflict": "rules disagree:",
    "contraindicated": "to be avoided:",
    "clash": "does not go together:",
    "not-needed": "not needed",
    "out-of-scope": "not covered",
}


def mend_words(mend: Mend) -> str:
    """What to write, on one line."""
    return " and ".join(_step_words(step) for step in mend.steps)


def mend_effects(mend: Mend) -> list[str]:
    """What it changes and what it brings, one a line; first a warning of any safety that would be lost."""
    lines = list(mend_warnings(mend))
    told = mend.ranking.told
    for one in told[:MOST_SAID]:
        lines.append(_change_words(mend, one.change))
        if one.following:
            lines.append(f"  from which {count_words(len(one.following), 'further change')} would follow")
    if not told:
        lines.append("no case would be treated differently")
    if len(told) > MOST_SAID:
        lines.append(f"and {count_words(len(told) - MOST_SAID, 'further change')}")
    brings = [finding for finding in mend.brings if finding not in mend.fails]
    lines += [f"but then: {told_of(finding).message} ({finding.kind})" for finding in brings[:MOST_SAID]]
    if mend.removes > 0:
        lines.append(f"this also mends {count_words(mend.removes, 'other finding')}")
    return lines


def mend_warnings(mend: Mend) -> Iterator[str]:
    """What safety would be lost, a line each."""
    old, new, space = mend.meaning.protocol, mend.ranking.new.protocol, mend.meaning.space
    for loss in mend.losses:
        boxes = loss.region.boxes
        where = f"{box_words(new.factors, space.notation(boxes[0]))}{_more(len(boxes) - 1)}"
        yield f"WARNING, safety would be lost. {loss_words(old, new, loss)} Where: {where}"
    for finding in mend.fails:
        yield f"WARNING, a vignette would fail: {told_of(finding).message}"


def _more(number: int) -> str:
    return f" (and {count_words(number, 'further set')} of cases)" if number else ""


def _step_words(step: Step) -> str:
    if isinstance(step, Sign):
        return f"write `{step.bound}` in `{step.rule}`"
    if isinstance(step, Override):
        if step.taken_out:
            return f"take `{step.loser}` out of the overrides of `{step.winner}`"
        return f"let `{step.winner}` override `{step.loser}`"
    words = f"narrow `{step.rule}` to {' and '.join(f'`{condition}`' for condition in step.conditions)}"
    return f"{words} (the advice stays; only the warning goes)" if step.only_warns else words


def _change_words(mend: Mend, change: Change) -> str:
    """One change: where, what it was, what it would be."""
    protocol, space = mend.meaning.protocol, mend.meaning.space
    decision, boxes = protocol.decisions[change.decision], change.region.boxes
    where = box_words(protocol.factors, space.notation(boxes[0]))
    more = _more(len(boxes) - 1)
    before, after = (_outcome_words(protocol, decision, outcome) for outcome in (change.before, change.after))
    return f"{decision.label}, {where}{more}: {before} → {after}"


def _outcome_words(protocol: Protocol, decision: Decision, outcome: Outcome) -> str:
    answers = " / ".join(answer_words(protocol, decision, c.answer) for c in outcome.candidates)
    if outcome.state == "answered":
        return answers
    return f"{SHORT_STATES.get(outcome.state, outcome.state)} {answers}".strip()
