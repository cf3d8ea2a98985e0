"""What is said of grades, references and vignettes."""

from __future__ import annotations

import json
from collections.abc import Mapping

from liningbook.checks.kinds.graded.stated import CertaintyMismatch, LevelMismatch
from liningbook.checks.kinds.graded.strong import StrongOnWeak
from liningbook.checks.kinds.references import ReviewOverdue, Uncited, UnknownReference, UnusedReference
from liningbook.checks.kinds.vignettes import VignetteFails
from liningbook.evidence.grade import GradeStep, explain
from liningbook.meaning.decide import Outcome
from liningbook.model.protocol import Protocol
from liningbook.model.rule import Decision
from liningbook.say.answers import answer_words
from liningbook.say.catalogue import N_, gettext
from liningbook.say.locale import both, day_words, either
from liningbook.say.told import Told

ENTRY: Mapping[str, str] = {
    "json": '{{"id": {key}, "type": "article-journal", "title": "TITLE",\n'
    ' "author": [{{"family": "FAMILY NAME", "given": "GIVEN NAME"}}],\n'
    ' "issued": {{"literal": "YEAR"}}}}',
    "bib": "@article{{{key},\n  author = {{FAMILY NAME, GIVEN NAME}}, title = {{TITLE}},\n  year = {{YEAR}}}}",
}
"""A new entry of a reference list in three lines, by the ending of its file."""

LEVELS: Mapping[str, str] = {
    "high": N_("high"),
    "moderate": N_("moderate"),
    "low": N_("low"),
    "very-low": N_("very low"),
}
"""Levels of certainty, as they stand inside a sentence."""

REASONS: Mapping[str, str] = {
    "risk-of-bias": N_("risk of bias"),
    "inconsistency": N_("inconsistency"),
    "indirectness": N_("indirectness"),
    "imprecision": N_("imprecision"),
    "publication-bias": N_("publication bias"),
    "large-effect": N_("large effect"),
    "dose-response": N_("dose response"),
    "plausible-confounding": N_("plausible confounding"),
}
"""Reasons for lowering or raising a level, by the terms of GRADE."""

STARTS: Mapping[str, str] = {
    "randomised": N_("starts at {level} (randomised)"),
    "observational": N_("starts at {level} (observational)"),
    "robins-i": N_("starts at {level} (observational, risk of bias judged with robins-i)"),
}

NOT_RAISED: Mapping[str, str] = {
    "randomised": N_("not raised by {number} for {reason}: raising counts for observational studies only"),
    "lowered": N_("not raised by {number} for {reason}: raising counts only where nothing is lowered"),
    "lowered-otherwise": N_(
        "not raised by {number} for {reason}: raising counts only where nothing but risk of bias is lowered"
    ),
}

STEPS: Mapping[str, str] = {
    "lowered": N_("lowered by {number} for {reason}"),
    "raised": N_("raised by {number} for {reason}"),
    "floor": N_("stays at {level}: it cannot go lower"),
    "ceiling": N_("stays at {level}: it cannot go higher"),
    "ends": N_("ends at {level}"),
}

STATES: Mapping[str, str] = {
    "not-needed": N_("not-needed"),
    "gap": N_("gap"),
    "conflict": N_("conflict"),
    "contraindicated": N_("contraindicated"),
    "clash": N_("clash"),
}
"""What a decision comes to, by the names of the contract."""


def level_words(level: str) -> str:
    """`very low`."""
    return gettext(LEVELS[level])


def step_words(step: GradeStep) -> str:
    """One step on the way to a level of certainty: `lowered by 1 for indirectness`."""
    if step.what == "starts":
        message = STARTS[step.name]
    elif step.what == "not-raised":
        message = NOT_RAISED[step.ignored]
    else:
        message = STEPS[step.what]
    reason = gettext(REASONS[step.name]) if step.name in REASONS else ""
    level = level_words(step.level) if step.level else ""
    return gettext(message).format(number=step.by, reason=reason, level=level)


def certainty_mismatch(fact: CertaintyMismatch) -> Told:
    """A certainty that the judgements do not give."""
    evidence = fact.rule.evidence
    assert evidence.certainty is not None
    places = {"design": gettext("start"), "lowered": gettext("lowered"), "raised": gettext("raised")}
    message = gettext("the certainty of '{rule}' is stated as {stated}, but what is recorded gives {computed}")
    return Told(
        message.format(
            rule=fact.rule.title, stated=level_words(evidence.certainty), computed=level_words(fact.computed)
        ),
        gettext("stated here"),
        tuple((evidence.places[key], text) for key, text in places.items() if key in evidence.places),
        tuple(map(step_words, explain(fact.design, evidence.lowered, evidence.raised, fact.manner))),
        (
            gettext("write `certainty: {computed}`").format(computed=fact.computed),
            gettext("or correct what is recorded under `design`, `lowered` and `raised`"),
            *([gettext("`because` counts only where the rule has `tables`")] if evidence.because else []),
        ),
    )


