"""The pictures of the printed protocol: a cross-section for each advice of the chart."""

from __future__ import annotations

from dataclasses import dataclass
from functools import reduce
from operator import or_

from liningbook.cases.question import answer, put
from liningbook.meaning.chart import cell_box
from liningbook.meaning.meaning import Meaning
from liningbook.notation.typical import typical
from liningbook.say.amounts import number_words
from liningbook.say.cases import labelled
from liningbook.show.figures.script import Drawer, Example
from liningbook.show.views.chart_view import ChartWords
from liningbook.show.views.view import Chart, Step

WIDE = 4150
"""Tenths of units that a cross-section is wide where two share a line of the protocol."""


@dataclass(frozen=True)
class Picture:
    """A finished drawing (SVG) and what it holds for, a line for each set of choices: `Amalgam: 2 mm or less`."""

    holds_for: tuple[str, ...]
    svg: str


@dataclass(frozen=True)
class ProtocolFigures:
    """The cross-sections. Where there is none their heading is left out too."""

    sections: tuple[Picture, ...] = ()


NO_FIGURES = ProtocolFigures()


def protocol_figures(meaning: Meaning, words: ChartWords | None = None) -> ProtocolFigures:
    """The figures of a protocol; none where it has no chart. `words` saves working the chart out again."""
    words = words or ChartWords(meaning)
    return ProtocolFigures(_sections(meaning, words)) if words.chart() is not None else NO_FIGURES


def _sections(meaning: Meaning, words: ChartWords) -> tuple[Picture, ...]:
    """A cross-section for each advice that places layers, in the order of the chart's columns."""
    chart, layout = words.chart(), words.layout
    assert chart is not None and layout is not None
    masks = [mask for mask in words.bands if words.band_words(mask)]
    found = [places for steps, places in _distinct(chart).items() if any(step.number for step in steps)]
    cases = [_example(meaning, words, [(masks[band], column) for band, column in places]) for places in found]
    drawings = Drawer(meaning).sheet(cases, "advice", WIDE) if cases else []
    held = [_holds_for(chart, words, masks, places) for places in found]
    return tuple(Picture(*one) for one in zip(held, drawings, strict=True) if one[1])


def _example(meaning: Meaning, words: ChartWords, cells: list[tuple[int, int]]) -> Example:
    """The case drawn for the cells (band, column) of one advice: one of the first column's, at a round thickness."""
    layout = words.layout
    assert layout is not None
    first = cells[0][1]
    band = reduce(or_, (mask for mask, column in cells if column == first))
    axis = meaning.space.axes[layout.band_axis]
    given = meaning.space.witness(cell_box(layout, band, 1 << layout.columns[first]))
    stretch = axis.runs_as_ranges(band)[0]
    value = typical(stretch, stretch.upper == axis.limits.upper, axis.factor.step)
    if value is not None:
        given[axis.factor.id] = axis.text(value)
    chosen = meaning.space.axes[layout.column_axis].factor
    return Example(
        answer(meaning, put(meaning, given)),
        words.band_words(band),
        "" if value is None else number_words(value, axis.unit),
        chosen.label if any(column != first for _, column in cells) else "",
    )


def _distinct(chart: Chart) -> dict[tuple[Step, ...], list[tuple[int, int]]]:
    """Each advice with its cells (band, column), column by column."""
    found: dict[tuple[Step, ...], list[tuple[int, int]]] = {}
    for column, _ in enumerate(chart.columns):
        for band, row in enumerate(chart.cells):
            found.setdefault(row[column].steps, []).append((band, column))
    return found


def _holds_for(chart: Chart, words: ChartWords, masks: list[int], places: list[tuple[int, int]]) -> tuple[str, ...]:
    """The cells in words: columns with the same bands share a line, and bands that are neighbours are one."""
    bands: dict[int, int] = {}
    for band, column in places:
        bands[column] = bands.get(column, 0) | masks[band]
    columns: dict[int, list[str]] = {}
    for column, mask in bands.items():
        columns.setdefault(mask, []).append(chart.columns[column])
    return tuple(labelled(", ".join(names), words.band_words(mask)) for mask, names in columns.items())
