"""Mistakes in the fields of a file: what is said, and which text is marked."""

# Messages stand on one line, so that they can be searched for.
# ruff: noqa: E501

from __future__ import annotations

import copy
import json
import random
import subprocess
import sys
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from liningbook.finding import Finding, Severity
from liningbook.resources import schema
from liningbook.say.faults.words import did_you_mean
from liningbook.sources.shape import MOST, check_shape
from liningbook.sources.text import near
from liningbook.sources.yaml_nodes import read_yaml
from tests.saying import advice_of, message_of, related_of

PROTOCOL = """\
title: Pulp protection
practice: Example Practice
edition: 2026.1
status: draft
review_by: 2035-01-01
authors: [{name: E. Example, role: dentist, interests: none declared}]
scope: Invented example.
cautions: [Not clinical advice.]
evidence_scheme: grade
"""
FACTORS = """\
factors:
  rdt: {label: Dentine, kind: quantity, unit: mm, at_least: 0 mm, at_most: 6 mm}
"""
DECISIONS = """\
decisions:
  liner: {label: Liner, layer: liner}
"""
RULE = """\
title: Line a deep cavity
evidence: {basis: good-practice, note: Invented.}
"""
ADVISE = "advise: {liner: none}\n"
AGENTS = "agents: {lime: {class: liner}}\n"

Found = tuple[int, int, str, str]


def shape(name: str, text: str) -> list[Finding]:
    node, _ = read_yaml(text, f"{name}.yaml")
    assert node is not None
    return check_shape(node, name)


def marked(text: str, finding: Finding) -> str:
    span = finding.span
    assert span.line == span.end_line
    return text.split("\n")[span.line - 1][span.column - 1 : span.end_column - 1]


def found(name: str, text: str) -> list[Found]:
    """Line, column, marked text and message of each finding."""
    return [(f.span.line, f.span.column, marked(text, f), message_of(f)) for f in shape(name, text)]


def helps(name: str, text: str) -> list[tuple[str, ...]]:
    return [advice_of(finding) for finding in shape(name, text)]


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("protocol", PROTOCOL + FACTORS + DECISIONS),
        ("rule", RULE + ADVISE),
        ("rule", RULE + "when: {}\nnever: {liner: lime}\n"),
        ("rule", RULE + "when: []\navoid: {liner: [lime, none]}\n"),
        ("rule", RULE + "when: [{}, {law: yes, rdt: {}}]\n" + ADVISE),
        ("rule", RULE + "when: {rdt: [{at_most: 1 mm}, {exactly: 2 mm}], filling: {not: [a, b]}, law: no}\n" + ADVISE),
        (
            "rule",
            RULE + "advise: {liner: {agent: lime, coats: 2, wait: 4 min, before: base}, base: {judgement: Weigh.}}",
        ),
        ("rule", "title: x\nevidence: {}\n" + ADVISE),
        ("rule", "title: x\nevidence: {level: 2, design: obs_dramatic, adjusted: {to: 3, because: y}}\n" + ADVISE),
        ("materials", AGENTS),
        ("materials", "agents: {}\n"),
        ("materials", AGENTS + "together: [{with: {liner: lime}, forbid: {base: [none]}}]\n"),
        ("vignettes", "[]"),
        ("vignettes", "- {name: x, case: {rdt: 0.4 mm, law: yes}, expect: {liner: none}}\n"),
    ],
)
def test_what_the_format_allows_passes(name: str, text: str) -> None:
    assert found(name, text) == []


@pytest.mark.parametrize("amount", ["0.5", "'0,5 mm'", "0.5 furlongs", "about 1 mm", "7"])
def test_a_wrong_quantity_is_left_to_the_check_of_units(amount: str) -> None:
    assert found("rule", f"{RULE}{ADVISE}when: {{rdt: {{at_most: {amount}}}}}\n") == []
    assert (
        found("rule", f"{RULE}advise: {{liner: {{agent: lime, thickness: {{below: {amount}}}, wait: {amount}}}}}\n")
        == []
    )
    factor = f"factors: {{rdt: {{kind: quantity, unit: {amount}, at_least: {amount}, at_most: {amount}}}}}\n"
    assert found("protocol", PROTOCOL + factor + DECISIONS) == []


