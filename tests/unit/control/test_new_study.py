"""A new study: the figures with it and without it, what these ask, and the cases that rest on the table."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from liningbook.analysis import understand
from liningbook.control.new_study import NewStudy, arriving
from liningbook.evidence.synthesis.synthesise import synthesise
from liningbook.evidence.table import Counts, Judgement, Means, OutcomeTable, Study, StudyTable
from liningbook.meaning.meaning import Meaning
from liningbook.space.region import Region
from tests.saying import messages_of
from tests.tables import PLACE, counted, table

TWO_TABLES = Path(__file__).parents[2] / "protocols" / "pass" / "two-study-tables"
DEEP = "liner-in-deep-cavities"


@pytest.fixture(scope="module")
def meaning() -> Meaning:
    found = understand(TWO_TABLES, date(2026, 11, 28))
    assert found.meaning is not None, messages_of(found.findings)
    return found.meaning


def arrived(meaning: Meaning, outcome: OutcomeTable, study: Study, name: str = DEEP) -> NewStudy:
    where = StudyTable(name, "evidence/x.yaml", PLACE, "Teeth", "A liner", "No liner", {"it": outcome})
    return arriving(meaning, where, outcome, study)


def new(events: int, total: int, of_comparator: int, total_of_comparator: int) -> Study:
    return Study("new", PLACE, Counts(events, total), Counts(of_comparator, total_of_comparator), year=2026)


def asked(found: NewStudy) -> list[tuple[str, str]]:
    return [(question.domain, cause.what) for question in found.asked for cause in question.causes]


def settled(found: NewStudy) -> list[tuple[str, str]]:
    return [(question.domain, cause.what) for question in found.settled for cause in question.causes]


def test_before_and_after_are_the_table_without_and_with_the_study(meaning: Meaning) -> None:
    outcome = table(counted([(5, 100, 15, 100), (8, 90, 12, 95)]))
    found = arrived(meaning, outcome, new(30, 200, 60, 200))
    assert found.before.synthesis == synthesise(outcome)
    assert found.after.synthesis == synthesise(replace(outcome, studies=(*outcome.studies, found.study)))
    assert [effect.study for effect in found.after.synthesis.effects] == ["study0", "study1", "new"]
    assert found.before.outcome is outcome


def test_a_conclusion_that_turns_is_told(meaning: Meaning) -> None:
    outcome = table(counted([(5, 100, 15, 100), (8, 90, 12, 95)]), model="fixed")
    assert not arrived(meaning, outcome, new(30, 200, 60, 200)).turns
    assert arrived(meaning, outcome, new(60, 200, 30, 200)).turns


def test_only_what_the_study_changes_is_asked(meaning: Meaning) -> None:
    judged = {"imprecision": Judgement(0, "", PLACE), "indirectness": Judgement(0, "", PLACE)}
    few = replace(table(counted([(5, 100, 15, 100), (6, 100, 16, 100)])), design="randomised", lowered=judged)
    more = arrived(meaning, few, new(300, 3000, 600, 3000))
    assert ("imprecision", "events") in settled(more)
    assert asked(more) == []
    other_way = arrived(meaning, few, new(40, 100, 10, 100))
    assert ("inconsistency", "spread") in asked(other_way)
    assert ("imprecision", "crosses") in asked(other_way)
    assert settled(other_way) == []
    in_dogs = arrived(meaning, few, replace(new(5, 100, 15, 100), setting="animals"))
    assert asked(in_dogs) == [("indirectness", "not-patients")]


def test_a_judgement_with_its_reason_is_not_questioned(meaning: Meaning) -> None:
    said = {name: Judgement(0, "We say why.", PLACE) for name in ("imprecision", "inconsistency", "indirectness")}
    outcome = replace(table(counted([(5, 100, 15, 100), (6, 100, 16, 100)])), design="randomised", lowered=said)
    assert asked(arrived(meaning, outcome, new(40, 100, 10, 100))) == []


def test_nothing_is_regraded(meaning: Meaning) -> None:
    outcome = meaning.protocol.tables[DEEP].outcomes["pulp-necrosis"]
    found = arriving(meaning, meaning.protocol.tables[DEEP], outcome, new(90, 100, 10, 100))
    assert (found.before.level, found.before.steps) == (found.after.level, found.after.steps)
    assert found.after.outcome.certainty == outcome.certainty


def test_the_rules_are_those_that_name_the_table_with_the_cases_they_decide(meaning: Meaning) -> None:
    outcome = table(counted([(5, 100, 15, 100)]))
    (deep,) = arrived(meaning, outcome, new(1, 20, 2, 20)).rules
    assert deep.rule.id == "line-a-deep-cavity"
    region = deep.advises["liner"]
    assert [meaning.space.notation(box) for box in region or Region()] == [{"rdt": {"at_most": "0.5 mm"}}]
    assert arrived(meaning, outcome, new(1, 20, 2, 20), "another").rules == ()


def test_figures_of_another_kind_are_left_out_and_change_nothing(meaning: Meaning) -> None:
    """The reader refuses them; here they are left out, as everywhere."""
    means = Study("new", PLACE, Means(1, 1, 10), Means(1, 1, 10))
    found = arrived(meaning, table(counted([(5, 100, 15, 100), (8, 90, 12, 95)])), means)
    assert found.before.synthesis.pooled == found.after.synthesis.pooled
    assert [one.study for one in found.after.synthesis.left_out] == ["new"]
