"""What is asked of judgements: the figures, the author's two ways out, never a grade."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from liningbook.checks.kinds.graded.questioned import (
    ExceptionDoubted,
    NotFromPatients,
    OutcomeQuestioned,
    SituationDoubted,
)
from liningbook.evidence.questioning import Cause, OpenQuestion
from liningbook.evidence.table import OutcomeTable
from liningbook.say import grades
from liningbook.say.catalogue import N_, gettext, ngettext
from liningbook.say.findings.grades import level_words
from liningbook.say.findings.judgements import missed_words
from liningbook.say.locale import both
from liningbook.say.synthesis import estimate_words, limits_words, part_words
from liningbook.say.told import Told

ASKED: Mapping[str, str] = {
    "imprecision": N_("'{outcome}' is not lowered for imprecision, but {causes}"),
    "inconsistency": N_("'{outcome}' is not lowered for inconsistency, but {causes}"),
    "indirectness": N_("'{outcome}' is not lowered for indirectness, but {causes}"),
    "large-effect": N_("'{outcome}' is raised for a large effect, but {causes}"),
}

DOUBTS: Mapping[str, str] = {
    "no-outcome": N_("no critical outcome is of that certainty"),
    "other-way": N_("the critical outcomes do not all point the same way"),
    "above-harm": N_("a critical outcome that is worse with it is less certain"),
}
"""Why the exception to the lowest critical outcome is in doubt."""


def _events(given: Mapping[str, Any]) -> str:
    events = ngettext("{number} event", "{number} events", given["number"]).format(number=given["number"])
    if given["studies"] < given["all"]:
        said = gettext("there are {events} {part} (results rarely count as precise below about {usual})")
        return said.format(events=events, part=_part(given), usual=given["usual"])
    said = ngettext(
        "there are {events} in {studies} study (results rarely count as precise below about {usual})",
        "there are {events} in {studies} studies (results rarely count as precise below about {usual})",
        given["studies"],
    )
    return said.format(events=events, studies=given["studies"], usual=given["usual"])


def _part(given: Mapping[str, Any]) -> str:
    """`in 2 of 3 studies`."""
    return gettext("in {number} of {all} studies").format(number=given["studies"], all=given["all"])


def _people(given: Mapping[str, Any]) -> str:
    if given["studies"] < given["all"]:
        part = gettext("{number} were measured {part} (results rarely count as precise below about {usual})")
        return part.format(number=given["number"], part=_part(given), usual=given["usual"])
    said = ngettext(
        "{number} were measured in {studies} study (results rarely count as precise below about {usual})",
        "{number} were measured in {studies} studies (results rarely count as precise below about {usual})",
        given["studies"],
    )
    return said.format(**given)


def _crosses(given: Mapping[str, Any]) -> str:
    matters = given["matters"]
    limits = limits_words(given["low"], given["high"], round(matters))
    said = (
        gettext("the interval from {limits} crosses {matters}, the effect that matters")
        if given["is_stated"]
        else gettext("the interval from {limits} crosses {matters}, no effect")
    )
    return said.format(limits=limits, matters=estimate_words(matters, 0) if given["is_stated"] else f"{matters:g}")


def _not_patients(given: Mapping[str, Any]) -> str:
    said = (
        ngettext(
            "of the studies ({studies}) {number} was done in a laboratory",
            "of the studies ({studies}) {number} were done in a laboratory",
            given["number"],
        )
        if given["setting"] == "laboratory"
        else ngettext(
            "of the studies ({studies}) {number} was done on animals",
            "of the studies ({studies}) {number} were done on animals",
            given["number"],
        )
    )
    return said.format(number=given["number"], studies=given["studies"])


def _not_large(given: Mapping[str, Any]) -> str:
    said = gettext("the pooled ratio is {effect}; a rise by {levels} rarely counts within {low} to {high}")
    least = given["least"]
    return said.format(
        effect=estimate_words(given["effect"], 1),
        levels=given["levels"],
        low=estimate_words(1 / least, 1),
        high=f"{least:g}",
    )


CAUSES: Mapping[str, Callable[[Mapping[str, Any]], str]] = {
    "nothing-pooled": lambda _: gettext("the studies give no effect together"),
    "events": _events,
    "people": _people,
    "one-study": lambda _: gettext("there is one study alone"),
    "crosses": _crosses,
    "spread": lambda given: gettext("the studies differ by more than chance would have it (I² {i2})").format(
        i2=part_words(given["i2"])
    ),
    "not-patients": _not_patients,
    "not-large": _not_large,
}
"""What raises a question, as a part of a sentence."""


def cause_words(cause: Cause) -> str:
    """`there are 31 events in 2 studies (results rarely count as precise below about 300)`."""
    return CAUSES[cause.what](cause.given)


def question_words(outcome: OutcomeTable, question: OpenQuestion) -> str:
    """What the figures ask of one judgement, as a sentence without its stop."""
    causes = both([cause_words(cause) for cause in question.causes])
    return gettext(ASKED[question.domain]).format(outcome=outcome.label, causes=causes)


def outcome_questioned(fact: OutcomeQuestioned) -> Told:
    """A judgement of an outcome that its figures question."""
    domain = fact.question.domain
    judged = fact.outcome.lowered.get(domain) or fact.outcome.raised.get(domain)
    level = judged.level if judged else 0
    return Told(
        question_words(fact.outcome, fact.question),
        gettext("judged here") if judged else "",
        (),
        (),
        _ways_out(domain, level),
    )


def _ways_out(domain: str, level: int) -> tuple[str, ...]:
    message = (
        gettext("say under `raised` why it stays: `{domain}: {{level: {level}, because: …}}`")
        if domain == "large-effect"
        else gettext("say under `lowered` why it stays: `{domain}: {{level: {level}, because: …}}`")
    )
    return message.format(domain=domain, level=level), gettext("or judge it anew")


def not_from_patients(fact: NotFromPatients) -> Told:
    """Work in a laboratory or on animals that is taken as if from patients."""
    evidence = fact.rule.evidence
    if fact.is_stated:
        message = (
            gettext("'{rule}' rests on work in a laboratory, and nothing is judged for indirectness")
            if fact.setting == "laboratory"
            else gettext("'{rule}' rests on work on animals, and nothing is judged for indirectness")
        )
    else:
        message = (
            gettext("'{rule}' is graded high, but what it cites seems to be work in a laboratory")
            if fact.setting == "laboratory"
            else gettext("'{rule}' is graded high, but what it cites seems to be work on animals")
        )
    if evidence.level is not None:
        ways = (
            gettext("say why in `adjusted`, or write `design: mechanism` with its level"),
            gettext("or write `setting: patients` if it was done on patients"),
        )
    else:
        ways = (
            gettext("judge `indirectness` under `lowered`, with its sentence: `{{level: …, because: …}}`").format(),
            gettext("or write `setting: patients` if it was done on patients"),
        )
    return Told(message.format(rule=fact.rule.title), "", (), (), ways)


def exception_doubted(fact: ExceptionDoubted) -> Told:
    """A certainty above the lowest critical outcome, whose conditions do not seem to hold."""
    evidence = fact.rule.evidence
    assert evidence.certainty is not None
    message = gettext("the certainty of '{rule}' is stated above that of its critical outcomes, but {doubts}")
    note = gettext("stated as {stated}; the lowest critical outcome is {computed}: {outcomes}")
    return Told(
        message.format(rule=fact.rule.title, doubts=both([gettext(DOUBTS[doubt]) for doubt in fact.doubts])),
        gettext("stated here"),
        (),
        (
            note.format(
                stated=level_words(evidence.certainty),
                computed=level_words(fact.overall.level),
                outcomes=both(fact.overall.deciding),
            ),
        ),
        (
            gettext("look again at the certainty and at why it is another"),
            gettext("or accept this in protocol.yaml, with the reason"),
        ),
    )


def situation_doubted(fact: SituationDoubted) -> Told:
    """A situation of which not all versions allow what is stated."""
    message = gettext("'{rule}' is strong by the situation “{situation}”, for which {conditions} in one version of it")
    return Told(
        message.format(
            rule=fact.rule.title,
            situation=grades.word(grades.SITUATIONS, fact.situation.name),
            conditions=both([missed_words(one) for one in fact.missed]),
        ),
        gettext("the situation"),
        (),
        (gettext("another version takes a benefit of any certainty"),),
        (
            gettext("look again at the situation"),
            gettext("or accept this in protocol.yaml, with the reason"),
        ),
    )
