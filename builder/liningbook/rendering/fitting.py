"""The card for the wall made to fit its two sides, and a name for what does not fit.

Each side is first set on a page so long that nothing is broken. Every cell and block ends in a mark without height; how
far down the marks lie says what fits, and by how much, without a guess at the width of letters.
"""

from __future__ import annotations

import statistics
from dataclasses import dataclass, replace
from typing import Any

from liningbook.rendering import html
from liningbook.rendering.grid import grid
from liningbook.rendering.html import CardStyle
from liningbook.rendering.typeset import Typesetter
from liningbook.rendering.view import CardView

FRONT_SIZES = (11.0, 11.5, 12.0, 12.5, 13.0, 13.5, 14.0)
BACK_SIZES = (9.0, 9.5, 10.0, 10.5, 11.0, 11.5, 12.0)
"""Type sizes in points that are tried."""
GOOD_ENOUGH = 12.0
"""Points on the front with which the usual way to set the card is kept."""
MAX_STRETCH = 2.6
"""Millimetres that may be added above and below each row of the card to fill the side."""

_WAYS = (
    CardStyle(),
    CardStyle(gathered=True),
    CardStyle(bands_down=True),
    CardStyle(landscape=True),
    CardStyle(landscape=True, bands_down=True),
)
_SIDES = ("the front of the card", "the back of the card")
_TOP, _BOTTOMS = 8.0, (14.5, 17.5)
"""Margins in millimetres, as in `card.css`."""
_MM = 96 / 25.4
"""CSS pixels in a millimetre."""
_TOLERANCE = 0.5


class DoesNotFit(Exception):
    """A text is too long for its place.

    `name` is the identifier of the cell or the name of the block, `side` where it stands, `millimetres` by how much
    the side is too long (or the text too wide).
    """

    def __init__(self, side: str, name: str, millimetres: float, direction: str = "long") -> None:
        self.side, self.name, self.millimetres = side, name, millimetres
        super().__init__(f"{side} is {millimetres:.1f} mm too {direction}. What stands out is {name}: shorten it")


@dataclass(frozen=True)
class _Measure:
    """How long a side is, how much room it has, and how tall its blocks are; all in millimetres."""

    needed: float
    room: float
    blocks: dict[str, float]


def fit_card(view: CardView, setter: Typesetter, crop_marks: bool = False) -> CardStyle:
    """The way to set the card that reads best: upright with the choices in rows, or another that allows larger type.

    Raises `DoesNotFit` where no way fits.
    """
    best: CardStyle | None = None
    failure: DoesNotFit | None = None
    for way in _WAYS:
        try:
            style = _largest(view, setter, replace(way, crop_marks=crop_marks))
        except DoesNotFit as error:
            failure = failure or error
            continue
        if style.front >= GOOD_ENOUGH:
            return style
        if best is None or style.front > best.front:
            best = style
    if best is None:
        assert failure is not None
        raise failure
    return best


def _largest(view: CardView, setter: Typesetter, style: CardStyle) -> CardStyle:
    """The style with the largest type on each side that fits, stretched to fill the side."""
    sizes = (FRONT_SIZES, BACK_SIZES)
    fits: list[dict[int, _Measure]] = [{}, {}]
    tries = [0, 0]
    ends = [len(FRONT_SIZES), len(BACK_SIZES)]
    while any(tries[side] not in fits[side] for side in (0, 1)):
        text = html.card_html(view, replace(style, front=sizes[0][tries[0]], back=sizes[1][tries[1]], measuring=True))
        for side, measure in enumerate(_measure(setter.lay_out(text), style)):
            if measure.needed <= measure.room:
                fits[side][tries[side]] = measure
            elif tries[side] == 0:
                raise _failure(_SIDES[side], measure, card_names(view, style))
            else:
                ends[side] = tries[side]
            tries[side] = (max(fits[side]) + ends[side]) // 2
    front, back = (fits[side][tries[side]] for side in (0, 1))
    rows = len(grid(view.chart, style.bands_down, style.gathered).rows)
    return replace(
        style,
        front=FRONT_SIZES[tries[0]],
        back=BACK_SIZES[tries[1]],
        stretch=max(0.0, min(MAX_STRETCH, (front.room - front.needed) / (2 * rows) - 0.05)),
        back_stretch=max(0.0, min(MAX_STRETCH, (back.room - back.needed) / 8 - 0.05)),
    )


