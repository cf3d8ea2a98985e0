"""A card made to fit its two sides, and a name for what does not fit.

Each side is first set on a page so long that nothing is broken. Every cell and block ends in a mark without height; how
far down the marks lie says what fits, and by how much, without a guess at the width of letters.
"""

from __future__ import annotations

import statistics
from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil
from typing import Any

from liningbook.say.outputs import paper
from liningbook.show.figures.card_figures import code_side
from liningbook.show.markup.html import mark
from liningbook.show.markup.wrapping import line_count, text_width
from liningbook.show.paper import back, card_sheet, paper_html
from liningbook.show.paper.card_sheet import SAFE, SHEETS, Brief, CardStyle
from liningbook.show.paper.heights import chart_table, side_height
from liningbook.show.paper.named import card_names
from liningbook.show.paper.overflow import MM, NOT_ENOUGH, TOLERANCE, DoesNotFit, Wide, wide_text
from liningbook.show.paper.typeset import Typesetter
from liningbook.show.views.view import CardView

MAX_STRETCH = 2.6
"""Millimetres that may be added above and below each row of the card to fill the side."""

_REST = {
    ("A4", "front"): (95.0, 85.0),
    ("A4", "back"): (35.0, 30.0),
    ("A5", "front"): (89.0, 72.0),
    ("A5", "back"): (34.0, 30.0),
    ("A6", "front"): (71.0, 62.0),
    ("A6", "back"): (18.0, 16.0),
}
"""Millimetres of an ordinary side, upright and lying, that the arithmetic leaves out."""
_DOUBT = {"front": 5.0, "back": 7.0}
"""Millimetres by which the arithmetic may be out once a side has been measured: about a line."""
_DOUBT_WIDE = 0.5
"""Millimetres by which it may think a word too wide that is not: kerning makes it narrower."""

_LEADING, _LETTER = 1.18, 0.5
"""The height of a line and the width of an ordinary letter, in ems."""

_SIDES = ("front", "back")
_ORDINARY = {"f-head": 24.0, "f-usual": 15.0, "f-ask": 12.0, "f-contact": 24.0, "f-strip": 8.0, "b-strip": 8.0}
"""Millimetres that a block of a kind takes when its text is of an ordinary length."""


@dataclass(frozen=True)
class _Measure:
    """How long a side is, how much room it has, how tall and wide its blocks are, in millimetres; what is too wide.

    `split` is where the lists of the back are best shared out.
    """

    needed: float
    room: float
    blocks: dict[str, float]
    widths: dict[str, float]
    wide: Wide | None
    split: int = 0


_Fitted = tuple[CardStyle, _Measure]


def fit_cards(views: Sequence[CardView], setter: Typesetter, crop_marks: bool = False) -> list[CardStyle]:
    """How to set each of the cards of one file. The QR code stands on the front of all of them, or of none.

    Cards that differ in nothing but their number are set alike. Raises `DoesNotFit` where a card fits in no way.
    """
    longest = max((view.copy for view in views), key=len, default="")
    alike = [replace(view, copy=longest) for view in views]
    fronts = {view: _fit_front(view, setter, crop_marks) for view in dict.fromkeys(alike)}
    coded: dict[CardView, _Fitted] = {}
    for view, front in fronts.items():
        found = _with_code(view, setter, *front)
        if found is None:
            break
        coded[view] = found
    if len(coded) == len(fronts):
        fronts = coded
    styles = {view: _fit_back(view, setter, *front) for view, front in fronts.items()}
    return [styles[view] for view in alike]


def _fit_front(view: CardView, setter: Typesetter, crop_marks: bool) -> _Fitted:
    """The way to set the front that reads best: bands across, as a reader of the protocol knows the chart.

    Else turned over or lying, first where that allows type of a good size; at last without the drawing.
    """
    sheet = SHEETS[view.size]
    found: list[CardStyle] = []
    failures: list[DoesNotFit] = []
    for way in card_sheet.ways():
        try:
            found.append(_with_scope(view, replace(way, crop_marks=crop_marks)))
        except DoesNotFit as error:
            failures.append(error)
    if not found:
        raise failures[0]
    sizes = sorted(_sizes(view, "front"), reverse=True)
    across = [replace(found[0], front=size) for size in sizes]
    across += [replace(style, small_bands=True) for style in across]
    across += [replace(style, run_in=True) for style in across]
    turned = [replace(way, front=size) for way in found[1:] for size in sizes if size >= sheet.good]
    turned += [replace(way, front=size) for size in sizes if size < sheet.good for way in found[1:]]
    turned += [replace(style, small_bands=True) for style in turned]
    bare = [replace(style, drawn=False) for style in (*across, *turned)]
    search = _Search(view, setter, "front")
    return search.first([*across, *turned, *bare]) or search.least(bare[-len(found) :])