def level_mismatch(fact: LevelMismatch) -> Told:
    """A level that the table does not give."""
    evidence, allowed = fact.rule.evidence, fact.allowed
    levels = either([str(level) for level in allowed]) if allowed else gettext("none")
    message = (
        gettext("the level of '{rule}' is stated as {stated}, but the adjusted level is {levels}")
        if evidence.adjusted
        else gettext("the level of '{rule}' is stated as {stated}, but the table gives {levels}")
    )
    related = [(evidence.places["design"], gettext("the design"))]
    if evidence.adjusted:
        related.append((evidence.adjusted.span, gettext("the level reached")))
    advice = [gettext("write `level: {level}`").format(level=allowed[0])] if len(allowed) == 1 else []
    if not allowed:
        advice.append(gettext("choose a design that the table has for this question"))
    elif not evidence.adjusted:
        advice.append(gettext("or state the level reached with its reason: `adjusted: {{to: …, because: …}}`").format())
    note = gettext("question {question}, design {design}")
    return Told(
        message.format(rule=fact.rule.title, stated=evidence.level, levels=levels),
        gettext("stated here"),
        tuple(related),
        (note.format(question=evidence.question, design=evidence.design),),
        tuple(advice),
    )


def strong_on_weak(fact: StrongOnWeak) -> Told:
    """Strong on weak certainty."""
    places = fact.rule.evidence.places
    message = gettext("'{rule}' is a strong recommendation on evidence of {level} certainty, without a word on why")
    return Told(
        message.format(rule=fact.rule.title, level=level_words(fact.level)),
        gettext("strong"),
        ((places["certainty"], gettext("the certainty")),) if "certainty" in places else (),
        (),
        (
            gettext("say why in `note`, or name one of the five situations that allow it: `situation`"),
            gettext("or write `strength: conditional`"),
        ),
    )


def unknown_reference(fact: UnknownReference) -> Told:
    """A citation that leads nowhere."""
    meant = [gettext("did you mean `{name}`?").format(name=fact.meant)] if fact.meant else []
    ending = fact.file.rpartition(".")[2]
    entry = ENTRY[ending].format(key=json.dumps(fact.name, ensure_ascii=False) if ending == "json" else fact.name)
    add = gettext("add it to {file}, with its own words in place of the capitals:").format(file=fact.file)
    return Told(
        gettext("there is no reference called '{name}'").format(name=fact.name), help=(*meant, f"{add}\n{entry}")
    )


def uncited(fact: Uncited) -> Told:
    """A rule without a source."""
    messages = {
        "research": gettext("'{rule}' rests on research, but cites nothing"),
        "law": gettext("'{rule}' rests on law, but cites nothing"),
        "instructions": gettext("'{rule}' rests on instructions, but cites nothing"),
    }
    return Told(
        messages[fact.rule.evidence.basis].format(rule=fact.rule.title),
        help=(
            gettext("name the sources: `cites: [key]`, with the key of an entry of the reference list"),
            gettext("or write `basis: good-practice` with a `note`, if nothing is to be cited"),
        ),
    )


def unused_reference(fact: UnusedReference) -> Told:
    """A reference that nothing cites."""
    return Told(
        gettext("the reference '{name}' is cited nowhere").format(name=fact.reference),
        help=(gettext("cite it where it belongs"), gettext("or take it out of the list")),
    )


def review_overdue(fact: ReviewOverdue) -> Told:
    """A review that was due."""
    due = day_words(fact.due)
    message = (
        gettext("'{rule}' was to be reviewed by {day}").format(rule=fact.rule.title, day=due)
        if fact.rule
        else gettext("the protocol was to be reviewed by {day}").format(day=due)
    )
    return Told(
        message,
        notes=(gettext("looked at on {day}").format(day=day_words(fact.day)),),
        help=(gettext("review it and write the next date"),),
    )


def vignette(fact: VignetteFails) -> Told:
    """A vignette that gets other advice."""
    name = fact.vignette.name
    if fact.excluded is not None:
        message = gettext("'{name}' does not get the advice it must: the case is out of scope").format(name=name)
        related = [(fact.excluded.span, gettext("excluded here"))]
    else:
        said = gettext("{decision} is {outcome}")
        outcomes = [
            said.format(decision=decision.label, outcome=outcome_words(fact.protocol, decision, outcome))
            for decision, _, outcome in fact.wrong
        ]
        message = gettext("'{name}' does not get the advice it must: {outcomes}")
        message = message.format(name=name, outcomes=both(outcomes))
        related = [(expected.span, gettext("expected here")) for _, expected, _ in fact.wrong]
    return Told(message, related=tuple(related), help=(gettext("correct the rules"), _instead(fact)))


def _instead(fact: VignetteFails) -> str:
    """What is done with a vignette instead of the rules: one that is right on other days stays for those."""
    if fact.right_from:
        advice = gettext("or take the vignette out until {day}; from that day on it is right")
        return advice.format(day=day_words(fact.right_from))
    if fact.right_until:
        advice = gettext("or, from {day} on, take the vignette out or correct what it expects; until then it is right")
        return advice.format(day=day_words(fact.right_until))
    return gettext("or correct what the vignette expects")


def outcome_words(protocol: Protocol, decision: Decision, outcome: Outcome) -> str:
    """What a decision comes to, by the names of the contract where it is no answer."""
    answers = " / ".join(answer_words(protocol, decision, c.answer) for c in outcome.candidates)
    if outcome.state == "answered":
        return answers
    state = gettext(STATES[outcome.state])
    return gettext("{state} ({answers})").format(state=state, answers=answers) if answers else state
