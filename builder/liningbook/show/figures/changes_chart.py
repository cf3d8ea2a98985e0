"""The band chart before and after, with the cells marked whose advice has changed (SVG 1.1).

Both are cut at the bands of both versions, so that a cell has changed as a whole or not at all. They stand for the
usual case of the new version; what lies outside it is named beneath.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import reduce
from html import escape
from operator import or_

from liningbook.compare.comparison import Comparison, Difference
from liningbook.compare.ranking import ToldChange
from liningbook.meaning.chart import Layout, cell_box, choose_layout
from liningbook.notation.interval import Range
from liningbook.say.changes.shown import change_told, chart_notes, usual_words
from liningbook.say.changes.summary import decision_label
from liningbook.say.changes.treatment import outcome_words
from liningbook.say.texts import t
from liningbook.show.assets.fonts import web_font_css
from liningbook.show.figures.band_chart import MOST_ACROSS, draw
from liningbook.show.figures.band_data import BandChart, band_chart_of, band_words, complete
from liningbook.show.figures.band_wide import is_crowded
from liningbook.show.figures.drawing import FAMILY, INK, line_of_text, size_of, tenths, wrap
from liningbook.show.views.chart_view import ChartWords
from liningbook.show.views.view import Labelled
from liningbook.space.boxes import meets

WIDTH, NARROW = 7200, 3200
"""The widths of a whole picture and of a chart in its narrow form, in tenths of a unit."""
HEAD, LINE, GAP = 340, 190, 200

Cells = frozenset[tuple[int, int]]


@dataclass(frozen=True)
class Side:
    """The chart of one version and its changed cells (number of the band, number of the choice)."""

    head: str
    chart: BandChart
    marked: Cells

    @property
    def is_narrow(self) -> bool:
        """Whether it has too many bands to be drawn across, or too many for a word to stay whole."""
        whole, moved = complete(self.chart, self.marked)
        return len(whole.bands) > MOST_ACROSS or is_crowded(whole, moved)

    def drawn(self, uid: str, narrow: bool) -> str:
        """The drawing of it."""
        return draw(self.chart, uid, marked=self.marked, narrow=narrow)

    def looks(self, cells: Iterable[tuple[int, int]]) -> tuple[object, ...]:
        """What tells cells apart for the eye."""
        found = ((self.chart.cells[band][choice], (band, choice) in self.marked) for band, choice in cells)
        return tuple((cell.steps, cell.tone, is_marked) for cell, is_marked in found)

    def of(self, choices: Iterable[int]) -> Side:
        """This side with some choices only, by their numbers."""
        kept = list(choices)
        chart = replace(
            self.chart,
            choices=tuple(self.chart.choices[n] for n in kept),
            cells=tuple(tuple(row[n] for n in kept) for row in self.chart.cells),
        )
        return Side(self.head, chart, frozenset((b, kept.index(c)) for b, c in self.marked if c in kept))


@dataclass(frozen=True)
class ChartPair:
    """Both charts. `usual` is the case that they stand for, `notes` say what the marks mean and what they leave out.

    `told` says of every change, by its number, which cells of the chart it concerns.
    """

    before: Side
    after: Side
    usual: tuple[Labelled, ...]
    notes: tuple[str, ...]
    told: tuple[str, ...]

    @property
    def changed(self) -> tuple[int, ...]:
        """The numbers of the choices with a changed cell."""
        return tuple(sorted({choice for side in (self.before, self.after) for _, choice in side.marked}))

    def groups(self) -> list[tuple[int, ...]]:
        """The choices with a changed cell; those that look alike before and after stand together."""
        found: dict[object, list[int]] = {}
        for choice in self.changed:
            looks = tuple(
                side.looks((band, choice) for band in range(len(side.chart.bands)))
                for side in (self.before, self.after)
            )
            found.setdefault(looks, []).append(choice)
        return [tuple(choices) for choices in found.values()]

    @property
    def is_narrow(self) -> bool:
        """Whether either has too many bands to be drawn across."""
        return self.before.is_narrow or self.after.is_narrow

    def of(self, choices: Iterable[int]) -> ChartPair:
        """Both charts with some choices only."""
        kept = tuple(choices)
        return replace(self, before=self.before.of(kept), after=self.after.of(kept))


def chart_pair(comparison: Comparison) -> ChartPair | None:
    """Both charts; nothing where there is no quantity or no choice to draw one of, or no case that they stand for."""
    layout = choose_layout(comparison.new)
    if layout is None:
        return None
    words = [ChartWords(meaning, layout=layout) for meaning in (comparison.old, comparison.new)]
    bands = _common_bands(words[0].bands, words[1].bands)
    if not bands:
        return None
    for one in words:
        one.bands = bands
    old, new, chart = band_chart_of(comparison.old, words[0]), band_chart_of(comparison.new, words[1]), words[1].chart()
    assert old is not None and new is not None and chart is not None
    marked = _marked(comparison.differences, layout, bands)
    heads = (
        t.before_edition(edition=comparison.old_protocol.edition),
        t.after_edition(edition=comparison.new_protocol.edition),
    )
    before, after = (_joined(Side(*side, marked)) for side in zip(heads, (old, new), strict=True))
    told = comparison.ranking.told
    outside = [n for n, one in enumerate(told, 1) if not any(_meets(d, layout.usual) for d in _all(one))]
    notes = tuple(chart_notes(len(told), outside))
    return ChartPair(before, after, chart.usual, notes, tuple(_told(comparison, layout, bands, new)))


def _common_bands(old: list[int], new: list[int]) -> list[int]:
    """The bands of both versions cut at each other's ends, thin to thick; each a stretch without a break."""
    parts = {a & b for a in old for b in new if a & b}
    for one, other in ((old, new), (new, old)):
        covered = reduce(or_, other, 0)
        parts |= {band & ~covered for band in one if band & ~covered}
    return sorted(run for part in parts for run in _runs(part))


