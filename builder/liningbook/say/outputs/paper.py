"""What stands in the way of a card or a sheet. English alone: it is read where the protocol is built."""

from __future__ import annotations


def no_chart() -> str:
    """Why a protocol without bands and columns has no card."""
    return (
        "the card needs a quantity for its bands and a choice for its columns, and this protocol has none; "
        "build the rest with --only protocol,bundle,site"
    )


def no_case_of_card() -> str:
    """Why a card that chooses no case of the protocol is none."""
    return "the protocol covers no case that card.yaml chooses: look at its fields usual, restorations and bands"


NOTICE = "the withdrawal notice"
REGISTER = "the register of copies"


def rooms(count: int) -> str:
    """What the notice has too many of."""
    return f"{count} rooms"


def too_many_rooms(count: int, pages: int) -> str:
    """Why a notice cannot be printed that names more rooms than go on its one page."""
    return (
        f"the withdrawal notice must be one page, and with {count} rooms it takes {pages}: shorten the names of "
        "the rooms, the title or the contact, or keep the copies of each building in a protocol folder of its own"
    )
