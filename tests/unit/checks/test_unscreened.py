"""What the stop questions leave to the chart: accepted by its factor, in plain texts, on a card that shows a part."""

from __future__ import annotations

import shutil
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from liningbook.analysis import analyse
from liningbook.cli import main
from liningbook.exchange.findings import findings_json

DAY = date(2026, 11, 25)
ALLERGY = {"restoration": ["amalgam"], "exposed": "no", "allergy": "yes"}
QUESTION = '{ask: "Is the pulp exposed?", screens: {exposed: yes}}'


@pytest.fixture
def folder(repository: Path, tmp_path: Path) -> Path:
    return shutil.copytree(repository / "guidelines" / "faulty" / "unscreened", tmp_path / "protocol")


def rewrite(folder: Path, old: str, new: str, file: str = "protocol.yaml") -> None:
    place = folder / file
    text = place.read_text("utf-8")
    assert old in text
    place.write_text(text.replace(old, new), "utf-8")


def found(folder: Path) -> list[tuple[str, list[Any]]]:
    """Kind and cases of what is found and not accepted."""
    findings = findings_json(analyse(folder, DAY))["findings"]
    return [(one["kind"], one["cases"]) for one in findings if not one.get("accepted")]


def test_a_question_that_screens_the_rest_leaves_nothing(folder: Path) -> None:
    assert found(folder) == [("unscreened", [ALLERGY])]
    call = ["check", str(folder), "--on", DAY.isoformat()]
    assert (main(call), main([*call, "--strict"])) == (0, 1)
    rewrite(folder, QUESTION, f"{QUESTION}, {{ask: An allergy?, screens: {{allergy: yes, restoration: amalgam}}}}")
    assert found(folder) == []
    assert main([*call, "--strict"]) == 0


def test_plain_texts_screen_nothing_that_could_be_known(folder: Path) -> None:
    rewrite(folder, QUESTION, "Is the pulp exposed?, Any allergy?")
    assert found(folder) == [
        ("unscreened", [{"exposed": "yes"}]),
        ("unscreened", [{"restoration": ["amalgam"], "allergy": "yes"}]),
    ]


def test_where_nothing_at_all_is_asked_only_that_is_said(folder: Path) -> None:
    rewrite(folder, f"stop_questions: [{QUESTION}]\n", "")
    assert [kind for kind, _ in found(folder)] == ["no-stop-questions"]


@pytest.mark.parametrize(
    ("entry", "accepts"),
    [
        ("{kind: unscreened, because: Asked by all.}", True),
        ("{kind: unscreened, factor: allergy, because: Asked by all.}", True),
        ("{kind: unscreened, decision: liner, because: Asked by all.}", True),
        ("{kind: unscreened, factor: exposed, because: Asked by all.}", False),
        ("{kind: unscreened, when: {allergy: yes}, because: Asked by all.}", True),
        ("{kind: unscreened, when: {allergy: yes, rdt: {at_most: 1 mm}}, because: Asked by all.}", False),
        ("{kind: screens-usual, because: Asked by all.}", False),
    ],
)
def test_it_can_be_accepted_for_a_factor_a_decision_or_its_cases(folder: Path, entry: str, accepts: bool) -> None:
    rewrite(folder, "evidence_scheme:", f"accepted: [{entry}]\nevidence_scheme:")
    assert found(folder) == ([] if accepts else [("unscreened", [ALLERGY])])


def test_what_a_card_does_not_show_is_none_of_its_departures(folder: Path) -> None:
    (folder / "card.yaml").write_text("restorations: [composite]\n", "utf-8")
    assert found(folder) == []
    (folder / "card.yaml").write_text("bands: {at_most: 1.5 mm}\n", "utf-8")
    assert found(folder) == [("unscreened", [{"rdt": {"at_most": "1.5 mm"}, **ALLERGY}])]


def test_the_usual_case_is_the_cards(folder: Path) -> None:
    choice = "exposed: {label: Pulp exposed, kind: choice, values: {n: No, y: Yes}}"
    rewrite(folder, "exposed: {label: Pulp exposed, kind: yes-no}", choice)
    rewrite(folder, "exposed: yes", "exposed: y", "rules/ask-the-dentist.md")
    rewrite(folder, "exposed: yes", "exposed: y")
    (folder / "card.yaml").write_text("columns_by: restoration\nusual: {exposed: y}\n", "utf-8")
    kinds = [kind for kind, _ in found(folder)]
    assert kinds == ["unscreened", "screens-usual"]  # with no exposure the chart of an exposure is wrong


def test_a_question_takes_off_what_the_chart_answers_only_with_the_usual_values(folder: Path) -> None:
    screens = "[{allergy: yes}, {restoration: composite}]"
    rewrite(folder, QUESTION, f"{QUESTION}, {{ask: An allergy or composite?, screens: {screens}}}")
    assert found(folder) == [("screens-usual", [{"restoration": ["composite"], "exposed": "no", "allergy": "no"}])]


def test_factors_that_make_the_chart_wrong_only_together_are_named_together(folder: Path) -> None:
    rewrite(folder, "[{exposed: yes}, {allergy: yes, restoration: amalgam}]", "{exposed: yes, allergy: yes}",
            "rules/ask-the-dentist.md")  # fmt: skip
    rewrite(folder, "screens: {exposed: yes}", "screens: {exposed: yes, restoration: amalgam}")
    finding = findings_json(analyse(folder, DAY))["findings"][0]
    assert (finding["factors"], "factor" in finding) == (["exposed", "allergy"], False)
    assert finding["cases"] == [{"restoration": ["composite"], "exposed": "yes", "allergy": "yes"}]


def test_a_departure_that_a_later_rule_brings_is_told_with_its_day(folder: Path) -> None:
    rewrite(folder, "screens: {exposed: yes}", "screens: [{exposed: yes}, {allergy: yes, restoration: amalgam}]")
    assert found(folder) == []
    (folder / "rules" / "later.md").write_text(
        "---\ntitle: With an allergy the dentist judges under composite too\n"
        "when: {allergy: yes, restoration: composite}\nvalid: {from: 2028-01-01}\n"
        "advise: {liner: {judgement: It depends.}}\noverrides: [line-a-deep-cavity, no-liner]\n"
        "evidence: {basis: good-practice, note: Invented.}\n---\nWhy.\n",
        "utf-8",
    )
    later = [one for one in findings_json(analyse(folder, DAY))["findings"] if one["kind"] == "unscreened"]
    assert [one["on"] for one in later] == ["2028-01-01"]
    assert later[0]["cases"] == [{"restoration": ["composite"], "exposed": "no", "allergy": "yes"}]