def test_an_unknown_name_is_left_to_the_resolving_of_names() -> None:
    text = (
        RULE
        + "when: {No_Factor: No Value}\nadvise: {No_Decision: {agent: No Agent, place: Nowhere}}\noverrides: [No Rule]\n"
    )
    assert found("rule", text) == []


def test_a_missing_field_of_the_file_is_told_on_line_1_with_an_example() -> None:
    text = PROTOCOL.replace("review_by: 2035-01-01\n", "").replace("status: draft\n", "") + FACTORS + DECISIONS
    assert found("protocol", text) == [
        (1, 1, "t", "`status` is missing"),
        (1, 1, "t", "`review_by` is missing"),
    ]
    assert helps("protocol", text) == [
        ("write `status:` with draft, in-force or withdrawn",),
        ("write for example `review_by: 2027-09-01`",),
    ]


def test_a_missing_field_of_a_group_is_told_on_its_key() -> None:
    text = PROTOCOL + "factors:\n  rdt: {kind: quantity, unit: mm, at_least: 0 mm}\n" + DECISIONS
    assert found("protocol", text) == [(11, 3, "rdt", "`at_most` is missing in `rdt`")]
    assert helps("protocol", text) == [("write for example `at_most: 6 mm`",)]


def test_a_missing_field_of_an_item_is_told_on_the_first_field_of_the_item() -> None:
    text = "- name: one\n  case: {a: b}\n  expect: {c: d}\n- name: two\n  case: {a: b}\n"
    assert found("vignettes", text) == [(4, 3, "name", "`expect` is missing in item 2 of the list")]


def test_a_field_missing_from_an_empty_group_is_told_on_its_key() -> None:
    text = PROTOCOL + "factors: {rdt: {}}\n" + DECISIONS
    assert found("protocol", text) == [(10, 11, "rdt", "`kind` is missing in `rdt`")]


def test_a_misspelt_field_is_told_once_even_if_it_is_required() -> None:
    text = (PROTOCOL + FACTORS + DECISIONS).replace("title:", "tittle:")
    assert found("protocol", text) == [(1, 1, "tittle", "'tittle' is not a field of protocol.yaml")]
    assert helps("protocol", text) == [("did you mean `title`?",)]


def test_a_misspelt_advise_is_told_once() -> None:
    text = RULE + "advice: {liner: none}\n"
    assert found("rule", text) == [(3, 1, "advice", "'advice' is not a field of a rule")]
    assert helps("rule", text) == [("did you mean `advise`?",)]


def test_a_field_that_is_near_nothing_gets_the_list_of_fields() -> None:
    text = RULE + ADVISE + "valid: {from: 2026-01-01, zzz: 1}\n"
    assert found("rule", text) == [(4, 27, "zzz", "'zzz' is not a field of `valid`")]
    assert helps("rule", text) == [("the fields of `valid` are from, until",)]


def test_a_field_at_the_wrong_place_is_told_where_it_belongs() -> None:
    text = RULE + ADVISE + "cites: [marlow2019]\n"
    assert found("rule", text) == [(4, 1, "cites", "'cites' is not a field of a rule")]
    assert helps("rule", text) == [("`cites` is a field of `evidence`: check where it stands and its indentation",)]


