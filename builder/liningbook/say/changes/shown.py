"""What card, change sheet and chart say of changes beside the list of them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from liningbook.model.protocol import Protocol
from liningbook.say.catalogue import gettext
from liningbook.say.locale import day_words


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
    yield gettext("First day"), _day_or_none(old.in_force_from), _day_or_none(new.in_force_from)
    yield gettext("Review by"), day_words(old.review_by.on), day_words(new.review_by.on)


def _day_or_none(day: date | None) -> str:
    return day_words(day) if day is not None else gettext("not said")


def copies_meant(old: Protocol, new: Protocol, step: str) -> Iterator[str]:
    """What a change means for the cards that hang, a sentence each."""
    if step not in ("treatment", "grounds"):
        yield gettext("No card has to come down for this.")
        return
    if not new.copies:
        yield gettext("Every card of edition {edition} comes down; copies.yaml lists no rooms.").format(
            edition=old.edition
        )
        return
    is_named_anew = new.edition != old.edition
    hanging = [copy for copy in new.copies if copy.edition and not (is_named_anew and copy.edition == new.edition)]
    if hanging:
        rooms = "; ".join(f"{copy.room} ({copy.edition})" for copy in hanging)
        yield gettext("Old cards come down in: {rooms}.").format(rooms=rooms)
    due = [copy.room for copy in new.copies if not (is_named_anew and copy.edition == new.edition)]
    if due:
        yield gettext("New cards are hung in: {rooms}.").format(rooms="; ".join(due))
    held = [copy.room for copy in new.copies if is_named_anew and copy.edition == new.edition]
    if held:
        words = gettext("Edition {edition} hangs already in: {rooms}.")
        yield words.format(edition=new.edition, rooms="; ".join(held))
    if not is_named_anew:
        yield gettext("The edition needs a new name first: old and new cards could not be told apart.")
