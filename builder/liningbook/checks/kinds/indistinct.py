"""Bands so narrow that a reading cannot tell them apart from their neighbours."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from liningbook.checks.facts import CaseFact
from liningbook.checks.inquiry import Inquiry
from liningbook.finding import About, Fact
from liningbook.meaning.bands import narrow_bands
from liningbook.model.rule import Factor


@dataclass(frozen=True)
class Indistinct(CaseFact):
    """A band of a quantity that is narrower than it needs to be; both widths are in the factor's unit."""

    factor: Factor
    width: Fraction
    needed: Fraction
    uncertainty: Fraction

    def about(self) -> About:
        """The factor."""
        return About(further={"factor": self.factor.id})


def indistinct(inquiry: Inquiry) -> Iterator[Fact]:
    """A band of one advice is narrower than the reading's uncertainty allows to hit.

    Between two thresholds a band must be at least 2U wide, between a threshold and a limit at least U, or a corrected
    reading from its middle could as well belong to a neighbour (U: expanded uncertainty, JCGM 106:2012).
    """
    for number, axis in enumerate(inquiry.meaning.space.axes):
        reading = axis.factor.reading
        if reading is None or not reading.uncertainty:
            continue
        for band in narrow_bands(inquiry.meaning, number, reading.uncertainty):
            needed = reading.uncertainty if band.at_limit else 2 * reading.uncertainty
            cases = inquiry.cases(band.region)
            yield Indistinct(reading.span, cases, axis.factor, band.width, needed, reading.uncertainty)
