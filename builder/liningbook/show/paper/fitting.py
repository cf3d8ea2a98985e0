"""A card made to fit its two sides, and a name for what does not fit.

Each side is first set on a page so long that nothing is broken. Every cell and block ends in a mark without height; how
far down the marks lie says what fits, and by how much, without a guess at the width of letters.
"""

from __future__ import annotations

import statistics
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from liningbook.show.figures.card_figures import code_side
from liningbook.show.markup import html
from liningbook.show.markup.columns import line_count, text_width
from liningbook.show.markup.grid import grid
from liningbook.show.paper import back, card_sheet
from liningbook.show.paper.card_sheet import SAFE, SHEETS, Brief, CardStyle
from liningbook.show.paper.overflow import MM, TOLERANCE, DoesNotFit, wide_text
from liningbook.show.paper.typeset import Typesetter
from liningbook.show.views.view import CardView

MAX_STRETCH = 2.6
"""Millimetres that may be added above and below each row of the card to fill the side."""

_SIDES = {"front": "the front of the card", "back": "the back of the card"}
_ORDINARY = {"f-head": 24.0, "f-usual": 15.0, "f-ask": 12.0, "f-contact": 24.0, "f-strip": 8.0, "b-strip": 8.0}
"""Millimetres that a block of a kind takes when its text is of an ordinary length."""


@dataclass(frozen=True)
class _Measure:
    """How long a side is, how much room it has, how tall its blocks are, in millimetres; if a word is too wide.

    `split` is where the lists of the back are best shared out.
    """

    needed: float
    room: float
    blocks: dict[str, float]
    wide: bool
    split: int = 0


def fit_cards(views: Sequence[CardView], setter: Typesetter, crop_marks: bool = False) -> list[CardStyle]:
    """How to set each of the cards of one file. The QR code stands on the front of all of them, or of none."""
    known: dict[CardView, CardStyle] = {}
    longest = max((view.copy for view in views), key=len, default="")
    alike = [replace(view, copy=longest) for view in views]
    for view in dict.fromkeys(alike):
        known[view] = fit_card(view, setter, crop_marks)
    if not all(style.code_front for style in known.values()):
        for view, style in known.items():
            if style.code_front:
                known[view] = fit_card(view, setter, crop_marks, code_front=False)
    return [known[view] for view in alike]


def fit_card(view: CardView, setter: Typesetter, crop_marks: bool = False, code_front: bool = True) -> CardStyle:
    """The way to set the card that reads best: the first that allows type of a good size, else of the largest.

    The QR code goes into the foot of the front if there is room and `code_front` allows it. Raises `DoesNotFit` where
    no way fits.
    """
    sheet = SHEETS[view.size]
    best: tuple[CardStyle, _Measure] | None = None
    failures: list[DoesNotFit] = []
    for way in card_sheet.ways(sheet, view.chart):
        above = 0 if best is None or best[0].front_breaks else _sizes(view, "front").index(best[0].front) + 1
        try:
            begun = _with_scope(view, replace(way, crop_marks=way.crop_marks or crop_marks))
            found = _largest(view, setter, begun, "front", above)
        except DoesNotFit as error:
            failures.append(error)
            continue
        if best is None or not found[0].front_breaks:
            best = found
        if best[0].front >= sheet.good:
            break
    if best is None:
        raise failures[0]
    if code_front and view.code:
        best = _with_code(view, setter, *best)
    style, measure = best
    rows = len(grid(view.chart, style.bands_down, style.gathered).rows)
    style = replace(style, stretch=_share(measure, 2 * rows))
    failures.clear()
    for brief in sheet.briefs:
        if brief == Brief.PROTECTION and not view.protection and len(failures):
            continue
        try:
            style, measure = _largest(view, setter, replace(style, brief=brief), "back")
        except DoesNotFit as error:
            failures.append(error)
            continue
        columns = back.shared_out(back.entries(view, style.brief, not style.code_front), measure.split)
        gaps = 1 + max(len(list(back.groups(column))) for column in columns)
        return replace(style, split=measure.split, back_stretch=_share(measure, gaps))
    raise failures[-1]