def test_a_hyphen_for_an_underscore_is_recognised() -> None:
    assert helps("rule", RULE + ADVISE + "when: {rdt: {at-least: 1 mm}}\n") == [("did you mean `at_least`?",)]


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("status: drafted", (1, 9, "drafted", "`status` must be draft, in-force or withdrawn, not 'drafted'")),
        ("status: [draft]", (1, 9, "[draft]", "`status` must be draft, in-force or withdrawn, not a list")),
        (
            "review_by: 1 Sept 2026",
            (
                1,
                12,
                "1 Sept 2026",
                "`review_by` must be a date written year-month-day, such as `2027-09-01`, not '1 Sept 2026'",
            ),
        ),
        (
            "review_by: 2026-13-01",
            (
                1,
                12,
                "2026-13-01",
                "`review_by` must be a date written year-month-day, such as `2027-09-01`, not '2026-13-01'",
            ),
        ),
        (
            "edition: {a: b}",
            (1, 10, "{a: b}", "`edition` must be a text or a number, such as `2026.2`, not a group of fields"),
        ),
        ("scope: '  '", (1, 8, "'  '", "`scope` must be a text, such as `Vital permanent teeth in adults.`, not an empty text")),
        ('scope: ""', (1, 8, '""', "`scope` must be a text, such as `Vital permanent teeth in adults.`, not an empty text")),
        ("authors: []", (1, 10, "[]", "`authors` must be a list of people with name, role and interests, not an empty list")),
        ("authors: me", (1, 10, "me", "`authors` must be a list of people with name, role and interests, not a text")),
        ("cautions: [a, {b: c}]", (1, 15, "{b: c}", "item 2 of `cautions` must be a text, not a group of fields")),
        (
            "site_address: our site",
            (1, 15, "our site", "`site_address` must be a web address, such as `https://protocols.example/pulp`, not 'our site'"),
        ),
    ],
)  # fmt: skip
def test_a_wrong_value_is_told_in_plain_words(line: str, expected: Found) -> None:
    field = line.split(":")[0]
    rest = [row for row in (PROTOCOL + FACTORS + DECISIONS).split("\n") if not row.startswith(field + ":")]
    assert found("protocol", "\n".join([line, *rest])) == [expected]


def test_a_long_example_stands_in_the_advice() -> None:
    text = PROTOCOL.replace("[{name: E. Example, role: dentist, interests: none declared}]", "me") + FACTORS + DECISIONS
    example = "[{name: A. Marsh, role: principal dentist, interests: none declared}]"
    assert helps("protocol", text) == [(f"write for example `{example}`",)]


def test_a_value_of_several_lines_is_marked_by_its_key() -> None:
    text = RULE.replace("title: Line a deep cavity", "title:\n  one: a\n  two: b") + ADVISE
    assert [(line, column, what) for line, column, what, _ in found("rule", text)] == [(1, 1, "title")]


def test_a_whole_file_of_the_wrong_sort_is_told_once() -> None:
    assert found("vignettes", "a: b") == [
        (1, 1, "a", "vignettes.yaml must be a list of described cases, not a group of fields")
    ]
    assert [line[3] for line in found("rule", "just words")] == [
        "a rule must be fields with their values, such as `title: Cover the deepest spot of a deep cavity under amalgam`, not a text"
    ]


def test_a_bad_name_is_marked_and_what_it_names_is_checked_too() -> None:
    text = (
        PROTOCOL
        + "factors:\n  Law_Restricts: {kind: yes-or-no}\n  Law2: {kind: choice, values: {A b: x}}\n"
        + DECISIONS
    )
    message = "cannot be a name: a name is small letters, digits and single hyphens"
    assert found("protocol", text) == [
        (11, 3, "Law_Restricts", f"'Law_Restricts' {message}"),
        (11, 25, "yes-or-no", "`kind` must be quantity, choice or yes-no, not 'yes-or-no'"),
        (12, 3, "Law2", f"'Law2' {message}"),
        (12, 33, "A b", f"'A b' {message}"),
    ]
    assert [advice[0] for advice in helps("protocol", text)] == [
        "write for example `law-restricts`",
        "did you mean `yes-no`?",
        "write for example `law2`",
        "write for example `a-b`",
    ]


@pytest.mark.parametrize("name", ['"x\\n"', "''", "-a", "a--b", "µ"])
def test_odd_names_are_told(name: str) -> None:
    findings = shape("materials", f"agents: {{{name}: {{class: liner}}}}\n")
    assert [message_of(finding).split("'")[2] for finding in findings] == [
        " cannot be a name: a name is small letters, digits and single hyphens"
    ]


