"""What a question must say, and how one that cannot be answered is told why."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from time import process_time
from typing import Any

import pytest

from liningbook.analysis import understand
from liningbook.cases.question import BadQuestion, answer, put
from liningbook.meaning.meaning import Meaning
from liningbook.say.faults import reason_words
from liningbook.show.terminal.reply import reply_json, why_text
from tests.limits import processor
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
    assert put(meaning, given).missing == ("pulp", "restoration")
    with pytest.raises(BadQuestion) as stop:
        put(meaning, given, complete=True)
    assert reason_words(stop.value) == "the case needs a value for pulp, restoration; write for example pulp=…"
    assert put(meaning, GOOD, complete=True).missing == ()


def reply_to(meaning: Meaning, **given: str) -> dict[str, Any]:
    names = {name.replace("_", "-"): text for name, text in given.items()}
    return reply_json(meaning.protocol, answer(meaning, put(meaning, names)))


def test_one_answer_can_settle_everything(meaning: Meaning) -> None:
    told = reply_to(meaning, exposed="yes")
    assert told["settled"]["management"] == {"state": "answered", "answer": "assess"}
    assert {name: one["state"] for name, one in told["settled"].items() if name != "management"} == {
        "liner": "not-needed", "base": "not-needed", "sealer": "not-needed",
    }  # fmt: skip
    assert told["open"] == {}
    assert told["irrelevant"] == told["missing"] == [name for name in GOOD if name != "exposed"]


def test_what_is_always_asked_is_asked_even_where_it_can_change_nothing(meaning: Meaning) -> None:
    told = reply_to(meaning, exposed="yes")
    assert told["next"] == "methacrylate-allergy"
    allergies = dict.fromkeys(
        ("methacrylate_allergy", "eugenol_allergy", "rosin_allergy", "amalgam_metal_allergy"), "no"
    )
    assert reply_to(meaning, exposed="yes", **allergies)["next"] is None


def test_what_was_not_asked_is_not_no(meaning: Meaning) -> None:
    case = {name: text for name, text in GOOD.items() if name != "rosin-allergy"}
    told = reply_json(meaning.protocol, answer(meaning, put(meaning, case)))
    assert "sealer" in told["open"]
    assert told["next"] == "rosin-allergy"
    whole = reply_json(meaning.protocol, answer(meaning, put(meaning, GOOD)))
    assert {"state": "answered", "answer": whole["advice"]["sealer"]["answer"]} in told["open"]["sealer"]


def test_a_whole_case_has_the_keys_of_a_part_empty(meaning: Meaning) -> None:
    told = reply_to(meaning, **GOOD)
    assert {key: told[key] for key in ("missing", "settled", "open", "next", "irrelevant")} == {
        "missing": [], "settled": {}, "open": {}, "next": None, "irrelevant": [],
    }  # fmt: skip


def test_out_of_scope_nothing_more_is_asked(meaning: Meaning) -> None:
    told = reply_to(meaning, exposed="no", rdt="0 mm")
    assert (told["in_scope"], told["next"], told["settled"]) == (False, None, {})
    assert told["because"].startswith("Where no dentine is left")
    assert reply_to(meaning, exposed="no")["in_scope"] == "open"


def test_the_irritants_are_those_of_every_completion_or_none_are_told(meaning: Meaning) -> None:
    case = {name: text for name, text in GOOD.items() if name not in ("eugenol-allergy", "restoration")}
    case["restoration"] = "composite"
    part = answer(meaning, put(meaning, case))
    assert part.rest is not None
    assert not part.rest.open
    wholes = [answer(meaning, put(meaning, case | {"eugenol-allergy": value})) for value in ("yes", "no")]
    assert wholes[0].threats == wholes[1].threats == part.threats
    assert answer(meaning, put(meaning, {"exposed": "no"})).threats is None
    without_thickness = {name: text for name, text in case.items() if name != "rdt"} | {"exposed": "no"}
    assert answer(meaning, put(meaning, without_thickness)).threats is None


def test_why_says_of_a_part_what_hangs_on_what_is_missing(meaning: Meaning) -> None:
    case = {name: text for name, text in GOOD.items() if name != "rosin-allergy"}
    why = why_text(meaning, answer(meaning, put(meaning, case)))
    assert "    asks for Rosin allergy: “" in why
    assert "    does not apply here:\n        “" in why
    whole = why_text(meaning, answer(meaning, put(meaning, GOOD)))
    assert "    asks for" not in whole


def test_a_part_of_a_case_is_answered_at_once(meaning: Meaning) -> None:
    fresh = Meaning(meaning.protocol, meaning.day)
    start = process_time()
    answer(fresh, put(fresh, {}))
    assert process_time() - start < processor(0.3)


def test_what_is_no_quantity_is_not_read_off(meaning: Meaning) -> None:
    given = {"pulp.reading": "1 mm"} | {name: text for name, text in GOOD.items() if name != "pulp"}
    with pytest.raises(BadQuestion) as stop:
        put(meaning, given)
    assert reason_words(stop.value) == "Pulp diagnosis is not a quantity, so it is not read off; write pulp=…"


def test_a_sound_question_is_answered(meaning: Meaning) -> None:
    reply = answer(meaning, put(meaning, GOOD))
    assert reply.advice.outcomes.keys() == meaning.protocol.decisions.keys()
    assert reply.doubt is None
