"""Bands so narrow that a reading cannot tell them apart from their neighbours."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from liningbook.checks.inquiry import Inquiry
from liningbook.finding import Finding, Severity
from liningbook.meaning.bands import Band, narrow_bands
from liningbook.say.amounts import number_words


def indistinct(inquiry: Inquiry) -> Iterator[Finding]:
    """A band of one advice is narrower than the reading's uncertainty allows to hit.

    Between two thresholds a band must be at least 2U wide, between a threshold and a limit at least U, or a corrected
    reading from its middle could as well belong to a neighbour (U: expanded uncertainty, JCGM 106:2012).
    """
    for number, axis in enumerate(inquiry.meaning.space.axes):
        reading = axis.factor.reading
        if reading is None or not reading.uncertainty:
            continue
        for band in narrow_bands(inquiry.meaning, number, reading.uncertainty):
            yield _finding(inquiry, number, band, reading.uncertainty)


def _finding(inquiry: Inquiry, number: int, band: Band, uncertainty: Fraction) -> Finding:
    axis = inquiry.meaning.space.axes[number]
    unit = axis.unit
    needed = number_words(uncertainty if band.at_limit else 2 * uncertainty, unit)
    reading = axis.factor.reading
    assert reading is not None
    return inquiry.about_cases(
        "indistinct",
        Severity.WARNING,
        f"a band of {axis.factor.label} only {number_words(band.width, unit)} wide, while a reading needs {needed}, "
        f"{inquiry.in_brief(band.region)}",
        reading.span,
        band.region,
        label="this reading cannot tell the band from its neighbours",
        notes=[f"expanded uncertainty of the corrected reading {number_words(uncertainty, unit)}"],
        advice=[
            "merge the band with a neighbour, or widen it",
            "or measure with a smaller uncertainty, and write it in `reading`",
            "or add this warning to `accepted` in protocol.yaml, with the reason",
        ],
        extra={"factor": axis.factor.id},
    )
