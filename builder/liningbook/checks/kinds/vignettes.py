"""Described cases that do not get the advice they must."""

from __future__ import annotations

from collections.abc import Iterator

from liningbook.checks.inquiry import Inquiry
from liningbook.finding import Finding, Label, Severity
from liningbook.meaning.decide import Outcome, decide
from liningbook.model.protocol import Decision, Vignette
from liningbook.say.answers import answer_words
from liningbook.say.locale import both


def vignette(inquiry: Inquiry) -> Iterator[Finding]:
    """A clinical vignette does not get the advice that `vignettes.yaml` expects of it.

    Either a rule has changed what it means for this case, or the expectation is out of date.
    """
    meaning = inquiry.meaning
    for item in inquiry.protocol.vignettes:
        advice = decide(meaning, meaning.space.cell(item.case, item.numbers))
        if advice.excluded is not None:
            if item.expect:
                yield _finding(item, "the case is out of scope", [Label(advice.excluded.span, "excluded here")], [])
            continue
        wrong = [
            (inquiry.protocol.decisions[name], expected, advice.outcomes[name])
            for name, expected in item.expect.items()
            if not fits(advice.outcomes[name], expected.id)
        ]
        if wrong:
            text = both([f"{decision.label} is {_words(inquiry, decision, outcome)}" for decision, _, outcome in wrong])
            labels = [Label(expected.span, "expected here") for _, expected, _ in wrong]
            rules = [rule for _, _, outcome in wrong for c in outcome.candidates for rule in c.rules]
            yield _finding(item, text, labels, list(dict.fromkeys(rules)), wrong[0][0] if len(wrong) == 1 else None)


def fits(outcome: Outcome, expected: str) -> bool:
    """Whether an outcome is what one word of `expect` asks for: an agent, `none`, an answer, `judgement` or a state."""
    if outcome.state == expected:
        return True
    answer = outcome.answer
    if outcome.state != "answered" or answer is None:
        return False
    return expected == (answer.name if answer.kind in ("layer", "choice") else answer.kind)


def _words(inquiry: Inquiry, decision: Decision, outcome: Outcome) -> str:
    answers = " / ".join(answer_words(inquiry.protocol, decision, c.answer) for c in outcome.candidates)
    if outcome.state == "answered":
        return answers
    return f"{outcome.state} ({answers})" if answers else outcome.state


def _finding(
    item: Vignette, what: str, labels: list[Label], rules: list[str], decision: Decision | None = None
) -> Finding:
    return Finding(
        "vignette",
        Severity.ERROR,
        f"'{item.name}' does not get the advice it must: {what}",
        item.span,
        related=tuple(labels),
        help=("correct the rules", "or correct what the vignette expects"),
        decision=decision.id if decision else None,
        rules=tuple(rules),
        witness=item.case,
        extra={"vignette": item.name},
    )
