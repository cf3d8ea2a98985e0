"""What does not fit its place on paper, by how much, and a look for what is too wide or runs off its page.

The looks go into the typesetter's own boxes, which it does not publish: there is no other way to learn of it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import ceil
from typing import Any

from liningbook.say.outputs import paper

MM = 96 / 25.4
"""CSS pixels in a millimetre."""
TOLERANCE = 0.5
"""CSS pixels that are lost to rounding."""


NOT_ENOUGH = -1
"""For the number of characters: leaving out the whole text would not do."""


class DoesNotFit(Exception):
    """A text is too long for its place.

    `name` is the identifier of the cell or the name of the block, `side` where it stands, `millimetres` by how much
    the side is too long (or the text too wide), `characters` about how many are too many, if that is known.
    """

    def __init__(
        self, side: str, name: str, millimetres: float, wide: bool = False, characters: int = 0, page: int = 0
    ) -> None:
        self.side, self.name, self.millimetres = side, name, millimetres
        super().__init__(paper.does_not_fit(side, name, millimetres, wide, characters, page))


@dataclass(frozen=True)
class Wide:
    """A text that is wider than its block: the block's identifier, by how many millimetres and about characters."""

    block: str
    text: str
    over: float
    characters: int
    page: int


def check_width(document: Any, place: str, names: Mapping[str, str]) -> None:
    """Raise `DoesNotFit` where a line of text is wider than the block it stands in."""
    found = wide_text(document)
    if found:
        name = names.get(found.block, "")
        words = paper.word_of(found.text, name) if name else paper.TEXT.format(text=found.text)
        raise DoesNotFit(place, words, found.over, wide=True, characters=found.characters, page=found.page)


def check_pages(document: Any, place: str, names: Mapping[str, str]) -> None:
    """Raise `DoesNotFit` where a text or a picture runs through the foot of its page, or over its right edge."""
    for number, page in enumerate(document.pages, 1):
        sheet = page._page_box
        right, foot = sheet.content_box_x() + sheet.width, sheet.content_box_y() + sheet.height
        for item in _items(sheet):
            name = names.get(item.name) or paper.TEXT.format(text=item.text) if item.text else names.get(item.name, "")
            below, beyond = item.box.position_y + item.box.height - foot, item.box.position_x + item.box.width - right
            if item.flows and max(below, beyond) > TOLERANCE:
                raise DoesNotFit(place, name or paper.PICTURE, max(below, beyond) / MM, beyond > below, page=number)


def wide_text(document: Any) -> Wide | None:
    """Of the texts that are wider than their blocks the widest, which leaves the least room for others."""
    found: list[tuple[float, Wide]] = []
    for number, page in enumerate(document.pages, 1):
        for item in _items(page._page_box):
            if item.text and item.block is not None:
                over = item.box.position_x + item.box.width - (item.block.content_box_x() + item.block.width)
                if over > TOLERANCE and not _hangs(item, over):
                    characters = ceil(over * len(item.box.text) / item.box.width)
                    found.append((item.box.width, Wide(item.name, item.text, over / MM, characters, number)))
    return max(found, key=lambda one: one[0])[1] if found else None


@dataclass(frozen=True)
class _Item:
    """A text (or none, for a picture) as it is laid out, the block that it stands in and the name of that.

    `flows` says that it is part of the page's own flow: neither in a margin nor placed anywhere on the page.
    """

    box: Any
    text: str
    block: Any
    name: str
    flows: bool


def _items(sheet: Any) -> Iterator[_Item]:
    stack: list[tuple[Any, Any, str, bool]] = [(sheet, None, "", True)]
    while stack:
        box, block, name, flows = stack.pop()
        kind = type(box).__name__
        flows = flows and kind != "MarginBox" and box.style["position"] not in ("absolute", "fixed")
        if hasattr(box, "text"):
            if box.text.strip():
                yield _Item(box, box.text.strip(), block, name, flows)
            continue
        if kind.endswith("ReplacedBox"):
            yield _Item(box, "", block, name, flows)
            continue
        if kind in ("BlockBox", "TableCellBox", "MarginBox"):
            block = box
        if block is box or kind == "InlineBlockBox":
            element = getattr(box, "element", None)
            name = (element.get("id") if element is not None else None) or name
        stack.extend((child, block, name, flows) for child in getattr(box, "children", ()) or ())


def _hangs(item: _Item, over: float) -> bool:
    """Whether only a blank at the end of a line, or a full stop in the air beside it, stands over."""
    text: str = item.box.text
    blanks = len(text) - len(text.rstrip())
    if blanks and over <= float(item.box.width) / len(text) * (blanks + 1):
        return True
    return item.text in _HANGING and over <= MM


_HANGING = (".", ",", ";", ":")
