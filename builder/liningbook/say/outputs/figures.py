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
    "fault": N_("No single answer"),
}
_SIGNS: Mapping[str, str] = {"stop": N_("Stop"), "avoid": N_("Avoid"), "never": N_("Never")}


def tone_words(tone: str) -> str:
    """What the hatch of a tone means."""
    return gettext(_TONES[tone])


def sign_words(sign: str) -> str:
    """The text alternative of a sign."""
    return gettext(_SIGNS[sign])


# --- the band chart ---


def chart_title() -> str:
    """What the band chart is."""
    return gettext("Band chart")


def not_covered_here() -> str:
    """A stretch of values that no band covers."""
    return gettext("Not covered here")


def changed() -> str:
    """The mark on a region that has changed."""
    return gettext("Changed")


def scale_note(is_narrow: bool) -> str:
    """What is drawn to scale in the chart, and what is not."""
    if is_narrow:
        return gettext("The heights of the bands are not to scale.")
    return gettext("The bands are not drawn to scale; the line above them is.")


def panels_heading(choice: str, quantity: str) -> str:
    """What stands over the panels of the narrow chart."""
    return gettext("{choice}, and under each: {quantity}").format(choice=choice, quantity=quantity)


def end_words(is_included: bool) -> str:
    """What the mark of an end of a band means."""
    return gettext("the value itself belongs to this side") if is_included else gettext("it does not")


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


# --- the card ---


def check_bar_words(length: int) -> str:
    """The text alternative of the check bar; the length is in millimetres."""
    return gettext("Check bar, {length} mm long when printed at full size").format(length=length)


def code_words(text: str, is_address: bool) -> str:
    """The text alternative of a QR code."""
    said = gettext("QR code: opens {text}") if is_address else gettext("QR code: holds {text}")
    return said.format(text=text)


# --- what is missing, on the command line ---


def no_code_library() -> str:
    """Where QR codes cannot be drawn."""
    return "the library that draws QR codes is missing. Install it with: pip install 'liningbook[pdf]'"


def no_script_engine() -> str:
    """Where the figures of a reply cannot be drawn."""
    return "the library that draws the figures is missing. Install it with: pip install 'liningbook[pdf]'"
