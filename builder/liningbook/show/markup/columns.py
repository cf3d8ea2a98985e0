"""How wide the columns of a printed chart are: the widths with which its rows are lowest.

Texts are wrapped here as the typesetter will wrap them, with the advance widths of the font (OpenType `hmtx`; kerning
is left out, it only makes lines shorter). The result sets widths only: what fits is measured on the finished layout.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import ceil, hypot
from operator import ge

from liningbook.say.catalogue import language
from liningbook.show.assets.font_widths import measure
from liningbook.show.markup.grid import Grid
from liningbook.show.views.view import Step

TIED = re.compile(r"(?<![\w.])(?:[0-9][0-9.,]* [^\W\d_]{1,3} )?[0-9][0-9.,]* (?:%|°|[^\W\d_]+)")
"""A number, or two with a short word between them (`to`), and the word that follows: what is kept on one line."""

_POINT = 25.4 / 72
_NUMBER = 1.62
"""Ems that the number of a step takes."""
_STEPS = (1, 2, 4, 8, 16)
_TOO_WIDE = 50
"""Millimetres of height that a millimetre counts by which a word is too wide."""
_UNLIKE = 0.2
"""What the heights of a row's cells, as the root of their squares, count beside the highest."""
_LEAST = 8
"""Millimetres that no column is narrower than."""
_ROUNDED = 0.01
_MOST_LINES, _TALL = 3, 6.0
"""Lines that a heading may take, and what each further one counts, in millimetres of height."""


@dataclass(frozen=True)
class Sizes:
    """Type sizes in points of cells, of the names of rows and of columns, and of the heading over the names of rows.

    The last is 0 where that heading is short or may be broken. `note` is that of what stands small beneath names.
    `cell_edges` and `name_edges` are the millimetres at both edges of a cell and of a name, with the lines between.
    """

    cell: float
    name: float
    heading: float
    corner: float = 0
    cell_edges: float = 7.0
    name_edges: float = 3.4
    note: float = 10.0


def widths(drawn: Grid, total: int, sizes: Sizes) -> tuple[int, ...]:
    """Widths in millimetres of the column of names and of the others, together `total`, that keep the rows low.

    Found by moving millimetres from column to column while the chart gets lower. A word wider than its column counts
    heavily.
    """
    return _set(drawn, total, sizes, language())[0]


def table_height(drawn: Grid, total: int, sizes: Sizes) -> tuple[float, float]:
    """The height of a table's texts with the best widths, and how much its words are too wide, in millimetres."""
    found, table = _set(drawn, total, sizes, language())
    rows = [list(zip(row, found, strict=True)) for row in zip(*table.columns, strict=True)]
    height = sum(max(block.height(width) for block, width in row) for row in rows)
    return height, sum(block.excess(width) for row in rows for block, width in row)


def is_crowded(drawn: Grid, total: int, sizes: Sizes) -> bool:
    """Whether with the best widths a word is too wide, or the name of a column takes too many lines."""
    found, table = _set(drawn, total, sizes, language())
    columns = list(zip(table.columns, found, strict=True))
    wide = any(block.excess(width) > _ROUNDED for column, width in columns for block in column)
    return wide or any(column[0].lines(width) > _MOST_LINES + 1 for column, width in columns[1:])


def text_height(label: str, text: str, points: float, width: float) -> float:
    """The height in millimetres of a label in bold and a text, wrapped together, in lines as high as the type."""
    block = _Block([[(f"{label}: ", True), (text, False)] if label else [(text, False)]], points, 0)
    return block.lines(width) * points * _POINT


