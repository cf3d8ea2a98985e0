"""`evidence/<name>.yaml`: what is read of it, and what cannot be true is told once, on the wrong cell."""

# A case stands on one line, so that the tables can be read down.
# ruff: noqa: E501

from __future__ import annotations

import shutil
import sys
import time
from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest

from liningbook.analysis import analyse
from liningbook.cli import main
from liningbook.evidence.table import Counts, Means, Reported, StudyTable
from liningbook.finding import Finding
from liningbook.model.studies.build_tables import MOST_STUDIES
from liningbook.model.studies.read_figures import MOST_COUNTED
from liningbook.say.outputs.effects import label_words
from tests.limits import processor
from tests.saying import advice_of, message_of

DAY = date(2026, 11, 25)
PROTOCOLS = Path(__file__).resolve().parents[3] / "protocols" / "pass"
SMALLEST = {
    path.relative_to(PROTOCOLS / "smallest").as_posix(): path.read_text(encoding="utf-8")
    for path in (PROTOCOLS / "smallest").rglob("*.*")
    if path.is_file()
}
REFERENCES = "".join(
    f"@article{{{key}, title = {{An invented trial by {key}}}, year = {{{year}}}}}\n"
    for key, year in {"ash": 2020, "bell": 2021, "cole": 2022}.items()
)
QUESTION = "question: {population: Deep cavities, intervention: A liner, comparator: No liner}\n"
COUNTS = "{study: ash, events: [5, 156], comparator: [8, 74]}"
MEANS = "{study: ash, mean: [1.2, 0.4, 30], comparator: [1.0, 0.5, 28]}"
REPORTED = "{study: ash, estimate: 0.71, low: 0.5, high: 1.01}"


def table(*studies: str, **fields: str) -> str:
    """A study table with one outcome: a risk ratio of a critical harm, unless `fields` say otherwise."""
    lines = {"label": "Pulp necrosis", "kind": "harm", "importance": "8", "measure": "risk-ratio", **fields}
    named = "".join(f"    {key}: {value}\n" for key, value in lines.items() if value)
    return f"{QUESTION}outcomes:\n  necrosis:\n{named}    studies:\n" + "".join(
        f"      - {study}\n" for study in studies
    )


def build(folder: Path, text: str, **others: str) -> tuple[StudyTable | None, list[Finding]]:
    """The table of the smallest protocol with it, and all findings."""
    files = {**SMALLEST, "references.bib": REFERENCES, "evidence/liner.yaml": text, **others}
    for name, content in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(content, encoding="utf-8")
    found = analyse(folder, DAY)
    kinds = ("unused-reference", "unused-table", "no-stop-questions")
    findings = [finding for finding in found.findings if finding.kind not in kinds]
    return (found.protocol.tables["liner"] if found.protocol else None), findings


def marked(finding: Finding, text: str) -> str:
    """What stands at the place of a finding that lies on one line."""
    span = finding.span
    assert span.line == span.end_line
    return text.split("\n")[span.line - 1][span.column - 1 : span.end_column - 1]


# --- what is read -----------------------------------------------------------------------------------------------------


def test_counts_means_and_reported_effects_are_read_exactly(tmp_path: Path) -> None:
    found, findings = build(
        tmp_path,
        table(
            COUNTS,
            "{study: bell, estimate: 0.71, standard_error: 0.180}",
            "{study: cole, estimate: '1.10', low: .9, high: '1.3'}",
        ),
    )
    assert findings == []
    assert found is not None
    first, second, third = found.outcomes["necrosis"].studies
    assert (first.treated, first.comparator, first.reported) == (Counts(5, 156), Counts(8, 74), None)
    assert second.reported == Reported(Fraction("0.71"), standard_error=Fraction("0.18"))
    assert third.reported == Reported(Fraction("1.1"), Fraction("0.9"), Fraction("1.3"))
    assert found.studies == ("ash", "bell", "cole")


