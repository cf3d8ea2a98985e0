"""Study tables in a terminal: the effect in words, the studies in columns, and what an author asks of them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest

from liningbook.analysis import understand
from liningbook.control.weighed import WeighedTable, weigh
from liningbook.evidence.table import Judgement, OutcomeTable, StudyTable
from liningbook.model.protocol import Protocol
from liningbook.show.terminal.evidence_text import evidence_text
from liningbook.show.terminal.lines import wide
from tests.saying import messages_of
from tests.tables import PLACE, counted, table

TWO_TABLES = Path(__file__).parents[3] / "protocols" / "pass" / "two-study-tables"

Said = Callable[..., str]


@pytest.fixture(scope="module")
def protocol() -> Protocol:
    found = understand(TWO_TABLES, date(2026, 11, 28))
    assert found.protocol is not None, messages_of(found.findings)
    return found.protocol


@pytest.fixture(scope="module")
def said(protocol: Protocol) -> Said:
    def text(outcome: OutcomeTable, width: int = 80) -> str:
        where = StudyTable("one", "evidence/one.yaml", PLACE, "Teeth", "A liner", "No liner", {"it": outcome})
        return evidence_text(protocol, [WeighedTable(where, {"it": weigh(outcome)})], width)

    return text


TWO = [(5, 100, 15, 100), (8, 90, 12, 95)]
"""Worked out by the formulas of inverse variance: 0.5100 (0.2692 to 0.9662), weights 0.4308 and 0.5692, I² 0.2238."""


def test_the_effect_comes_in_words_then_the_studies_in_columns(said: Said) -> None:
    outcome = table(counted(TWO), model="fixed", comparator_risk=Fraction("0.12"))
    text = said(replace(outcome, label="Pain", design="randomised", certainty="high"))
    assert "A liner against no liner (evidence/one.yaml)\n" in text
    assert "Pain: critical (8 of 9)\n  In words        Pain: happens less often.\n" in text
    assert "  Relative        Risk ratio 0.51 (0.27 to 0.97)\n" in text
    assert "59 fewer (88 fewer to 4 fewer). No liner: 120 (stated)" in " ".join(text.split())
    assert text.index("In words") < text.index("Study")
    assert (
        "  Study          Treated  Comparator  Risk ratio (95% interval)  Weight\n"
        "  -------------  -------  ----------  -------------------------  ------\n"
        "  study0         5/100    15/100      0.33 (0.13 to 0.88)        43%\n"
        "  study1         8/90     12/95       0.70 (0.30 to 1.64)        57%\n"
        "  All 2 studies  13/190   27/195      0.51 (0.27 to 0.97)        100%\n"
    ) in text
    assert "22% (from Q)" in text


def test_whether_a_single_study_decides_is_answered(said: Said, protocol: Protocol) -> None:
    asked = "  Does any single study decide this?\n"
    decides = said(table(counted(TWO), model="fixed"))
    assert asked + "    Yes: without study0 it is 0.70 (0.30 to 1.64), which is another conclusion.\n" in decides
    same = said(table(counted([(5, 100, 15, 100)] * 4), model="fixed"))
    assert asked + "    No: whichever is left out, the estimate lies between 0.33 and 0.33, and the" in same
    assert asked + "    There is only one study, so it decides alone.\n" in said(table(counted(TWO[:1])))
    named = evidence_text(protocol, [_of(protocol, "liner-in-deep-cavities")])
    assert "Yes: without Ash 2020 it is" in named


def _of(protocol: Protocol, name: str) -> WeighedTable:
    where = protocol.tables[name]
    return WeighedTable(where, {key: weigh(outcome) for key, outcome in where.outcomes.items()})


def test_years_are_told_one_after_the_other(said: Said) -> None:
    text = said(table(counted([(8, 90, 12, 95), (5, 100, 15, 100)], years=True), model="fixed"))
    assert "year by year?\n" in text
    assert "    1950  study0         0.70 (0.30 to 1.64)\n" in text
    assert "    1951  study1         0.51 (0.27 to 0.97); turns the conclusion\n" in text
    assert "year by year" not in said(table(counted(TWO)))


def test_what_is_stated_and_what_is_judged_stand_side_by_side(said: Said) -> None:
    judged = {"imprecision": Judgement(1, "Few events.", PLACE)}
    outcome = replace(table(counted(TWO)), design="randomised", lowered=judged)
    assert "Certainty       none is stated; the judgements give moderate\n" in said(outcome)
    text = said(replace(outcome, certainty="high", because="We know more."))
    assert "Certainty       high, though the judgements give moderate\n" in text
    assert "We know more." in text
    assert "lowered by 1 for imprecise results: Few events." in text
    assert "Certainty       moderate\n" in said(replace(outcome, certainty="moderate"))
    assert "none is stated, and nothing is judged" in said(table(counted(TWO)))


def test_an_outcome_without_an_effect_says_so(said: Said) -> None:
    text = said(table(counted([(0, 20, 0, 20)])))
    assert "none of the studies has an effect" in " ".join(text.split())
    assert "Does any single study" not in text


@pytest.mark.parametrize("width", [80, 40, 20])
def test_no_line_is_wider_than_there_is_room_for(said: Said, width: int) -> None:
    long = replace(table(counted(TWO, years=True), comparator_risk=Fraction("0.12")), label="A long name " * 9)
    wider = [line for line in said(long, width).splitlines() if wide(line) > max(width, 36)]
    assert wider == []


def test_the_cautions_stand_at_the_end(said: Said, protocol: Protocol) -> None:
    text = said(table(counted(TWO)))
    assert protocol.cautions[0] in text
    assert "supports the judgement of the licensed clinician" in text.rpartition("No:")[2]
