"""What is said of judgements: levels moved the wrong way, situations that do not hold, questions."""

from __future__ import annotations

from collections.abc import Mapping

from liningbook.checks.kinds.graded.stated import (
    MovedWrongly,
    NothingCritical,
    OutcomeMismatch,
    OutcomeUngraded,
    OutcomeWithoutDesign,
    TablesMismatch,
)
from liningbook.checks.kinds.graded.strong import NotTheSituation
from liningbook.evidence.recommending import Missed
from liningbook.say import grades
from liningbook.say.catalogue import N_, gettext, ngettext
from liningbook.say.findings.grades import level_words, step_words
from liningbook.say.locale import both, either
from liningbook.say.told import Told

LEVEL_REASONS: Mapping[str, str] = {
    "study-quality": N_("study quality"),
    "imprecision": N_("imprecision"),
    "indirectness": N_("indirectness"),
    "inconsistency": N_("inconsistency"),
    "small-effect": N_("a very small effect"),
    "large-effect": N_("a large effect"),
}
"""The reasons for which a level of the OCEBM table is moved."""

WAYS: Mapping[str, str] = {"for": N_("for something"), "against": N_("against something")}


def tables_mismatch(fact: TablesMismatch) -> Told:
    """A certainty that the critical outcomes of a rule's tables do not give."""
    evidence, found = fact.rule.evidence, fact.overall
    assert evidence.certainty is not None
    message = gettext("the certainty of '{rule}' is stated as {stated}, but its critical outcomes give {computed}")
    note = ngettext(
        "the lowest of {number} critical outcome decides: {outcomes}",
        "the lowest of {number} critical outcomes decides: {outcomes}",
        found.critical,
    )
    return Told(
        message.format(rule=fact.rule.title, stated=level_words(evidence.certainty), computed=level_words(found.level)),
        gettext("stated here"),
        ((evidence.places["tables"], gettext("the tables")),),
        (note.format(number=found.critical, outcomes=both(found.deciding)),),
        (
            gettext("write `certainty: {computed}`").format(computed=found.level),
            gettext("or say in `because` why it is another: which critical outcome alone is enough, say"),
        ),
    )


def nothing_critical(fact: NothingCritical) -> Told:
    """Tables without a critical outcome."""
    message = gettext("no outcome of the tables of '{rule}' is critical, so nothing gives its certainty")
    return Told(
        message.format(rule=fact.rule.title),
        gettext("the tables"),
        (),
        (gettext("an outcome of importance 7 to 9 is critical"),),
        (
            gettext("look again at how important the outcomes are, or add one that the decision hangs on"),
            gettext("or take the table out of `tables`"),
        ),
    )


def outcome_mismatch(fact: OutcomeMismatch) -> Told:
    """A certainty that the judgements of an outcome do not give."""
    message = gettext("the certainty of '{outcome}' is stated as {stated}, but what is recorded gives {computed}")
    computed = fact.steps[-1].level
    return Told(
        message.format(
            outcome=fact.outcome.label, stated=level_words(fact.outcome.certainty), computed=level_words(computed)
        ),
        gettext("stated here"),
        (),
        tuple(map(step_words, fact.steps)),
        (
            gettext("write `certainty: {computed}`").format(computed=computed),
            gettext("or correct what is recorded under `design`, `lowered` and `raised`"),
            gettext("or say in `because` why it is another"),
        ),
    )


def outcome_ungraded(fact: OutcomeUngraded) -> Told:
    """A critical outcome without a certainty."""
    message = gettext("'{outcome}' is critical, but nothing says how certain its evidence is")
    return Told(
        message.format(outcome=fact.outcome.label),
        help=(gettext("write `design` with what is judged under `lowered`, and `certainty`"),),
    )


def outcome_without_design(fact: OutcomeWithoutDesign) -> Told:
    """An outcome that is graded from nowhere."""
    message = gettext("'{outcome}' is graded, but without a `design` nothing says where its certainty starts")
    return Told(
        message.format(outcome=fact.outcome.label),
        gettext("stated here"),
        help=(gettext("write `design: randomised` or `design: observational`"),),
    )


def moved_wrongly(fact: MovedWrongly) -> Told:
    """A level moved up for a reason that moves it down, or the other way."""
    evidence = fact.rule.evidence
    assert evidence.adjusted is not None
    message = (
        gettext("the level of '{rule}' is moved up to {level} for {reason}, which only moves a level down")
        if fact.way == "up"
        else gettext("the level of '{rule}' is moved down to {level} for {reason}, which only moves a level up")
    )
    reason = gettext(LEVEL_REASONS[fact.reason])
    return Told(
        message.format(rule=fact.rule.title, level=evidence.adjusted.to, reason=reason),
        gettext("moved here"),
        ((evidence.places["design"], gettext("the design")),),
        (gettext("level 1 is the best; of the reasons of the table only a large effect moves a level up"),),
        (gettext("correct the level reached, or name the reason that it is moved for"),),
    )


def not_the_situation(fact: NotTheSituation) -> Told:
    """A situation whose conditions do not hold."""
    evidence = fact.rule.evidence
    message = gettext(
        "'{rule}' is strong on evidence of {level} certainty by the situation “{situation}”, which does not hold: "
        "{conditions}"
    )
    return Told(
        message.format(
            rule=fact.rule.title,
            level=level_words(fact.level),
            situation=grades.word(grades.SITUATIONS, fact.situation.name),
            conditions=both([missed_words(one) for one in fact.missed]),
        ),
        gettext("the situation"),
        ((evidence.places["strength"], gettext("strong")),),
        (),
        (
            gettext("correct what is stated, or name another situation"),
            gettext("or write `strength: conditional`"),
        ),
    )


def missed_words(missed: Missed) -> str:
    """A condition of a situation that does not hold: what is stated, and what would do."""
    if missed.by_tables:
        message = (
            gettext("the certainty of the benefit is stated as {stated}, but the tables give {given}")
            if missed.what == "benefit"
            else gettext("the certainty of the harm is stated as {stated}, but the tables give {given}")
        )
        return message.format(stated=level_words(missed.stated[0]), given=level_words(missed.wanted[0]))
    if missed.what == "way":
        message = gettext("it allows only a recommendation {wanted}")
        return message.format(wanted=either([gettext(WAYS[way]) for way in missed.wanted]))
    wanted = either([level_words(level) for level in missed.wanted])
    if not missed.stated:
        message = (
            gettext("the certainty of the benefit is not stated, and must be {wanted}")
            if missed.what == "benefit"
            else gettext("the certainty of the harm is not stated, and must be {wanted}")
        )
        return message.format(wanted=wanted)
    message = (
        gettext("the certainty of the benefit is {stated}, and must be {wanted}")
        if missed.what == "benefit"
        else gettext("the certainty of the harm is {stated}, and must be {wanted}")
    )
    return message.format(stated=level_words(missed.stated[0]), wanted=wanted)
