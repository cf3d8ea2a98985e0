"""What the band chart shows: bands of a quantity against choices, the rows and regions of it, and their words."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import groupby

from liningbook.meaning.meaning import Meaning
from liningbook.notation.interval import Lower, Range, Upper
from liningbook.notation.quantity import Unit
from liningbook.say.amounts import number_words, range_words
from liningbook.say.outputs import figures
from liningbook.say.texts import t
from liningbook.show.views.chart_view import ChartWords
from liningbook.show.views.view import Cell, Step


@dataclass(frozen=True)
class BandChart:
    """Bands of one quantity, thin to thick, against the values of one choice.

    `cells[b][c]` belongs to `bands[b]` and `choices[c]`. All numbers are in `unit`. `guard` is the width of the guard
    band (nothing where the quantity is not read off) and `cautious` the side to which a doubtful reading is taken,
    `below` or `above`. `method` says how it is read off.
    """

    quantity: str
    choice: str
    bands: tuple[Range, ...]
    choices: tuple[str, ...]
    cells: tuple[tuple[Cell, ...], ...]
    unit: Unit
    limits: Range
    guard: Fraction = Fraction(0)
    cautious: str = ""
    method: str = ""


@dataclass(frozen=True)
class Patch:
    """Neighbouring bands (numbers, both included) of one row with one advice."""

    first: int
    last: int
    cell: Cell
    is_marked: bool


@dataclass(frozen=True)
class Row:
    """Choices that have the same advice throughout, and its regions from thin to thick."""

    names: tuple[str, ...]
    regions: tuple[Patch, ...]


def band_chart_of(meaning: Meaning, words: ChartWords | None = None) -> BandChart | None:
    """The chart of the usual case; nothing where the protocol has no quantity or no choice to draw one of.

    `words` saves working the chart out again where that has been done.
    """
    words = words or ChartWords(meaning)
    chart, layout = words.chart(), words.layout
    if chart is None or layout is None:
        return None
    axis = meaning.space.axes[layout.band_axis]
    factor = axis.factor
    assert factor.unit is not None and factor.limits is not None
    reading = factor.reading
    return BandChart(
        chart.band_heading,
        chart.column_heading,
        tuple(axis.runs_as_ranges(mask)[0] for mask in words.bands),
        chart.columns,
        chart.cells,
        factor.unit,
        factor.limits,
        reading.guard_band * reading.uncertainty if reading is not None else Fraction(0),
        (reading.cautious or "") if reading is not None else "",
        reading.method if reading is not None else "",
    )


def complete(data: BandChart, marked: frozenset[tuple[int, int]]) -> tuple[BandChart, frozenset[tuple[int, int]]]:
    """The chart with a band for every stretch of values that it leaves out, but for a limit that alone is left out."""
    bands: list[Range] = []
    cells: list[tuple[Cell, ...]] = []
    number: dict[int, int] = {}
    lower = data.limits.lower
    ends = [*zip(data.bands, data.cells, strict=True), (None, ())]
    for index, (band, row) in enumerate(ends):
        upper = Upper(band.lower.value, not band.lower.closed) if band is not None else data.limits.upper
        left = Range(lower, upper)
        inside = 0 < index < len(data.bands)
        if not left.is_empty and (inside or left.lower.value != left.upper.value):
            bands.append(left)
            cells.append(tuple(Cell(name, (Step(0, t.not_covered_here),), "out") for name in data.choices))
        if band is not None:
            number[index] = len(bands)
            bands.append(band)
            cells.append(row)
            lower = Lower(band.upper.value, not band.upper.closed)
    moved = frozenset((number[band], choice) for band, choice in marked)
    return replace(data, bands=tuple(bands), cells=tuple(cells)), moved


def rows_of(data: BandChart, marked: frozenset[tuple[int, int]]) -> list[Row]:
    """The rows of the chart: choices alike throughout share one, at the place of the first."""
    found: dict[object, tuple[list[str], tuple[Patch, ...]]] = {}
    for choice, name in enumerate(data.choices):
        regions = _regions(data, choice, marked)
        looks = tuple((r.first, r.cell.steps, r.cell.tone, r.is_marked) for r in regions)
        found.setdefault(looks, ([], regions))[0].append(name)
    return [Row(tuple(names), regions) for names, regions in found.values()]


def _regions(data: BandChart, choice: int, marked: frozenset[tuple[int, int]]) -> tuple[Patch, ...]:
    def looks(band: int) -> tuple[object, ...]:
        cell = data.cells[band][choice]
        return cell.steps, cell.tone, (band, choice) in marked

    runs = [list(run) for _, run in groupby(range(len(data.bands)), key=looks)]
    return tuple(Patch(run[0], run[-1], data.cells[run[0]][choice], (run[0], choice) in marked) for run in runs)


def band_words(data: BandChart, first: int, last: int) -> str:
    """Neighbouring bands as one range in words."""
    return range_words(Range(data.bands[first].lower, data.bands[last].upper), data.unit, data.limits)


def guards(data: BandChart, cuts: Collection[int]) -> list[Range]:
    """The stretch beyond each threshold in which a reading is taken as on the cautious side.

    `cuts` are the numbers of the bands that begin at the thresholds asked for.
    """
    found = []
    for number in sorted(cuts):
        value = data.bands[number].lower.value
        start, end = (value - data.guard, value) if data.cautious == "above" else (value, value + data.guard)
        start, end = max(start, data.limits.lower.value), min(end, data.limits.upper.value)
        if start < end:
            found.append(Range(Lower(start, True), Upper(end, True)))
    return list(dict.fromkeys(found))


def guard_words(data: BandChart) -> str:
    """What the shading means."""
    return figures.guard_words(data.cautious, data.method, number_words(data.guard, data.unit))


def description(data: BandChart, rows: list[Row], guard: bool) -> str:
    """The chart in words: every region, row by row."""
    said = [
        (
            row.names,
            [
                (
                    band_words(data, region.first, region.last),
                    "; ".join(f"{s.number}: {s.text}" if s.number else s.text for s in region.cell.steps),
                    region.is_marked,
                )
                for region in row.regions
            ],
        )
        for row in rows
    ]
    return figures.chart_description(data.quantity, data.choice, said, guard_words(data) if guard else "")
