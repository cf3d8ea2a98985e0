"""The exceptions of one decision to the chart, as lines read from the top: the first that fits decides.

A case departs in a factor where its value is not one of the usual ones for which the chart stands. The lines are found
level by level: first those of one departing factor, then those of two that correct what the first say of such cases,
and so on. A line of a level is right in every case of its own departing factors (it holds for all values of the
others), so it can be wrong only where more factors depart; there a line of a higher level stands above it. So there is
an end: at most one level a factor, and in each at most one line for each box of cases that were wrong.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from liningbook.meaning.chart import Layout, Line, Outcomes, cell_box, placed
from liningbook.meaning.decide import Outcome
from liningbook.space.boxes import Box, cell_count, meet, meets
from liningbook.space.cells import Space
from liningbook.space.region import Region

MOST_SEEDS = 8
"""How many parts of what is still to be listed are tried as the start of a line, the largest first."""


def departing(layout: Layout, box: Box) -> tuple[int, ...]:
    """The axes on which no case of the box has a usual value."""
    return tuple(n for n, (mask, usual) in enumerate(zip(box, layout.usual, strict=True)) if not mask & usual)


def lines_of(outcomes: Outcomes, layout: Layout, decision: str, charted: Sequence[int]) -> list[Line]:
    """How one decision departs from the chart, as lines read from the top: the first that fits decides."""
    key = (layout, decision, tuple(charted))
    if key not in outcomes.lines:
        outcomes.lines[key] = _lines(outcomes, layout, decision, charted)
    return outcomes.lines[key]


_Cases = list[tuple[Outcome, Region]]
"""Cases by what a decision comes to in them."""


def _lines(outcomes: Outcomes, layout: Layout, decision: str, charted: Sequence[int]) -> list[Line]:
    space = outcomes.meaning.space
    true = [
        (outcome, region & Region((layout.shown,)))
        for outcome, region in outcomes.by_decision[decision]
        if outcome.state != "not-needed"
    ]
    wrong = _unlike_the_chart(outcomes, layout, decision, charted, true)
    lines: list[Line] = []
    for level in range(1, len(layout.usual) + 1):
        if not any(region for _, region in wrong):
            break
        found = [
            Line(decision, box, outcome)
            for axes, parts in sorted(_of_level(layout, wrong, level).items())
            for box, outcome in _boxes(space, layout, axes, parts, true)
        ]
        found = _ranked(found, true)
        wrong = _corrected(wrong, true, found)
        lines = found + lines
    assert not any(region for _, region in wrong)
    return lines


def _unlike_the_chart(
    outcomes: Outcomes, layout: Layout, decision: str, charted: Sequence[int], true: _Cases
) -> _Cases:
    """The cases in which the decision comes to something else than the chart says. It is right for the usual ones."""
    told: dict[object, list[Box]] = {}
    for band in charted:
        for column in layout.columns:
            held = outcomes.within(decision, cell_box(layout, band, 1 << column))
            if len(held) == 1:
                told.setdefault(held[0][0].said, []).append(placed(layout, layout.shown, band, 1 << column))
    return [(outcome, region.minus([*told.get(outcome.said, []), layout.usual])) for outcome, region in true]


def _of_level(layout: Layout, wrong: _Cases, level: int) -> dict[tuple[int, ...], _Cases]:
    """The wrong cases in which so many factors depart, by these factors. In none do fewer depart."""
    found: dict[tuple[int, ...], _Cases] = {}
    for outcome, region in wrong:
        parts: dict[tuple[int, ...], list[Box]] = {}
        for box in region:
            axes = departing(layout, box)
            if len(axes) == level:
                parts.setdefault(axes, []).append(_at_home(layout, axes, box))
        for axes, boxes in parts.items():
            found.setdefault(axes, []).append((outcome, Region(tuple(boxes))))
    return found


def _at_home(layout: Layout, axes: tuple[int, ...], box: Box) -> Box:
    """Those cases of a box that depart in exactly the factors `axes`; some masks may come out empty."""
    return tuple(
        mask & ~usual if number in axes else mask & usual
        for number, (mask, usual) in enumerate(zip(box, layout.usual, strict=True))
    )


def _boxes(
    space: Space, layout: Layout, axes: tuple[int, ...], wrong: _Cases, true: _Cases
) -> Iterator[tuple[Box, Outcome]]:
    """Few large boxes that correct the wrong cases, all of which depart in exactly the factors `axes`."""
    home = _at_home(layout, axes, layout.shown)
    held = [(outcome, [part for box in region if (part := meet(box, home))]) for outcome, region in true]
    while any(region for _, region in wrong):
        best: tuple[tuple[int, int], Box, Outcome] | None = None
        for outcome, region in wrong:
            forbidden = [box for other, boxes in held if other.said != outcome.said for box in boxes]
            for wide in _grown(home, region, forbidden):
                box = _narrowed(space, layout, home, axes, wide, region)
                dealt = sum(cell_count(part) for other in region if (part := meet(other, box)))
                said = sum(1 for mask, whole in zip(box, home, strict=True) if mask != whole)
                if best is None or (dealt, -said) > best[0]:
                    best = (dealt, -said), box, outcome
        assert best is not None
        _, box, outcome = best
        yield _for_all_others(layout, axes, box), outcome
        wrong = [(other, region.minus([box])) for other, region in wrong]


def _for_all_others(layout: Layout, axes: tuple[int, ...], box: Box) -> Box:
    """The box with any value of those factors that it holds all usual values of and that do not depart in it."""
    return tuple(
        whole if number not in axes and mask == usual else mask
        for number, (mask, usual, whole) in enumerate(zip(box, layout.usual, layout.shown, strict=True))
    )


def _grown(home: Box, region: Region, forbidden: list[Box]) -> Iterator[Box]:
    axes = range(len(home))
    for seed in sorted(region, key=lambda box: (-cell_count(box), box))[:MOST_SEEDS]:
        for order in (axes, reversed(axes)):
            yield _grow_clear(home, seed, forbidden, list(order))


def _grow_clear(home: Box, seed: Box, forbidden: list[Box], order: list[int]) -> Box:
    """The box grown axis by axis as far as no forbidden box is met: first to whole axes, then cell by cell."""
    box = list(seed)
    for whole_only in (True, False):
        for axis in order:
            barred = 0
            for other in forbidden:
                if all(a & b for n, (a, b) in enumerate(zip(box, other, strict=True)) if n != axis):
                    barred |= other[axis]
            free = home[axis] & ~barred
            if free == home[axis] or not whole_only:
                box[axis] = free
    return tuple(box)


def _narrowed(space: Space, layout: Layout, home: Box, axes: tuple[int, ...], box: Box, region: Region) -> Box:
    """The box without cells in which no case is wrong.

    Axes that stay whole stay so, unless the factor departs or few of the columns are wrong: then these are named. A
    quantity is left open towards a limit that the box reaches, which reads better (`2 mm or less`).
    """
    used = [0] * len(box)
    for other in region:
        if part := meet(other, box):
            used = [a | b for a, b in zip(used, part, strict=True)]
    few = used[layout.column_axis].bit_count() * 2 <= home[layout.column_axis].bit_count()
    named = {*axes, layout.column_axis} if few else {*axes}
    return tuple(
        mask
        if mask == whole and number not in named
        else _to_limits(mask, cells)
        if axis.factor.kind == "quantity"
        else cells
        for number, (mask, whole, cells, axis) in enumerate(zip(box, home, used, space.axes, strict=True))
    )


def _to_limits(mask: int, cells: int) -> int:
    """The cells, and those of the mask between them and an end of the axis that the mask reaches without a break."""
    low, high = (cells & -cells) - 1, (1 << mask.bit_length()) - (1 << cells.bit_length())
    return cells | (low if low & mask == low else 0) | (high if high & mask == high else 0)


def _ranked(lines: list[Line], true: _Cases) -> list[Line]:
    """Lines of one level in an order that is right in most of the cases that two of them cover.

    Any order will do, since the next levels correct it; this one leaves them less to correct.
    """
    regions = [next(region for outcome, region in true if outcome is line.outcome) for line in lines]

    def gain(first: int, second: int) -> int:
        common = meet(lines[first].box, lines[second].box)
        if common is None or lines[first].outcome is lines[second].outcome:
            return 0
        right, wrong = (
            sum(cell_count(part) for box in regions[line] if (part := meet(box, common))) for line in (first, second)
        )
        return right - wrong

    gains = {(i, j): gain(i, j) for i in range(len(lines)) for j in range(i + 1, len(lines))}
    gains |= {(j, i): -gained for (i, j), gained in gains.items()}
    left, found = list(range(len(lines))), []
    while left:
        best = min(left, key=lambda i: (sum(1 for j in left if j != i and gains[i, j] < 0), i))
        left.remove(best)
        found.append(lines[best])
    return found


def _corrected(wrong: _Cases, true: _Cases, lines: list[Line]) -> _Cases:
    """What is wrong once the lines stand above those before them."""
    boxes = [line.box for line in lines]
    first: list[tuple[Outcome, Box]] = []
    for number, line in enumerate(lines):
        near = [box for box in boxes[:number] if meets(box, line.box)]
        first += [(line.outcome, box) for box in Region((line.box,)).minus(near)]
    found: _Cases = []
    for (outcome, still), (_, region) in zip(wrong, true, strict=True):
        elsewhere = Region(tuple(box for told, box in first if told.said != outcome.said))
        found.append((outcome, Region((*still.minus(boxes), *(region & elsewhere)))))
    return found
