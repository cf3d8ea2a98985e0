"""What a question must say, and how one that cannot be answered is told why."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from liningbook.analysis import understand
from liningbook.cases.question import BadQuestion, answer, put
from liningbook.meaning.meaning import Meaning
from liningbook.say.faults import reason_words
from tests.usual import USUAL_CASE

GOOD = USUAL_CASE
FACTORS = ", ".join(GOOD)


@pytest.fixture(scope="module")
def meaning(demonstration: Path) -> Meaning:
    found = understand(demonstration, date(2026, 11, 25)).meaning
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("other", "reason"),
    [
        ({"rtd": "1 mm"}, "there is no factor called 'rtd'; did you mean `rdt`?"),
        ({"rtd.reading": "1 mm"}, "there is no factor called 'rtd'; did you mean `rdt`?"),
        ({"shade": "A2"}, f"there is no factor called 'shade'; the factors are {FACTORS}"),
        ({"rdt.reading": "1 mm"}, "the factor rdt is given both as a value and as a reading"),
        ({"pulp": "norml"}, "pulp: 'norml' is not a value of Pulp diagnosis; did you mean `normal`?"),
        ({"exposed": "9"}, "exposed: '9' is not a value of Pulp exposed; one of yes, no"),
        ({"rdt": "0,5 mm"}, "rdt: the number has a decimal comma; write `0.5 mm`"),
        ({"rdt": "0.5"}, "rdt: the number has no unit; write `0.5 mm`, if mm is meant"),
        (
            {"rdt": "0.5 g"},
            "rdt: 'g' measures another kind of thing than 'mm'; write the unit as mm, m, dm, cm, um, nm or [in_i]",
        ),
        ({"rdt": "7 mm"}, "rdt: 7 mm is outside the limits of Remaining dentine thickness (0 mm to 6 mm)"),
    ],
)
def test_a_question_that_will_not_do_is_told_why(meaning: Meaning, other: dict[str, str], reason: str) -> None:
    with pytest.raises(BadQuestion) as stop:
        put(meaning, GOOD | other)
    assert reason_words(stop.value) == reason


def test_what_a_question_lacks_is_named(meaning: Meaning) -> None:
    given = {name: text for name, text in GOOD.items() if name not in ("pulp", "restoration")}
    with pytest.raises(BadQuestion) as stop:
        put(meaning, given)
    assert reason_words(stop.value) == "the case needs a value for pulp, restoration; write for example pulp=…"


def test_what_is_no_quantity_is_not_read_off(meaning: Meaning) -> None:
    given = {"pulp.reading": "1 mm"} | {name: text for name, text in GOOD.items() if name != "pulp"}
    with pytest.raises(BadQuestion) as stop:
        put(meaning, given)
    assert reason_words(stop.value) == "Pulp diagnosis is not a quantity, so it is not read off; write pulp=…"


def test_a_sound_question_is_answered(meaning: Meaning) -> None:
    reply = answer(meaning, put(meaning, GOOD))
    assert reply.advice.outcomes.keys() == meaning.protocol.decisions.keys()
    assert reply.doubt is None
