"""What does not fit its place on paper, by how much, and a look for what is too wide or runs off its page.

The looks go into the typesetter's own boxes, which it does not publish: there is no other way to learn of it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from math import ceil
from typing import Any

from liningbook.say.outputs import paper

MM = 96 / 25.4
"""CSS pixels in a millimetre."""
TOLERANCE = 0.5
"""CSS pixels that are lost to rounding."""
UNPRINTED = 4 * MM
"""CSS pixels at the edge of a sheet that a printer may leave blank."""


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
    """Raise `DoesNotFit` for what stands outside its page, its column or, in a margin, the free part of the sheet."""
    for number, page in enumerate(document.pages, 1):
        sheet = page._page_box
        items = list(_items(sheet))
        strips = [item.block for item in items if item.text and not item.flows and not item.margin]
        for item in items:
            beside, off = _outside(item, sheet, strips)
            if max(beside, off) > 0:
                name = names.get(item.name) or paper.TEXT.format(text=item.text) if item.text else names.get(item.name)
                wide = beside > off
                raise DoesNotFit(place, name or paper.PICTURE, max(beside, off) / MM, wide, page=number)


def _outside(item: _Item, sheet: Any, strips: Sequence[Any]) -> tuple[float, float]:
    """By how many CSS pixels an item stands beside its place, and above or below it; 0 where it does not."""
    box = item.box
    left, top, right, foot = box.position_x, box.position_y, box.position_x + box.width, box.position_y + box.height
    if item.margin:
        covered = [one.position_y + one.border_height() for one in strips if one.position_y < foot]
        first = max([UNPRINTED, *(end for end in covered if end < sheet.margin_height() / 2)])
        off = max(first - top, foot - (sheet.margin_height() - UNPRINTED))
        return 0, off if off > TOLERANCE else 0
    if not item.flows:
        return 0, 0
    start, high = sheet.content_box_x(), sheet.content_box_y()
    column = (item.column.position_x, item.column.position_x + item.column.width) if item.column is not None else ()
    first, last = max([start, *column[:1]]), min([start + sheet.width, *column[1:]])
    if not item.text and item.block is not None:
        edge, end = item.block.padding_box_x(), item.block.content_box_x() + item.block.width
        first, last = max(first, edge - _LINE), min(last, end + _LINE)
    beside, off = max(first - left, right - last), max(high - top - MM, foot - high - sheet.height)
    if beside <= TOLERANCE or (item.text and _hangs(item, right - last) and first - left <= TOLERANCE):
        beside = 0
    return beside, off if off > TOLERANCE else 0


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

    `flows` says that it is part of the page's own flow: neither in a margin nor placed anywhere on the page; `column`
    is the innermost column of a text in several that it stands in, `margin` says that it stands in a margin.
    """

    box: Any
    text: str
    block: Any
    name: str
    flows: bool
    column: Any
    margin: bool


def _items(sheet: Any) -> Iterator[_Item]:
    stack: list[tuple[Any, _Item]] = [(sheet, _Item(None, "", None, "", True, None, False))]
    while stack:
        box, around = stack.pop()
        kind = type(box).__name__
        margin = around.margin or kind == "MarginBox"
        flows = around.flows and not margin and box.style["position"] not in ("absolute", "fixed")
        here = replace(around, flows=flows, margin=margin)
        if hasattr(box, "text"):
            if box.text.strip():
                yield replace(here, box=box, text=box.text.strip())
            continue
        if kind.endswith("ReplacedBox"):
            yield replace(here, box=box)
            continue
        if kind in _BLOCKS:
            here = replace(here, block=box, column=box if box.is_column else here.column)
        if kind in (*_BLOCKS, "InlineBlockBox"):
            element = getattr(box, "element", None)
            here = replace(here, name=(element.get("id") if element is not None else None) or here.name)
        stack.extend((child, here) for child in getattr(box, "children", ()) or ())


_LINE = 0.4 * MM
"""CSS pixels of the line beside a cell, over which its picture may lie."""
_BLOCKS = ("BlockBox", "TableCellBox", "MarginBox")


def _hangs(item: _Item, over: float) -> bool:
    """Whether only a blank at the end of a line, or a full stop in the air beside it, stands over."""
    text: str = item.box.text
    blanks = len(text) - len(text.rstrip())
    if blanks and over <= float(item.box.width) / len(text) * (blanks + 1):
        return True
    return item.text in _HANGING and over <= MM


_HANGING = (".", ",", ";", ":")
