"""What is said in figures and beside them: legends, notes, titles and text alternatives."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

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


# --- the band chart ---


def guard_words(cautious: str, method: str, width: str) -> str:
    """What the shading beyond a threshold means; `width` is that of the guard band in words."""
    if cautious == "above":
        said = gettext("a corrected reading ({method}) here counts as more: guard band {width}")
        bare = gettext("a corrected reading here counts as more: guard band {width}")
    else:
        said = gettext("a corrected reading ({method}) here counts as less: guard band {width}")
        bare = gettext("a corrected reading here counts as less: guard band {width}")
    return said.format(method=method, width=width) if method else bare.format(width=width)


def chart_description(
    quantity: str, choice: str, rows: Sequence[tuple[Sequence[str], Sequence[tuple[str, str, bool]]]], guard: str
) -> str:
    """The chart in words, row by row: the names of the row, and of each region its band, its advice, its change."""
    parts = [gettext("{quantity} against {choice}.").format(quantity=quantity, choice=choice)]
    for names, regions in rows:
        parts.append(f"{', '.join(names)}.")
        for band, advice, is_changed in regions:
            said = gettext("changed: {band}: {advice}.") if is_changed else gettext("{band}: {advice}.")
            parts.append(said.format(band=band, advice=advice))
    if guard:
        parts.append(gettext("Shaded beyond each threshold: {guard}.").format(guard=guard))
    return " ".join(parts)