def test_means_are_read_exactly(tmp_path: Path) -> None:
    found, findings = build(tmp_path, table(MEANS, measure="mean-difference", unit="mm"))
    assert findings == []
    assert found is not None
    [study] = found.outcomes["necrosis"].studies
    assert study.treated == Means(Fraction("1.2"), Fraction("0.4"), 30)
    assert study.comparator == Means(Fraction(1), Fraction("0.5"), 28)
    assert found.outcomes["necrosis"].unit == "mm"


def test_a_study_is_of_the_year_written_beside_it_or_else_of_its_reference(tmp_path: Path) -> None:
    found, _ = build(
        tmp_path, table(COUNTS, COUNTS.replace("ash", "bell").replace("}", ", year: 1999, setting: animals}"))
    )
    assert found is not None
    assert [(study.year, study.setting) for study in found.outcomes["necrosis"].studies] == [
        (2020, "patients"),
        (1999, "animals"),
    ]


def test_what_is_left_out_is_the_usual(tmp_path: Path) -> None:
    found, _ = build(tmp_path, table(COUNTS))
    assert found is not None
    outcome = found.outcomes["necrosis"]
    assert (outcome.model, outcome.tau2, outcome.interval, outcome.weights) == (
        "random",
        "reml",
        "normal",
        "inverse-variance",
    )
    assert (outcome.zero_cells, outcome.comparator_risk, outcome.threshold) == (Fraction(1, 2), None, None)
    assert (outcome.is_critical, outcome.certainty, outcome.lowered) == (True, "", {})


def test_a_judgement_is_a_level_or_a_level_with_its_reason(tmp_path: Path) -> None:
    found, _ = build(
        tmp_path,
        table(
            COUNTS,
            design="randomised",
            lowered="{risk-of-bias: 1, imprecision: {level: 0, because: Many events.}}",
            certainty="moderate",
        ),
    )
    assert found is not None
    lowered = found.outcomes["necrosis"].lowered
    assert {name: (one.level, one.because) for name, one in lowered.items()} == {
        "risk-of-bias": (1, ""),
        "imprecision": (0, "Many events."),
    }


def test_every_cell_has_its_place(tmp_path: Path) -> None:
    text = table(COUNTS)
    found, _ = build(tmp_path, text)
    assert found is not None
    places = found.outcomes["necrosis"].studies[0].places
    rows = text.split("\n")
    written = {key: rows[span.line - 1][span.column - 1 : span.end_column - 1] for key, span in places.items()}
    assert written == {
        "study": "ash",
        "events": "[5, 156]",
        "events.0": "5",
        "events.1": "156",
        "comparator": "[8, 74]",
        "comparator.0": "8",
        "comparator.1": "74",
    }


@pytest.mark.parametrize("study", [
    "{study: ash, events: [0, 1], comparator: [1, 1]}",  # no event, and nothing but events
    f"{{study: ash, events: [0, {MOST_COUNTED}], comparator: [{MOST_COUNTED}, {MOST_COUNTED}]}}",
    "{study: ash, events: ['5.0', '+156'], comparator: [8, 74]}",
    "{study: ash, estimate: 0.5, low: 0.5, high: 0.9}",  # rounded limits may be the estimate
    "{study: ash, estimate: 1, low: 0.001, high: 1.1}",  # far from its middle: an exact interval can be so
])  # fmt: skip
def test_what_is_rare_but_can_be_is_no_mistake(study: str, tmp_path: Path) -> None:
    found, findings = build(tmp_path, table(study))
    assert findings == []
    assert found is not None


# --- what cannot be true ----------------------------------------------------------------------------------------------