@pytest.mark.parametrize(
    ("factor", "expected"),
    [
        ("{kind: choice, values: {a: A}, unit: mm}", ("unit", "`unit` is only for a factor of kind quantity")),
        ("{kind: yes-no, values: {a: A}}", ("values", "`values` is only for a factor of kind choice")),
        ("{kind: choice}", ("rdt", "`values` is missing in `rdt`")),
        (
            "{kind: choice, values: {}}",
            ("{}", "`values` must be names with their labels, such as `{amalgam: Amalgam, composite: Direct resin composite}`, not an empty group"),
        ),
    ],
)  # fmt: skip
def test_a_factor_has_the_fields_of_its_kind(factor: str, expected: tuple[str, str]) -> None:
    text = f"{PROTOCOL}factors:\n  rdt: {factor}\n{DECISIONS}"
    assert [line[2:] for line in found("protocol", text)] == [expected]


def test_a_decision_is_a_layer_or_has_answers() -> None:
    text = f"{PROTOCOL}{FACTORS}decisions:\n  one: {{label: One}}\n  two: {{answers: {{a: A}}, layer: base}}\n"
    assert found("protocol", text) == [
        (13, 3, "one", "a decision needs `layer` or `answers`"),
        (14, 26, "layer", "`layer` and `answers` do not go together"),
    ]
    other, _ = related_of(shape("protocol", text)[1])[0]
    assert (other.line, other.column) == (14, 9)


def test_only_a_warning_or_a_note_can_be_accepted() -> None:
    text = PROTOCOL + FACTORS + DECISIONS + "accepted: [{kind: gap, because: x}]\n"
    assert [(what, message[:31]) for _, _, what, message in found("protocol", text)] == [
        ("gap", "`kind` must be unprotected, les")
    ]
    assert helps("protocol", text) == [("only a warning or a note can be accepted; an error has to be put right",)]


STARTS = "`above` and `at_least` both say where the range starts"
ENDS = "`below` and `at_most` both say where the range ends"
ALONE = "`exactly` stands alone, without another limit"


@pytest.mark.parametrize(
    ("limits", "what", "message", "other"),
    [
        ("{above: 1 mm, at_least: 2 mm}", "at_least", STARTS, "above"),
        ("{at_least: 2 mm, above: 1 mm}", "above", STARTS, "at_least"),
        ("{at_most: 1 mm, below: 2 mm}", "below", ENDS, "at_most"),
        ("{exactly: 1 mm, below: 2 mm}", "exactly", ALONE, None),
        ("{above: 0 mm, below: 2 mm, exactly: 1 mm}", "exactly", ALONE, None),
        ("{above: 0 mm, not: a, below: 1 mm}", "not", "`not` stands alone, without another limit", None),
    ],
)
def test_limits_that_do_not_go_together_are_one_finding(
    limits: str, what: str, message: str, other: str | None
) -> None:
    text = f"when: {{rdt: {limits}}}\n{RULE}{ADVISE}"
    (finding,) = shape("rule", text)
    assert (marked(text, finding), message_of(finding)) == (what, message)
    related = [text.split("\n")[0][span.column - 1 : span.end_column - 1] for span, _ in related_of(finding)]
    assert related == [word for word in (other,) if word is not None]


@pytest.mark.parametrize(
    ("when", "what", "message"),
    [
        (
            "when: amalgam",
            "amalgam",
            "`when` must be factors with their values, such as `{rdt: {above: 0.5 mm, at_most: 2 mm}, restoration: amalgam}`, not a text",
        ),
        ("when: [amalgam]", "amalgam", "item 1 of `when` must be factors with their values, such as `{restoration: amalgam}`, not a text"),
        (
            "when: {rdt: []}",
            "[]",
            "`rdt` must be a value, a range such as `{above: 0.5 mm, at_most: 2 mm}`, or a list of either, not an empty list",
        ),
        (
            "when: {rdt: [[a]]}",
            "[a]",
            "item 1 of `rdt` must be a value, or a range such as `{above: 0.5 mm, at_most: 2 mm}`, not a list",
        ),
        ("when: {rdt: [{not: a}]}", "not", "'not' is not a field of a range"),
        ("when: {rdt: {abov: 1 mm}}", "abov", "'abov' is not a field of a condition"),
        ("when: {rdt: {above: [1 mm]}}", "[1 mm]", "`above` must be a number with its unit, such as `0.5 mm`, not a list"),
        ("when: {a: {not: []}}", "[]", "`not` must be a name or a list of names, such as `[amalgam, composite]`, not an empty list"),
    ],
)  # fmt: skip
def test_a_wrong_condition_is_told_once(when: str, what: str, message: str) -> None:
    assert [line[2:] for line in found("rule", f"{when}\n{RULE}{ADVISE}")] == [(what, message)]