def _with_scope(view: CardView, style: CardStyle) -> CardStyle:
    """The style with the largest type in which the scope takes one line, or else as few as the sheet allows.

    Raises `DoesNotFit` where it takes more in any size.
    """
    sheet = SHEETS[view.size]
    room = card_sheet.paper(sheet, style)[0] - 2 * SAFE
    for lines in range(1, sheet.scope_lines + 1):
        for size in reversed(sheet.scope):
            if line_count(view.identity.scope, size, room) <= lines:
                return replace(style, scope=size)
    over = text_width(view.identity.scope, sheet.scope[0]) - sheet.scope_lines * room
    takes = "one line" if sheet.scope_lines == 1 else f"{sheet.scope_lines} lines at most"
    raise DoesNotFit(_place(view, "front"), f"the scope, which takes {takes}", max(over, 0.1), "wide")


def _with_code(view: CardView, setter: Typesetter, style: CardStyle, measure: _Measure) -> tuple[CardStyle, _Measure]:
    """The same with the QR code in the foot of the front, if the type then is still of a good size, or no smaller."""
    sheet = SHEETS[view.size]
    for size in reversed(_sizes(view, "front")):
        if size == style.front or sheet.good <= size < style.front:
            trial = replace(style, front=size, code_front=True)
            side = code_side(view.code, sheet.module, sheet.correction)
            if size == style.front and measure.room - measure.needed + measure.blocks["f-foot"] < side:
                continue
            found = _measured(view, setter, trial, "front")
            if found.needed <= found.room and not found.wide:
                return trial, found
    return style, measure


def _sizes(view: CardView, side: str) -> tuple[float, ...]:
    """The type sizes that are tried. A card that must not be used may be set smaller, to make room for saying so."""
    sheet = SHEETS[view.size]
    sizes = sheet.front if side == "front" else sheet.back
    return (sizes[0] - 1, sizes[0] - 0.5, *sizes) if html.mark(view.identity) else sizes


def _place(view: CardView, side: str) -> str:
    """The side of the card in words, with the card's subject where there are several."""
    return f"{_SIDES[side]} for {view.subject}" if view.subject else _SIDES[side]


def _share(measure: _Measure, places: int) -> float:
    """Spare millimetres shared out, with a little kept back for rounding."""
    return max(0.0, min(MAX_STRETCH, (measure.room - measure.needed) / places - 0.05))


def _largest(
    view: CardView, setter: Typesetter, style: CardStyle, side: str, least: int = 0
) -> tuple[CardStyle, _Measure]:
    """The style with the largest type with which a side fits, and its measure.

    A size with which a word is wider than its column does not fit either, unless it is the smallest: then the word is
    broken. `least` is the place of the smallest size that is of use. Raises `DoesNotFit` where that one is too large.
    """
    sizes = _sizes(view, side)
    fits: tuple[CardStyle, _Measure] | None = None
    low, end = least, len(sizes)
    index = max(least, 2)
    while low < end:
        index = min(max(index, low), end - 1)
        trial = _sized(style, side, sizes[index])
        measure = _measured(view, setter, trial, side)
        if measure.wide and index == 0:
            trial = _sized(style, side, sizes[0], breaks=True)
            measure = _measured(view, setter, trial, side)
        if measure.needed <= measure.room and (index == 0 or not measure.wide):
            fits, low = (trial, measure), index + 1
        elif index == least:
            raise _failure(_place(view, side), measure, card_names(view, style))
        else:
            end = index
        # The next size is the largest that fits if heights grow a little faster than the type.
        reach = sizes[index] * (measure.room / measure.needed) ** (1 / 1.4)
        index = low if measure.wide else sum(size <= reach for size in sizes) - 1
    assert fits is not None
    return fits


def _sized(style: CardStyle, side: str, size: float, breaks: bool = False) -> CardStyle:
    if side == "front":
        return replace(style, front=size, front_breaks=breaks)
    return replace(style, back=size, back_breaks=breaks)


