"""The words that cover an edition which must not be used for patients, and those for a card whose code was scanned.

A draft, a withdrawn edition and one past its date are told by the same few sentences everywhere; the browser only
chooses among them by the date of the device.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import date

from liningbook.say.locale import day_words
from liningbook.show.views.view import Identity


@dataclass(frozen=True)
class CoverWords:
    """`always`: why the edition is covered whatever the day, or nothing. The others, each for its case.

    `past` after the last day of use, `early` before the first one; `card_…` for the code of a card that was scanned.
    """

    always: str
    past: str
    early: str
    card_same: str
    card_covered: str
    card_other: str
    card_unread: str


def first_day(bundle_json: str) -> date | None:
    """The first day on which a bundle's advice may be used: it is in force, and its rules are those of the day."""
    bundle = json.loads(bundle_json)
    days = (bundle.get("protocol", {}).get("in_force_from"), bundle.get("holds", {}).get("from"))
    return max((date.fromisoformat(day) for day in days if day), default=None)


def cover_words(identity: Identity, use_from: date | None = None) -> CoverWords:
    """What the page says of this edition; `use_from` is the first day of its use, where that is known."""
    ask = f"Ask {identity.contact}" if identity.contact else "Ask the authors of the protocol"
    begins = f"on {day_words(use_from)}" if use_from else "later"
    return CoverWords(
        always=_always(identity, ask),
        past=f"Past its date: do not use for patients. This edition was to be used until {identity.use_until}. "
        f"{ask} for the edition in force.",
        early=f"Not yet in force: do not use for patients. By the date of this device, this edition begins {begins}. "
        f"{ask} for the edition in force, and check the date of the device.",
        card_same=f"The card you scanned is of this edition, {identity.edition}.",
        card_covered=f"The card you scanned is of this edition, {identity.edition}, which must not be used: "
        f"take it down. {ask}.",
        card_other=f"The card you scanned is of another edition than this page, {identity.edition}: take it down. "
        f"{ask} which edition is in force.",
        card_unread=f"The code you scanned does not name an edition: do not use the card. {ask}.",
    )


def _always(identity: Identity, ask: str) -> str:
    edition = f"{ask} for the edition in force."
    if identity.status == "withdrawn":
        return f"Withdrawn: do not use for patients. This edition was taken out of use. {edition}"
    if identity.is_draft_build:
        count = len(identity.open_findings)
        findings = "1 finding is open" if count == 1 else f"{count} findings are open"
        return f"Draft: do not use for patients. In this edition {findings}. {edition}"
    if identity.status == "draft":
        return f"Draft: do not use for patients. This edition is not in force. {edition}"
    return ""
