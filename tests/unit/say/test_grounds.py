"""How a rule's grade came about is told step by step, with the author's sentences and what its tables give."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from liningbook.evidence.table import Counts, Judgement, OutcomeTable, Study, StudyTable
from liningbook.finding import Span
from liningbook.model.build import build_protocol, read_folder
from liningbook.model.protocol import Protocol
from liningbook.model.rule import Evidence, Name, Situation
from liningbook.say.outputs.grounds import allowing_words, answers_words, graded_words

HERE = Span("rules/a.md", 1, 1, 1, 2)


@pytest.fixture(scope="module")
def protocol(repository: Path) -> Protocol:
    folder, _ = read_folder(repository / "tests" / "protocols" / "pass" / "two-study-tables")
    built, _ = build_protocol(folder, [])
    assert built is not None
    return built


def judged(**levels: tuple[int, str]) -> dict[str, Judgement]:
    return {name.replace("_", "-"): Judgement(level, because, HERE) for name, (level, because) in levels.items()}


def evidence(design: str = "observational", raised: tuple[str, ...] = (), **levels: tuple[int, str]) -> Evidence:
    found = judged(**levels)
    return Evidence(
        "research",
        HERE,
        certainty="very-low",
        strength="conditional",
        design=design,
        lowered={name: one.level for name, one in found.items() if name not in raised},
        raised={name: one.level for name, one in found.items() if name in raised},
        judged=found,
    )


def test_each_step_is_told_with_its_sentence(protocol: Protocol) -> None:
    told = graded_words(protocol, evidence(indirectness=(1, "Other teeth."), imprecision=(0, "Many teeth.")))
    assert told == (
        "observational studies start at low certainty",
        "lowered by 1 for indirect evidence (Other teeth)",
        "not lowered for imprecise results (Many teeth)",
        "result: very low certainty",
    )


def test_a_raise_that_does_not_count_says_why(protocol: Protocol) -> None:
    told = graded_words(protocol, evidence(raised=("large-effect",), imprecision=(1, ""), large_effect=(2, "")))
    assert told[1:] == (
        "lowered by 1 for imprecise results",
        "not raised for a large effect: that counts only where nothing is lowered",
        "result: very low certainty",
    )
    older = replace(protocol, rating_up="arithmetic-2004")
    assert graded_words(older, evidence(raised=("large-effect",), imprecision=(1, ""), large_effect=(2, "")))[2:] == (
        "raised by 2 for a large effect",
        "result: moderate certainty",
    )


def test_the_tool_that_starts_high_is_named(protocol: Protocol) -> None:
    robins = replace(evidence(risk_of_bias=(3, "")), risk_of_bias_tool="robins-i", setting="laboratory")
    assert graded_words(protocol, robins) == (
        "observational studies start at high certainty with the tool robins-i",
        "in a laboratory",
        "lowered by 3 for risk of bias",
        "result: very low certainty",
    )


def table(*outcomes: tuple[str, int, str]) -> StudyTable:
    arms = Counts(5, 100), Counts(9, 100)
    made = {
        label: OutcomeTable(
            id=label, label=label, kind="harm", importance=importance, measure="risk-ratio", span=HERE,
            studies=(Study("ash2020", HERE, *arms),), zero_cells=Fraction(1, 2), certainty=level,
        )
        for label, importance, level in outcomes
    }  # fmt: skip
    return StudyTable("it", "evidence/it.yaml", HERE, "", "", "", made)


def test_the_outcome_that_decides_is_named(protocol: Protocol) -> None:
    rests = Evidence("research", HERE, certainty="low", tables=(Name("it", HERE),))
    one = replace(protocol, tables={"it": table(("Pain", 8, "low"), ("Cost", 6, "very-low"))})
    assert graded_words(one, rests) == ("the critical outcome is Pain (low certainty)",)
    two = replace(protocol, tables={"it": table(("Pain", 8, "low"), ("Death", 9, "high"))})
    assert graded_words(two, rests) == (
        "the critical outcomes are Pain (low certainty) and Death (high certainty)",
        "Pain decides, as the lowest",
    )
    other = replace(rests, certainty="high", because="Death is enough.")
    assert graded_words(two, other)[-1] == "stated as high certainty all the same: Death is enough"


def test_what_allows_strong_advice_is_told_or_that_nothing_does(protocol: Protocol) -> None:
    strong = replace(evidence(), strength="strong")
    none = "None of the five situations that allow strong advice on weak evidence is named."
    assert allowing_words(protocol, strong) == none
    assert allowing_words(protocol, replace(strong, note="Because.")) == none
    assert allowing_words(protocol, evidence()) == allowing_words(protocol, replace(strong, certainty="high")) == ""
    assert allowing_words(protocol, replace(strong, certainty=None)) == none
    tables = replace(protocol, tables={"it": table(("Pain", 8, "low"))})
    rests = Evidence("research", HERE, strength="strong", tables=(Name("it", HERE),), because="Why not.")
    assert allowing_words(tables, rests) == none
    assert allowing_words(replace(tables, tables={"it": table(("Pain", 8, "high"))}), rests) == ""
    assert graded_words(tables, rests) == ("the critical outcome is Pain (low certainty)",)
    situation = Situation("harm-surer-than-benefit", "low", "high", "against", "waiting.", HERE)
    assert allowing_words(protocol, replace(strong, situation=situation)) == (
        "Strong by the situation “the harm is surer than the benefit” "
        "(benefit: low certainty; harm: high certainty; against: waiting)"
    )


def test_the_five_answers_are_told_or_that_there_are_none() -> None:
    practice = Evidence("good-practice", HERE, note="x")
    assert answers_words(practice) == ("the five questions of a good practice statement are not answered",)
    keys = ("what_exactly", "why_needed", "what_is_gained", "why_no_study", "how_it_follows")
    told = answers_words(replace(practice, good_practice={key: f"{key}." for key in reversed(keys)}))
    assert [line.partition(": ")[2] for line in told] == list(keys)
    assert answers_words(Evidence("law", HERE)) == ()