def _measure(document: Any, style: CardStyle) -> tuple[_Measure, _Measure]:
    """The lengths of both sides of a card set in measuring style."""
    if len(document.pages) != 2:
        raise DoesNotFit("the card", "the whole card", 3000)
    found = []
    for page, end, bottom in zip(document.pages, ("front-end", "back-end"), _BOTTOMS, strict=True):
        blocks = {
            name: (page.anchors[f"{name}-end"][1] - box[1]) / _MM
            for name, box in page.anchors.items()
            if f"{name}-end" in page.anchors
        }
        room = (210 if style.landscape else 297) - _TOP - bottom
        found.append(_Measure(page.anchors[end][1] / _MM - _TOP, room, blocks))
    return found[0], found[1]


def _failure(side: str, measure: _Measure, names: dict[str, str]) -> DoesNotFit:
    """What to say of a side that is too long: the block that is longest beside the others of its kind."""
    kinds: dict[str, list[float]] = {}
    for block, height in measure.blocks.items():
        kinds.setdefault(_kind(block), []).append(height)
    usual = {kind: statistics.median(heights) for kind, heights in kinds.items()}
    block = max(measure.blocks, key=lambda name: (measure.blocks[name] - usual[_kind(name)], measure.blocks[name]))
    return DoesNotFit(side, names[block], measure.needed - measure.room)


def _kind(block: str) -> str:
    return block.rstrip("0123456789-")


def card_names(view: CardView, style: CardStyle) -> dict[str, str]:
    """The measured blocks of the card by identifier, in words. Cells go by their own identifier."""
    names = {"f-head": "the title block", "f-usual": "the list of cases that the chart holds for"}
    names |= {"f-strip": "the draft notice", "b-strip": "the draft notice", "f-contact": "the contact"}
    names |= {f"f-ask-{i}": f"the stop question '{text}'" for i, text in enumerate(view.identity.stop_questions)}
    for r, row in enumerate(grid(view.chart, style.bands_down, style.gathered).rows):
        names[f"f-row-{r}"] = "the heading " + ", ".join(row.names)
        names |= {f"f-{r}-{c}": cell.id for c, cell in enumerate(row.cells)}
    for d, listing in enumerate(view.departures):
        for i, _ in enumerate(listing.lines):
            names[f"b-if-{d}-{i}"] = names[f"b-then-{d}-{i}"] = f"line {i + 1} of the departures of {listing.decision}"
    for kind, facts in (
        ("avoid", view.avoid),
        ("never", view.never),
        ("pairing", view.pairings),
        ("exclusion", view.exclusions),
    ):
        names |= {f"b-{kind}-{i}": f"'{fact.label}'" for i, fact in enumerate(facts)}
    names |= {f"b-caution-{i}": f"the caution '{text}'" for i, text in enumerate(view.identity.cautions)}
    return names | {"b-contact": "the contact"}


def check_sides(document: Any) -> None:
    """The last look at a card: two pages, and every side ends above its foot. Raises `DoesNotFit`."""
    if len(document.pages) != 2:
        raise DoesNotFit("the card", "the whole card", (len(document.pages) - 2) * 297)
    for page, end, bottom, side in zip(document.pages, ("front-end", "back-end"), _BOTTOMS, _SIDES, strict=True):
        over = page.anchors[end][1] - (page.height - bottom * _MM)
        if over > _TOLERANCE:
            raise DoesNotFit(side, "the whole side", over / _MM)


def check_width(document: Any, place: str, names: dict[str, str]) -> None:
    """Raise `DoesNotFit` where a line of text is wider than the block it stands in.

    Looks into the typesetter's own boxes, which it does not publish: there is no other way to learn of it.
    """
    for page in document.pages:
        stack = [(page._page_box, None, "")]
        while stack:
            box, block, name = stack.pop()
            if hasattr(box, "text") and block is not None:
                over = box.position_x + box.width - (block.content_box_x() + block.width)
                if over > _TOLERANCE:
                    raise DoesNotFit(place, names.get(name, f"'{box.text.strip()}'"), over / _MM, "wide")
                continue
            kind = type(box).__name__
            if kind in ("BlockBox", "TableCellBox", "MarginBox"):
                block = box
                element = getattr(box, "element", None)
                name = (element.get("id") if element is not None else None) or name
            stack.extend((child, block, name) for child in getattr(box, "children", ()) or ())