@lru_cache(maxsize=64)
def _set(drawn: Grid, total: int, sizes: Sizes, _spoken: str) -> tuple[tuple[int, ...], _Table]:
    """The widths with which a table is lowest, and its texts. No word is broken while another column has room."""
    table = _Table(drawn, sizes)
    count = len(table.columns)
    least = table.least()
    even = [total // count + (index < total % count) for index in range(count)]
    if sum(least) > total:
        return _lowest(table, tuple(even), [_LEAST] * count)[1], table
    left = total - sum(least)
    spread = [width + left // count + (index < left % count) for index, width in enumerate(least)]
    widest = [width + (left if width == max(least) else 0) for width in least]
    starts = [start for start in (even, spread, widest) if sum(start) == total]
    starts = [start for start in starts if all(map(ge, start, least))]
    return min(_lowest(table, tuple(start), least) for start in starts)[1], table


def _lowest(table: _Table, found: tuple[int, ...], least: Sequence[int]) -> tuple[float, tuple[int, ...]]:
    """The height that is reached by moving millimetres from column to column, and the widths."""
    best = table.height(found)
    columns = range(len(found))
    while True:
        moves = []
        for giver in columns:
            for taker in columns:
                for step in _STEPS:
                    if giver != taker and found[giver] - step >= least[giver]:
                        moved = list(found)
                        moved[giver] -= step
                        moved[taker] += step
                        moves.append((table.height(tuple(moved)), tuple(moved)))
        if not moves or min(moves)[0] >= best:
            return best, found
        best, found = min(moves)


def text_width(text: str, points: float, bold: bool = False) -> float:
    """How wide a text is on one line, in millimetres; kerning makes it a little narrower yet."""
    return measure(text, bold) * points * _POINT / 1000


def line_count(text: str, points: float, width: float) -> int:
    """How many lines a text takes that is `width` millimetres wide, broken at spaces; one more for a word too wide."""
    lines, used = 1, 0.0
    space = text_width(" ", points)
    for word in text.split():
        wide = text_width(word, points)
        if used and used + space + wide > width:
            lines, used = lines + 1, 0.0
        used += (space if used else 0.0) + wide
        if used > width:
            lines, used = lines + 1, width
    return lines


def column_css(table: str, drawn: Grid, total: int, sizes: Sizes) -> str:
    """Style rules with the widths of the columns of a table (a selector), as shares of `total` millimetres."""
    found = widths(drawn, total, sizes)
    rules = [
        f"{table} col:nth-child({index}) {{ width: {100 * width / total:.4f}%; }}"
        for index, width in enumerate(found, 1)
    ]
    return "\n".join([f"{table} {{ --names: {found[0]}mm; }}", *rules])


class _Table:
    """The texts of a chart, wrapped once for every width that is asked for."""

    def __init__(self, drawn: Grid, sizes: Sizes) -> None:
        corner = drawn.row_heading if sizes.corner else ""
        self.columns = [
            [
                _name((corner,), (), sizes.corner or sizes.heading, sizes.name_edges, sizes.note),
                *(_name(row.names, row.notes, sizes.name, sizes.name_edges, sizes.note) for row in drawn.rows),
            ],
            *(
                [
                    _name(
                        (", ".join(names),),
                        drawn.notes[index] if drawn.notes else (),
                        sizes.heading,
                        sizes.cell_edges,
                        sizes.note,
                    ),
                    *(_cell(row.cells[index].steps, sizes) for row in drawn.rows),
                ]
                for index, names in enumerate(drawn.columns)
            ),
        ]
        self.heights: list[dict[int, list[float]]] = [{} for _ in self.columns]

    def least(self) -> list[int]:
        """The widths with which no word is broken, in whole millimetres."""
        return [max(_LEAST, ceil(max(block.least() for block in column))) for column in self.columns]

    def height(self, found: tuple[int, ...]) -> float:
        """The height of the chart in millimetres, a little more for what nearly wraps, much more for a broken word.

        Of two as high that one counts as less in which the cells of a row are more alike. A heading of many lines
        cannot be read at a glance: it counts for more than it is high.
        """
        cells = [self._column(index, width) for index, width in enumerate(found)]
        rows: float = sum(max(row) + _UNLIKE * hypot(*row) for row in zip(*cells, strict=True))
        heads = (column[0].lines(width) for column, width in zip(self.columns[1:], found[1:], strict=True))
        return rows + _TALL * sum(max(0, n - _MOST_LINES) for n in heads)

    def _column(self, index: int, width: int) -> list[float]:
        known = self.heights[index]
        if width not in known:
            known[width] = [block.height(width) + _TOO_WIDE * block.excess(width) for block in self.columns[index]]
        return known[width]


@dataclass(frozen=True)
class _Chunk:
    """What may not be broken, in millimetres: its width, the space after it, the hyphen it takes at a line's end."""

    wide: float
    space: float
    hyphen: float = 0.0


class _Block:
    """Paragraphs that are wrapped together; each a list of texts, bold or not. `notes` stand small beneath them."""

    def __init__(
        self,
        paragraphs: Sequence[Sequence[tuple[str, bool]]],
        points: float,
        edges: float,
        indent: float = 0,
        notes: _Block | None = None,
    ) -> None:
        self.points, self.edges, self.notes = points, edges + indent * points * _POINT, notes
        self.chunks = [
            [chunk for text, bold in paragraph for chunk in _chunks(text, bold, points)] for paragraph in paragraphs
        ]

    def height(self, width: float) -> float:
        """In millimetres."""
        gaps = 0.28 * (len(self.chunks) - 1)
        notes = self.notes.height(width) if self.notes else 0.0
        return (1.18 * self.lines(width) + gaps) * self.points * _POINT + notes

    def least(self) -> float:
        """The width with which no word is too wide."""
        words = max((chunk.wide + chunk.hyphen for chunks in self.chunks for chunk in chunks), default=0.0)
        return max(words + self.edges, self.notes.least() if self.notes else 0.0)

    def excess(self, width: float) -> float:
        """By how many millimetres words are too wide, together."""
        free = width - self.edges
        over = sum(max(0.0, chunk.wide + chunk.hyphen - free) for chunks in self.chunks for chunk in chunks)
        return over + (self.notes.excess(width) if self.notes else 0.0)

    def lines(self, width: float) -> int:
        """How many lines the paragraphs take, without the notes."""
        free = width - self.edges
        lines = 0
        for chunks in self.chunks:
            lines += 1
            used = 0.0
            for chunk in chunks:
                if used and used + chunk.wide + chunk.hyphen > free:
                    lines += 1
                    used = 0.0
                used += chunk.wide + chunk.space
        return lines


def _name(names: Sequence[str], notes: Sequence[str], points: float, edges: float, note: float) -> _Block:
    beneath = _Block([[(text, False)] for text in notes], note, edges) if notes else None
    return _Block([[(name, True)] for name in names], points, edges, notes=beneath)


def _cell(steps: Sequence[Step], sizes: Sizes) -> _Block:
    indent = _NUMBER if any(step.number for step in steps) else 0
    return _Block([[(step.head, True), (step.tail, False)] for step in steps], sizes.cell, sizes.cell_edges, indent)


def _chunks(text: str, bold: bool, points: float) -> list[_Chunk]:
    """The pieces of a text between the places where a line may end."""
    tied = TIED.sub(lambda match: match[0].replace(" ", "\xa0"), text)
    space, hyphen = (text_width(sign, points, bold) for sign in " -")
    found = []
    for word in tied.split(" "):
        parts = re.findall(r"[^-]*-|[^-]+", word)
        for index, part in enumerate(parts):
            *first, last = syllables(part)
            found += [_Chunk(text_width(piece, points, bold), 0.0, hyphen) for piece in first]
            found.append(_Chunk(text_width(last, points, bold), space if index == len(parts) - 1 else 0.0))
    return found


def syllables(word: str) -> list[str]:
    """The pieces into which the typesetter may hyphenate a word in the language spoken, by the rules of `base.css`."""
    letters = re.search(r"[^\W\d_]{8,}", word)
    if letters is None or language().startswith("en"):
        return [word]
    ends = [letters.start() + place for place in _hyphenator(language())(letters[0])]
    return [word[start:end] for start, end in zip([0, *ends], [*ends, len(word)], strict=True)]


@lru_cache(maxsize=8)
def _hyphenator(tag: str) -> Callable[[str], Sequence[int]]:
    """Where words of a language may be hyphenated; nowhere where there are no patterns for it."""
    import pyphen

    known = pyphen.language_fallback(tag)
    return pyphen.Pyphen(lang=known, left=3, right=3).positions if known else lambda _: ()
