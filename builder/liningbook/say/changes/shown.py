"""What card, change sheet and chart say of changes beside the list of them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date

from liningbook.model.protocol import Protocol
from liningbook.say.cases import labelled
from liningbook.say.catalogue import gettext, ngettext
from liningbook.say.locale import both, day_words


def referral_ended(edition: str, places: Sequence[str], more: int) -> str:
    """Where a referral stood in the last edition and stands no longer; `more` further places are only counted."""
    words = gettext("Since edition {edition} a referral has ended: {places}.")
    return words.format(edition=edition, places=_places(places, more))


def other_advice(edition: str, places: Sequence[str], more: int) -> str:
    """Where to look anew; `more` further places are only counted."""
    words = gettext("Since edition {edition} there is other advice on: {places}.")
    return words.format(edition=edition, places=_places(places, more))


def other_words(edition: str, notes: Sequence[str], more: int) -> str:
    """What is asked or shown otherwise; `more` further notes are only counted."""
    return gettext("Since edition {edition} other things are asked or shown: {places}").format(
        edition=edition, places=_places(notes, more)
    )


def _places(places: Sequence[str], more: int) -> str:
    listed = "; ".join(places)
    return gettext("{places}; and {count} more").format(places=listed, count=more) if more else listed


def particulars(
    old: Protocol, new: Protocol, statuses: tuple[str, str], old_name: str, new_name: str
) -> Iterator[tuple[str, str, str]]:
    """What both versions are: a label, and the words for either; `old_name` is what the user calls the old one.

    `statuses` are the words for the status of either on the day looked at.
    """
    yield gettext("Edition"), old.edition, new.edition
    if old_name or new_name:
        yield gettext("Compared as"), old_name, new_name
    if old.title != new.title:
        yield gettext("Title"), old.title, new.title
    yield gettext("Status"), *statuses
    yield gettext("In force from"), _day_or_none(old.in_force_from), _day_or_none(new.in_force_from)
    yield gettext("Review by"), day_words(old.review_by.on), day_words(new.review_by.on)


def _day_or_none(day: date | None) -> str:
    return day_words(day) if day is not None else gettext("not said")


# --- the chart before and after ---------------------------------------------------------------------------------------


def chart_notes(changes: int, outside: Sequence[int]) -> Iterable[str]:
    """What the marks mean, and the numbers of the changes that concern no case of the chart."""
    if not changes:
        yield gettext("No cell is marked: no case is treated differently.")
        return
    if len(outside) < changes:
        yield gettext("Cells whose advice has changed are outlined and say so.")
    if outside:
        yield ngettext(
            "No case of this chart: change {numbers} of the list.",
            "No case of this chart: changes {numbers} of the list.",
            len(outside),
        ).format(numbers=both([str(number) for number in outside]))


def change_told(number: int, decision: str, before: str, after: str, places: Sequence[str]) -> str:
    """One change with the cells of the chart that it concerns."""
    where = "; ".join(places) or gettext("No case of this chart")
    return f"{number}, {decision}: {before} → {after}. {where}."


def usual_words(facts: Iterable[tuple[str, str]]) -> str:
    """The case that the charts stand for."""
    listed = "; ".join(labelled(label, text) for label, text in facts)
    return gettext("The charts hold only for: {facts}.").format(facts=listed)