MD = {"measure": "mean-difference"}
RD = {"measure": "risk-difference"}
FIXED = {"model": "fixed"}
BAD: dict[str, tuple[str, dict[str, str], str, str]] = {
    # a cell
    "more events than people": ("{study: ash, events: [157, 156], comparator: [8, 74]}", {}, "157", "157 of 156 had the event"),
    "more events in the comparator": ("{study: ash, events: [5, 156], comparator: [80, 74]}", {}, "80", "80 of 74 had the event"),
    "fewer events than none": ("{study: ash, events: [-5, 156], comparator: [8, 74]}", {}, "-5", "less than nothing"),
    "half an event": ("{study: ash, events: [5.5, 156], comparator: [8, 74]}", {}, "5.5", "is no whole number"),
    "half a person": ("{study: ash, events: [5, 156], comparator: [8, 74.5]}", {}, "74.5", "is no whole number"),
    "nobody": ("{study: ash, events: [5, 156], comparator: [0, 0]}", {}, "0", "nobody is in this arm"),
    "events in words": ("{study: ash, events: [five, 156], comparator: [8, 74]}", {}, "five", "decimal number"),
    "events in per cent": ("{study: ash, events: [3%, 156], comparator: [8, 74]}", {}, "3%", "no percentage"),
    "a decimal comma": ("{study: ash, estimate: '0,71', low: 0.5, high: 1}", {}, "'0,71'", "decimal comma"),
    "an exponent": ("{study: ash, events: [5, 1e3], comparator: [8, 74]}", {}, "1e3", "decimal number"),
    "not a number": ("{study: ash, estimate: nan, low: 0.5, high: 1}", {}, "nan", "decimal number"),
    "infinity": ("{study: ash, estimate: 0.7, low: 0.5, high: .inf}", {}, ".inf", "decimal number"),
    "a total that nobody has counted": (f"{{study: ash, events: [5, {MOST_COUNTED + 1}], comparator: [8, 74]}}", {}, str(MOST_COUNTED + 1), "nobody has counted more than 1,000,000,000,000"),
    "a number of 10,000 digits": (f"{{study: ash, events: [5, {'9' * 10_000}], comparator: [8, 74]}}", {}, "9" * 10_000, "more than 40 digits"),
    "decimals without end": (f"{{study: ash, estimate: 0.{'3' * 9_000}, low: 0.1, high: 1}}", {}, f"0.{'3' * 9_000}", "more than 40 digits"),
    "one arm of three counts": ("{study: ash, events: [5, 156, 7], comparator: [8, 74]}", {}, "[5, 156, 7]", "2 figures, not 3"),
    "a total with a comma": ("{study: ash, events: [5, 1,156], comparator: [8, 74]}", {}, "[5, 1,156]", "2 figures, not 3"),
    "no standard deviation": ("{study: ash, mean: [1.2, 0, 30], comparator: [1.0, 0.5, 28]}", MD, "0", "no standard deviation"),
    "a negative standard deviation": ("{study: ash, mean: [1.2, 0.4, 30], comparator: [1.0, -0.5, 28]}", MD, "-0.5", "no standard deviation"),
    "one measured": ("{study: ash, mean: [1.2, 0.4, 1], comparator: [1.0, 0.5, 28]}", MD, "1", "needs 2 or more, not 1"),
    "means without a number": ("{study: ash, mean: [1.2, 0.4], comparator: [1.0, 0.5, 28]}", MD, "[1.2, 0.4]", "3 figures, not 2"),
    # a study
    "no figures": ("{study: ash}", {}, "{study: ash}", "no figures"),
    "no comparator": ("{study: ash, events: [5, 156]}", {}, "{study: ash, events: [5, 156]}", "`events` and no `comparator`"),
    "no treated": ("{study: ash, comparator: [5, 156]}", {}, "comparator", "is missing"),
    "an interval of nothing": ("{study: ash, low: 0.5, high: 1}", {}, "low", "no `estimate`"),
    "counts and means": ("{study: ash, events: [5, 156], mean: [1, 1, 9], comparator: [8, 74]}", {}, "mean", "two ways"),
    "counts and an estimate": ("{study: ash, events: [5, 156], comparator: [8, 74], estimate: 0.3, low: 0.1, high: 0.9}", {}, "estimate", "two ways"),
    "counts and an interval": ("{study: ash, events: [5, 156], comparator: [8, 74], high: 0.9}", {}, "high", "two ways"),
    "an estimate and a comparator": ("{study: ash, estimate: 0.3, low: 0.1, high: 0.9, comparator: [8, 74]}", {}, "comparator", "two ways"),
    "a ratio of means": (MEANS, {}, "mean", "means cannot give a risk-ratio"),
    "a difference of risks of means": (MEANS, RD, "mean", "means cannot give a risk-difference"),
    "a mean difference of counts": (COUNTS, MD, "events", "counts cannot give a mean-difference"),
    "an estimate alone": ("{study: ash, estimate: 0.3}", {}, "{study: ash, estimate: 0.3}", "how sure"),
    "half an interval": ("{study: ash, estimate: 0.3, high: 1}", {}, "{study: ash, estimate: 0.3, high: 1}", "has no `low`"),
    "an interval and an error": ("{study: ash, estimate: 0.3, low: 0.1, high: 1, standard_error: 0.2}", {}, "standard_error", "beside an interval"),
    "a lower limit above the estimate": ("{study: ash, estimate: 0.3, low: 0.4, high: 1}", {}, "0.4", "beyond this limit"),
    "an upper limit below the estimate": ("{study: ash, estimate: 1.3, low: 0.4, high: 1}", {}, "1", "beyond this limit"),
    "limits the wrong way round": ("{study: ash, estimate: 0.7, low: 1.01, high: 0.5}", {}, "1.01", "ends at 0.5 before it begins at 1.01"),
    "an interval of one point": ("{study: ash, estimate: 0.7, low: 0.7, high: 0.70}", {}, "0.70", "begins and ends at 0.7"),
    "a ratio of nothing": ("{study: ash, estimate: 0, low: 0.1, high: 1}", {}, "0", "no ratio"),
    "a negative lower limit": ("{study: ash, estimate: 0.3, low: -0.4, high: 1}", {}, "-0.4", "no ratio"),
    "a difference of more than everybody": ("{study: ash, estimate: 61, low: 36, high: 79}", RD, "61", "between -1 and 1"),
    "no standard error": ("{study: ash, estimate: 0.7, standard_error: 0}", {}, "0", "no standard error"),
    "a negative standard error": ("{study: ash, estimate: 0.7, standard_error: -0.2}", {}, "-0.2", "no standard error"),
    # an outcome
    "a spread of one effect": (COUNTS, {**FIXED, "tau2": "reml"}, "reml", "`tau2` is for `model: random`"),
    "mantel-haenszel at random": (COUNTS, {"weights": "mantel-haenszel"}, "mantel-haenszel", "is for `model: fixed`"),
    "mantel-haenszel of means": (MEANS, {**MD, **FIXED, "weights": "mantel-haenszel"}, "mantel-haenszel", "these are means"),
    "mantel-haenszel without counts": (REPORTED, {**FIXED, "weights": "mantel-haenszel"}, "mantel-haenszel", "ash gives none"),
    "mantel-haenszel and hartung-knapp": (COUNTS, {**FIXED, "weights": "mantel-haenszel", "interval": "hartung-knapp"}, "hartung-knapp", "does not go with mantel-haenszel"),
    "less than nothing added": (COUNTS, {"zero_cells": "-0.5"}, "-0.5", "less than nothing"),
    "too much added": (COUNTS, {"zero_cells": "5"}, "5", "more than 1"),
    "a risk in per cent": (COUNTS, {"comparator_risk": "12"}, "12", "between 0 and 1"),
    "a risk with its sign": (COUNTS, {"comparator_risk": "12 %"}, "12 %", "no percentage"),
    "a negative risk": (COUNTS, {"comparator_risk": "-0.12"}, "-0.12", "between 0 and 1"),
    "a risk of what is measured": (MEANS, {**MD, "comparator_risk": "0.12"}, "0.12", "has no risk"),
    "a threshold that is no ratio": (COUNTS, {"threshold": "-0.2"}, "-0.2", "no ratio"),
    "a threshold beyond everybody": (COUNTS, {**RD, "threshold": "50"}, "50", "between -1 and 1"),
    "a threshold too large for any page": (COUNTS, {"threshold": "1" + "0" * 400}, "1" + "0" * 400, "more than 40 digits"),
    "a threshold too small for any page": (COUNTS, {"threshold": "0." + "0" * 400 + "1"}, "0." + "0" * 400 + "1", "more than 40 digits"),
    "a threshold with an exponent": (COUNTS, {"threshold": "1e400"}, "1e400", "not a decimal number"),
    "a tool for other studies": (COUNTS, {"design": "randomised", "risk_of_bias_tool": "robins-i"}, "robins-i", "observational"),
}  # fmt: skip


