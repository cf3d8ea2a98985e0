"""The cautions that every output carries, whatever the practice adds."""

from liningbook.say.catalogue import N_, gettext

STANDING_CAUTIONS: tuple[str, ...] = (
    N_("This supports the judgement of the licensed clinician and does not replace it; record why you depart from it."),
    N_("The law of the place and the manufacturer's instructions for use come before this protocol."),
    N_("Check allergies and medical history before any agent is chosen."),
    N_("Remaining dentine thickness is an estimate: record how it was judged."),
    N_("No patient data belong on or in this document."),
)
"""In English, as the bundle holds them whatever the language, so that the digest is one."""


def standing_in_brief() -> str:
    """The cautions in few words, for a card that is held in the hand."""
    return gettext(
        "Supports the clinician's judgement, never replaces it; law and instructions for use come first. "
        "No patient data on this card."
    )


def standing_cautions() -> tuple[str, ...]:
    """The cautions in the language spoken."""
    return tuple(map(gettext, STANDING_CAUTIONS))