def _runs(mask: int) -> Iterable[int]:
    """The stretches of neighbouring cells in a mask."""
    while mask:
        low = mask & -mask
        run = mask & ~(mask + low)
        yield run
        mask &= ~run


def _meets(difference: Difference, cases: tuple[int, ...]) -> bool:
    return any(meets(box, cases) for box in difference.region)


def _all(told: ToldChange[Difference]) -> Iterable[Difference]:
    """A change and those that follow from it."""
    return (told.change, *told.following)


def _marked(differences: Iterable[Difference], layout: Layout, bands: list[int]) -> Cells:
    """The cells in which anything changed for the usual case."""
    found = set()
    for number, band in enumerate(bands):
        for place, cell in enumerate(layout.columns):
            shown = cell_box(layout, band, 1 << cell)
            if any(_meets(difference, shown) for difference in differences):
                found.add((number, place))
    return frozenset(found)


def _joined(side: Side) -> Side:
    """Neighbouring bands that look alike and are marked alike as one band."""
    bands: list[Range] = []
    rows: list[object] = []
    kept: list[int] = []
    for number, band in enumerate(side.chart.bands):
        looks = side.looks((number, choice) for choice in range(len(side.chart.choices)))
        last = bands[-1] if bands else None
        beside = last is not None and (last.upper.value, last.upper.closed) == (band.lower.value, not band.lower.closed)
        if last is not None and beside and rows[-1] == looks:
            bands[-1] = Range(last.lower, band.upper)
        else:
            bands.append(band)
            rows.append(looks)
            kept.append(number)
    chart = replace(side.chart, bands=tuple(bands), cells=tuple(side.chart.cells[number] for number in kept))
    return Side(side.head, chart, frozenset((kept.index(b), c) for b, c in side.marked if b in kept))


def _told(comparison: Comparison, layout: Layout, bands: list[int], data: BandChart) -> Iterable[str]:
    """Every change that is told with the cells of the chart that it concerns."""
    old, new = comparison.old.protocol, comparison.new.protocol
    for number, one in enumerate(comparison.ranking.told, 1):
        difference = one.change
        cells = _marked([difference], layout, bands)
        places = []
        for choice, label in enumerate(data.choices):
            marked = sorted(band for band, column in cells if column == choice)
            places += [f"{label}, {band_words(data, first, last)}" for first, last in _stretches(data, marked)]
        name = difference.decision
        before, after = outcome_words(old, name, difference.before), outcome_words(new, name, difference.after)
        yield change_told(number, decision_label(comparison, name), before, after, places)


def _stretches(data: BandChart, numbers: list[int]) -> Iterable[tuple[int, int]]:
    """Neighbouring bands by the numbers of the first and the last."""
    found: list[tuple[int, int]] = []
    for number in numbers:
        last = found[-1][1] if found else -2
        if last == number - 1 and data.bands[last].upper.value == data.bands[number].lower.value:
            found[-1] = (found[-1][0], number)
        else:
            found.append((number, number))
    return found


def changes_chart(comparison: Comparison) -> str | None:
    """Both charts in one picture that stands alone: one above the other, or beside each other if they are narrow.

    Nothing where there is no chart. The text alternative lists every change.
    """
    pair = chart_pair(comparison)
    if pair is None:
        return None
    narrow = pair.is_narrow
    parts = []
    left, top, foot = 0, 0, 0
    for uid, side in (("before", pair.before), ("after", pair.after)):
        drawing = side.drawn(uid, narrow)
        wide, high = size_of(drawing)
        heads = wrap(side.head, True, wide)
        parts += [line_of_text(left, top + 190 + n * LINE, line, bold=True) for n, line in enumerate(heads)]
        down = top + HEAD + (len(heads) - 1) * LINE
        place = f'<svg x="{tenths(left)}" y="{tenths(down)}" width="{tenths(wide)}" height="{tenths(high)}"'
        parts.append(re.sub(r"<svg", place, _without_size(drawing), count=1))
        foot = max(foot, down + high)
        left, top = (left + WIDTH - NARROW, top) if narrow else (0, foot + GAP)
    y = foot + 260
    for text in (*pair.notes, *_usual(pair)):
        for line in wrap(text, False, WIDTH - 40):
            parts.append(line_of_text(20, y, line))
            y += LINE
    title = t.chart_title(title=comparison.new_protocol.title)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{tenths(WIDTH)}" height="{tenths(y)}" '
        f'viewBox="0 0 {tenths(WIDTH)} {tenths(y)}" role="img" aria-labelledby="changes-t changes-d" '
        f'font-family="{FAMILY}" fill="{INK}">'
        f'<title id="changes-t">{escape(title)}</title>'
        f'<desc id="changes-d">{escape(" ".join((*pair.told, *pair.notes, *_usual(pair))))}</desc>'
        f"<style>{web_font_css()}</style>"  # a file that stands alone must not depend on what fonts a machine has
        f'<rect width="{tenths(WIDTH)}" height="{tenths(y)}" fill="#ffffff"/>{"".join(parts)}</svg>\n'
    )


def _usual(pair: ChartPair) -> list[str]:
    return [usual_words((fact.label, fact.text) for fact in pair.usual)] if pair.usual else []


def _without_size(drawing: str) -> str:
    head, end, rest = drawing.partition(">")
    return re.sub(r' (width|height|xmlns)="[^"]*"', "", head) + end + rest