@pytest.mark.parametrize("name", BAD)
def test_what_cannot_be_true_is_told_once_on_the_wrong_cell(name: str, tmp_path: Path) -> None:
    study, fields, cell, message = BAD[name]
    text = table(study, **fields)
    found, findings = build(tmp_path, text)
    assert [(finding.kind, finding.severity, finding.span.file) for finding in findings] == [
        ("bad-table", "error", "evidence/liner.yaml")
    ]
    assert marked(findings[0], text) == cell
    assert message in message_of(findings[0])
    assert advice_of(findings[0])
    assert len(message_of(findings[0])) < 200
    assert found is None


@pytest.mark.parametrize("study", [
    "{study: ash, event: [5, 156], comparator: [8, 74]}",
    "{study: ash, events: [5, 156], control: [8, 74]}",
    "{study: ash, estimate: 0.71, ci: [0.5, 1.01]}",
    "{study: ash, estimate: 0.71, lo: 0.5, high: 1.01}",
    "{study: ash, figures: [5, 156]}",
])  # fmt: skip
def test_a_field_of_another_name_is_told_and_not_what_is_missing_for_it(study: str, tmp_path: Path) -> None:
    _, findings = build(tmp_path, table(study))
    assert [finding.kind for finding in findings] == ["schema"]
    assert "is not a field of a study" in message_of(findings[0])


