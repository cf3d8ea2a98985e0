"""The withdrawal notice and the register of copies."""

from __future__ import annotations

from collections.abc import Sequence

from liningbook.say.catalogue import N_, Messages, filled, gettext, ngettext


def _withdrawn(editions: Sequence[str], day: str) -> str:
    """Which editions must come down: now, or on a day to come, on which the edition after them begins."""
    named = ", ".join(gettext("Edition {edition}").format(edition=edition) for edition in editions)
    if day:
        said = ngettext(
            "<b>{editions}</b>. Its cards hang until {day}; from that day none must be used.",
            "<b>{editions}</b>. Their cards hang until {day}; from that day none must be used.",
            len(editions),
        )
        return filled(said, editions=named, day=day)
    said = ngettext(
        "<b>{editions}</b>. A card of this edition must not be used from now on.",
        "<b>{editions}</b>. A card of these editions must not be used from now on.",
        len(editions),
    )
    return filled(said, editions=named)


def _edition_stands(edition: str, mark: str, status: str, since: str, first: str, until: str) -> str:
    """Which edition a sheet is of, and when it is used: `since` if it is in force, `first` if that is to come."""
    named = filled(gettext("<b>Edition {edition}</b>, edition mark <b>{mark}</b>"), edition=edition, mark=mark)
    if first:
        said = gettext("{edition}. {status}. Use from <b>{first}</b> to {until}.")
    elif since:
        said = gettext("{edition}. In force from <b>{since}</b>, for use until {until}.")
    else:
        said = gettext("{edition}. {status}.")
    return filled(said, edition=named, status=status, since=since, first=first, until=until)


def _copies_counted(count: int, due: int, owing: int) -> str:
    """How many copies there are, to how many rooms one is to go, and how many old ones are to come down."""
    copies = ngettext("{count} copy", "{count} copies", count).format(count=count)
    if not due and not owing:
        return gettext("{copies}: nothing to hang, nothing to take down.").format(copies=copies)
    return gettext("{copies}: {due} to hang, {owing} to take down.").format(copies=copies, due=due, owing=owing)


TEXTS: Messages = {
    "copies_foot": N_("{title} · Edition {edition} · {status} · Review by {day} · Edition mark {mark}"),
    "notice_title": N_("{title}: withdrawal notice, edition {edition}"),
    "number": N_("No."),
    "room": N_("Room"),
    "hangs_there": N_("Hangs there"),
    "since_day": N_("since {day}"),
    "taken_down_by": N_("Taken down by (name)"),
    "take_down": N_("Take these cards down"),
    "take_down_on": N_("On {day} take these cards down"),
    "must_come_down": N_("Must come down"),
    "withdrawn": _withdrawn,
    "hang_instead": N_("Hang instead"),
    "edition_stands": _edition_stands,
    "nothing_hangs": N_("<b>Nothing.</b> Edition {edition} is itself withdrawn. Ask before you place anything."),
    "nothing_hangs_ask": N_(
        "<b>Nothing.</b> Edition {edition} is itself withdrawn. Ask before you place anything: {contact}."
    ),
    "hold_beside": N_("Hold the new card beside this notice: edition and edition mark must be the same."),
    "rooms_old": N_("Rooms in which an old card hangs"),
    "rooms_without": N_("A new card goes up here too, where none hangs yet: {rooms}."),
    "whom_to_give": N_("Whom to give the old cards to"),
    "keep_none": N_("Keep none back. When every line above is filled in, hand in this notice with them."),
    "keep_none_give": N_(
        "<b>{contact}</b>. Keep none back. When every line above is filled in, hand in this notice with them."
    ),
    "register_title": N_("{title}: register of copies, edition {edition}"),
    "old_card": N_("Old card"),
    "hung_by": N_("New card hung on, by"),
    "returned_by": N_("Old card returned on, by"),
    "register": N_("Register of copies"),
    "copies_counted": _copies_counted,
    "rooms_due": N_("To be done"),
    "register_caption": N_("Rooms, the edition that hangs there, and what has been done"),
    "none_yet": N_("no card"),
    "take_it_down": N_("take down"),
    "take_it_down_on": N_("take down on {day}"),
    "hang_none": N_("hang none"),
    "nothing_to_return": N_("nothing to return"),
    "rooms_not_due": N_("Not due"),
    "holds_already": N_("{number} {room}: holds edition {edition} already"),
    "holds_already_since": N_("{number} {room}: holds edition {edition} already, since {day}"),
    "hangs_none": N_("{number} {room}: no card hangs, and none is to be hung"),
}
