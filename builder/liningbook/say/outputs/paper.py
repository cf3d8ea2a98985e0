"""What stands in the way of print, and what is being done. English alone: it is read where the protocol is built."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

PROTOCOL = "the protocol"
CARD = "the card"
NOTICE = "the withdrawal notice"
REGISTER = "the register of copies"
WHOLE_SIDE = "the whole side"
WHOLE_CARD = "the whole card"
NAMELESS = "a control character or a character without a name"

BLOCKS: Mapping[str, str] = {
    "f-head": "the title block",
    "f-usual": "the list of cases that the chart holds for",
    "f-strip": "the draft notice",
    "b-strip": "the draft notice",
    "f-contact": "the contact",
    "f-scope": "the scope",
    "f-legend": "the legend",
    "b-head": "the title of the back",
    "f-foot": "the foot",
    "b-foot": "the foot",
}
"""The blocks of a card by their identifier in the template."""

_PLACES: Mapping[str, str] = {
    "rule": "rule {name}",
    "cell": "the cell {name}",
    "room": "the room {name}",
    "departures": "departures of {name}",
    "reference": "reference {name}",
}
_AGAIN = "Install it again with: pip install --force-reinstall font-source-sans-pro==0.0.1"


def no_chart() -> str:
    """Why a protocol without bands and columns has no card."""
    return (
        "the card needs a quantity for its bands and a choice for its columns, and this protocol has none; "
        "build the rest with --only protocol,bundle,site"
    )


def no_case_of_card() -> str:
    """Why a card that chooses no case of the protocol is none."""
    return "the protocol covers no case that card.yaml chooses: look at its fields usual, restorations and bands"


def rooms(count: int) -> str:
    """What the notice has too many of."""
    return f"{count} rooms"


def too_many_rooms(count: int, pages: int) -> str:
    """Why a notice cannot be printed that names more rooms than go on its one page."""
    return (
        f"the withdrawal notice must be one page, and with {count} rooms it takes {pages}: shorten the names of "
        "the rooms, the title or the contact, or keep the copies of each building in a protocol folder of its own"
    )


def side(name: str, subject: str = "") -> str:
    """A side of the card, with its subject where there are several cards."""
    return f"the {name} of the card for {subject}" if subject else f"the {name} of the card"


def scope(lines: int) -> str:
    """The scope, which may take no more lines."""
    return f"the scope, which takes {'one line' if lines == 1 else f'{lines} lines at most'}"


def stop_question(text: str) -> str:
    """A stop question of the card."""
    return f"the stop question '{text}'"


def heading(names: Sequence[str]) -> str:
    """The heading of a row of the chart."""
    return f"the heading {', '.join(names)}"


def cell(name: str) -> str:
    """A cell of the chart."""
    return f"the cell '{name}'"


def line(number: int, decision: str) -> str:
    """A line of the departures."""
    return f"line {number} of the departures of {decision}"


def entry(words: str, section: str) -> str:
    """An entry of a list of the back, or an empty box."""
    return f"'{words}' under {section}" if words else f"the box '{section}'"


def text(words: str) -> str:
    """A text that has no name."""
    return f"'{words}'"


def place(kind: str, name: str) -> str:
    """Where a text of a view stands."""
    return _PLACES[kind].format(name=name)


def does_not_fit(where: str, name: str, millimetres: float, wide: bool) -> str:
    """By how much something is too long or too wide, what stands out, and what to do."""
    remedy = ", or show less on the card (card.yaml)" if "card" in where else ""
    how = "wide" if wide else "long"
    return f"{where} is {millimetres:.1f} mm too {how}. What stands out is {name}: shorten it{remedy}"


def no_drawing(characters: Sequence[tuple[str, str]]) -> str:
    """Which characters the font lacks: the name of each, and where it stands."""
    listed = "; ".join(f"{name} in {where}" for name, where in characters)
    return f"the font has no drawing for: {listed}. Write it in words"


def font_missing() -> str:
    """The font is not installed."""
    return "the font for print is missing. Install it with: pip install 'liningbook[pdf]'"


def font_unread(name: str, why: str | None) -> str:
    """A file of the font cannot be read."""
    return f"the font file {name} cannot be read ({why}). {_AGAIN}"


def font_damaged(name: str) -> str:
    """A file of the font is not the one that is known."""
    return f"the font file {name} is damaged or of another version. {_AGAIN}"


def typesetter_missing(what: str) -> str:
    """The typesetter is not installed."""
    return f"the typesetter is missing ({what}). Install it with: pip install 'liningbook[pdf]'"


def library_missing(name: str, install: str) -> str:
    """A library of the system is not installed; `install` is the command that does it."""
    return f"a system library for print is missing ({name}). Install it with: {install}"