def test_a_study_counts_once_for_an_outcome(tmp_path: Path) -> None:
    text = table(COUNTS, COUNTS.replace("ash", "bell"), COUNTS)
    _, findings = build(tmp_path, text)
    assert [(finding.kind, finding.span.line, marked(finding, text)) for finding in findings] == [
        ("bad-table", 11, "ash")
    ]
    assert "given twice for one outcome" in message_of(findings[0])


def test_outcomes_share_a_label_only_if_their_measures_differ(tmp_path: Path) -> None:
    one = table(COUNTS)
    second = one.split("outcomes:\n")[1].replace("necrosis:", "again:")
    found, findings = build(tmp_path, one + second.replace("risk-ratio", "risk-difference"))
    assert findings == []
    assert found is not None
    labels = [label_words(outcome, found.outcomes.values()) for outcome in found.outcomes.values()]
    assert labels == ["Pulp necrosis (risk ratio)", "Pulp necrosis (risk difference)"]
    assert label_words(found.outcomes["again"], [found.outcomes["again"]]) == "Pulp necrosis"
    for wrong in (second, second.replace("Pulp necrosis", "pulp necrosis").replace("risk-ratio", "odds-ratio")):
        _, findings = build(tmp_path, one + wrong)
        assert [finding.kind for finding in findings] == ["schema"]