def _with_code(view: CardView, setter: Typesetter, style: CardStyle, measure: _Measure) -> _Fitted | None:
    """The front with the QR code in its foot, if the type then is still of a good size, or no smaller.

    None on A6, where the code has no room beside the check bar.
    """
    sheet = SHEETS[view.size]
    if not view.code or sheet.halves == 1:
        return None
    sizes = [size for size in _sizes(view, "front") if size == style.front or sheet.good <= size < style.front]
    search = _Search(view, setter, "front")
    code = code_side(view.code, sheet.module, sheet.correction)
    search.learn(style, measure, max(0.0, code - measure.blocks["f-foot"]))
    return search.first([replace(style, front=size, code_front=True) for size in reversed(sizes)])


def _fit_back(view: CardView, setter: Typesetter, style: CardStyle, measure: _Measure) -> CardStyle:
    """The style with the back as well: as much of it as fits, in the largest type."""
    sheet = SHEETS[view.size]
    rows = len(chart_table(view, style)[0].rows)
    style = replace(style, stretch=_share(measure, 2 * rows))
    sizes = sorted(_sizes(view, "back"), reverse=True)
    search = _Search(view, setter, "back")
    briefs = [b for b in sheet.briefs if b != Brief.PROTECTION or b == sheet.briefs[0] or view.protection]
    found = search.first([replace(style, brief=brief, back=size) for brief in briefs for size in sizes])
    style, measure = found or search.least([replace(style, brief=briefs[-1], back=sizes[-1])])
    columns = back.shared_out(back.entries(view, style.brief, not style.code_front), measure.split)
    gaps = 1 + max(len(list(back.groups(column))) for column in columns)
    return replace(style, split=measure.split, back_stretch=_share(measure, gaps))


class _Search:
    """A side of a card tried in several styles. Only what may fit by arithmetic is laid out and measured."""

    def __init__(self, view: CardView, setter: Typesetter, side: str) -> None:
        self.view, self.setter, self.side = view, setter, side
        self.measures: dict[CardStyle, _Measure] = {}
        self.heights: dict[CardStyle, tuple[float, float]] = {}
        self.rest = dict(zip((False, True), _REST[view.size, side], strict=True))
        """What the arithmetic leaves out, in millimetres, upright and lying; better known after each measure."""

    def first(self, styles: Sequence[CardStyle]) -> _Fitted | None:
        """The first of the styles in which the side fits, with its measure; none where it fits in none of them."""
        while True:
            style = next((style for style in styles if self._may_fit(style)), None)
            if style is None:
                return None
            if style in self.measures:
                return style, self.measures[style]
            self._measure(style)

    def least(self, styles: Sequence[CardStyle]) -> _Fitted:
        """The first that fits of styles with the smallest type; no word is ever broken.

        Raises `DoesNotFit` for that style in which the least is wrong, where the side fits in none of them.
        """
        failures = []
        for style in styles:
            measure = self._measure(style)
            if measure.needed <= measure.room and not measure.wide:
                return style, measure
            points = style.front if self.side == "front" else style.back
            failures.append(_failure(_place(self.view, self.side), measure, card_names(self.view, style), points))
        raise min(failures, key=lambda failure: failure.millimetres)

    def learn(self, style: CardStyle, measure: _Measure, more: float = 0.0) -> None:
        """Takes from a measure, and what is known to come on top of it, how tall the rest of the side is."""
        self.rest[style.landscape] = measure.needed - side_height(self.view, style, self.side)[0] + more

    def _may_fit(self, style: CardStyle) -> bool:
        if style in self.measures:
            measure = self.measures[style]
            return measure.needed <= measure.room and not measure.wide
        if style not in self.heights:
            self.heights[style] = side_height(self.view, style, self.side)
        height, excess = self.heights[style]
        room = side_room(self.view.size, style)
        return excess < _DOUBT_WIDE and height + self.rest[style.landscape] <= room + _DOUBT[self.side]

    def _measure(self, style: CardStyle) -> _Measure:
        if style not in self.measures:
            self.measures[style] = _measured(self.view, self.setter, style, self.side)
            self.learn(style, self.measures[style])
        return self.measures[style]


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
    scope = paper.SCOPE_LINE if sheet.scope_lines == 1 else paper.SCOPE_LINES.format(lines=sheet.scope_lines)
    raise DoesNotFit(_place(view, "front"), scope, max(over, 0.1), wide=True)


