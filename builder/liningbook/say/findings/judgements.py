"""What is said of judgements: levels moved the wrong way, situations that do not hold, questions."""

from __future__ import annotations

from collections.abc import Mapping

from liningbook.checks.kinds.evidence import MovedWrongly, NotTheSituation
from liningbook.evidence.recommending import Missed
from liningbook.say import grades
from liningbook.say.catalogue import N_, gettext
from liningbook.say.findings.grades import level_words
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
    assert evidence.certainty is not None
    message = gettext(
        "'{rule}' is strong on evidence of {level} certainty by the situation “{situation}”, which does not hold: "
        "{conditions}"
    )
    return Told(
        message.format(
            rule=fact.rule.title,
            level=level_words(evidence.certainty),
            situation=grades.word(grades.SITUATIONS, fact.situation.name),
            conditions=both([unmet_words(one) for one in fact.missed]),
        ),
        gettext("the situation"),
        ((evidence.places["strength"], gettext("strong")),),
        (),
        (
            gettext("correct what is stated, or name another situation"),
            gettext("or write `strength: conditional`"),
        ),
    )


def unmet_words(missed: Missed) -> str:
    """A condition of a situation that does not hold: what is stated, and what would do."""
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