def test_all_mistakes_of_all_tables_are_told_at_once(tmp_path: Path) -> None:
    text = table(
        "{study: ash, events: [157, 156], comparator: [80, 74]}", REPORTED.replace("ash", "bell").replace("0.5", "-1")
    )
    _, findings = build(tmp_path, text, **{"evidence/base.yaml": table("{study: cole}")})
    assert [(finding.span.file, marked(finding, text if "liner" in finding.span.file else table("{study: cole}"))) for finding in findings] == [
        ("evidence/base.yaml", "{study: cole}"), ("evidence/liner.yaml", "157"), ("evidence/liner.yaml", "80"), ("evidence/liner.yaml", "-1"),
    ]  # fmt: skip


# --- names ------------------------------------------------------------------------------------------------------------

RESTS = "---\ntitle: No liner\nadvise: {liner: none}\nevidence: {certainty: low, strength: conditional, tables: [%s]}\n---\nWhy.\n"


def test_a_study_that_is_no_reference_is_told_where_it_stands(tmp_path: Path) -> None:
    text = table(COUNTS.replace("ash", "asch"))
    _, findings = build(tmp_path, text)
    [finding] = findings
    assert (finding.kind, marked(finding, text)) == ("unknown-reference", "asch")
    assert any("`ash`" in line for line in advice_of(finding))


def test_a_rule_names_a_table_that_there_is(tmp_path: Path) -> None:
    _, findings = build(tmp_path, table(COUNTS), **{"rules/no-liner.md": RESTS % "linen"})
    assert [(finding.kind, message_of(finding)) for finding in findings] == [
        ("unknown-name", "there is no study table in the folder evidence called 'linen'")
    ]
    assert advice_of(findings[0]) == ("did you mean `liner`?",)


def test_a_table_that_cannot_be_read_is_told_there_alone(tmp_path: Path) -> None:
    _, findings = build(tmp_path, "question: [\n", **{"rules/no-liner.md": RESTS % "liner"})
    assert [(finding.kind, finding.span.file) for finding in findings] == [("unreadable", "evidence/liner.yaml")]


def test_a_rule_that_rests_on_a_table_cites_its_studies(tmp_path: Path) -> None:
    found, findings = build(
        tmp_path,
        table(COUNTS, design="randomised", lowered="{risk-of-bias: 1, imprecision: 1}", certainty="low"),
        **{"rules/no-liner.md": RESTS % "liner"},
    )
    assert found is not None
    assert findings == []  # not uncited, though it has no `cites`


@pytest.mark.parametrize(
    ("name", "better"), [("Liner.yaml", "liner"), ("deep liner.yaml", "deep-liner"), ("ÄÖ.yaml", "aeoe")]
)
def test_a_file_has_a_name_that_rules_can_give(name: str, better: str, tmp_path: Path) -> None:
    _, findings = build(tmp_path, table(COUNTS).replace("ash", "bell"), **{f"evidence/{name}": table(COUNTS)})
    assert [finding.kind for finding in findings] == ["schema"]
    assert f"for example `{better if better != 'liner' else 'liner-2'}.yaml`" in advice_of(findings[0])[0]


# --- who means harm ---------------------------------------------------------------------------------------------------

