"""What an edition says of itself: its status, what is written across it, its number among copies, who translated it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from liningbook.model.edition import edition_state
from liningbook.model.protocol import Approval, Protocol
from liningbook.resources import ENGLISH
from liningbook.say.cases import sentences
from liningbook.say.catalogue import N_, gettext, language, ngettext
from liningbook.say.locale import day_words

_STATUS: Mapping[str, str] = {
    "draft": N_("Draft, not in force"),
    "in-force": N_("In force"),
    "withdrawn": N_("Withdrawn, not to be used"),
    "expired": N_("Expired, not to be used"),
    "not-yet-in-force": N_("Not yet in force"),
}


@dataclass(frozen=True)
class Mark:
    """What is written across an edition that must not be used: one word, and one line."""

    word: str
    strip: str


def status_words(protocol: Protocol, day: date, is_draft_build: bool = False) -> str:
    """`In force`; before its first day `Not yet in force`. What is built as a draft is not in force."""
    state = edition_state(protocol, day)
    if is_draft_build and state != "withdrawn":
        state = "draft"
    return gettext(_STATUS[state])


def early_status() -> str:
    """The status of an edition before its first day."""
    return gettext(_STATUS["not-yet-in-force"])


def present_status() -> str:
    """The status of an edition on the days of its use."""
    return gettext(_STATUS["in-force"])


def expired_status() -> str:
    """The status of an edition past its date."""
    return gettext(_STATUS["expired"])


def withdrawn_mark(edition: str) -> Mark:
    """Across an edition that is withdrawn."""
    strip = gettext("WITHDRAWN: do not use. Edition {edition}").format(edition=edition)
    return Mark(gettext("WITHDRAWN"), strip)


def draft_mark(findings: int | None = None) -> Mark:
    """Across a draft, or across what was built although so many findings are open."""
    if findings is None:
        return Mark(gettext("DRAFT"), gettext("DRAFT: not in force, do not use"))
    said = ngettext(
        "DRAFT: do not use. {count} finding is open", "DRAFT: do not use. {count} findings are open", findings
    )
    return Mark(gettext("DRAFT"), said.format(count=findings))


def expired_mark(use_until: str) -> Mark:
    """Across an edition past its date."""
    return Mark(gettext("EXPIRED"), gettext("EXPIRED: do not use. It held until {day}").format(day=use_until))


def translation_note(brief: bool = False) -> str:
    """What an output in another language than English says of Liningbook's own words; nothing in English."""
    if language() == ENGLISH:
        return ""
    if brief:
        return gettext("Liningbook's words are translated from memory: a clinician of this language reads them first.")
    return gettext(
        "The protocol's own words are those of the practice. Liningbook's words around them were translated from "
        "memory: a clinician of this language is to read them before this edition is used."
    )


def person_words(name: str, role: str) -> str:
    """A name with its role, if it has one."""
    return f"{name}, {role}" if role else name


def interests_words(interests: str, orcid: str) -> str:
    """An author's interests, and the ORCID if there is one."""
    return sentences([interests, gettext("ORCID {orcid}").format(orcid=orcid) if orcid else ""])


def approval_words(approval: Approval, sealed: str) -> str:
    """When somebody approved, and what; `sealed` is the digest of what the sources say now."""
    day = day_words(approval.on)
    if not approval.digest:
        return gettext("{day}; no digest was recorded, so a change since cannot be seen").format(day=day)
    if approval.digest != sealed:
        return gettext("{day}, an earlier text (digest {digest})").format(day=day, digest=approval.digest[:8])
    return gettext("{day}, this text (digest {digest})").format(day=day, digest=approval.digest[:8])


def finding_words(severity: str, message: str, kind: str) -> str:
    """One line a finding, for the notice on a draft."""
    said = gettext("error: {message} ({kind})") if severity == "error" else gettext("warning: {message} ({kind})")
    return said.format(message=message, kind=kind)
