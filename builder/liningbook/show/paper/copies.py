"""Where the cards hang: the numbered copies, the notice that withdraws the old ones, and the register of rooms.

The three files are made from `copies.yaml`; without it there are none.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from typing import Any

from liningbook.model.protocol import Copy
from liningbook.say.locale import day_words
from liningbook.say.outputs import paper
from liningbook.say.texts import t
from liningbook.show.paper.overflow import DoesNotFit, check_pages, check_width
from liningbook.show.paper.paper_html import copies_html
from liningbook.show.paper.typeset import typesetter
from liningbook.show.viewer import Viewer
from liningbook.show.views.copies_view import CopiesView, CopyRow
from liningbook.show.views.view import CardView, Identity

NOTICE_SIZES = (13.0, 12.0, 11.0, 10.5, 10.0, 9.5, 9.0)
"""Type sizes in points that are tried until the notice takes one page."""
REGISTER_SIZE = 10.5


class TooManyRooms(DoesNotFit):
    """The notice names more rooms than go on its one page."""

    def __init__(self, rooms: int, pages: int) -> None:
        Exception.__init__(self, paper.TOO_MANY_ROOMS.format(count=rooms, pages=pages))
        self.side, self.name, self.millimetres = paper.NOTICE, paper.ROOMS.format(count=rooms), (pages - 1) * 297.0


def copies_view(viewer: Viewer) -> CopiesView:
    """The rooms in the order of `copies.yaml`: which of them owe an old card, and to which a new one is due."""
    identity = viewer.identity()
    rows = tuple(
        CopyRow(
            number=number,
            room=copy.room,
            edition=copy.edition,
            since=day_words(copy.since) if copy.since else "",
            owes=owes(copy, identity),
            is_due=is_due(copy, identity),
        )
        for number, copy in enumerate(viewer.protocol.copies, 1)
    )
    return CopiesView(identity, rows, tuple(dict.fromkeys(row.edition for row in rows if row.owes)))


def owes(copy: Copy, identity: Identity) -> bool:
    """Whether what hangs in a room must come down: another edition, or this one if it is withdrawn."""
    return bool(copy.edition) and (copy.edition != identity.edition or identity.status == "withdrawn")


def is_due(copy: Copy, identity: Identity) -> bool:
    """Whether a card of this edition is to be hung in a room: it is in force, or will be, and does not hang there."""
    is_used = identity.status == "in-force" and not identity.is_draft_build and not identity.is_past
    return is_used and copy.edition != identity.edition


def copy_lines(viewer: Viewer) -> list[str]:
    """What the card of each copy that is due bears, one after another: its number and its room."""
    copies, identity = viewer.protocol.copies, viewer.identity()
    return [
        t.copy_of(number=number, count=len(copies), room=copy.room)
        for number, copy in enumerate(copies, 1)
        if is_due(copy, identity)
    ]


def numbered_cards(viewer: Viewer, cards: Sequence[CardView]) -> list[CardView]:
    """The cards of every copy that is due, one copy after another, each with its number and its room."""
    return [replace(card, copy=line) for line in copy_lines(viewer) for card in cards]


def takes_down(view: CopiesView) -> bool:
    """Whether there is a notice: an old card hangs somewhere that is to come down."""
    return has_register(view) and bool(view.replaced)


def has_register(view: CopiesView) -> bool:
    """Whether there is a register: not for a draft or an edition past its date, of which nothing is hung."""
    who = view.identity
    return bool(view.rows) and who.status != "draft" and not who.is_draft_build and not who.is_past


def notice_pdf(view: CopiesView, epoch: int) -> bytes:
    """The notice that the old cards are withdrawn, on exactly one page of A4. Raises `TooManyRooms`, `DoesNotFit`."""
    with typesetter(epoch) as setter:

        @cache
        def laid_out(index: int) -> Any:
            return setter.lay_out(copies_html("notice.html", view, NOTICE_SIZES[index]))

        sizes = range(len(NOTICE_SIZES))
        largest = bisect_left(sizes, True, key=lambda index: len(laid_out(index).pages) == 1)
        if largest == len(sizes):
            raise TooManyRooms(len(view.rows), len(laid_out(sizes[-1]).pages))
        check_width(laid_out(largest), paper.NOTICE, {})
        check_pages(laid_out(largest), paper.NOTICE, {})
        return setter.write(laid_out(largest))


def register_pdf(view: CopiesView, epoch: int) -> bytes:
    """The register of all rooms, on as many pages of A4 as they take. Raises `DoesNotFit`."""
    with typesetter(epoch) as setter:
        document = setter.lay_out(copies_html("register.html", view, REGISTER_SIZE))
        check_width(document, paper.REGISTER, {})
        check_pages(document, paper.REGISTER, {})
        return setter.write(document)
