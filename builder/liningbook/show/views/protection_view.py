"""For the usual case: which irritants reach the pulp and what stops each, and thresholds as values and as readings."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from functools import partial

from liningbook.cases.reading_scale import ReadingScale, exact_scale, printed_scale
from liningbook.cases.readings import NoReading, probability_above, reading_for
from liningbook.meaning import chart as charts
from liningbook.meaning.decide import decide
from liningbook.meaning.layers import Threat, threats
from liningbook.meaning.meaning import Meaning
from liningbook.say.amounts import any_value, number_words, probability_words
from liningbook.say.locale import both
from liningbook.say.outputs.readings import finer_words, stops_words, threshold_words
from liningbook.say.texts import t
from liningbook.show.views.pieces import Labelled, ReadingRow, ReadingTable, Stopper, StopsRow, StopsTable
from liningbook.space.boxes import Box, bits
from liningbook.space.cells import Axis


def protection_facts(meaning: Meaning, layout: charts.Layout, band_words: Callable[[int], str]) -> tuple[Labelled, ...]:
    """One line a stretch of the bands and group of columns: what stops each irritant, and what nothing stops.

    Said of the usual case and by this protocol's table; where no layer is to be decided on nothing is said. Bands
    without words are left out.
    """
    return tuple(
        Labelled(_where(_columns(meaning, layout, columns), band_words(mask)), threats_words(meaning, found))
        for mask, found, columns in _alike(meaning, layout, partial(threats_words, meaning))
        if band_words(mask)
    )


def stops_table(meaning: Meaning, layout: charts.Layout, band_words: Callable[[int], str]) -> StopsTable | None:
    """What stops what as a table of cases by irritants, those alone that are present in any of its cases."""
    alike = _alike(meaning, layout, partial(_stoppers, meaning))
    rows = [(mask, _stoppers(meaning, found), columns) for mask, found, columns in alike if band_words(mask)]
    present = [name for name in meaning.protocol.irritants if any(name in cells for _, cells, _ in rows)]
    absent = Stopper("absent", "\N{EN DASH}")
    return (
        StopsTable(
            tuple(meaning.protocol.irritants[name].label for name in present),
            tuple(
                StopsRow(
                    _columns(meaning, layout, columns),
                    band_words(mask),
                    tuple(cells.get(name, absent) for name in present),
                )
                for mask, cells, columns in rows
            ),
        )
        if rows
        else None
    )


def _stoppers(meaning: Meaning, found: tuple[Threat, ...]) -> dict[str, Stopper]:
    """What stops each irritant that is present."""
    return {threat.irritant: _stopper(meaning, threat) for threat in found}


def _stopper(meaning: Meaning, threat: Threat) -> Stopper:
    if not threat.is_stopped:
        return Stopper("open", t.nothing_stops_it)
    if threat.barriers:
        return Stopper("dentine", t.dentine)
    return Stopper("layer", both([meaning.protocol.decisions[name].label for name in _layers(threat)]))


def _layers(threat: Threat) -> tuple[str, ...]:
    """The layers that stop an irritant, each once."""
    stoppers = [*threat.stopped_by, *(layer for layers in threat.emitted_by.values() for layer in layers)]
    return tuple(dict.fromkeys(stoppers))


def _alike(
    meaning: Meaning, layout: charts.Layout, told: Callable[[tuple[Threat, ...]], object]
) -> list[tuple[int, tuple[Threat, ...], list[int]]]:
    """Stretches of the bands (a mask) and groups of columns in which the same is told of what threatens the pulp."""
    found: list[tuple[int, tuple[Threat, ...], list[int]]] = []
    for column in layout.columns:
        for mask, threat in _stretches(meaning, layout, 1 << column, told):
            same = next((one for one in found if one[0] == mask and told(one[1]) == told(threat)), None)
            if same is not None:
                same[2].append(column)
            else:
                found.append((mask, threat, [column]))
    return sorted(found, key=lambda one: (one[2], one[0]))


def _where(columns: str, band: str) -> str:
    return columns if band == any_value() else f"{columns}, {band}"


def _stretches(
    meaning: Meaning, layout: charts.Layout, column: int, told: Callable[[tuple[Threat, ...]], object]
) -> list[tuple[int, tuple[Threat, ...]]]:
    """Neighbouring cells of the bands of which the same is told, as masks; nothing is told where nothing threatens."""
    found: list[tuple[int, tuple[Threat, ...]]] = []
    for cell in bits(layout.shown[layout.band_axis]):
        box = charts.cell_box(layout, 1 << cell, column)
        case = tuple(mask & -mask for mask in box)
        advice = decide(meaning, case)
        threat = () if advice.excluded else threats(meaning, case, advice)
        if found and told(found[-1][1]) == told(threat) and found[-1][0] >> (cell - 1) & 1:
            found[-1] = (found[-1][0] | 1 << cell, threat)
        else:
            found.append((1 << cell, threat))
    return [(mask, threat) for mask, threat in found if threat]


def _columns(meaning: Meaning, layout: charts.Layout, cells: list[int]) -> str:
    values = list(meaning.space.axes[layout.column_axis].factor.values.values())
    return both([values[cell] for cell in cells])


def threats_words(meaning: Meaning, found: tuple[Threat, ...]) -> str:
    """What stops which irritants, each stopper named once; what nothing stops stands last."""
    protocol = meaning.protocol
    stopped: dict[tuple[str, ...], list[str]] = {}
    open_: list[str] = []
    for threat in found:
        label = protocol.irritants[threat.irritant].label
        if not threat.is_stopped:
            open_.append(label)
            continue
        by = (t.the_dentine,) if threat.barriers else tuple(protocol.decisions[n].label for n in _layers(threat))
        stopped.setdefault(by, []).append(label)
    return stops_words(list(stopped.items()), open_)


def reading_tables(meaning: Meaning, shown: Box | None = None) -> tuple[ReadingTable, ...]:
    """For each factor that is read off: every threshold as a value and as the reading at which it is passed.

    Only thresholds between values that are `shown`, if that is given. The probability is that of a value above
    the threshold at just that reading (JCGM 106:2012; normal, not truncated).
    """
    found = []
    for number, axis in enumerate(meaning.space.axes):
        factor = axis.factor
        if factor.reading is None or factor.unit is None or factor.limits is None:
            continue
        try:
            exact, printed = exact_scale(axis), printed_scale(axis)
        except NoReading:  # the protocol does not say what a reading counts as
            continue
        ends = (factor.limits.lower.value, factor.limits.upper.value)
        mask = axis.full if shown is None else shown[number]
        inside = [place for place in axis.places.items() if place[0] not in ends and _is_within(mask, place[1])]
        rows = tuple(_row(axis, exact, printed, threshold) for threshold, _ in sorted(inside))
        finer = finer_words(factor, printed.place) if printed.place and rows else ""
        found.append(ReadingTable(factor.label, factor.reading.method, rows, finer))
    return tuple(found)


def _is_within(mask: int, cell: int) -> bool:
    """Whether what lies on both sides of a cell is in a mask."""
    return bool(mask >> (cell - 1) & mask >> (cell + 1) & 1)


def _row(axis: Axis, exact: ReadingScale, printed: ReadingScale, threshold: Fraction) -> ReadingRow:
    factor = axis.factor
    assert factor.reading is not None and factor.unit is not None
    value = number_words(threshold, factor.unit)
    cell = axis.places[threshold]
    from_above = factor.reading.cautious == "above"
    passed = cell if from_above else cell + 1
    reading = reading_for(factor, threshold)
    if passed in exact.cuts and factor.step is not None:
        reading = exact.cuts[passed].value
    assert reading is not None
    corrected = factor.reading.scale * reading + factor.reading.offset
    share = probability_words(probability_above(threshold, corrected, factor.reading.uncertainty))
    if passed not in printed.cuts:
        return ReadingRow(value, t.no_reading, share, threshold_words(value, from_above))
    reached, counts = printed.shown(passed, up_to=from_above)
    shown = number_words(reached, factor.unit)
    return ReadingRow(value, shown, share, threshold_words(value, from_above, shown, counts))
