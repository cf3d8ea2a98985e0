"""Documents to a protocol: every name resolved, every number exact, and each mistake said once where it stands."""

# A case stands on one line, so that the tables can be read down.
# ruff: noqa: E501

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest

from liningbook.finding import Finding
from liningbook.model.build import build_protocol, check_shapes, read_folder
from liningbook.model.protocol import Protocol
from liningbook.notation.interval import Lower, Range, Upper
from tests.saying import advice_of, message_of

PROTOCOL = """\
title: A protocol
practice: Example Practice
edition: 2026.10
status: draft
review_by: 2030-01-01
authors: [{name: E. Example, role: dentist, interests: none declared}]
scope: Invented example.
cautions: [Not clinical advice.]
evidence_scheme: grade
factors:
  rdt: {label: Dentine left, kind: quantity, unit: mm, at_least: 0 um, at_most: 0.6 cm}
  restoration: {label: Restoration, kind: choice, values: {amalgam: Amalgam, composite: Composite, cast: Cast metal}}
  allergy: {kind: yes-no}
decisions:
  management: {label: Management, answers: {restore: Restore, assess: Assess first}}
  liner: {label: Liner, layer: liner, needed_when: {management: [restore]}}
  base: {layer: base, needed_when: {liner: none}}
"""
MATERIALS = """\
places: {spot: Deepest spot, floor: Floor, walls: Walls}
irritants: {acid: {label: Acid, acts_on: floor}}
agents:
  lime: {label: Lime, class: liner, place: spot, blocks: [acid]}
  glass: {label: Glass, class: [liner, base], blocks: [{irritant: acid, thickness: {at_least: 500 um}}]}
"""
RULE = """\
---
title: A rule
advise: {management: restore}
evidence: {basis: good-practice, note: Invented.}
---
Why.
"""

Build = Callable[..., tuple[Protocol | None, list[Finding]]]


def rule(fields: str) -> str:
    return RULE.replace("advise: {management: restore}\n", fields)


@pytest.fixture
def build(tmp_path: Path) -> Build:
    """Builds a folder; the arguments are its files, with `/` and `.` written as two underscores and one."""

    def call(**files: str) -> tuple[Protocol | None, list[Finding]]:
        sources = {"protocol.yaml": PROTOCOL, "materials.yaml": MATERIALS, "rules/a.md": RULE}
        sources |= {name.replace("__", "/").replace("_", "."): text for name, text in files.items()}
        for name, text in sources.items():
            path = tmp_path / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8")
        folder, findings = read_folder(tmp_path)
        findings += check_shapes(folder, findings)
        protocol, more = build_protocol(folder, findings)
        return protocol, findings + more

    return call


def built(build: Build, **files: str) -> Protocol:
    protocol, findings = build(**files)
    assert findings == []
    assert protocol is not None
    return protocol


def said(build: Build, **files: str) -> list[tuple[str, int, str, str]]:
    """Kind, line, marked text and message of each finding."""
    protocol, findings = build(**files)
    assert (protocol is None) == bool(findings)
    return [(f.kind, f.span.line, marked(f, files), message_of(f)) for f in findings]


def marked(finding: Finding, files: dict[str, str]) -> str:
    span = finding.span
    text = {"protocol.yaml": PROTOCOL, "materials.yaml": MATERIALS, "rules/a.md": RULE}.get(span.file, "")
    text = files.get(span.file.replace("/", "__").replace(".", "_"), text)
    return text.split("\n")[span.line - 1][span.column - 1 : span.end_column - 1]


# --- what a protocol is -----------------------------------------------------------------------------------------------


def test_the_head_is_as_written(build: Build) -> None:
    protocol = built(build)
    assert (protocol.title, protocol.edition, protocol.status) == ("A protocol", "2026.10", "draft")
    assert protocol.review_by.on == date(2030, 1, 1)
    assert (protocol.authors[0].name, protocol.authors[0].interests) == ("E. Example", "none declared")


