"""What covers an edition that must not be used for patients, and what a card says whose code was scanned.

A draft, a withdrawn edition and one past its date are told by the same few sentences everywhere; the browser only
chooses among them by the date of the device.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from liningbook.model.edition import EditionState
from liningbook.model.protocol import Protocol
from liningbook.say.catalogue import gettext, ngettext
from liningbook.say.locale import day_words


@dataclass(frozen=True)
class CoverWords:
    """`always`: why the edition is covered whatever the day, or nothing. The others, each for its case.

    `past` after the last day of use, `early` before the first one, each with the strip at the top of the page;
    `card_…` for the code of a card that was scanned.
    """

    always: str
    past: str
    past_strip: str
    early: str
    early_strip: str
    card_same: str
    card_covered: str
    card_other: str
    card_unread: str


def cover_words(always: str, edition: str, contact: str, use_until: str, use_from: date | None) -> CoverWords:
    """What the page says of an edition; `always` is one of the sentences below, or nothing."""
    past = gettext("Past its date: do not use for patients. This edition was to be used until {day}.")
    same = gettext("The card you scanned is of this edition, {edition}.")
    covered = gettext("The card you scanned is of this edition, {edition}, which must not be used: take it down.")
    other = gettext("The card you scanned is of another edition than this page, {edition}: take it down.")
    unread = gettext("The code you scanned does not name an edition: do not use the card.")
    return CoverWords(
        always=f"{always} {_ask_for_edition(contact)}" if always else "",
        past=f"{past.format(day=use_until)} {_ask_for_edition(contact)}",
        past_strip=gettext("Past its date: do not use for patients."),
        early_strip=gettext("Not yet in force: do not use for patients."),
        early=f"{_early(use_from)} {_ask_and_check(contact)}",
        card_same=same.format(edition=edition),
        card_covered=f"{covered.format(edition=edition)} {_ask(contact)}",
        card_other=f"{other.format(edition=edition)} {_ask_which(contact)}",
        card_unread=f"{unread} {_ask(contact)}",
    )


def edition_notice(protocol: Protocol, state: EditionState) -> str:
    """Above the advice for one case: why the edition is not the one to follow; nothing if it is."""
    if state == "withdrawn":
        return withdrawn_cover()
    if state == "draft":
        return draft_cover()
    if state == "expired":
        said = gettext("Past its date: do not use for patients. This edition was to be used until {day}.")
        return said.format(day=day_words(protocol.review_by.on))
    if state == "not-yet-in-force" and protocol.in_force_from:
        said = gettext("Not yet in force: do not use for patients. This edition begins on {day}.")
        return said.format(day=day_words(protocol.in_force_from))
    return ""


def withdrawn_cover() -> str:
    """Over an edition that is withdrawn."""
    return gettext("Withdrawn: do not use for patients. This edition was taken out of use.")


def draft_cover(findings: int | None = None) -> str:
    """Over a draft, or over what was built although so many findings are open."""
    if findings is None:
        return gettext("Draft: do not use for patients. This edition is not in force.")
    said = ngettext(
        "Draft: do not use for patients. In this edition {count} finding is open.",
        "Draft: do not use for patients. In this edition {count} findings are open.",
        findings,
    )
    return said.format(count=findings)


def _early(use_from: date | None) -> str:
    if use_from is None:
        return gettext(
            "Not yet in force: do not use for patients. By the date of this device, this edition begins later."
        )
    said = gettext(
        "Not yet in force: do not use for patients. By the date of this device, this edition begins on {day}."
    )
    return said.format(day=day_words(use_from))


def _ask(contact: str) -> str:
    return gettext("Ask {contact}.").format(contact=contact) if contact else gettext("Ask the authors of the protocol.")


def _ask_which(contact: str) -> str:
    if not contact:
        return gettext("Ask the authors of the protocol which edition is in force.")
    return gettext("Ask {contact} which edition is in force.").format(contact=contact)


def _ask_for_edition(contact: str) -> str:
    if not contact:
        return gettext("Ask the authors of the protocol for the edition in force.")
    return gettext("Ask {contact} for the edition in force.").format(contact=contact)


def _ask_and_check(contact: str) -> str:
    if not contact:
        return gettext("Ask the authors of the protocol for the edition in force, and check the date of the device.")
    return gettext("Ask {contact} for the edition in force, and check the date of the device.").format(contact=contact)
