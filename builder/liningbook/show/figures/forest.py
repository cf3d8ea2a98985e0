"""The forest plot of an outcome (SVG), for paper, page and a file of its own: this is the one place that draws it.

A square a study, its area by the weight, with its interval, and an arrow where that leaves the axis; a diamond from
limit to limit for all studies together, a ring where they have none; a bar for the prediction interval. A full line
stands at no effect, a broken one at the effect of all studies, a dotted one where an effect begins to matter.
Everything is ink: no colour means anything.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from html import escape
from itertools import pairwise
from math import inf, sqrt

from liningbook.show.figures.forest_columns import LEADING, Columns, SetLine, Word, columns, head_words, line_of
from liningbook.show.figures.shapes import FAMILY, drawing, filled, number, said, stroke, wide, wrapped
from liningbook.show.views.evidence.forest import NO_EFFECT, Forest, ForestRow, Spot, Tick

_SQUARE, _LEAST_SQUARE, _DIAMOND = 1.0, 0.22, 0.95
_THIN, _BOLD, _BAR = 0.055, 0.09, 0.2
_EDGE = 0.08
"""What is left free at both sides, since a letter may reach a little out of its place."""


def forest_svg(
    forest: Forest, width: float, size: float, unit: str = "", uid: str = "", is_hidden: bool = False
) -> str:
    """The plot as one picture, `width` wide, with type of `size`, both in `unit`, or in pixels that may be stretched.

    `is_hidden` keeps it from who is told the same by a table beside it. `uid` ends its identifiers.
    """
    return forest_parts(forest, width, size, inf, unit, uid, is_hidden)[0]


def forest_parts(
    forest: Forest, width: float, size: float, most: float, unit: str = "", uid: str = "", is_hidden: bool = False
) -> tuple[str, ...]:
    """The plot in as many pictures as it takes for none to be higher than `most`, each with its heads and its axis."""
    plot = _Plot(forest, columns(forest, width - 2 * _EDGE * size, size))
    lines = [(row, line_of(row, plot.columns)) for row in forest.rows]
    groups: list[list[tuple[ForestRow, SetLine]]] = [[]]
    for row, line in lines:
        high = plot.rest(len(groups) > 1, row is forest.rows[-1]) + sum(other.high for _, other in groups[-1])
        if groups[-1] and high + line.high > most:
            groups.append([])
        groups[-1].append((row, line))
    parts = []
    for place, group in enumerate(groups):
        name = f"{uid or forest.id}-{place}" if len(groups) > 1 else uid or forest.id
        parts.append(plot.picture(group, place > 0, place == len(groups) - 1, unit, name, is_hidden))
    return tuple(parts)


@dataclass(frozen=True)
class _Plot:
    """A plot of which the columns are known."""

    forest: Forest
    columns: Columns

    def picture(
        self,
        group: list[tuple[ForestRow, SetLine]],
        is_continued: bool,
        is_last: bool,
        unit: str,
        uid: str,
        is_hidden: bool,
    ) -> str:
        """A part of the plot: heads, these studies, with the last of them what they come to, and the axis."""
        size, width = self.columns.size, self.columns.width
        high, heads = self._heads(is_continued)
        shapes = [stroke(f"M0 {number(high)}H{number(width)}", _THIN * size, "rule")]
        y, bands, words = high, [], [self._words(heads, 0)]
        shown = [(row, line, False) for row, line in group]
        if is_last:
            shown += [(row, line_of(row, self.columns, row is self.forest.pooled), True) for row in self._totals()]
        for row, line, is_total in shown:
            if is_total and row is self._totals()[0]:
                shapes.append(stroke(f"M0 {number(y)}H{number(width)}", _THIN * size, "rule"))
            words.append(self._words(line.words, y))
            shapes += self._mark(row, y + line.mark)
            bands += [(y + line.band[0], y + line.band[1])] if row.mark else []
            y += line.high
        shapes = [*self._guides(bands), *shapes, *self._axis(y)]
        for block, told in self._foot(is_last):
            words.append(self._words(told, y))
            y += block
        return self._svg(drawing(shapes, words), y, unit, uid, is_hidden, is_continued)

    def rest(self, is_continued: bool, is_last: bool) -> float:
        """How high a part of the plot is without its studies."""
        totals = (
            sum(line_of(row, self.columns, row is self.forest.pooled).high for row in self._totals())
            if is_last
            else 0.0
        )
        return self._heads(is_continued)[0] + totals + sum(high for high, _ in self._foot(is_last))

    def _totals(self) -> list[ForestRow]:
        return [row for row in (self.forest.pooled, self.forest.prediction) if row is not None]

    def _heads(self, is_continued: bool) -> tuple[float, list[Word]]:
        high, words = head_words(self.forest, self.columns)
        heading = self.forest.continued if is_continued else self.forest.heading
        if not heading:
            return high, words
        size = self.columns.size
        lines = wrapped(heading, size, self.columns.width, True)
        more = (len(lines) * LEADING + 0.4) * size
        told: list[Word] = [(0, (n * LEADING + 0.95) * size, text, "start", True) for n, text in enumerate(lines)]
        moved = [(x, down + more, text, anchor, bold) for x, down, text, anchor, bold in words]
        return high + more, told + moved

    def _x(self, value: float) -> float:
        axis, cols = self.forest.axis, self.columns
        return cols.left + (value - axis.low) / (axis.high - axis.low) * (cols.right - cols.left)

    def _is_within(self, value: float) -> bool:
        return self.forest.axis.low - 1e-9 <= value <= self.forest.axis.high + 1e-9

    def _mark(self, row: ForestRow, y: float) -> Iterator[str]:
        if row.mark is None:
            return
        if row is self.forest.prediction:
            yield from self._bar(row.mark, y)
        elif row is self.forest.pooled:
            yield from self._diamond(row.mark, y)
        else:
            yield from self._study(row, row.mark, y)

    def _study(self, row: ForestRow, mark: Spot, y: float) -> Iterator[str]:
        size = self.columns.size
        yield from self._whisker(mark, y, _BOLD * size, "whisker")
        if not self._is_within(mark.value):
            return
        largest = max(one.share for one in self.forest.rows)
        half = max(_LEAST_SQUARE, _SQUARE * sqrt(row.share / largest if largest else 1)) * size / 2
        x = self._x(mark.value)
        yield filled([(x - half, y - half), (x + half, y - half), (x + half, y + half), (x - half, y + half)], "square")
        if mark.low is not None and mark.high is not None:
            left, right = max(x - half, self._x(mark.low)), min(x + half, self._x(mark.high))
            if half > 0.3 * size:
                yield stroke(f"M{number(left)} {number(y)}H{number(right)}", _THIN * size, "within", paper=True)

    def _whisker(self, mark: Spot, y: float, thick: float, name: str) -> Iterator[str]:
        """The interval, with an arrow at each end that lies beyond the axis."""
        if mark.low is None or mark.high is None:
            return
        ends = [min(max(self._x(end), self.columns.left), self.columns.right) for end in (mark.low, mark.high)]
        yield stroke(f"M{number(ends[0])} {number(y)}H{number(ends[1])}", thick, name)
        yield from self._arrows(mark, y)

    def _arrows(self, mark: Spot, y: float) -> Iterator[str]:
        axis, cols, tip = self.forest.axis, self.columns, 0.5 * self.columns.size
        for is_beyond, edge, back in (
            (mark.low is not None and mark.low < axis.low - 1e-9, cols.left, tip),
            (mark.high is not None and mark.high > axis.high + 1e-9, cols.right, -tip),
        ):
            if is_beyond:
                yield filled([(edge, y), (edge + back, y - tip / 2), (edge + back, y + tip / 2)], "arrow")

    def _diamond(self, mark: Spot, y: float) -> Iterator[str]:
        size = self.columns.size
        half, middle = _DIAMOND * size / 2, self._x(mark.value)
        if mark.low is None or mark.high is None or not self._is_within(mark.value):
            yield from self._whisker(mark, y, _BOLD * size, "whisker")
            if self._is_within(mark.value):
                radius = 0.34 * size
                yield (
                    f'<circle class="ring" cx="{number(middle)}" cy="{number(y)}" r="{number(radius)}" '
                    f'stroke-width="{number(_BAR * size)}"/>'
                )
            return
        (left, up), (right, down) = (self._corner(end, middle, half) for end in (mark.low, mark.high))
        corners = [(left, y + up), (left, y - up), (middle, y - half), (right, y - down), (right, y + down)]
        yield filled([*corners, (middle, y + half)], "diamond")
        yield from self._arrows(mark, y)

    def _corner(self, end: float, middle: float, half: float) -> tuple[float, float]:
        """Where a side of the diamond ends, and half its height there: 0, unless the axis cuts it off."""
        at = self._x(end)
        edge = min(max(at, self.columns.left), self.columns.right)
        return edge, half * abs(at - edge) / abs(at - middle) if at != edge else 0.0

    def _bar(self, mark: Spot, y: float) -> Iterator[str]:
        """The prediction interval: a bar that no square and no diamond can be taken for, with upright ends."""
        size = self.columns.size
        yield from self._whisker(mark, y, _BAR * size, "prediction")
        for end in (mark.low, mark.high):
            if end is not None and self._is_within(end):
                at = number(self._x(end))
                yield stroke(f"M{at} {number(y - 0.3 * size)}V{number(y + 0.3 * size)}", _BOLD * size, "end")

    def _guides(self, bands: list[tuple[float, float]]) -> Iterator[str]:
        """The upright lines: at no effect, at the effect of all studies, and where an effect begins to matter."""
        size, pooled = self.columns.size, self.forest.pooled
        lines: list[tuple[float | None, str, tuple[float, ...], float]] = [
            (NO_EFFECT, "no-effect", (), _THIN),
            (pooled.mark.value if pooled and pooled.mark else None, "all-studies", (0.35 * size, 0.25 * size), _THIN),
            (self.forest.axis.threshold, "threshold", (0.09 * size, 0.22 * size), _BOLD),
        ]
        for value, name, dashes, thick in lines:
            if value is not None and self._is_within(value):
                x = number(self._x(value))
                data = "".join(f"M{x} {number(top)}V{number(foot)}" for top, foot in bands)
                yield stroke(data, thick * size, name, dashes)

    def _axis(self, y: float) -> Iterator[str]:
        cols, size = self.columns, self.columns.size
        yield stroke(f"M{number(cols.left)} {number(y)}H{number(cols.right)}", _BOLD * size, "axis")
        for tick in self._ticks():
            yield stroke(f"M{number(self._x(tick.value))} {number(y)}v{number(0.3 * size)}", _BOLD * size, "tick")

    def _ticks(self) -> tuple[Tick, ...]:
        """The first set of ticks of which no two names meet."""
        size = self.columns.size
        for ticks in self.forest.axis.ticks:
            ends = [(self._x(one.value), wide(one.label, size) / 2) for one in ticks]
            if all(right[0] - right[1] - left[0] - left[1] > 0.45 * size for left, right in pairwise(ends)):
                return ticks
        return self.forest.axis.ticks[-1][:1]

    def _foot(self, is_last: bool) -> Iterator[tuple[float, list[Word]]]:
        """Blocks of words beneath the axis, each with its height."""
        cols, size, axis = self.columns, self.columns.size, self.forest.axis
        row = LEADING * size
        ticks: list[Word] = [self._centred(self._x(one.value), 1.3 * size, one.label) for one in self._ticks()]
        if cols.is_wide and wide(axis.words, size) < cols.left - 2 * size:
            yield 1.7 * size, [*ticks, (0, 1.3 * size, axis.words, "start", False)]
        else:
            yield 1.7 * size, ticks
            yield row, [self._centred((cols.left + cols.right) / 2, 0.9 * size, axis.words)]
        if axis.threshold is not None and self._is_within(axis.threshold):
            yield row, [self._centred(self._x(axis.threshold), 0.9 * size, axis.threshold_words)]
        yield self._sides()
        for text in self.forest.below if is_last else ():
            lines = wrapped(text, size, cols.width)
            yield (
                len(lines) * row,
                [(0.0, n * row + 0.95 * size, line, "start", False) for n, line in enumerate(lines)],
            )
        yield 0.25 * size, []

    def _sides(self) -> tuple[float, list[Word]]:
        """Whom each side of no effect speaks for, with an arrow to it; one beneath the other in a narrow plot."""
        cols, size, axis = self.columns, self.columns.size, self.forest.axis
        texts = f"← {axis.left}", f"{axis.right} →"
        words: list[Word] = []
        if not cols.is_wide:
            for text, x, anchor in zip(texts, (0.0, cols.width), ("start", "end"), strict=True):
                for line in wrapped(text, size, cols.width):
                    words.append((x, (len(words) * LEADING + 0.95) * size, line, anchor, False))
            return (len(words) * LEADING + 0.3) * size, words
        middle, most = self._x(NO_EFFECT), 0
        middle = min(max(middle, 0.3 * cols.width), 0.7 * cols.width)
        sides = ((middle - size, middle - size / 2, "end"), (cols.width - middle - size, middle + size / 2, "start"))
        for text, (room, x, anchor) in zip(texts, sides, strict=True):
            lines = wrapped(text, size, min(room, 26 * size))
            most = max(most, len(lines))
            words += [(x, (n * LEADING + 0.95) * size, line, anchor, False) for n, line in enumerate(lines)]
        return (most * LEADING + 0.3) * size, words

    def _centred(self, x: float, y: float, text: str) -> Word:
        half = wide(text, self.columns.size) / 2 + 0.01
        return min(max(x, half), self.columns.width - half), y, text, "middle", False

    def _words(self, words: Iterable[Word], y: float) -> str:
        return "".join(said(x, y + down, text, anchor, bold) for x, down, text, anchor, bold in words)

    def _svg(self, inside: str, high: float, unit: str, uid: str, is_hidden: bool, is_continued: bool) -> str:
        edge = _EDGE * self.columns.size
        width = self.columns.width + 2 * edge
        box = f"{number(-edge)} 0 {number(width)} {number(high)}"
        size = f' width="{number(width)}{unit}" height="{number(high)}{unit}"' if unit else ""
        letters = f'font-family="{FAMILY}" font-size="{number(self.columns.size)}"'
        look = f'class="figure forest" viewBox="{box}"{size} {letters}'
        if is_hidden:
            return f'<svg {look} aria-hidden="true">{inside}</svg>'
        told = escape(self.forest.title if is_continued else self.forest.alternative)
        title = escape(self.forest.continued if is_continued else self.forest.title)
        named = f'<title id="title-{uid}">{title}</title><desc id="desc-{uid}">{told}</desc>'
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" {look} role="img" aria-labelledby="title-{uid} desc-{uid}">'
            f"{named}{inside}</svg>"
        )