def test_the_language_is_english_unless_another_is_asked_for(build: Build, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("liningbook.model.build_frame.languages", lambda: ("en-GB", "de"))
    assert built(build).language == "en-GB"
    assert built(build, protocol_yaml=f"language: de\n{PROTOCOL}").language == "de"
    message = "there is no language 'german' here"
    assert said(build, protocol_yaml=f"language: german\n{PROTOCOL}") == [("schema", 1, "german", message)]


def test_a_language_left_empty_is_no_second_mistake(build: Build) -> None:
    assert len(build(protocol_yaml=f"language:\n{PROTOCOL}")[1]) <= 1


def test_factors_keep_their_order_and_have_exact_limits_in_their_unit(build: Build) -> None:
    factors = built(build).factors
    assert list(factors) == ["rdt", "restoration", "allergy"]
    assert factors["rdt"].limits == Range(Lower(Fraction(0), True), Upper(Fraction(6), True))
    assert factors["restoration"].values == {"amalgam": "Amalgam", "composite": "Composite", "cast": "Cast metal"}
    assert (factors["allergy"].label, factors["allergy"].values) == ("allergy", {"yes": "yes", "no": "no"})


def test_a_stop_question_is_a_text_or_says_what_it_takes_off_the_chart(build: Build) -> None:
    asked = "stop_questions: [Any pain?, {ask: Any allergy?, screens: [{allergy: yes}, {rdt: {below: 1 mm}}]}]\n"
    plain, screening = built(build, protocol_yaml=asked + PROTOCOL).stop_questions
    assert (plain.ask, plain.screens) == ("Any pain?", None)
    assert screening.ask == "Any allergy?"
    assert screening.screens is not None
    assert [list(conditions.conditions) for conditions in screening.screens] == [["allergy"], ["rdt"]]


@pytest.mark.parametrize(
    ("entry", "expected"),
    [
        ("{ask: Pain?, screens: {pain: yes}}", ("unknown-name", 1, "pain", "there is no factor called 'pain'")),
        ("{ask: Pain?, screens: {allergy: maybe}}", ("unknown-name", 1, "maybe", "there is no value of allergy called 'maybe'")),
        ("{ask: Pain?, screens: {rdt: {below: 1}}}", ("unit", 1, "1", "the number has no unit")),
        ("{screens: {allergy: yes}}", ("schema", 1, "screens", "`ask` is missing in item 1 of `stop_questions`")),
    ],
)  # fmt: skip
def test_what_a_stop_question_screens_is_checked_like_any_condition(
    entry: str, expected: tuple[str, int, str, str], build: Build
) -> None:
    assert said(build, protocol_yaml=f"stop_questions: [{entry}]\n{PROTOCOL}") == [expected]


@pytest.mark.parametrize(("written", "always"), [("", False), (", always_ask: no", False), (", always_ask: yes", True)])
def test_a_factor_is_always_asked_only_where_that_is_written(written: str, always: bool, build: Build) -> None:
    text = PROTOCOL.replace("kind: yes-no", f"kind: yes-no{written}")
    assert built(build, protocol_yaml=text).factors["allergy"].always_ask is always
    unclear = PROTOCOL.replace("kind: yes-no", "kind: yes-no, always_ask: sometimes")
    assert [(kind, text) for kind, _, text, _ in said(build, protocol_yaml=unclear)] == [("schema", "sometimes")]


def test_decisions_keep_their_order_and_name_what_they_need(build: Build) -> None:
    decisions = built(build).decisions
    assert list(decisions) == ["management", "liner", "base"]
    assert [d.needed_when for d in decisions.values()] == [None, ("management", ("restore",)), ("liner", ("none",))]
    assert [d.is_layer for d in decisions.values()] == [False, True, True]


def test_a_judgement_is_a_level_or_a_level_with_its_sentence(build: Build) -> None:
    graded = """\
evidence:
  certainty: low
  design: randomised
  lowered:
    imprecision: 2
    inconsistency: {level: 0, because: The trials agree.}
  raised: {large-effect: {level: 1, because: Invented.}}
  cites: [ash]
"""
    entry = '[{"id": "ash", "type": "book", "title": "x"}]'
    source = rule("advise: {management: restore}\n").replace(
        "evidence: {basis: good-practice, note: Invented.}\n", graded
    )
    evidence = built(build, rules__a_md=source, references_json=entry).rules["a"].evidence
    assert (evidence.lowered, evidence.raised) == ({"imprecision": 2, "inconsistency": 0}, {"large-effect": 1})
    judged = evidence.judged
    assert [(name, one.level, one.because, one.span.line) for name, one in judged.items()] == [
        ("imprecision", 2, "", 8),
        ("inconsistency", 0, "The trials agree.", 9),
        ("large-effect", 1, "Invented.", 10),
    ]


def test_rules_are_ordered_by_their_names(build: Build) -> None:
    assert list(built(build, rules__c_md=RULE, rules__b_md=RULE).rules) == ["a", "b", "c"]


@pytest.mark.parametrize(
    ("when", "ranges"),
    [
        ("{at_most: 0.5 mm}", [(0, True, "0.5", True)]),
        ("{above: 500 um}", [("0.5", False, 6, True)]),
        ("{exactly: 0.05 cm}", [("0.5", True, "0.5", True)]),
        ("{at_least: 0 mm, below: 6 mm}", [(0, True, 6, False)]),
        ("[{below: 1 mm}, {above: 2 mm}]", [(0, True, 1, False), (2, False, 6, True)]),
        ("[{at_most: 1 mm}, {at_least: 1 mm}]", [(0, True, 6, True)]),
        ("[{below: 1 mm}, {exactly: 1 mm}, {above: 1 mm}]", [(0, True, 6, True)]),
    ],
)
def test_a_range_is_a_set_of_numbers_within_the_limits(
    when: str, ranges: list[tuple[str | int, bool, str | int, bool]], build: Build
) -> None:
    protocol = built(build, rules__a_md=rule(f"when: {{rdt: {when}}}\nadvise: {{management: restore}}\n"))
    numbers = protocol.rules["a"].when[0].conditions["rdt"].numbers
    assert numbers is not None
    assert [(r.lower.value, r.lower.closed, r.upper.value, r.upper.closed) for r in numbers.ranges] == [
        (Fraction(low), starts, Fraction(high), ends) for low, starts, high, ends in ranges
    ]


@pytest.mark.parametrize(
    ("when", "values"),
    [
        ("restoration: amalgam", ("amalgam",)),
        ("restoration: [cast, amalgam]", ("amalgam", "cast")),
        ("restoration: {not: cast}", ("amalgam", "composite")),
        ("restoration: {not: [cast, amalgam]}", ("composite",)),
        ("allergy: yes", ("yes",)),
        ("allergy: 'no'", ("no",)),
    ],
)
def test_values_are_in_the_order_of_the_factor(when: str, values: tuple[str, ...], build: Build) -> None:
    protocol = built(build, rules__a_md=rule(f"when: {{{when}}}\nadvise: {{management: restore}}\n"))
    assert next(iter(protocol.rules["a"].when[0].conditions.values())).values == values


@pytest.mark.parametrize("when", ["", "when: {}\n", "when: []\n", "when: [{}]\n"])
def test_no_condition_means_every_case(when: str, build: Build) -> None:
    (conditions,) = built(build, rules__a_md=rule(when + "advise: {management: restore}\n")).rules["a"].when
    assert conditions.conditions == {}


# --- answers ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("one", "other", "equal"),
    [
        ("{agent: lime}", "{agent: lime, place: spot}", True),
        ("{agent: lime}", "{agent: lime, place: floor}", False),
        ("{agent: glass}", "{agent: glass, place: walls}", True),
        ("{agent: lime}", "{agent: glass}", False),
        ("{agent: lime}", "none", False),
        ("{agent: lime, thickness: {below: 0.5 mm}}", "{agent: lime, thickness: {below: 500 um}}", True),
        ("{agent: lime, thickness: {below: 0.5 mm}}", "{agent: lime, thickness: {at_most: 0.5 mm}}", False),
        (
            "{agent: lime, thickness: {exactly: 1 mm}}",
            "{agent: lime, thickness: {at_least: 1 mm, at_most: 0.1 cm}}",
            True,
        ),
        ("{agent: lime, coats: 1}", "{agent: lime}", False),
        ("{agent: lime, coats: 1}", "{agent: lime, coats: '1'}", True),
        ("{agent: lime, wait: 4 min}", "{agent: lime, wait: 240 s}", True),
        ("{agent: lime, wait: 4 min}", "{agent: lime, wait: 4 s}", False),
        ("{agent: lime, before: base}", "{agent: lime, after: base}", False),
        ("{judgement: Thin evidence.}", "{judgement: It depends.}", True),
        ("{judgement: Thin evidence.}", "none", False),
    ],
)
def test_answers_are_equal_if_every_field_means_the_same(one: str, other: str, equal: bool, build: Build) -> None:
    rules = built(
        build, rules__a_md=rule(f"advise: {{liner: {one}}}\n"), rules__b_md=rule(f"advise: {{liner: {other}}}\n")
    ).rules
    assert (rules["a"].advise["liner"].meaning == rules["b"].advise["liner"].meaning) is equal


