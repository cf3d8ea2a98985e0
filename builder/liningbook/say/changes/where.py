"""A set of cases of a change: what a chart would show of it first, then what else must hold."""

from __future__ import annotations

from liningbook.compare.comparison import Comparison
from liningbook.say.cases import Parts, case_parts, line_words
from liningbook.say.catalogue import gettext
from liningbook.space.boxes import Box


def set_parts(comparison: Comparison, box: Box) -> tuple[Parts, Parts]:
    """Label and words of the factors that make columns and bands of the chart, and those of the others."""
    factors, notation = comparison.new.protocol.factors, comparison.space.notation(box)
    parts = {name: case_parts(factors, {name: notation[name]}, brief=True)[0] for name in notation}
    layout = comparison.layout
    first = [comparison.space.names[number] for number in (layout.column_axis, layout.band_axis)] if layout else []
    main = [parts[name] for name in first if name in parts]
    return main, [part for name, part in parts.items() if name not in first]


def set_line(comparison: Comparison, box: Box) -> str:
    """All of it on one line."""
    main, further = set_parts(comparison, box)
    return line_words([*main, *further])


def how_cases_are_named() -> str:
    """In which cases what is said of a change holds."""
    return gettext(
        "Cases are named by what sets them apart: each line holds wherever its decision is to be made, before or now "
        "(where it says “Not covered”, in every case named)."
    )
