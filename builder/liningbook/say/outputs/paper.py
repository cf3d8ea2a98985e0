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

NO_CHART = (
    "the card needs a quantity for its bands and a choice for its columns, and this protocol has none; "
    "build the rest with --only protocol,bundle,site"
)
NO_CASE = "the protocol covers no case that card.yaml chooses: look at its fields usual, restorations and bands"
ROOMS = "{count} rooms"
TOO_MANY_ROOMS = (
    "the withdrawal notice must be one page, and with {count} rooms it takes {pages}: shorten the names of "
    "the rooms, the title or the contact, or keep the copies of each building in a protocol folder of its own"
)
SCOPE_LINE = "the scope, which takes one line"
SCOPE_LINES = "the scope, which takes {lines} lines at most"
STOP_QUESTION = "the stop question '{text}'"
CHART_ROW = "the row '{names}' of the chart"
CHART_COLUMN = "the column '{names}' of the chart"
PICTURE = "a picture"
PICTURE_OF = "the picture of the layers for {names}"
RULE_TITLED = "rule '{title}' ({name})"
FACTOR = "the factor '{label}'"
CHART_CELL = "the cell '{id}'"
LINE = "line {number} of the {name}"
ENTRY = "'{words}' under {section}"
BOX = "the box '{section}'"
TEXT = "'{text}'"

RULE = "rule {name}"
CELL = "the cell {name}"
ROOM = "the room {name}"
EXCEPTIONS = "exceptions for {name}"
REFERENCE = "reference {name}"

_AGAIN = "Install it again with: pip install --force-reinstall font-source-sans-pro==0.0.1"
_INSTALL = "Install it with: pip install 'liningbook[pdf]'"
NO_DRAWING = "the font has no drawing for: {listed}. Write it in words"
PLACE_OF_GLYPH = "{name} in {where}"
FONT_MISSING = f"the font for print is missing. {_INSTALL}"
FONT_UNREAD = f"the font file {{name}} cannot be read ({{why}}). {_AGAIN}"
FONT_DAMAGED = f"the font file {{name}} is damaged or of another version. {_AGAIN}"
TYPESETTER_MISSING = f"the typesetter is missing ({{what}}). {_INSTALL}"
LIBRARY_MISSING = (
    "a system library for print is missing ({name}). "
    "Install it with: apt-get install libpangoft2-1.0-0 libharfbuzz-subset0"
)
NO_CODE_LIBRARY = f"the library that draws QR codes is missing. {_INSTALL}"
NO_SCRIPT_ENGINE = f"the library that draws the figures is missing. {_INSTALL}"


def exception_name(triggers: Sequence[Sequence[str]]) -> str:
    """What a group of exceptions goes by: any of the triggers, each conditions that all hold."""
    return EXCEPTIONS.format(name=" or ".join(" and ".join(conditions) for conditions in triggers))


def side(name: str, subject: str = "") -> str:
    """A side of the card, with its subject where there are several cards."""
    return f"the {name} of the card for {subject}" if subject else f"the {name} of the card"


def word_of(text: str, name: str) -> str:
    """A text that is too wide, and in what it stands."""
    return f"'{text}' in {name}"


def does_not_fit(where: str, name: str, millimetres: float, wide: bool, characters: int = 0, page: int = 0) -> str:
    """By how much something is too long or too wide, what stands out, and what to do."""
    remedy = ", or show less on the card (card.yaml)" if "card" in where else ""
    how = "wide" if wide else "long"
    on = f", on page {page}" if page and "card" not in where else ""
    stands_out = f"{where} is {millimetres:.1f} mm too {how}{on}. What stands out is {name}"
    if characters < 0:
        return f"{stands_out}, but even without it there is too much: show less on the card (card.yaml)"
    less = f" by about {characters} {'character' if characters == 1 else 'characters'}" if characters else ""
    return f"{stands_out}: shorten it{less}{remedy}"