def test_a_thickness_is_kept_in_the_unit_it_is_written_in(build: Build) -> None:
    answer = "{agent: lime, thickness: {at_least: 2 um, at_most: 0.005 mm}}"
    thickness = built(build, rules__a_md=rule(f"advise: {{liner: {answer}}}\n")).rules["a"].advise["liner"].thickness
    assert thickness is not None
    assert (thickness.unit.code, thickness.range.lower.value, thickness.range.upper.value) == ("um", 2, 5)


# --- mistakes ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("fields", "expected"),
    [
        ("advise: {liner: lime}\n", ("schema", 3, "lime", "an agent is named as a field of the answer")),
        ("advise: {liner: chalk}\n", ("unknown-name", 3, "chalk", "there is no answer to liner called 'chalk'")),
        ("advise: {base: {agent: lime}}\n", ("unknown-name", 3, "lime", "Lime is no base")),
        ("advise: {management: {agent: lime}}\n", ("schema", 3, "{agent: lime}", "Management is no layer, so no agent is named here")),
        ("advise: {management: none}\n", ("unknown-name", 3, "none", "there is no answer to management called 'none'")),
        ("avoid: {base: [glass, lime]}\n", ("unknown-name", 3, "lime", "Lime is no base")),
        ("never: {management: [restored]}\n", ("unknown-name", 3, "restored", "there is no answer to management called 'restored'")),
        ("advise: {liner: {agent: lime, before: liner}}\n", ("unknown-name", 3, "liner", "there is no other layer decision called 'liner'")),
        ("advise: {liner: {agent: lime, wait: 4 mm}}\n", ("unit", 3, "4 mm", "'mm' measures another kind of thing than 'min'")),
        ("advise: {liner: {agent: lime, thickness: {below: 0 mm, above: 1 mm}}}\n", ("empty-range", 3, "{below: 0 mm, above: 1 mm}", "nothing lies between these bounds")),
    ],
)  # fmt: skip
def test_a_wrong_answer_is_said_where_it_stands(fields: str, expected: tuple[str, int, str, str], build: Build) -> None:
    assert said(build, rules__a_md=rule(fields)) == [expected]


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        ("kind: yes-no}", "kind: yes-no, reading: {uncertainty: 1 mm, guard_band: 1, cautious: below}}", ("schema", 13, "reading", "`reading` is only for a factor of kind quantity")),
        ("needed_when: {liner: none}", "needed_when: {base: none}", ("unknown-name", 17, "base", "base cannot depend on its own answer")),
        ("needed_when: {management: [restore]}", "needed_when: {base: none}", ("unknown-name", 16, "base", "'base' is not decided before Liner")),
        ("needed_when: {liner: none}", "needed_when: {line: none}", ("unknown-name", 17, "line", "there is no earlier decision called 'line'")),
        ("needed_when: {liner: none}", "needed_when: {liner: glas}", ("unknown-name", 17, "glas", "there is no answer to liner called 'glas'")),
        ("at_most: 0.6 cm", "at_most: 0.6 cm, step: 0 mm", ("out-of-limits", 11, "0 mm", "a step is more than nothing")),
        ("at_most: 0.6 cm", "at_most: 0.6 cm, step: 0.7 mm", ("out-of-limits", 11, "0.6 cm", "6 mm is not a whole multiple of the step of Dentine left (0.7 mm)")),
        ("at_least: 0 um", "at_least: '1 [in_i]'", ("empty-range", 11, "0.6 cm", "Dentine left ends before it begins")),
        ("at_least: 0 um", "at_least: 1 mo", ("unit", 11, "1 mo", "'mo' measures another kind of thing than 'mm'")),
        ("assess: Assess", "judgement: Assess", ("schema", 15, "judgement", "'judgement' has a meaning of its own, so nothing can be called so")),
    ],
)  # fmt: skip
def test_a_wrong_factor_or_decision_is_said_where_it_stands(
    old: str, new: str, expected: tuple[str, int, str, str], build: Build
) -> None:
    assert PROTOCOL.count(old) == 1
    assert said(build, protocol_yaml=PROTOCOL.replace(old, new)) == [expected]


