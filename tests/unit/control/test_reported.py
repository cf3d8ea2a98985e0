"""Which items of RIGHT and AGREE II a protocol reports, and what `liningbook reporting` says of it."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from liningbook.cli import main
from liningbook.control.reported import AGREE, RIGHT
from liningbook.evidence.reporting.agree import DOMAINS, ITEMS
from liningbook.resources import schema
from liningbook.say.command import reporting as words
from liningbook.say.outputs.reporting import TOPICS

FRAME = """\
title: {title}
practice: Example Practice
edition: {edition}
status: draft
review_by: 2027-09-01
authors: [{{name: E. Example, role: dentist, interests: none declared}}]
scope: Invented example.
cautions: [Not clinical advice.]
evidence_scheme: grade
factors:
  exposed: {{label: Pulp exposed, kind: yes-no}}
decisions:
  liner: {{label: Liner, layer: liner}}
{more}
"""
RULE = """\
---
title: No liner
advise: {liner: none}
evidence: {basis: good-practice, note: Invented.}
---
Why.
"""

Protocol = Callable[..., Path]
Told = Callable[[Path], dict[str, Any]]


@pytest.fixture
def protocol(tmp_path: Path) -> Protocol:
    """A folder with a protocol of one rule, and more in its protocol.yaml."""

    def make(more: str = "", title: str = "Example", edition: str = "first", **files: str) -> Path:
        folder = tmp_path / "example"
        (folder / "rules").mkdir(parents=True, exist_ok=True)
        (folder / "protocol.yaml").write_text(FRAME.format(title=title, edition=edition, more=more), "utf-8")
        (folder / "materials.yaml").write_text("agents: {lime: {label: Lime, class: liner}}\n", "utf-8")
        (folder / "rules" / "no-liner.md").write_text(RULE, "utf-8")
        for name, text in files.items():
            place = folder / name.replace("__", "/")
            place.parent.mkdir(exist_ok=True)
            place.with_suffix(".yaml").write_text(text, "utf-8")
        return folder

    return make


@pytest.fixture
def told(capsys: pytest.CaptureFixture[str]) -> Told:
    """What the command says as JSON."""

    def call(folder: Path) -> dict[str, Any]:
        assert main(["reporting", str(folder), "--format", "json"]) == 0
        found: dict[str, Any] = json.loads(capsys.readouterr().out)
        return found

    return call


def states(items: list[dict[str, Any]]) -> dict[str, str]:
    return {item["item"]: item["state"] for item in items}


def reported(items: list[dict[str, Any]]) -> list[str]:
    return [item for item, state in states(items).items() if state == "reported"]


def test_every_topic_answers_an_item_and_has_its_words() -> None:
    topics = list(schema("protocol")["$defs"]["reporting"]["properties"])
    asked = {topic for table in (RIGHT, AGREE) for row in table.values() for topic in row}
    assert asked == set(topics)
    assert list(TOPICS) == topics
    assert list(AGREE) == list(words.AGREE) == list(ITEMS)


def test_a_bare_protocol_reports_what_its_frame_says_and_nothing_else(protocol: Protocol, told: Told) -> None:
    found = told(protocol())
    assert reported(found["right"]) == ["7a", "13a", "19a"]
    assert reported(found["agree"]["items"]) == ["3", "15"]


def test_a_title_says_what_it_is_only_by_a_word_for_it(protocol: Protocol, told: Told) -> None:
    def state(folder: Path) -> str:
        return states(told(folder)["right"])["1a"]

    assert state(protocol(title="Pulp protection")) == "not-reported"
    assert state(protocol(title="House protocol of pulp protection")) == "reported"
    assert state(protocol("reporting: {subtitle: Second edition}")) == "not-reported"
    assert state(protocol("reporting: {subtitle: A house protocol}")) == "reported"


def test_the_year_stands_in_the_edition_or_the_day(protocol: Protocol, told: Told) -> None:
    assert states(told(protocol())["right"])["1b"] == "not-reported"
    assert states(told(protocol(edition="2026.1"))["right"])["1b"] == "reported"
    assert states(told(protocol("in_force_from: 2026-09-01"))["right"])["1b"] == "reported"


@pytest.mark.parametrize("topic", TOPICS)
def test_a_text_reports_its_items_where_it_stands(topic: str, protocol: Protocol, told: Told) -> None:
    text = schema("protocol")["$defs"]["reporting"]["properties"][topic]["examples"][0]
    found = told(protocol(f"reporting:\n  {topic}: {json.dumps(text)}"))
    items = [*found["right"], *found["agree"]["items"]]
    answered = [item for item in items if topic in item["fields"]]
    assert answered
    for item in answered:
        assert item["state"] == "reported"
        assert {"file": "protocol.yaml", "line": 15, "what": topic, "count": 1} in item["where"]
    bare = told(protocol())
    others = [item for item in [*bare["right"], *bare["agree"]["items"]] if topic not in item["fields"]]
    assert [item for item in items if topic not in item["fields"]] == others


TABLE = """\
question: {population: Permanent teeth, intervention: A liner, comparator: No liner}
SEARCHoutcomes:
  necrosis:
    label: Necrosis
    kind: harm
    importance: 8
    measure: risk-ratio
    design: randomised
    lowered: {imprecision: {level: 1, because: Few events.}}
    certainty: moderate
    studies: [{study: ash2020, events: [5, 50], comparator: [9, 50]}]
