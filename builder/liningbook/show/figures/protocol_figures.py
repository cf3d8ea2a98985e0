"""The pictures of the printed protocol: the band chart, and a cross-section for each advice of the decision chart."""

from __future__ import annotations

from dataclasses import dataclass

from liningbook.cases.question import answer, put
from liningbook.meaning.chart import cell_box
from liningbook.meaning.meaning import Meaning
from liningbook.say.cases import labelled
from liningbook.show.figures.band_chart import draw_on_pages
from liningbook.show.figures.band_data import band_chart_of
from liningbook.show.figures.script import Drawer
from liningbook.show.views.chart_view import ChartWords
from liningbook.show.views.view import Chart, Step

TALLEST_WIDE = 230 * 7200 // 182
TALLEST_NARROW = 226 * 3200 // 88
"""Tenths of units that a drawing of the band chart may be high: it is 182 mm wide on its page, or 88 where two share
a line, as in `protocol.css`, under a heading."""


@dataclass(frozen=True)
class Picture:
    """A finished drawing (SVG) and what it holds for, a line for each set of choices: `Amalgam: 2 mm or less`."""

    holds_for: tuple[str, ...]
    svg: str


@dataclass(frozen=True)
class ProtocolFigures:
    """The drawings of the band chart and the cross-sections. Where there is none its heading is left out too."""

    band_charts: tuple[str, ...] = ()
    sections: tuple[Picture, ...] = ()


NO_FIGURES = ProtocolFigures()


def protocol_figures(meaning: Meaning, words: ChartWords | None = None) -> ProtocolFigures:
    """The figures of a protocol; none where it has no chart. `words` saves working the chart out again."""
    words = words or ChartWords(meaning)
    data = band_chart_of(meaning, words)
    if data is None:
        return NO_FIGURES
    return ProtocolFigures(draw_on_pages(data, "print", TALLEST_WIDE, TALLEST_NARROW), _sections(meaning, words))


def _sections(meaning: Meaning, words: ChartWords) -> tuple[Picture, ...]:
    """A cross-section for each advice that places layers, in the order of the chart's columns."""
    chart, layout = words.chart(), words.layout
    assert chart is not None and layout is not None
    masks = [mask for mask in words.bands if words.band_words(mask)]
    pictures: list[Picture] = []
    drawer = Drawer(meaning)
    for steps, places in _distinct(chart).items():
        band, column = places[0]
        if not any(step.number for step in steps):
            continue
        box = cell_box(layout, masks[band], 1 << layout.columns[column])
        reply = answer(meaning, put(meaning, meaning.space.witness(box)))
        drawing = drawer.section(reply, f"advice-{len(pictures) + 1}")
        if drawing:
            pictures.append(Picture(_holds_for(chart, words, masks, places), drawing))
    return tuple(pictures)


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