def test_both_bounds_of_a_range_are_looked_at(build: Build) -> None:
    fields = "when: {rdt: {above: 0.5, at_most: 2}}\nadvise: {management: restore}\n"
    assert [kind for kind, *_ in said(build, rules__a_md=rule(fields))] == ["unit", "unit"]


def test_what_could_not_be_read_is_not_reported_again_where_it_is_used(build: Build) -> None:
    used = rule("when: {rdt: {at_most: 1 mm}}\nadvise: {liner: {agent: lime}}\n")
    assert [
        kind for kind, *_ in said(build, protocol_yaml=PROTOCOL.replace("unit: mm", "unit: ell"), rules__a_md=used)
    ] == ["unit"]
    broken = MATERIALS.replace("lime: {label: Lime, class: liner, place: spot, blocks: [acid]}", "lime: liner")
    assert [kind for kind, *_ in said(build, materials_yaml=broken, rules__a_md=used)] == ["schema"]
    assert [kind for kind, *_ in said(build, materials_yaml="agents: [", rules__a_md=used)] == ["unreadable"]


def test_circles_are_found_wherever_they_hang_together(build: Build) -> None:
    def over(*names: str) -> str:
        return rule(f"advise: {{management: restore}}\noverrides: [{', '.join(names)}]\n")

    findings = said(
        build, rules__a_md=over("b", "d"), rules__b_md=over("c"), rules__c_md=over("a"), rules__d_md=over("e"),
        rules__e_md=over("e"), rules__f_md=over("a"),
    )  # fmt: skip
    assert [message for *_, message in findings] == [
        "these rules override one another in a circle: a → b → c → a",
        "a rule overrides itself: e → e",
    ]