def _measured(view: CardView, setter: Typesetter, style: CardStyle, side: str) -> _Measure:
    """The measure of a side of the card set in a style."""
    document = setter.lay_out(html.card_html(view, replace(style, measuring=side)))
    if len(document.pages) != 1:
        raise DoesNotFit(_place(view, side), "the whole side", (len(document.pages) - 1) * 3000)
    tops = {name: box[1] / MM for name, box in document.pages[0].anchors.items()}
    blocks = {name: tops[f"{name}-end"] - top for name, top in tops.items() if f"{name}-end" in tops}
    sheet = SHEETS[view.size]
    room = card_sheet.paper(sheet, style)[1] - 2 * SAFE - 0.2
    needed = tops[f"{side[0]}-foot-end"] - SAFE
    split = 0
    run = back.entries(view, style.brief, not style.code_front)
    if side == "back" and run and sheet.halves == 2:
        starts = [tops[f"{entry.id}-head" if entry.heading else entry.id] for entry in run]
        heading = tops[run[0].id] - starts[0]
        split, taller = back.best_split(run, [*starts, tops["back-column-1"]], heading)
        needed -= tops["back-column-1"] - starts[0] - taller
    return _Measure(needed, room, blocks, wide_text(document) is not None, split)


def _failure(side: str, measure: _Measure, names: dict[str, str]) -> DoesNotFit:
    """What to say of a side that is too long: the block that is longest beside the others of its kind."""
    kinds: dict[str, list[float]] = {}
    for block, height in measure.blocks.items():
        kinds.setdefault(_kind(block), []).append(height)

    def excess(block: str) -> tuple[float, float]:
        kind, height = _kind(block), measure.blocks[block]
        usual = statistics.median_low(kinds[kind])
        return height - min(usual, _ORDINARY.get(kind, 30.0)), height

    return DoesNotFit(side, names[max(measure.blocks, key=excess)], measure.needed - measure.room)


def _kind(block: str) -> str:
    return block.rstrip("0123456789-")


def card_names(view: CardView, style: CardStyle) -> dict[str, str]:
    """The measured blocks of the card by identifier, in words. Cells go by their own identifier."""
    names = {"f-head": "the title block", "f-usual": "the list of cases that the chart holds for"}
    names |= {"f-strip": "the draft notice", "b-strip": "the draft notice", "f-contact": "the contact"}
    names |= {"f-scope": "the scope", "f-legend": "the legend", "b-head": "the title of the back"}
    names |= {"f-foot": "the foot", "b-foot": "the foot"}
    names |= {f"f-ask-{i}": f"the stop question '{text}'" for i, text in enumerate(view.identity.stop_questions)}
    for r, row in enumerate(grid(view.chart, style.bands_down, style.gathered).rows):
        names[f"f-row-{r}"] = "the heading " + ", ".join(row.names)
        names |= {f"f-{r}-{c}": f"the cell '{cell.id}'" for c, cell in enumerate(row.cells)}
    for d, listing in enumerate(back.listings(view, SHEETS[view.size].cut)):
        for i, _ in enumerate(listing.lines):
            names[f"b-if-{d}-{i}"] = names[f"b-then-{d}-{i}"] = f"line {i + 1} of the departures of {listing.decision}"
    for entry in back.entries(view, style.brief, not style.code_front):
        words = entry.label or entry.text
        names[entry.id] = f"'{words}' under {entry.section}" if words else f"the box '{entry.section}'"
    return names


def check_sides(document: Any) -> None:
    """The last look at a card: two pages, and every side ends above its foot. Raises `DoesNotFit`."""
    if len(document.pages) != 2:
        raise DoesNotFit("the card", "the whole card", (len(document.pages) - 2) * document.pages[0].height / MM)
    for page, side in zip(document.pages, _SIDES, strict=True):
        over = page.anchors[f"{side}-end"][1] - page.anchors[f"{side[0]}-foot"][1]
        if over > TOLERANCE:
            raise DoesNotFit(_SIDES[side], "the whole side", over / MM)
