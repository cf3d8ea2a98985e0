"""Grades that the recorded judgements do not give, and strong words on weak evidence."""

from __future__ import annotations

from collections.abc import Iterator

from liningbook.checks.inquiry import Inquiry
from liningbook.evidence import grade, ocebm
from liningbook.finding import Finding, Label, Severity
from liningbook.model.protocol import Rule


def _research(inquiry: Inquiry) -> Iterator[Rule]:
    return (rule for rule in inquiry.meaning.rules if rule.evidence.basis == "research")


def certainty_mismatch(inquiry: Inquiry) -> Iterator[Finding]:
    """The stated certainty is not the one that the recorded judgements give.

    Evidence starts at high (randomised) or low (observational), goes down a level for each point under `lowered`, and
    up for `raised` only if it is observational and nothing lowers it. Method: GRADE, as sourced in
    `evidence/grade.py`.
    """
    for rule in _research(inquiry):
        evidence = rule.evidence
        if evidence.certainty is None or evidence.design is None:
            continue
        computed = grade.certainty(evidence.design, evidence.lowered, evidence.raised)
        if computed == evidence.certainty:
            continue
        labels = tuple(
            Label(evidence.places[key], text)
            for key, text in (("design", "start"), ("lowered", "lowered"), ("raised", "raised"))
            if key in evidence.places
        )
        yield Finding(
            "certainty-mismatch",
            Severity.ERROR,
            f"the certainty of '{rule.title}' is stated as {_plain(evidence.certainty)}, but what is recorded gives "
            f"{_plain(computed)}",
            evidence.places["certainty"],
            "stated here",
            labels,
            grade.explain(evidence.design, evidence.lowered, evidence.raised),
            (f"write `certainty: {computed}`", "or correct what is recorded under `design`, `lowered` and `raised`"),
            rules=(rule.id,),
        )


def level_mismatch(inquiry: Inquiry) -> Iterator[Finding]:
    """The stated level of evidence is not the one of the OCEBM 2011 table, nor a level that is reached with a reason.

    The table gives the level by question and design; `adjusted` states another level with the reason.
    """
    for rule in _research(inquiry):
        evidence = rule.evidence
        if evidence.level is None or evidence.question is None or evidence.design is None:
            continue
        reached = evidence.adjusted.to if evidence.adjusted else None
        allowed = sorted(ocebm.expected(evidence.question, evidence.design, reached))
        if evidence.level in allowed:
            continue
        words = " or ".join(str(level) for level in allowed) or "none"
        source = "the adjusted level is" if reached else "the table gives"
        labels = [Label(evidence.places["design"], "the design")]
        if evidence.adjusted:
            labels.append(Label(evidence.adjusted.span, "the level reached"))
        advice = [f"write `level: {allowed[0]}`"] if len(allowed) == 1 else []
        if not allowed:
            advice.append("choose a design that the table has for this question")
        elif not reached:
            advice.append("or state the level reached with its reason: `adjusted: {to: …, because: …}`")
        yield Finding(
            "level-mismatch",
            Severity.ERROR,
            f"the level of '{rule.title}' is stated as {evidence.level}, but {source} {words}",
            evidence.places["level"],
            "stated here",
            tuple(labels),
            (f"question {evidence.question}, design {evidence.design}",),
            tuple(advice),
            rules=(rule.id,),
        )


def strong_on_weak(inquiry: Inquiry) -> Iterator[Finding]:
    """A strong recommendation rests on low or very low certainty, and no `note` says why.

    There are good reasons for it, but few; the reader must be told which it is.
    """
    for rule in _research(inquiry):
        evidence = rule.evidence
        if evidence.strength == "strong" and evidence.certainty in grade.WEAK_LEVELS and not evidence.note:
            yield Finding(
                "strong-on-weak",
                Severity.ERROR,
                f"'{rule.title}' is a strong recommendation on evidence of {_plain(evidence.certainty)} certainty, "
                "without a word on why",
                evidence.places["strength"],
                "strong",
                (Label(evidence.places["certainty"], "the certainty"),),
                (),
                ("say why in `note`", "or write `strength: conditional`"),
                rules=(rule.id,),
            )


def _plain(level: str) -> str:
    return level.replace("-", " ")
