"""Why a case gets its advice, in plain words: what is ruled out, what decides, what gives way, what asks for more."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from liningbook.analysis import understand
from liningbook.cases.question import answer, put
from liningbook.exchange.why import why_json
from liningbook.meaning.meaning import Meaning
from liningbook.show.terminal.reply import reply_text, why_text

CASE = {
    "rdt": "0.4 mm", "exposed": "no", "pulp": "normal", "restoration": "amalgam", "metal-contact": "no",
    "amalgam-restricted": "no", "methacrylate-allergy": "no", "eugenol-allergy": "no", "rosin-allergy": "yes",
    "amalgam-metal-allergy": "no",
}  # fmt: skip
SEAL = "“Seal with adhesive under amalgam with a rosin allergy”"
SEALER = "\n\nCavity sealer: "


@pytest.fixture(scope="module")
def meaning(demonstration: Path) -> Meaning:
    found = understand(demonstration, date(2026, 11, 25)).meaning
    assert found is not None
    return found


def why(meaning: Meaning, **more: str) -> str:
    case = {name: text for name, text in (CASE | {n.replace("_", "-"): t for n, t in more.items()}).items() if text}
    return why_text(meaning, answer(meaning, put(meaning, case)), width=10_000)


def test_what_is_ruled_out_stands_first_then_what_decides_what_gives_way_and_what_does_not_apply(
    meaning: Meaning,
) -> None:
    lines = why(meaning).partition(SEALER)[2].splitlines()
    assert lines[:6] == [
        "needed, since Management is Restore with the layers below",
        "    rules out Cavity varnish: “Never use agents with rosin with a rosin allergy”, and nothing overrides it",
        f"    decides: {SEAL} → Resin adhesive, all cavity walls",
        f"    gives way: “Varnish the whole cavity under amalgam” to {SEAL}",
        "    does not apply here:",
        "        “Seal with the adhesive under composite and ceramic” is for Restoration Composite or Ceramic "
        "(here Amalgam)",
    ]


def test_what_is_missing_is_asked_for(meaning: Meaning) -> None:
    lines = why(meaning, rosin_allergy="").partition(SEALER)[2].splitlines()
    asking = [line.partition(": ")[::2] for line in lines if line.startswith("    asks for ")]
    assert [asks for asks, _ in asking] == ["    asks for Rosin allergy"] * 3
    assert asking[0][1] == "“Never use agents with rosin with a rosin allergy” may rule out Cavity varnish"


def test_after_a_stop_the_layers_are_not_needed_and_only_what_would_decide_is_said(meaning: Meaning) -> None:
    text = why(meaning, exposed="yes")
    first = text.splitlines()[3]
    assert first == "    decides: “Assess an exposed pulp before anything else” → Assess the pulp first"
    lines = text.partition(SEALER)[2].splitlines()
    assert lines == [
        "not needed, only if Management is Restore with the layers below",
        f"    would decide: {SEAL} → Resin adhesive, all cavity walls",
    ]


def test_rules_that_differ_disagree(repository: Path) -> None:
    conflict = understand(repository / "guidelines" / "faulty" / "conflict", date(2026, 11, 25)).meaning
    assert conflict is not None
    text = why_text(conflict, answer(conflict, put(conflict, {"rdt": "0.8 mm"})))
    assert [line.partition(":")[0] for line in text.splitlines() if "“" in line] == ["    disagrees"] * 2


def test_json_of_why_keeps_its_own_words(meaning: Meaning) -> None:
    told = why_json(meaning, answer(meaning, put(meaning, CASE)))["decisions"]["sealer"]
    assert told["because"] == "needed: it is if Management is Restore with the layers below"
    assert [(rule["status"], rule["because"]) for rule in told["rules"][:2]] == [
        ("heard", "every condition holds"),
        ("silenced", f"overridden by {SEAL}"),
    ]


def test_the_case_is_a_block_of_labels_and_values(meaning: Meaning) -> None:
    reply = answer(meaning, put(meaning, {"rdt": "0.4 mm", "restoration": "amalgam"}))
    assert (
        "\n\nCase:\n    Remaining dentine thickness  0.4 mm\n    Restoration                  Amalgam\n\n"
    ) in reply_text(meaning.protocol, reply, ())
    assert "\nCase:\n    All  not known yet\n\n" in reply_text(meaning.protocol, answer(meaning, put(meaning, {})), ())
