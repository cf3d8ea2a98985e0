"""For the usual case: which irritants reach the pulp and what stops each, and thresholds as values and as readings."""

from __future__ import annotations

from fractions import Fraction
from math import ceil, floor

from liningbook.logic import chart as charts
from liningbook.logic.decide import decide
from liningbook.logic.layers import Threat, threats
from liningbook.logic.meaning import Meaning
from liningbook.logic.readings import probability_above, reading_for
from liningbook.model.protocol import Factor
from liningbook.rendering.view import Fact, ReadingRow, ReadingTable
from liningbook.wording import both, case_parts, decimal_words, number_words


def protection_facts(meaning: Meaning, layout: charts.Layout) -> tuple[Fact, ...]:
    """One line a stretch of the bands and group of columns: what stops each irritant, and what nothing stops.

    Said of the usual case and by this protocol's table; where no layer is to be decided on nothing is said.
    """
    space = meaning.space
    bands, columns = space.axes[layout.band_axis], space.axes[layout.column_axis]
    by_words: dict[tuple[int, str], list[int]] = {}
    for column in range(columns.count):
        for mask, words in _stretches(meaning, layout, bands.count, 1 << column):
            by_words.setdefault((mask, words), []).append(column)
    ordered = sorted(by_words.items(), key=lambda item: (item[1], item[0][0]))
    return tuple(
        Fact(f"{_columns(meaning, layout, where)}, {_band(meaning, layout, mask)}", words)
        for (mask, words), where in ordered
    )


def _stretches(meaning: Meaning, layout: charts.Layout, count: int, column: int) -> list[tuple[int, str]]:
    """Neighbouring cells of the bands with the same words, as masks."""
    found: list[tuple[int, str]] = []
    for cell in range(count):
        box = charts.cell_box(layout, 1 << cell, column)
        case = tuple(mask & -mask for mask in box)
        advice = decide(meaning, case)
        words = "" if advice.excluded else threats_words(meaning, threats(meaning, case, advice))
        if found and found[-1][1] == words:
            found[-1] = (found[-1][0] | 1 << cell, words)
        else:
            found.append((1 << cell, words))
    return [(mask, words) for mask, words in found if words]


def _columns(meaning: Meaning, layout: charts.Layout, cells: list[int]) -> str:
    values = list(meaning.space.axes[layout.column_axis].factor.values.values())
    return both([values[cell] for cell in cells])


def _band(meaning: Meaning, layout: charts.Layout, mask: int) -> str:
    axis = meaning.space.axes[layout.band_axis]
    if mask == axis.full:
        return "any value"
    return case_parts(meaning.protocol.factors, {axis.factor.id: axis.notation(mask)})[0][1]


def threats_words(meaning: Meaning, found: tuple[Threat, ...]) -> str:
    """What stops which irritants, each stopper named once; what nothing stops stands last."""
    protocol = meaning.protocol
    stopped: dict[str, list[str]] = {}
    open_: list[str] = []
    for threat in found:
        label = protocol.irritants[threat.irritant].label
        if not threat.is_stopped:
            open_.append(label)
            continue
        layers = [*threat.stopped_by, *(layer for stoppers in threat.emitted_by.values() for layer in stoppers)]
        by = "the dentine" if threat.barriers else both([protocol.decisions[n].label for n in dict.fromkeys(layers)])
        stopped.setdefault(by, []).append(label)
    parts = [f"{by} stops {_listed(labels)}" for by, labels in stopped.items()]
    if open_:
        parts.append(f"nothing stops {_listed(open_)}")
    return "; ".join(parts)


def _listed(labels: list[str]) -> str:
    return ", ".join(label[0].lower() + label[1:] if label[1:2].islower() else label for label in labels)


def reading_tables(meaning: Meaning) -> tuple[ReadingTable, ...]:
    """For each factor that is read off: every threshold as a value and as the reading at which it is passed.

    The probability is that of a true value above the threshold at just that reading (JCGM 106:2012; normal, not
    truncated).
    """
    found = []
    for axis in meaning.space.axes:
        factor = axis.factor
        if factor.reading is None or factor.unit is None or factor.limits is None:
            continue
        ends = (factor.limits.lower.value, factor.limits.upper.value)
        rows = tuple(_row(factor, threshold) for threshold in sorted(axis.places) if threshold not in ends)
        found.append(ReadingTable(factor.label, factor.reading.method, rows))
    return tuple(found)


def _row(factor: Factor, threshold: Fraction) -> ReadingRow:
    assert factor.reading is not None and factor.unit is not None
    reading = reading_for(factor, threshold)
    assert reading is not None
    corrected = factor.reading.scale * reading + factor.reading.offset
    share = decimal_words(probability_above(threshold, corrected, factor.reading.uncertainty))
    value, shown = number_words(threshold, factor.unit), _rounded(factor, reading)
    if factor.reading.cautious == "above":
        words = f"counts as less than {value} only below a reading of {shown}"
    else:
        words = f"counts as more than {value} only above a reading of {shown}"
    return ReadingRow(value, shown, share, words)


def _rounded(factor: Factor, reading: Fraction) -> str:
    """A reading to two decimals, rounded to the cautious side, so that no doubtful reading counts as the other band."""
    assert factor.unit is not None and factor.reading is not None
    hundredths = floor(reading * 100) if factor.reading.cautious == "above" else ceil(reading * 100)
    return number_words(Fraction(hundredths, 100), factor.unit)