MANY = "".join(f"      - {{study: ash{number}, events: [5, 156], comparator: [8, 74]}}\n" for number in range(100_000))
HOSTILE: dict[str, tuple[str, str]] = {
    "100,000 studies": (table() + MANY, "unreadable"),
    "as many studies as a file holds": (table() + MANY[:300_000].rpartition("      -")[0], "bad-table"),
    "as many outcomes as a file holds": (QUESTION + "outcomes:\n" + "".join(f"  o{n}: {{label: O{n}, kind: harm, importance: 8, measure: risk-ratio, studies: [{COUNTS}]}}\n" for n in range(2_500)), ""),
    "an arm of 40,000 figures": (table("{study: ash, events: [" + "1, " * 40_000 + "1], comparator: [1, 2]}"), "bad-table"),
    "deep brackets": (table("{study: ash, events: " + "[" * 5_000 + "}"), "unreadable"),
    "a file within a cell": (table("{study: ash, events: [{a: b}, [c]], comparator: [8, 74]}"), "schema"),
    "a table of tables": (QUESTION + "outcomes: {outcomes: {outcomes: {outcomes: {}}}}\n", "schema"),
    "nothing": ("", "unreadable"),
    "a list": ("[a, b]\n", "schema"),
    "an anchor": (table(COUNTS).replace("[5, 156]", "&a [5, 156]"), "unreadable"),
}  # fmt: skip


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_table_is_refused_in_bounded_time(name: str, tmp_path: Path) -> None:
    text, kind = HOSTILE[name]
    start = time.process_time()
    _, findings = build(tmp_path, text)
    assert time.process_time() - start < processor(4)
    assert {finding.kind for finding in findings if finding.kind != "unknown-reference"} == ({kind} if kind else set())
    assert len(findings) < 300


def test_no_question_has_so_many_studies(tmp_path: Path) -> None:
    studies = [COUNTS.replace("ash", f"ash{number}") for number in range(MOST_STUDIES + 1)]
    text = table(*studies)
    _, findings = build(tmp_path, text)
    assert [(finding.kind, marked(finding, text)) for finding in findings] == [("bad-table", studies[-1])]
    assert message_of(findings[0]) == "an outcome has more than 1000 studies"


def test_marks_of_html_in_names_and_texts_are_refused_or_kept_as_text(tmp_path: Path) -> None:
    text = table(COUNTS, label="'<script>alert(1)</script>'").replace("necrosis:", "'<b>':")
    _, findings = build(tmp_path, text)
    assert [finding.kind for finding in findings] == ["schema"]
    assert "<b>" in message_of(findings[0])
    found, findings = build(tmp_path, table(COUNTS, label="'<script>alert(1)</script>'"))
    assert findings == []
    assert found is not None
    assert found.outcomes["necrosis"].label == "<script>alert(1)</script>"


# --- what is not installed --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("tables", [("base", "liner"), ()])
def test_without_the_library_study_tables_are_told_once_with_what_to_install(
    tables: tuple[str, ...], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "scipy", None)
    files = {**SMALLEST, "references.bib": REFERENCES, **{f"evidence/{name}.yaml": table(COUNTS) for name in tables}}
    for name, content in files.items():
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text(content, encoding="utf-8")
    findings = [finding for finding in analyse(tmp_path, DAY).findings if finding.kind == "not-read"]
    told = [(finding.severity, finding.span.file, advice_of(finding)) for finding in findings]
    wanted = ("error", "evidence/base.yaml", ("install it: pip install 'liningbook[evidence]'",))
    assert told == ([wanted] if tables else [])


def test_without_the_library_all_else_goes_on(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("scipy", "scipy.special", "scipy.optimize"):
        monkeypatch.setitem(sys.modules, name, None)
    folder, out = tmp_path / "protocol", tmp_path / "out"
    shutil.copytree(PROTOCOLS / "two-study-tables", folder)
    path = folder / "evidence" / "liner-in-deep-cavities.yaml"
    text = path.read_text("utf-8")
    path.write_text(text.replace("    tau2: reml\n", "    tau2: reml\n    interval: hartung-knapp\n", 1), "utf-8")
    (folder / "rules" / "no-liner.md").unlink()
    kinds = [finding.kind for finding in analyse(folder, DAY).findings]
    assert kinds == ["not-read", "gap", "unused-table"]
    build = ["build", str(folder), "--out", str(out), "--only", "bundle,site"]
    assert main(build) == 1
    assert not out.exists()
    assert main([*build, "--draft"]) == 0
    assert "not installed" in (out / "site" / "index.html").read_text("utf-8")
    assert main(["evidence", str(folder)]) == 2