def test_a_rule_that_says_nothing_is_told_on_line_1() -> None:
    assert found("rule", RULE) == [(1, 1, "t", "the rule says nothing: it needs `advise`, `avoid` or `never`")]


@pytest.mark.parametrize(
    ("advise", "what", "message"),
    [
        ("{agnet: lime}", "agnet", "'agnet' is not a field of an answer"),
        ("{coats: 2}", "liner", "`agent` is missing in `liner`"),
        ("{agent: lime, coats: two}", "two", "`coats` must be a whole number from 1 to 99, such as `2`, not 'two'"),
        ("{agent: lime, coats: 0}", "0", "`coats` must be a whole number from 1 to 99, such as `2`, not '0'"),
        (
            "{agent: lime, thickness: 1 mm}",
            "1 mm",
            "`thickness` must be a range, such as `{at_least: 0.75 mm, at_most: 1 mm}`, not a text",
        ),
        ("[lime]", "[lime]", "`liner` must be one answer, such as `none`, the name of an answer, or `{agent: calcium-hydroxide}`, not a list"),
        ("{judgement: x, agent: [y], place: z}", "agent", "an answer is either a `judgement` or an `agent` with its fields"),
        ("{agent: y, place: z, judgement: x}", "judgement", "an answer is either a `judgement` or an `agent` with its fields"),
    ],
)  # fmt: skip
def test_a_wrong_answer_is_told_once(advise: str, what: str, message: str) -> None:
    assert [line[2:] for line in found("rule", f"{RULE}advise: {{liner: {advise}}}\n")] == [(what, message)]