def _sizes(view: CardView, side: str) -> tuple[float, ...]:
    """The type sizes that are tried. A card that must not be used may be set smaller, to make room for saying so."""
    sheet = SHEETS[view.size]
    sizes = sheet.front if side == "front" else sheet.back
    return (sizes[0] - 1, sizes[0] - 0.5, *sizes) if mark(view.identity) else sizes


def side_room(size: str, style: CardStyle) -> float:
    """The height in millimetres that a side has."""
    return card_sheet.paper(SHEETS[size], style)[1] - 2 * SAFE - 0.2


def _place(view: CardView, side: str) -> str:
    """The side of the card in words, with the card's subject where there are several."""
    return paper.side(side, view.subject)


def _share(measure: _Measure, places: int) -> float:
    """Spare millimetres shared out, with a little kept back for rounding."""
    return max(0.0, min(MAX_STRETCH, (measure.room - measure.needed) / places - 0.05))


def _measured(view: CardView, setter: Typesetter, style: CardStyle, side: str) -> _Measure:
    """The measure of a side of the card set in a style."""
    document = setter.lay_out(paper_html.card_html(view, replace(style, measuring=side)))
    if len(document.pages) != 1:
        raise DoesNotFit(_place(view, side), paper.WHOLE_SIDE, (len(document.pages) - 1) * 3000)
    tops = {name: box[1] / MM for name, box in document.pages[0].anchors.items()}
    blocks = {name: tops[f"{name}-end"] - top for name, top in tops.items() if f"{name}-end" in tops}
    sheet = SHEETS[view.size]
    needed = tops[f"{side[0]}-foot-end"] - SAFE
    split = 0
    run = back.entries(view, style.brief, not style.code_front)
    if side == "back" and run and sheet.halves == 2:
        starts = [tops[f"{entry.id}-head" if entry.heading else entry.id] for entry in run]
        again = {entry.section: tops[entry.id] - tops[f"{entry.id}-head"] for entry in back.continued(run)}
        split, taller = back.best_split(run, [*starts, tops["back-column-1"]], again)
        needed -= tops["back-end"] - starts[0] - taller
    widths = {name: (box[2] - box[0]) / MM for name, box in document.pages[0].anchors.items()}
    return _Measure(needed, side_room(view.size, style), blocks, widths, wide_text(document), split)


def _failure(side: str, measure: _Measure, names: dict[str, str], points: float) -> DoesNotFit:
    """What to say of a side that is too long: the block that is longest beside the others of its kind.

    Of a word that is too wide: that word.
    """
    if measure.wide:
        wide = measure.wide
        name = names.get(wide.block, "")
        words = paper.word_of(wide.text, name) if name else paper.TEXT.format(text=wide.text)
        return DoesNotFit(side, words, wide.over, wide=True, characters=wide.characters)
    kinds: dict[str, list[float]] = {}
    for block, height in measure.blocks.items():
        kinds.setdefault(_kind(block), []).append(height)

    def excess(block: str) -> tuple[float, float]:
        kind, height = _kind(block), measure.blocks[block]
        usual = statistics.median_low(kinds[kind])
        return height - min(usual, _ORDINARY.get(kind, 30.0)), height

    longest = max(measure.blocks, key=excess)
    over = measure.needed - measure.room
    em = points * 25.4 / 72
    line = _LEADING * em
    characters = ceil(over / line) * max(1, int(measure.widths[longest] / (_LETTER * em)))
    if over > measure.blocks[longest] - line:
        characters = NOT_ENOUGH
    return DoesNotFit(side, names[longest], over, characters=characters)


def _kind(block: str) -> str:
    return block.rstrip("0123456789-")


def check_sides(document: Any) -> None:
    """The last look at a card: two pages, and every side ends above its foot. Raises `DoesNotFit`."""
    if len(document.pages) != 2:
        raise DoesNotFit(paper.CARD, paper.WHOLE_CARD, (len(document.pages) - 2) * document.pages[0].height / MM)
    for page, side in zip(document.pages, _SIDES, strict=True):
        over = page.anchors[f"{side}-end"][1] - page.anchors[f"{side[0]}-foot"][1]
        if over > TOLERANCE:
            raise DoesNotFit(paper.side(side), paper.WHOLE_SIDE, over / MM)
