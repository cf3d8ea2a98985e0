"""How a quantity is measured, as the protocol prints it."""

from __future__ import annotations

from fractions import Fraction

import pytest

from liningbook.finding import Span
from liningbook.model.rule import Factor, Judged, Reading
from liningbook.notation.interval import Lower, Range, Upper
from liningbook.notation.quantity import UNITS
from liningbook.say.outputs.readings import factor_measured

SPAN = Span("protocol.yaml", 1, 1, 1, 2)
LIMITS = Range(Lower(Fraction(0), True), Upper(Fraction(6), True))
FILM = Reading("film", Fraction(1), Fraction(0), Fraction(2, 5), Fraction(1), "below", SPAN)
READ = "Read by film; expanded uncertainty (k = 2) 0.4 mm; in doubt the smaller value counts."
JUDGED = "Judged by eye to within 0.3 mm; near a threshold look again, in doubt the {side} value."


@pytest.mark.parametrize(
    ("reading", "judged", "said"),
    [
        (None, None, ""),
        (FILM, None, READ),
        (None, "below", JUDGED.format(side="smaller")),
        (FILM, "above", f"{READ} {JUDGED.format(side='larger')}"),
    ],
)
def test_reading_and_eye_are_said_each_where_it_is_written(
    reading: Reading | None, judged: str | None, said: str
) -> None:
    eye = Judged(Fraction(3, 10), judged, SPAN) if judged else None  # type: ignore[arg-type]
    factor = Factor("rdt", "Depth", "quantity", SPAN, unit=UNITS["mm"], limits=LIMITS, reading=reading, judged=eye)
    assert factor_measured(factor) == said