"""
BENEFIT = """\
  comfort:
    label: Comfort
    kind: benefit
    importance: 5
    measure: risk-ratio
    design: randomised
    certainty: high
    studies: [{study: ash2020, events: [5, 50], comparator: [9, 50]}]
"""
SEARCH = "search: {sources: [An invented library], until: 2026-03-31}\n"


def test_study_tables_answer_what_they_say(protocol: Protocol, told: Told) -> None:
    def answered(*tables: str) -> set[str]:
        folder = protocol(**{f"evidence__table-{number}": text for number, text in enumerate(tables)})
        (folder / "references.json").write_text('[{"id": "ash2020", "type": "book", "title": "Invented"}]', "utf-8")
        found = told(folder)
        bare = {"7a", "13a", "19a", "agree 3", "agree 15"}
        return {*reported(found["right"]), *(f"agree {item}" for item in reported(found["agree"]["items"]))} - bare

    plain = TABLE.replace("SEARCH", "")
    assert answered(plain) == {"10a", "agree 2", "agree 9"}
    assert answered(TABLE.replace("SEARCH", SEARCH)) == {"10a", "agree 2", "agree 7", "agree 9"}
    assert "agree 7" not in answered(TABLE.replace("SEARCH", SEARCH), plain)
    assert answered(plain + BENEFIT, plain) == {"10a", "agree 2", "agree 9", "agree 11"}
    unsaid = plain.replace("{level: 1, because: Few events.}", "1")
    assert answered(unsaid, unsaid) == {"10a", "agree 2"}


@pytest.mark.parametrize("text", ["TODO", "todo:", "To do", "n/a", "N.A.", ".", "?", "…", "TBD", "- - -", "xxx"])
def test_what_is_still_to_be_written_reports_nothing(text: str, protocol: Protocol, told: Told) -> None:
    found = told(protocol(f"reporting: {{aims: {json.dumps(text)}, cost: {{not_applicable: {json.dumps(text)}}}}}"))
    assert (states(found["right"])["6"], states(found["right"])["14b"]) == ("not-reported", "not-reported")


@pytest.mark.parametrize("text", ["None", "No.", "Nachts", "Todos los pacientes", "x-ray", "30"])
def test_a_short_text_reports_all_the_same(text: str, protocol: Protocol, told: Told) -> None:
    found = told(protocol(f"reporting: {{aims: {json.dumps(text)}}}"))
    assert states(found["right"])["6"] == "reported"


def test_what_does_not_apply_bears_its_reason(protocol: Protocol, told: Told) -> None:
    found = told(protocol("reporting:\n  reviews_judged: {not_applicable: No existing review was used.}"))
    [item] = [item for item in found["right"] if item["item"] == "11b"]
    assert (item["state"], item["because"], item["where"]) == ("not-applicable", "No existing review was used.", [])


def test_a_rule_on_research_without_its_grade_leaves_the_grades_open(protocol: Protocol, told: Told) -> None:
    folder = protocol()
    rule = RULE.replace("basis: good-practice, note: Invented.", "cites: [ash2020], {}")
    for grade, state in (("certainty: low", "not-reported"), ("certainty: low, strength: conditional", "reported")):
        text = rule.replace("{}", f"design: observational, {grade}")
        (folder / "rules" / "no-liner.md").write_text(text, "utf-8")
        (folder / "references.json").write_text('[{"id": "ash2020", "type": "book", "title": "Invented"}]', "utf-8")
        assert states(told(folder)["right"])["13c"] == state


def test_no_score_of_right_and_no_total_of_agree_is_given(protocol: Protocol, told: Told) -> None:
    found = told(protocol())
    assert set(found) == {"protocol", "edition", "right", "agree"}
    assert set(found["agree"]) == {"items", "appraisals"}
    assert not any("score" in key or "total" in key for item in found["right"] for key in item)


def test_the_text_names_first_what_is_open_and_the_field_that_reports_it(
    protocol: Protocol, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["reporting", str(protocol("reporting: {burden: One in twenty.}"))]) == 0
    text = capsys.readouterr().out
    open_first, told_then = text.index("  6    aims\n"), text.index("  5    how much the problem weighs\n")
    assert open_first < told_then
    assert "for example: aims: Fewer teeth that lose their vitality" in text
    assert "protocol.yaml, line 14: How much the problem weighs" in text
    assert "`aims`, as for RIGHT 6" in text
    assert max(map(len, text.splitlines())) <= 80


def test_when_nothing_is_open_that_is_said(protocol: Protocol, capsys: pytest.CaptureFixture[str]) -> None:
    every = "".join(f"  {topic}: {{not_applicable: Invented.}}\n" for topic in TOPICS)
    folder = protocol(f"contact: E. Example\nin_force_from: 2026-09-01\nreporting:\n{every}")
    assert main(["reporting", str(folder)]) == 0
    text = " ".join(capsys.readouterr().out.split())
    assert text.count(words.ALL_TOLD) == 2
    assert "Not reported yet" not in text


def test_the_demonstration_leaves_nothing_out(demonstration: Path, told: Told) -> None:
    found = told(demonstration)
    every = {**states(found["right"]), **{f"agree {k}": v for k, v in states(found["agree"]["items"]).items()}}
    assert len(every) == 35 + 23
    assert [item for item, state in every.items() if state != "reported"] == ["11b"]
    appraisals = found["agree"]["appraisals"]
    assert len(appraisals["appraisers"]) >= appraisals["needed"]
    assert [domain["domain"] for domain in appraisals["domains"]] == list(DOMAINS)
    assert all(0 < domain["percent"] < 100 for domain in appraisals["domains"])
