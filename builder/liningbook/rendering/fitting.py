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
from liningbook.rendering.view import CardView, ProtocolView

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
_SIDES = {"front": "the front of the card", "back": "the back of the card"}
_TOP = 8.0
_BOTTOM = {"front": 14.5, "back": 17.5}
"""Margins in millimetres, as in `card.css`."""
_MM = 96 / 25.4
"""CSS pixels in a millimetre."""
_TOLERANCE = 0.5
_CHART_MARGIN = 24.0
"""The margin below the protocol's chart in millimetres, as in `protocol.css`."""
_BACK_GAPS = 8
"""Gaps on the back that are stretched, one above the other."""


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
    fronts: list[CardStyle] = []
    failure: DoesNotFit | None = None
    for way in _WAYS:
        start = replace(way, crop_marks=crop_marks)
        try:
            size, spare = _largest(view, setter, start, "front", FRONT_SIZES)
        except DoesNotFit as error:
            failure = failure or error
            continue
        rows = len(grid(view.chart, way.bands_down, way.gathered).rows)
        fronts.append(replace(start, front=size, stretch=_share(spare, 2 * rows)))
        if size >= GOOD_ENOUGH:
            break
    for style in sorted(fronts, key=lambda front: -front.front):
        try:
            size, spare = _largest(view, setter, style, "back", BACK_SIZES)
        except DoesNotFit as error:
            failure = failure or error
            continue
        return replace(style, back=size, back_stretch=_share(spare, _BACK_GAPS))
    assert failure is not None
    raise failure


def chart_start(view: ProtocolView, setter: Typesetter, sizes: tuple[float, ...]) -> int:
    """Which of the sizes, largest first, lets the protocol's chart take one page, as one measurement foretells."""
    if view.chart is None:
        return 0
    anchors = setter.lay_out(html.protocol_html(view, sizes[0], measuring=True)).pages[0].anchors
    top, bottom = anchors["chart"][1], anchors["chart-end"][1]
    room = (297 - _CHART_MARGIN) * _MM - top
    for index, size in enumerate(sizes):
        if (bottom - top) * (size / sizes[0]) ** 1.6 <= room:
            return index
    return len(sizes) - 1


def _share(spare: float, places: int) -> float:
    """Spare millimetres shared out, with a little kept back for rounding."""
    return max(0.0, min(MAX_STRETCH, spare / places - 0.05))


def _largest(
    view: CardView, setter: Typesetter, style: CardStyle, side: str, sizes: tuple[float, ...]
) -> tuple[float, float]:
    """The largest type size with which a side fits, and the millimetres that it leaves over.

    A size with which a word is wider than its column does not fit either, unless it is the smallest: then the word is
    broken.
    """
    fits: dict[int, float] = {}
    end = len(sizes)
    index = 2
    while index not in fits:
        trial = replace(style, measuring=side, front=sizes[index], back=sizes[index])
        document = setter.lay_out(html.card_html(view, trial))
        measure = _measure(document, trial)
        spare = measure.room - measure.needed
        if spare >= 0 and (index == 0 or not wide_text(document)):
            fits[index] = spare
        elif index == 0:
            raise _failure(_SIDES[side], measure, card_names(view, style))
        else:
            end = index
        index = (max(fits, default=-1) + end) // 2
    return sizes[index], fits[index]


def _measure(document: Any, style: CardStyle) -> _Measure:
    """The length of a side of the card set in measuring style."""
    side = style.measuring
    if len(document.pages) != 1:
        raise DoesNotFit(_SIDES[side], "the whole side", 3000)
    anchors = document.pages[0].anchors
    blocks = {
        name: (anchors[f"{name}-end"][1] - box[1]) / _MM for name, box in anchors.items() if f"{name}-end" in anchors
    }
    room = (210 if style.landscape else 297) - _TOP - _BOTTOM[side]
    return _Measure(anchors[f"{side}-end"][1] / _MM - _TOP, room, blocks)


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
    for page, (side, bottom) in zip(document.pages, _BOTTOM.items(), strict=True):
        over = page.anchors[f"{side}-end"][1] - (page.height - bottom * _MM)
        if over > _TOLERANCE:
            raise DoesNotFit(_SIDES[side], "the whole side", over / _MM)


def check_width(document: Any, place: str, names: dict[str, str]) -> None:
    """Raise `DoesNotFit` where a line of text is wider than the block it stands in."""
    found = wide_text(document)
    if found:
        block, text, over = found
        raise DoesNotFit(place, names.get(block, f"'{text}'"), over, "wide")


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
                if over > _TOLERANCE and box.text.strip():
                    return name, box.text.strip(), over / _MM
                continue
            if type(box).__name__ in ("BlockBox", "TableCellBox", "MarginBox"):
                block = box
                element = getattr(box, "element", None)
                name = (element.get("id") if element is not None else None) or name
            stack.extend((child, block, name) for child in getattr(box, "children", ()) or ())
    return None
