"""What is said of an edition's status and dates, and of what it asks first."""

from __future__ import annotations

from collections.abc import Mapping

from liningbook.checks.kinds.standing import NothingAsked, Standing
from liningbook.say.catalogue import N_, gettext
from liningbook.say.locale import day_words
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
    first, second = (day_words(day) if day else "" for day in (fact.first, fact.second))
    return Told(
        gettext(message).format(first=first, second=second),
        related=((fact.place, gettext(beside)),) if fact.place else (),
        notes=(gettext("looked at on {day}").format(day=second),) if fact.what in LOOKED_AT else (),
        help=tuple(map(gettext, advice)),
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
