"""What is said in figures and beside them: legends, notes, titles and text alternatives."""

from __future__ import annotations

from collections.abc import Mapping

from liningbook.say.catalogue import N_, gettext

_TONES: Mapping[str, str] = {
    "place": N_("Place in this order"),
    "nothing": N_("Place nothing"),
    "decide": N_("Dentist decides"),
    "refer": N_("Stop or change"),
    "out": N_("Not covered"),
    "doubt": N_("Too close to call"),
    "fault": N_("No single answer"),
}
_SIGNS: Mapping[str, str] = {"stop": N_("Stop"), "avoid": N_("Avoid"), "never": N_("Never")}


def tone_words(tone: str) -> str:
    """What the hatch of a tone means."""
    return gettext(_TONES[tone])


def sign_words(sign: str) -> str:
    """The text alternative of a sign."""
    return gettext(_SIGNS[sign])


def dot_words(is_included: bool) -> str:
    """The text alternative of a dot at the end of a band."""
    return gettext("Filled dot") if is_included else gettext("Hollow dot")
