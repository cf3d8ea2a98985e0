"""The withdrawal notice and the register of copies."""

from __future__ import annotations

from collections.abc import Sequence

from liningbook.say.catalogue import N_, Messages, filled, gettext, ngettext


def _withdrawn(editions: Sequence[str], day: str) -> str:
    """Which editions are withdrawn: now, or on a day to come, on which the edition after them begins."""
    named = ", ".join(gettext("edition {edition}").format(edition=edition) for edition in editions)
    if day:
        said = ngettext(
            "Withdrawn on {day}: <b>{editions}</b>. Until then its cards hang; from that day none must be used.",
            "Withdrawn on {day}: <b>{editions}</b>. Until then their cards hang; from that day none must be used.",
            len(editions),
        )
        return filled(said, editions=named, day=day)
    said = ngettext(
        "Withdrawn: <b>{editions}</b>. A card of this edition must not be used from now on.",
        "Withdrawn: <b>{editions}</b>. A card of these editions must not be used from now on.",
        len(editions),
    )
    return filled(said, editions=named)


def _copies_counted(count: int, owing: int) -> str:
    copies = ngettext("{count} copy", "{count} copies", count).format(count=count)
    if not owing:
        return gettext("{copies}; none still to come down.").format(copies=copies)
    said = ngettext("{copies}; {owing} still to come down.", "{copies}; {owing} still to come down.", owing)
    return said.format(copies=copies, owing=owing)


TEXTS: Messages = {
    "copies_foot": N_("{title} · Edition {edition} · {status} · Review by {day} · Edition mark {mark}"),
    "notice_title": N_("{title}: withdrawal notice, edition {edition}"),
    "number": N_("No."),
    "room": N_("Room"),
    "hangs_there": N_("Hangs there"),
    "since": N_("Since"),
    "taken_down_by": N_("Taken down by (name)"),
    "take_down": N_("Take these cards down"),
    "none_hangs": N_("No old card hangs"),
    "withdrawn": _withdrawn,
    "none_to_come_down": N_("By the list of copies no room holds a card that must come down."),
    "what_hangs_instead": N_("What hangs instead"),
    "nothing_hangs": N_("<b>Nothing.</b> Edition {edition} is itself withdrawn. Ask before you place anything."),
    "nothing_hangs_ask": N_(
        "<b>Nothing.</b> Edition {edition} is itself withdrawn. Ask before you place anything: {contact}."
    ),
    "edition_hangs": N_("<b>Edition {edition}</b>, edition mark <b>{mark}</b>, for use until {until}."),
    "edition_hangs_from": N_(
        "<b>Edition {edition}</b>, edition mark <b>{mark}</b>, in force from <b>{day}</b>, for use until {until}."
    ),
    "hold_beside": N_(
        "Hold the new card beside this notice: edition and edition mark (the first 8 characters of its "
        "digest) must be the same."
    ),
    "where_to_take_down": N_("Where to take one down"),
    "rooms_old": N_("Rooms in which an old card hangs"),
    "not_known": N_("not known"),
    "other_rooms": N_("Other rooms"),
    "rooms": N_("Rooms"),
    "holds_already": N_("{room}: holds edition {edition} already"),
    "no_card_yet": N_("{room}: no card yet"),
    "whom_to_give": N_("Whom to give the old cards to"),
    "keep_none": N_("Keep none back. When every line above is filled in, hand in this notice with them."),
    "keep_none_give": N_(
        "<b>{contact}</b>. Keep none back. When every line above is filled in, hand in this notice with them."
    ),
    "register_title": N_("{title}: register of copies, edition {edition}"),
    "must_come_down": N_("Must come down?"),
    "hung_by": N_("New card hung on, by"),
    "returned_by": N_("Old card returned on, by"),
    "register": N_("Register of copies"),
    "this_edition_is": N_("Edition <b>{edition}</b>, edition mark <b>{mark}</b>."),
    "this_edition_from": N_("Edition <b>{edition}</b>, edition mark <b>{mark}</b>, in force from {day}."),
    "copies_counted": _copies_counted,
    "every_room": N_("Every room"),
    "register_caption": N_("Rooms, the edition that hangs there, and what has been done"),
    "none_yet": N_("none yet"),
    "no_card": N_("no card"),
    "yes_take_down": N_("Yes, take it down"),
    "need_not_come_down": N_("No"),
    "hangs_already": N_("hangs already"),
    "nothing_to_return": N_("nothing to return"),
}