@pytest.mark.parametrize(
    ("evidence", "expected"),
    [
        ("{basis: good-practice}", [("evidence", "`note` is missing in `evidence`")]),
        ("{basis: law, certainty: hgh}", [("certainty", "`certainty` is only for evidence with research as its basis")]),
        ("{basis: law, lowered: {inconsistency: 9}}", [("lowered", "`lowered` is only for evidence with research as its basis")]),
        ("{lowered: {imprecision: 3, inconsistency: 3}}", [("3", "`inconsistency` must be 0, 1 or 2, or `{level: 1, because: …}`, not '3'")]),
        ("{lowered: {imprecision: {level: 4, because: Few.}}}", [("4", "`level` must be 0, 1, 2 or 3, not '4'")]),
        ("{raised: {dose-response: {level: 1}}}", [("dose-response", "`because` is missing in `dose-response`")]),
        ("{lowered: {imprecision: {because: Few.}}}", [("imprecision", "`level` is missing in `imprecision`")]),
        ("{raised: {dose-response: 2}}", [("2", "`dose-response` must be 0 or 1, or `{level: 1, because: …}`, not '2'")]),
        ("{lowered: {risk-of-bias: 3}}", [("3", "`risk-of-bias` must be 0, 1 or 2, or 3 with `risk_of_bias_tool: robins-i`, not '3'")]),
        ("{lowered: {risk-of-bias: 4}}", [("4", "`risk-of-bias` must be 0, 1, 2 or 3, or `{level: 1, because: …}`, not '4'")]),
        ("{lowered: {risk-of-bias: {level: 3, because: x}}}", [("3", "`level` must be 0, 1 or 2, or 3 with `risk_of_bias_tool: robins-i`, not '3'")]),
        ("{risk_of_bias_tool: robins-i, lowered: {risk-of-bias: 3}}", []),
        ("{risk_of_bias_tool: robins-i, design: randomised}", [("design", "the tool `robins-i` is not for randomised trials")]),
        ("{design: expert opinion}", [("design", "an opinion is no study design, and neither scheme has a level for it")]),
        ("{design: in-vitro}", [("design", "work in a laboratory is no study design")]),
        ("{design: animals}", [("design", "work on animals is no study design")]),
        ("{design: sr-case-control}", [("design", "the table has no row for a review of such studies")]),
        ("{basis: law, setting: laboratory}", [("setting", "`setting` is only for evidence with research as its basis")]),
        ("{good_practice: {what_exactly: x, why_needed: x, what_is_gained: x, why_no_study: x, how_it_follows: x}}",
            [("good_practice", "`good_practice` is only for good practice")]),
        ("{basis: good-practice, note: x, good_practice: {what_exactly: x, why_needed: x, what_is_gained: x, why_no_study: x}}",
            [("good_practice", "`how_it_follows` is missing in `good_practice`")]),
        ("{situation: {name: life-at-stake, for: x, against: y}}", [("against", "a recommendation goes one way, `for` or `against`")]),
        ("{situation: {benefit: low}}", [("situation", "`name` is missing in `situation`")]),
        ("{certainty: very low}", [("very low", "`certainty` must be high, moderate, low or very-low, not 'very low'")]),
        ("{level: 6}", [("6", "`level` must be a whole number from 1 to 5, such as `2`, not '6'")]),
        ("{adjusted: {to: 3}}", [("adjusted", "`because` is missing in `adjusted`")]),
        ("{cites: marlow2019}", [("marlow2019", "`cites` must be a list of keys of the references, such as `[marlow2019]`, not a text")]),
    ],
)  # fmt: skip
def test_wrong_evidence_is_told_once(evidence: str, expected: list[tuple[str, str]]) -> None:
    assert [line[2:] for line in found("rule", f"title: x\nevidence: {evidence}\n{ADVISE}")] == expected


def test_a_value_that_reading_reports_as_empty_is_not_told_again() -> None:
    for value in ("", " ~", " null"):
        text = f"{RULE}{ADVISE}overrides:{value}\nreview_by:{value}\n"
        node, reported = read_yaml(text, "rule.md", 2)
        assert node is not None
        assert len(reported) == 2
        assert check_shape(node, "rule") == []


def test_an_empty_text_in_quotes_or_a_block_is_told() -> None:
    for value in ("''", '""', "'~'", '"null"', "|"):
        assert len(found("rule", f"{RULE}{ADVISE}review_by: {value}\n")) == 1, value


def test_all_mistakes_come_in_the_order_of_the_text() -> None:
    text = "evidence: {level: 9, strength: x}\nadvise: {a: {}}\nvalid: {}\nbogus: 1\n"
    assert [line[:3] for line in found("rule", text)] == [
        (1, 1, "e"),
        (1, 19, "9"),
        (1, 32, "x"),
        (2, 10, "a"),
        (3, 8, "{}"),
        (4, 1, "bogus"),
    ]


def test_the_lines_of_a_front_matter_are_those_of_its_file() -> None:
    node, _ = read_yaml("titel: x\nevidence: {}\nadvise: {a: b}\n", "rules/a.md", 2)
    assert node is not None
    (finding,) = check_shape(node, "rule")
    assert (finding.kind, finding.severity, finding.span.file, finding.span.line) == (
        "schema",
        Severity.ERROR,
        "rules/a.md",
        2,
    )


@pytest.mark.parametrize(
    "text",
    [
        "".join(f"titl{number}: a\n" for number in range(2000)),
        "factors:\n" + "".join(f"  A{number}: {{kind: yes-no}}\n" for number in range(2000)),
        "cautions:\n" + "".join("- []\n" for _ in range(2000)),
    ],
)
def test_a_file_of_nothing_but_mistakes_gets_a_bounded_list(text: str) -> None:
    findings = shape("protocol", text)
    assert len(findings) == MOST + 1
    assert message_of(findings[-1]) == "this file has more mistakes in its fields than are listed"


