"""Where the columns of a forest plot stand, and how the words of each line are set in them.

Texts are measured with the font. Where the plot would be too narrow beside its columns, the words of a study stand
above its mark, which then has the whole width.
"""

from __future__ import annotations

from dataclasses import dataclass

from liningbook.show.figures.shapes import wide, wrapped
from liningbook.show.views.evidence.forest import Forest, ForestRow

LEADING = 1.22
"""From one line of text to the next, by its size; so are all lengths here."""
GAP = 1.0
LEAST_PLOT = 11.0
_TRIES = ((0.27, 11.0), (0.27, 7.5), (0.22, 5.5), (0.18, 0.0))
"""How wide the names may be, as a part of the whole, and the heads of the arms, before they are broken."""
_APART = 0.22
_BAND = 1.2

Word = tuple[float, float, str, str, bool]
"""A line of text: x, the distance of its base line from the top, the words, the anchor, whether it is bold."""


@dataclass(frozen=True)
class Columns:
    """Names from 0, figures of the arms that end at `treated` and `comparator`, the plot, estimates, weights."""

    is_wide: bool
    name: float
    treated: float
    comparator: float
    left: float
    right: float
    estimate: float
    width: float
    size: float


@dataclass(frozen=True)
class SetLine:
    """A line of the plot as it is set: its height, its words, where its mark stands and the band that is the mark's."""

    high: float
    words: tuple[Word, ...]
    mark: float
    band: tuple[float, float]


def columns(forest: Forest, width: float, size: float) -> Columns:
    """The columns of a plot that is `width` wide, with type of `size`: heads on few lines if the plot has room then."""
    for name, head in _TRIES:
        found = _columns(forest, width, size, name * width, head * size)
        if found.right - found.left >= LEAST_PLOT * size:
            return found
    edge = 0.6 * size
    return Columns(False, width, 0, 0, edge, width - edge, 0, width, size)


def _columns(forest: Forest, width: float, size: float, most_name: float, most_head: float) -> Columns:
    heads, totals = forest.heads, [forest.pooled, forest.prediction]
    rows = [(row, False) for row in forest.rows] + [(row, row is forest.pooled) for row in totals if row is not None]

    def needed(field: str, most: float) -> float:
        head = getattr(heads, "study" if field == "name" else field)
        cells = max((wide(getattr(row, field), size, bold) for row, bold in rows), default=0.0)
        word = max((wide(word, size, True) for word in head.split(" ")), default=0.0)
        return max(cells, word, min(wide(head, size, True), most))

    gap = GAP * size
    name = min(needed("name", 0), most_name)
    treated, comparator = (name + gap + needed("treated", most_head), 0.0) if heads.treated else (name, name)
    if heads.treated:
        comparator = treated + gap + needed("comparator", most_head)
    right = width - needed("weight", 0) - gap - needed("estimate", 0) - gap
    return Columns(True, name, treated, comparator, comparator + gap, right, right + gap, width, size)


def head_words(forest: Forest, cols: Columns) -> tuple[float, list[Word]]:
    """The heads of the columns, and how high they are."""
    heads, size = forest.heads, cols.size
    if not cols.is_wide:
        lines = [(line, True) for line in wrapped(heads.estimate, size, cols.width, True)]
        lines += [(line, False) for line in wrapped(heads.arms, size, cols.width)] if heads.arms else []
        return _high(len(lines), size), [
            (0, _base(n, size), text, "start", bold) for n, (text, bold) in enumerate(lines)
        ]
    gap = GAP * size
    arms = [
        (end, [(line, True) for line in wrapped(words, size, end - start - gap, True)] + [("", False)], "end")
        for start, end, words in (
            (cols.name, cols.treated, heads.treated),
            (cols.treated, cols.comparator, heads.comparator),
        )
        if words
    ]
    if arms:
        arms[1][1][-1] = (heads.figures, False)
    weights = cols.width - cols.estimate
    rest = [
        (0.0, [(heads.study, True)], "start"),
        (cols.estimate, [(line, True) for line in _estimate_head(forest, cols)], "start"),
        (cols.width, [(line, True) for line in wrapped(heads.weight, size, weights, True)], "end"),
    ]
    most = max(len(lines) for _, lines, _ in (*arms, *rest))
    found = [
        (x, _base(most - len(lines) + n, size), text, anchor, bold)
        for x, lines, anchor in (*rest, *arms)
        for n, (text, bold) in enumerate(lines)
    ]
    return _high(most, size), found


def _estimate_head(forest: Forest, cols: Columns) -> list[str]:
    room = cols.width - cols.estimate - GAP * cols.size - wide(forest.heads.weight, cols.size, True)
    return wrapped(forest.heads.estimate, cols.size, room, True)


def line_of(row: ForestRow, cols: Columns, bold: bool = False) -> SetLine:
    """A study, all of them together or what is to be expected of a further one, as it is set."""
    return _beside(row, cols, bold) if cols.is_wide else _above(row, cols, bold)


def _beside(row: ForestRow, cols: Columns, bold: bool) -> SetLine:
    size = cols.size
    names = wrapped(row.name, size, cols.name, bold)
    reasons = [] if row.mark else wrapped(row.reason, size, cols.width - cols.left)
    most = max(len(names), len(reasons))
    high = _high(most, size)
    one = _base((most - 1) / 2, size)
    words: list[Word] = [
        (0, _base(n + (most - len(names)) / 2, size), text, "start", bold) for n, text in enumerate(names)
    ]
    words += [(cols.left, _base(n, size), text, "start", False) for n, text in enumerate(reasons)]
    words += [
        (cols.treated, one, row.treated, "end", bold),
        (cols.comparator, one, row.comparator, "end", bold),
        (cols.estimate, one, row.estimate, "start", bold),
        (cols.width, one, row.weight, "end", bold),
    ]
    return SetLine(high, tuple(words), high / 2, (0, high))


def _above(row: ForestRow, cols: Columns, bold: bool) -> SetLine:
    size, width = cols.size, cols.width
    lines: list[tuple[str, str]] = []
    for left, right, is_bold in ((row.name, row.estimate, True), (row.arms, row.weight, bold)):
        if wide(left, size, is_bold) + wide(right, size, is_bold) + size <= width or not right:
            lines += [(text, "") for text in wrapped(left, size, width, is_bold)[:-1]]
            lines.append((wrapped(left, size, width, is_bold)[-1], right))
        else:
            lines += [(text, "") for text in wrapped(left, size, width, is_bold)] + [("", right)]
        if left is row.name:
            names = len(lines)
    lines += [(text, "") for text in wrapped(row.reason, size, width)] if row.reason else []
    lines = [line for n, line in enumerate(lines) if any(line) or n < names]
    words = [
        (x, _base(n, size), text, anchor, bold or n < names)
        for n, line in enumerate(lines)
        for x, text, anchor in ((0.0, line[0], "start"), (width, line[1], "end"))
    ]
    told = len(lines) * LEADING * size
    band = _BAND * size if row.mark else 0.0
    return SetLine(
        told + band + 2 * _APART * size,
        tuple(words),
        told + band / 2 + 0.15 * size,
        (told, told + band + _APART * size),
    )


def _high(lines: float, size: float) -> float:
    return (lines * LEADING + _APART) * size


def _base(line: float, size: float) -> float:
    """The base line of a line of text, from 0, below the top of its block."""
    return (line * LEADING + 0.95 + _APART / 2) * size
