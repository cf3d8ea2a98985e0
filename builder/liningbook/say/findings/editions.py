"""What is said of an edition's status and dates, and of what it asks first."""

from __future__ import annotations

from collections.abc import Mapping

from liningbook.checks.kinds.asked_first import Differing, NothingAsked, ScreensUsual, Unscreened
from liningbook.checks.kinds.validity import ChangedSince, Standing
from liningbook.meaning.decide import Outcome
from liningbook.model.protocol import Protocol
from liningbook.model.rule import Decision
from liningbook.say.answers import answer_words, trouble_words
from liningbook.say.catalogue import N_, gettext
from liningbook.say.findings.cases import told_of_cases, where_words
from liningbook.say.locale import both, day_words, either
from liningbook.say.told import Told

STANDING: Mapping[str, tuple[str, str, tuple[str, ...]]] = {
    "not-approved": (
        N_("this edition is said to be in force, but nobody is named who approved it"),
        "",
        (
            N_("write `approved` with name, role and day of whoever approved it"),
            N_("or write `status: draft` until it is approved"),
        ),
    ),
    "no-first-day": (
        N_("this edition is said to be in force, but not from which day"),
        "",
        (N_("write `in_force_from` with its first day"), N_("or write `status: draft` until that is settled")),
    ),
    "not-yet": (
        N_("this edition is not in force before {first}"),
        "",
        (
            N_("until then the edition before it is the one to follow; every output says from when this one is"),
            N_("to prepare it, nothing need be changed: look at it on its first day (`--on`)"),
            N_("or add this warning to `accepted` in protocol.yaml, with the reason"),
        ),
    ),
    "approved-later": (
        N_("the day of an approval, {first}, is still to come"),
        "",
        (N_("write the day on which it was approved"), N_("or leave the approval out until it is given")),
    ),
    "approved-after-start": (
        N_("this edition is approved on {first}, but in force from {second} already"),
        N_("in force from here"),
        (N_("an edition is approved before it is in force: put one of the two days right"),),
    ),
    "approved-after-review": (
        N_("this edition is approved on {first}, but to be reviewed by {second}"),
        N_("to be reviewed by here"),
        (N_("an edition is approved before it is reviewed again: put one of the two days right"),),
    ),
    "starts-after-review": (
        N_("this edition is in force from {first}, but to be reviewed by {second}"),
        N_("to be reviewed by here"),
        (N_("an edition is in force before it is reviewed again: put one of the two days right"),),
    ),
}
"""Message, what is said at the second place, and help; for each code."""

LOOKED_AT = ("not-yet", "approved-later")
"""Those of which the second day is the one looked at."""


def standing(fact: Standing) -> Told:
    """Status and dates that do not go together."""
    message, beside, advice = STANDING[fact.what]
    if fact.is_renewed:
        advice = (*advice, STANDING["not-yet"][2][-1])
    first, second = (day_words(day) if day else "" for day in (fact.first, fact.second))
    return Told(
        gettext(message).format(first=first, second=second),
        related=((fact.place, gettext(beside)),) if fact.place else (),
        notes=(gettext("looked at on {day}").format(day=second),) if fact.what in LOOKED_AT else (),
        help=tuple(map(gettext, advice)),
    )


def changed_since(fact: ChangedSince) -> Told:
    """The edition is not the one that was approved."""
    approval = fact.approval
    return Told(
        gettext("this edition has changed since {name} approved it on {day}").format(
            name=approval.name, day=day_words(approval.on)
        ),
        label=gettext("the digest of what was approved"),
        notes=(
            gettext("approved was {before}, what stands here now is {now} (the first 8 of 64 digits)").format(
                before=approval.digest[:8], now=fact.protocol.sealed[:8]
            ),
        ),
        help=(
            gettext("see what has changed: `liningbook compare --repo PROTOCOL REVISION PROTOCOL`"),
            gettext("have it approved as it is now (`liningbook approve`), as a new edition if advice changes"),
            gettext("or take the change back, or write `status: draft` until it is approved"),
        ),
    )


def nothing_asked(_: NothingAsked) -> Told:
    """A card on which nothing is asked first."""
    return Told(
        gettext("a card is printed, but nothing is asked before its chart is used"),
        notes=(gettext("the chart holds for the usual case; the stop questions catch the case that is not"),),
        help=(
            gettext("write what must be asked first: `stop_questions: [Is the pulp exposed?]`"),
            gettext("or add this warning to `accepted` in protocol.yaml, with the reason"),
        ),
    )


def unscreened(fact: Unscreened) -> Told:
    """What makes the chart wrong, and is not asked about."""
    if any(question.screens for question in fact.protocol.stop_questions):
        label = gettext("no question here takes these cases off the chart")
    else:
        label = gettext("no question here says which cases it takes off the chart")
    return told_of_cases(
        fact.cases,
        gettext("the chart can be wrong {unusual}, and no stop question takes that off it"),
        label=label,
        related=[(factor.span, gettext("not asked for, as far as the questions say")) for factor in fact.factors],
        notes=[
            *(_differing_words(fact.protocol, one) for one in fact.differing),
            *(_others_words(fact) if len(fact.decisions) > len(fact.differing) else ()),
        ],
        advice=[
            gettext("ask about it, and write which cases a yes takes off the chart: `{ask: …, screens: {…}}`"),
            gettext("or add `screens` to the question that asks about it already"),
            gettext("or add this warning to `accepted` in protocol.yaml, with the reason"),
        ],
        unusual=where_words(fact.cases.space, fact.unusual),
    )


def _others_words(fact: Unscreened) -> tuple[str]:
    labels = both([decision.label for decision in fact.decisions])
    return (gettext("decisions that the chart gets wrong in these cases: {decisions}").format(decisions=labels),)


def _differing_words(protocol: Protocol, one: Differing) -> str:
    decision = one.decision
    true = _outcome_words(protocol, decision, one.true)
    if one.charted is None:
        return gettext("there {decision} comes to: {outcome}; the chart says that it is not covered").format(
            decision=decision.label, outcome=true
        )
    return gettext("there {decision} comes to: {outcome}; the chart says: {charted}").format(
        decision=decision.label, outcome=true, charted=_outcome_words(protocol, decision, one.charted)
    )


def _outcome_words(protocol: Protocol, decision: Decision, outcome: Outcome) -> str:
    state = trouble_words(protocol, decision, outcome) if outcome.state != "answered" else ""
    if not outcome.candidates:
        return state
    said = either([answer_words(protocol, decision, candidate.answer) for candidate in outcome.candidates])
    return gettext("{answers} ({state})").format(answers=said, state=state) if state else said


def screens_usual(fact: ScreensUsual) -> Told:
    """A question that takes off what the chart answers."""
    return told_of_cases(
        fact.cases,
        gettext("a yes to “{question}” takes off what the chart answers, {where}"),
        label=gettext("these cases are among those for which the chart stands"),
        advice=[
            gettext("narrow `screens` to values that are not usual"),
            gettext("or say in card.yaml what is usual (`usual`), or that the card does not show these cases"),
            gettext("or add this warning to `accepted` in protocol.yaml, with the reason"),
        ],
        question=fact.question.ask,
    )