def test_the_validator_is_loaded_only_when_a_file_is_checked() -> None:
    code = "import sys, liningbook.sources.shape; print(*sorted({'jsonschema_rs', 'difflib'} & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "\n"


def test_a_field_of_digits_is_shown_as_it_is_written() -> None:
    for name in ("08", "+8", "=8", "8"):
        assert found("rule", f"{RULE}{ADVISE}{name}: x\n") == [(4, 1, name, f"'{name}' is not a field of a rule")]


def test_a_name_of_digits_is_no_index() -> None:
    assert found("materials", "agents: {8: {clas: liner}, 08: {class: []}}\n") == [
        (1, 14, "clas", "'clas' is not a field of an agent"),
        (
            1,
            40,
            "[]",
            "`class` must be a class of layer or a list of classes, such as `[liner, base]`, not an empty list",
        ),
    ]


@pytest.mark.parametrize(
    ("word", "known", "best"),
    [
        ("tittle", ["title", "step"], "title"),
        ("rtd", ["rdt", "law"], "rdt"),
        ("AT-LEAST", ["at_most", "at_least"], "at_least"),
        ("cites", ["title"], None),
        ("", ["a"], None),
        ("x" * 61, ["x" * 60], None),
        ("amalgm", [], None),
    ],
)
def test_the_nearest_word_is_found_whatever_the_order(word: str, known: list[str], best: str | None) -> None:
    assert near(word, known) == near(word, reversed(known)) == best
    assert did_you_mean(word, known) == (f"did you mean `{best}`?" if best else "")


# --- Whatever is wrong, something sensible is said ---------------------------------------------------------------


def places(value: Any) -> list[tuple[Any, Any]]:
    """Every container with each of its keys or indexes."""
    keys = list(value) if isinstance(value, dict) else range(len(value)) if isinstance(value, list) else []
    return [pair for key in keys for pair in [(value, key), *places(value[key])]]


def spoil(name: str, seed: int) -> Any:
    """The example of a schema with one to three random mistakes (or changes that do no harm)."""
    chance = random.Random(seed)
    value = copy.deepcopy(chance.choice(schema(name)["examples"]))
    for _ in range(chance.randint(1, 3)):
        container, key = chance.choice(places(value))
        match chance.randrange(5):
            case 0:
                del container[key]
            case 1:
                container[key] = copy.deepcopy(chance.choice(["", " ", "x y", "3", [], {}, ["a"], {"a": "b"}, "yes"]))
            case 2 if isinstance(container, dict):
                container[chance.choice([f"{key}x", "8", "08", "=8"])] = container[key]
            case 3 if isinstance(container, dict):
                other, field = chance.choice(places(value))
                container[str(field)] = copy.deepcopy(other[field])
            case _:
                other, field = chance.choice(places(value))
                container[key] = copy.deepcopy(other[field])
        if not places(value):
            break
    return value


@given(name=st.sampled_from(["protocol", "rule", "materials", "vignettes"]), seed=st.integers(0, 2**32))
def test_every_file_that_the_reference_library_refuses_gets_findings_and_no_other(name: str, seed: int) -> None:
    value = spoil(name, seed)
    text = json.dumps(value, indent=1, ensure_ascii=False) + "\n"
    node, reported = read_yaml(text, "file.yaml")
    assert node is not None
    assert not reported
    assert node.plain() == value
    findings = check_shape(node, name)
    assert (findings == []) == Draft202012Validator(schema(name)).is_valid(value)
    assert [finding.span for finding in findings] == sorted(finding.span for finding in findings)
    assert len({(finding.span, message_of(finding)) for finding in findings}) == len(findings)
    for finding in findings:
        assert marked(text, finding).strip()
        words = [message_of(finding), *advice_of(finding)]
        assert not any(bad in line for line in words for bad in ("None", "null", "instance", "True", "{'", "['", "\n"))