def test_a_long_circle_is_cut_short_and_so_is_a_long_list_of_circles(build: Build) -> None:
    ring = {
        f"rules__r{n}_md": rule(f"advise: {{management: restore}}\noverrides: [r{(n + 1) % 30}]\n") for n in range(30)
    }
    ((_, _, _, message),) = said(build, **ring)
    assert message.endswith("r0 → r1 → r2 → r3 → r4 → r5 → r6 → … → r0")
    names = ", ".join(f"r{n}" for n in range(30))
    tangle = {f"rules__r{n}_md": rule(f"advise: {{management: restore}}\noverrides: [{names}]\n") for n in range(30)}
    assert len(said(build, **tangle)) == 20


def test_a_name_is_suggested_if_one_is_near_and_else_the_few_that_there_are(build: Build) -> None:
    def help_for(value: str) -> tuple[str, ...]:
        fields = f"when: {{restoration: {value}}}\nadvise: {{management: restore}}\n"
        return advice_of(build(rules__a_md=rule(fields))[1][0])

    assert help_for("Amalgam") == ("did you mean `amalgam`?",)
    assert help_for("gold") == ("known here: amalgam, composite, cast",)
    assert help_for("\u0441ast") == (
        "did you mean `cast`?",
        "'\u0441' is not a letter that names are made of (U+0441), though it may look like one",
    )


@pytest.mark.parametrize(
    ("field", "name"),
    [
        ("decision", "linen"),
        ("irritant", "acids"),
        ("agent", "limes"),
        ("factor", "rtd"),
        ("rule", "b"),
        ("rules", "[a, b]"),
    ],
)
def test_an_accepted_warning_names_things_that_there_are(field: str, name: str, build: Build) -> None:
    entry = f"accepted: [{{kind: idle-override, {field}: {name}, because: It is.}}]\n"
    assert [kind for kind, *_ in said(build, protocol_yaml=PROTOCOL + entry)] == ["unknown-name"]


# --- vignettes and references -----------------------------------------------------------------------------------------


def test_a_vignette_has_canonical_values(build: Build) -> None:
    (vignette,) = built(
        build,
        vignettes_yaml="- name: One\n  case: {allergy: no, rdt: 500 um, restoration: cast}\n  expect: {liner: gap, base: judgement}\n",
    ).vignettes
    assert vignette.case == {"allergy": "no", "rdt": "0.5 mm", "restoration": "cast"}
    assert vignette.numbers == {"rdt": Fraction(1, 2)}
    assert {key: name.id for key, name in vignette.expect.items()} == {"liner": "gap", "base": "judgement"}


@pytest.mark.parametrize(
    ("case", "expected"),
    [
        ("{rdt: 1 mm}", ["the case does not say: restoration, allergy"]),
        ("{rtd: 1 mm, restoration: cast, allergy: no}", ["there is no factor called 'rtd'"]),
        ("{rtd: 1 mm, restoration: cast}", ["there is no factor called 'rtd'", "the case does not say: allergy"]),
        ("{rdt: 7 mm, restoration: cast, allergy: no}", ["7 mm is outside the limits of Dentine left (0 mm to 6 mm)"]),
        ("{rdt: 1, restoration: tin, allergy: maybe}", ["the number has no unit", "'tin' is not a value of Restoration", "'maybe' is not a value of allergy"]),
    ],
)  # fmt: skip
def test_a_wrong_vignette_is_said_once_a_cause(case: str, expected: list[str], build: Build) -> None:
    text = f"- name: One\n  case: {case}\n  expect: {{liner: none}}\n"
    assert sorted(message for *_, message in said(build, vignettes_yaml=text)) == sorted(expected)


def test_a_reference_stands_in_one_list_only(build: Build) -> None:
    entry = '[{"id": "quill2017", "type": "book", "title": "An invented book"}]\n'
    findings = said(build, references_json=entry, references_bib="@book{quill2017, title = {An invented book}}\n")
    assert [message for *_, message in findings] == ["the reference 'quill2017' is given in two files"]
