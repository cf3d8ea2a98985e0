"""What does not fit its place on paper, by how much, and a look for lines that are too wide."""

from __future__ import annotations

from typing import Any

from liningbook.say.outputs import paper

MM = 96 / 25.4
"""CSS pixels in a millimetre."""
TOLERANCE = 0.5
"""CSS pixels that are lost to rounding."""


class DoesNotFit(Exception):
    """A text is too long for its place.

    `name` is the identifier of the cell or the name of the block, `side` where it stands, `millimetres` by how much
    the side is too long (or the text too wide).
    """

    def __init__(self, side: str, name: str, millimetres: float, wide: bool = False) -> None:
        self.side, self.name, self.millimetres = side, name, millimetres
        super().__init__(paper.does_not_fit(side, name, millimetres, wide))


def check_width(document: Any, place: str, names: dict[str, str]) -> None:
    """Raise `DoesNotFit` where a line of text is wider than the block it stands in."""
    found = wide_text(document)
    if found:
        block, text, over = found
        raise DoesNotFit(place, names.get(block, paper.TEXT.format(text=text)), over, wide=True)


def wide_text(document: Any) -> tuple[str, str, float] | None:
    """The first text that is wider than its block: the block's identifier, the text, by how many millimetres.

    Looks into the typesetter's own boxes, which it does not publish: there is no other way to learn of it.
    """
    for page in document.pages:
        stack: list[tuple[Any, Any, str]] = [(page._page_box, None, "")]
        while stack:
            box, block, name = stack.pop()
            if hasattr(box, "text") and block is not None:
                over = box.position_x + box.width - (block.content_box_x() + block.width)
                if over > TOLERANCE and box.text.strip():
                    return name, box.text.strip(), over / MM
                continue
            if type(box).__name__ in ("BlockBox", "TableCellBox", "MarginBox"):
                block = box
                element = getattr(box, "element", None)
                name = (element.get("id") if element is not None else None) or name
            stack.extend((child, block, name) for child in getattr(box, "children", ()) or ())
    return None
