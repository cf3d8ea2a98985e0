"""Grades against study tables, strong words against situations, and what figures ask of judgements."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from liningbook.analysis import analyse
from liningbook.say.findings import told

PROTOCOL = """title: Example
practice: Example Practice
edition: 2026.1
status: draft
review_by: 2027-09-01
authors: [{name: E. Example, role: dentist, interests: none declared}]
scope: Invented example.
cautions: [Not clinical advice.]
evidence_scheme: %s
factors:
  rdt: {label: Dentine left, kind: quantity, unit: mm, at_least: 0 mm, at_most: 6 mm}
decisions:
  liner: {label: Liner, layer: liner}
"""
TABLE = "question: {population: Teeth, intervention: A liner, comparator: No liner}\noutcomes:\n"
MANY = "{study: ash2020, events: [200, 1000], comparator: [400, 1000]}"
ALIKE = MANY.replace("ash2020", "bell2021")
FEW = "{study: ash2020, events: [7, 48], comparator: [24, 48]}"

Found = list[tuple[str, str, str]]
Check = Callable[..., Found]


def outcome(name: str, fields: str, *studies: str, measure: str = "risk-ratio", importance: int = 8) -> str:
    listed = "".join(f"      - {study}\n" for study in studies or (MANY, ALIKE))
    head = f"label: {name}, importance: {importance}, measure: {measure}".replace(", ", "\n    ")
    rest = "".join(f"    {line}\n" for line in (head, *fields.split("; ")))
    return f"  {name.lower()}:\n{rest}    studies:\n{listed}"


@pytest.fixture
def check(tmp_path: Path) -> Check:
    """Kind, severity and message of each finding about evidence, of one rule and one table."""

    def call(
        evidence: str,
        table: str = "",
        advise: str = "advise: {liner: none}",
        scheme: str = "grade",
        titles: tuple[str, ...] = ("A trial", "Another"),
        more: str = "",
    ) -> Found:
        keys = ("ash2020", "bell2021", "cole2022")[: len(titles)]
        entries = [{"id": key, "type": "book", "title": title} for key, title in zip(keys, titles, strict=True)]
        rule = f"---\ntitle: The rule\n{advise}\nevidence: {{{evidence}, cites: [{', '.join(keys)}]}}\n---\n"
        files = {
            "protocol.yaml": PROTOCOL % scheme + more,
            "materials.yaml": "agents:\n  lime: {label: Lime, class: liner}\n",
            "references.json": json.dumps(entries),
            "rules/the-rule.md": rule,
            **({"evidence/it.yaml": TABLE + table} if table else {}),
        }
        for name, text in files.items():
            (tmp_path / name).parent.mkdir(exist_ok=True)
            (tmp_path / name).write_text(text, encoding="utf-8")
        found = analyse(tmp_path, date(2026, 11, 25)).findings
        told_apart = {"questioned", "certainty-mismatch", "level-mismatch", "strong-on-weak", "schema", "bad-table"}
        return [
            (one.kind, one.severity.value, told(one).message) for one in found if one.counts and one.kind in told_apart
        ]

    return call


GOOD = "kind: harm; design: randomised; certainty: high"

# --- the certainty of rules and outcomes ------------------------------------------------------------------------------


def test_a_rule_takes_the_lowest_of_the_critical_outcomes(check: Check) -> None:
    low = "kind: harm; design: randomised; lowered: {risk-of-bias: 2}; certainty: low"
    table = outcome("Necrosis", GOOD) + outcome("Pain", low) + outcome("Cost", low, importance=6)
    assert check("certainty: low, tables: [it]", table) == []
    message = "the certainty of 'The rule' is stated as high, but its critical outcomes give low"
    assert check("certainty: high, tables: [it]", table) == [("certainty-mismatch", "error", message)]
    assert check("certainty: high, tables: [it], because: Necrosis alone is enough", table) == []
    important = outcome("Necrosis", GOOD) + outcome("Cost", low, importance=6)
    assert check("certainty: high, tables: [it]", important) == []


def test_a_table_without_a_critical_outcome_gives_nothing(check: Check) -> None:
    message = "no outcome of the tables of 'The rule' is critical, so nothing gives its certainty"
    assert check("certainty: high, tables: [it]", outcome("Necrosis", GOOD, importance=6)) == [
        ("certainty-mismatch", "error", message)
    ]


def test_the_exception_is_asked_about_where_its_conditions_do_not_hold(check: Check) -> None:
    worse = "{study: ash2020, events: [400, 1000], comparator: [200, 1000]}"
    low = "kind: harm; design: randomised; lowered: {risk-of-bias: 2}; certainty: low"
    table = outcome("Necrosis", GOOD) + outcome("Pain", low, worse, worse.replace("ash2020", "bell2021"))
    (finding,) = check("certainty: high, tables: [it], because: It is enough", table)
    assert finding[:2] == ("questioned", "warning")
    assert finding[2] == (
        "the certainty of 'The rule' is stated above that of its critical outcomes, but the critical outcomes do not "
        "all point the same way and a critical outcome that is worse with it is less certain"
    )


def test_an_outcome_is_what_its_judgements_give(check: Check) -> None:
    stated = "kind: harm; design: observational; certainty: moderate"
    message = "the certainty of 'Necrosis' is stated as moderate, but what is recorded gives low"
    assert check("certainty: moderate, tables: [it]", outcome("Necrosis", stated)) == [
        ("certainty-mismatch", "error", message)
    ]
    assert check("certainty: moderate, tables: [it]", outcome("Necrosis", f"{stated}; because: All in all")) == []


def test_a_critical_outcome_without_a_grade_is_told(check: Check) -> None:
    table = outcome("Necrosis", GOOD) + outcome("Pain", "kind: harm")
    message = "'Pain' is critical, but nothing says how certain its evidence is"
    assert check("certainty: high, tables: [it]", table) == [("certainty-mismatch", "error", message)]


@pytest.mark.parametrize("graded", ["certainty: high", "lowered: {imprecision: 1}", "raised: {large-effect: 1}"])
def test_an_outcome_is_not_graded_without_a_design(graded: str, check: Check) -> None:
    message = "'Pain' is graded, but without a `design` nothing says where its certainty starts"
    table = outcome("Necrosis", GOOD) + outcome("Pain", f"kind: harm; {graded}", importance=5)
    assert check("certainty: high, tables: [it]", table) == [("certainty-mismatch", "error", message)]


@pytest.mark.parametrize(
    ("evidence", "is_wrong"),
    [
        ("certainty: high, lowered: {imprecision: 1}", True),
        ("certainty: moderate, lowered: {imprecision: 2}, raised: {large-effect: 2}", True),
        ("certainty: moderate, lowered: {imprecision: 1}", False),
        ("certainty: very-low, lowered: {imprecision: 1}", False),
        ("certainty: moderate, raised: {large-effect: 1}", False),
        ("certainty: high", False),
    ],
)
def test_without_a_design_a_rule_is_not_surer_than_the_best_start_gives(
    evidence: str, is_wrong: bool, check: Check
) -> None:
    assert [finding[0] for finding in check(evidence)] == ["certainty-mismatch"] * is_wrong


def test_an_outcome_of_another_certainty_for_a_reason_needs_no_design(check: Check) -> None:
    table = outcome("Necrosis", GOOD) + outcome(
        "Pain", "kind: harm; certainty: high; because: All in all", importance=5
    )
    assert check("certainty: high, tables: [it]", table) == []


def test_a_reason_for_another_certainty_is_for_tables(check: Check) -> None:
    """Without tables there is nothing that it could stand against."""
    found = check("certainty: high, design: observational, because: All in all")
    assert [finding[0] for finding in found] == ["certainty-mismatch"]


@pytest.mark.parametrize(
    ("evidence", "is_weak"),
    [
        ("tables: [it]", True),
        ("design: observational", True),
        ("design: randomised, lowered: {imprecision: 2}", True),
        ("design: randomised", False),
    ],
)
def test_a_strong_rule_that_states_no_certainty_has_the_one_that_is_given(
    evidence: str, is_weak: bool, check: Check
) -> None:
    low = "kind: harm; design: randomised; lowered: {risk-of-bias: 2}; certainty: low"
    table = outcome("Necrosis", low) if "tables" in evidence else ""
    message = "'The rule' is a strong recommendation on evidence of low certainty, without a word on why"
    assert check(f"strength: strong, {evidence}", table) == [("strong-on-weak", "error", message)] * is_weak
    assert check(f"strength: strong, {evidence}, note: We say so", table) == []


def test_the_protocol_says_how_rating_up_is_counted(check: Check) -> None:
    evidence = "certainty: moderate, design: observational, lowered: {risk-of-bias: 1}, raised: {large-effect: 2}"
    assert [finding[0] for finding in check(evidence)] == ["certainty-mismatch"]
    assert check(evidence, more="rating_up: arithmetic-2004\n") == []


# --- what figures ask -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("fields", "studies", "domain", "words"),
    [
        (GOOD, (FEW,), "imprecision", "31 events in 1 study"),
        (GOOD, (FEW, FEW.replace("ash2020", "bell2021")), "imprecision", "62 events in 2 studies"),
        (
            GOOD,
            (FEW, "{study: bell2021, estimate: '0.4', low: '0.3', high: '0.5'}"),
            "imprecision",
            "31 events in 1 of 2 studies",
        ),
        (
            GOOD,
            ("{study: ash2020, events: [0, 900], comparator: [0, 900]}",),
            "imprecision",
            "the studies give no effect together",
        ),
        (
            GOOD,
            ("{study: ash2020, events: [300, 1000], comparator: [310, 1000]}",),
            "imprecision",
            "crosses 1, no effect",
        ),
        (f"{GOOD}; threshold: '0.5'", (MANY,), "imprecision", "crosses 0.50, the effect that matters"),
        (GOOD, ("{study: ash2020, estimate: '0.5', low: '0.4', high: '0.625'}",), "imprecision", "one study alone"),
        (
            GOOD,
            (MANY, "{study: bell2021, events: [390, 1000], comparator: [400, 1000]}"),
            "inconsistency",
            "I²",
        ),
        (GOOD, (MANY.replace("}", ", setting: laboratory}"),), "indirectness", "1 was done in a laboratory"),
        (
            "kind: harm; design: observational; raised: {large-effect: 1}; certainty: moderate",
            ("{study: ash2020, events: [300, 1000], comparator: [400, 1000]}",),
            "large-effect",
            "the pooled ratio is 0.75",
        ),
    ],
)  # fmt: skip
def test_figures_ask_and_a_reason_answers(
    fields: str, studies: tuple[str, ...], domain: str, words: str, check: Check
) -> None:
    asked = {
        message for kind, _, message in check("basis: law", outcome("Necrosis", fields, *studies))
        if kind == "questioned" and words in message
    }  # fmt: skip
    assert len(asked) == 1
    if domain == "large-effect":
        answered = fields.replace("large-effect: 1", "large-effect: {level: 1, because: It is}")
    else:
        answered = f"{fields}; lowered: {{{domain}: {{level: 0, because: It is}}}}"
    again = check("basis: law", outcome("Necrosis", answered, *studies))
    assert not [message for _, _, message in again if words in message]
    silent = fields.replace("large-effect: 1", "large-effect: 0") + f"; lowered: {{{domain}: 0}}"
    if domain != "large-effect":
        still = check("basis: law", outcome("Necrosis", silent, *studies))
        assert [message for _, _, message in still if words in message]


def test_nothing_is_asked_of_an_outcome_that_nobody_has_judged(check: Check) -> None:
    assert check("basis: law", outcome("Necrosis", "kind: harm", FEW)) == []
    assert [kind for kind, _, _ in check("basis: law", outcome("Necrosis", GOOD, FEW))] == ["questioned"]


def test_nothing_is_asked_of_many_events_in_agreement(check: Check) -> None:
    assert check("certainty: high, tables: [it]", outcome("Necrosis", GOOD)) == []


@pytest.mark.parametrize(("narrowed", "left"), [("outcome: necrosis", 0), ("table: it", 0), ("outcome: pain", 1)])
def test_a_question_can_be_accepted_for_one_outcome(narrowed: str, left: int, check: Check) -> None:
    more = f"accepted: [{{kind: questioned, {narrowed}, because: We know}}]\n"
    assert len(check("basis: law", outcome("Necrosis", GOOD, FEW), more=more)) == left


def test_few_people_are_asked_about_where_means_are_compared(check: Check) -> None:
    few = "{study: ash2020, mean: ['1', '0.2', 30], comparator: ['2', '0.2', 28]}"
    many = few.replace("30]", "300]").replace("28]", "280]")
    (finding,) = check("certainty: high, tables: [it]", outcome("Pain", GOOD, few, measure="mean-difference"))
    assert "58 were measured in 1 study" in finding[2]
    assert (
        check(
            "certainty: high, tables: [it]",
            outcome("Pain", GOOD, many, many.replace("ash2020", "bell2021"), measure="mean-difference"),
        )
        == []
    )


# --- laboratory work --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("evidence", "titles", "asks"),
    [
        ("certainty: high, design: randomised", ("Heat through dentine in vitro",), True),
        ("certainty: high, design: randomised", ("Liners in beagle dogs",), True),
        ("certainty: high, design: randomised", ("Liners in beagle dogs", "A trial in adults"), False),
        ("certainty: high, design: randomised, setting: patients", ("Heat through dentine in vitro",), False),
        ("certainty: low, design: observational", ("Heat through dentine in vitro",), False),
        ("certainty: low, design: observational, setting: laboratory", ("A trial",), True),
        ("certainty: very-low, design: observational, setting: animals, lowered: {indirectness: 1}", ("A",), False),
        (
            "certainty: low, design: observational, setting: animals, "
            "lowered: {indirectness: {level: 0, because: The same}}",
            ("A",),
            False,
        ),
        ("certainty: high, design: randomised", ("Strategies of dentists",), False),
    ],
)
def test_laboratory_work_called_high_or_not_lowered_is_asked_about(
    evidence: str, titles: tuple[str, ...], asks: bool, check: Check
) -> None:
    found = check(evidence, titles=titles)
    assert [finding[:2] for finding in found] == ([("questioned", "warning")] if asks else [])


def test_a_good_level_for_laboratory_work_is_asked_about(check: Check) -> None:
    def levels(evidence: str) -> list[str]:
        return [kind for kind, _, _ in check(evidence, scheme="ocebm-2011", titles=("Heat in vitro",))]

    assert levels("level: 2, question: benefit, design: rct") == ["questioned"]
    assert levels("level: 5, question: benefit, design: mechanism") == []
    assert levels("level: 5, question: benefit, design: mechanism, setting: laboratory") == []


# --- strong recommendations -------------------------------------------------------------------------------------------

STRONG = "certainty: low, strength: strong, design: observational"


@pytest.mark.parametrize(
    ("situation", "advise", "expected"),
    [
        ("name: life-at-stake, benefit: low", "advise: {liner: {agent: lime}}", []),
        ("name: life-at-stake, benefit: low", "avoid: {liner: [lime]}",
            ["it allows only a recommendation for something"]),
        ("name: harm-surer-than-benefit, benefit: low, harm: high", "avoid: {liner: [lime]}", []),
        ("name: harm-surer-than-benefit, benefit: low, harm: high", "advise: {liner: none}", []),
        ("name: harm-surer-than-benefit, benefit: low", "avoid: {liner: [lime]}",
            ["the certainty of the harm is not stated, and must be high or moderate"]),
        ("name: harm-surer-than-benefit, benefit: high, harm: high", "avoid: {liner: [lime]}",
            ["the certainty of the benefit is high, and must be low or very low"]),
        ("name: harm-surer-than-benefit, benefit: low, harm: high, for: waiting", "avoid: {liner: [lime]}",
            ["it allows only a recommendation against something"]),
        ("name: alike-but-surely-safer, benefit: low, harm: high, for: the cheaper one", "avoid: {liner: [lime]}", []),
    ],
)  # fmt: skip
def test_a_situation_is_held_to_its_conditions(situation: str, advise: str, expected: list[str], check: Check) -> None:
    found = check(f"{STRONG}, situation: {{{situation}}}", advise=advise)
    assert [finding[:2] for finding in found] == [("strong-on-weak", "error")] * len(expected)
    for finding, words in zip(found, expected, strict=True):
        assert words in finding[2]


def test_a_note_is_enough_but_not_beside_a_situation_that_does_not_hold(check: Check) -> None:
    assert check(f"{STRONG}, note: We say so") == []
    assert [finding[0] for finding in check(STRONG)] == ["strong-on-weak"]
    wrong = f"{STRONG}, note: We say so, situation: {{name: possible-disaster, benefit: high, harm: high}}"
    assert [finding[0] for finding in check(wrong)] == ["strong-on-weak"]


def test_a_disaster_with_an_uncertain_benefit_is_only_asked_about(check: Check) -> None:
    found = check(f"{STRONG}, situation: {{name: possible-disaster, benefit: low, harm: low}}")
    assert [finding[:2] for finding in found] == [("questioned", "warning")]


def test_the_certainties_of_a_situation_come_from_the_tables(check: Check) -> None:
    low = "kind: benefit; design: randomised; lowered: {risk-of-bias: 2}; certainty: low"
    table = outcome("Survival", low) + outcome("Reaction", GOOD)
    rule = "certainty: low, strength: strong, tables: [it], situation: {name: harm-surer-than-benefit%s}"
    assert check(rule % "", table) == []
    (finding,) = check(rule % ", harm: moderate", table)
    assert finding[0] == "strong-on-weak"
    assert "the certainty of the harm is stated as moderate, but the tables give high" in finding[2]


@pytest.mark.parametrize(
    "evidence",
    [
        "certainty: low, strength: conditional, design: observational",
        "certainty: low, design: observational",
        "certainty: high, strength: strong, design: randomised",
        "strength: strong, design: observational",
    ],
)
def test_a_situation_that_allows_nothing_is_told(evidence: str, check: Check) -> None:
    message = "`situation` is only for a strong recommendation on low or very low certainty"
    situation = "situation: {name: life-at-stake, benefit: low}"
    advise = "advise: {liner: {agent: lime}}"
    assert check(f"{evidence}, {situation}", advise=advise) == [("schema", "error", message)]
    assert check(f"{STRONG}, {situation}", advise=advise) == []


def test_a_situation_where_none_can_stand_is_told_once(check: Check) -> None:
    assert len(check("basis: law, situation: {name: life-at-stake}")) == 1
    assert len(check("level: 2, question: benefit, situation: {name: life-at-stake}", scheme="ocebm-2011")) == 1
    assert len(check("certainty: lowish, strength: strong, situation: {name: life-at-stake}")) == 1


# --- levels -----------------------------------------------------------------------------------------------------------


def test_a_level_moves_up_for_a_large_effect_alone(check: Check) -> None:
    evidence = "level: 1, question: benefit, design: rct, adjusted: {to: 1, because: x, for: %s}"
    assert check(evidence % "large-effect", scheme="ocebm-2011") == []
    (finding,) = check(evidence % "imprecision", scheme="ocebm-2011")
    assert finding[0] == "level-mismatch"
    assert "is moved up to 1 for imprecision, which only moves a level down" in finding[2]
    down = "level: 3, question: benefit, design: rct, adjusted: {to: 3, because: x, for: large-effect}"
    assert "which only moves a level up" in check(down, scheme="ocebm-2011")[0][2]
