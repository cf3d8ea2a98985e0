"""The example of a finding names what differs from the usual case of the chart, and no more."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from liningbook.analysis import analyse
from liningbook.show.terminal.report import findings_text
from tests.test_corpus import DAY

RULE = """\
---
title: A
when: {when}
advise: {{liner: none}}
evidence: {{basis: good-practice, note: Invented.}}
---
Why.
"""
PROTOCOL = """\
title: Example
practice: Example Practice
edition: 2026.1
status: draft
review_by: 2027-09-01
authors: [{name: E. Example, role: dentist, interests: none declared}]
scope: Invented example.
cautions: [Not clinical advice.]
evidence_scheme: grade
factors:
  rdt: {label: Dentine left, kind: quantity, unit: mm, at_least: 0 mm, at_most: 6 mm}
  restoration: {label: Restoration, kind: choice, values: {amalgam: Amalgam, composite: Composite}}
  pulp: {label: Pulp, kind: choice, values: {normal: Normal, irritated: Irritated}}
  allergy: {label: Allergy, kind: yes-no}
decisions:
  liner: {label: Liner, layer: liner}
"""
MATERIALS = "agents: {lime: {label: Lime, class: liner}}\n"
Told = Callable[..., list[str]]


@pytest.fixture
def told(tmp_path: Path) -> Told:
    """The lines on examples in the report of a protocol without an answer in some cases."""

    def lines(answered: str, protocol: str = PROTOCOL, card: str = "columns_by: restoration") -> list[str]:
        (tmp_path / "rules").mkdir()
        rule = RULE.format(when=answered)
        for name, text in (
            ("protocol.yaml", protocol), ("materials.yaml", MATERIALS), ("card.yaml", card), ("rules/a.md", rule),
        ):  # fmt: skip
            if text:
                (tmp_path / name).write_text(text, "utf-8")
        text = findings_text(analyse(tmp_path, date.fromisoformat(DAY)), width=100)
        return [line.strip() for line in text.splitlines() if line.lstrip().startswith(("For example", "As usual"))]

    return lines


def test_a_case_that_is_usual_but_for_band_and_column_names_these_alone(told: Told) -> None:
    assert told("{rdt: {above: 1 mm}, restoration: amalgam}") == [
        "For example Dentine left: 0.5 mm; Restoration: Amalgam; all else as usual.",
        "As usual: Pulp: Normal; Allergy: no.",
    ]


def test_what_differs_is_named_and_what_is_usual_is_not(told: Told) -> None:
    assert told("[{allergy: no}, {pulp: normal}]") == [
        "For example Dentine left: 3 mm; Restoration: Amalgam; Pulp: Irritated; Allergy: yes.",
    ]


def test_the_set_of_cases_is_taken_that_departs_least(told: Told) -> None:
    assert told("{pulp: normal, allergy: no, rdt: {above: 1 mm}}") == [
        "For example Dentine left: 0.5 mm; Restoration: Amalgam; all else as usual.",
        "As usual: Pulp: Normal; Allergy: no.",
    ]


def test_the_card_says_what_is_usual(told: Told) -> None:
    assert told("{pulp: normal}", card="{columns_by: restoration, usual: {pulp: irritated}}") == [
        "For example Dentine left: 3 mm; Restoration: Amalgam; all else as usual.",
        "As usual: Pulp: Irritated; Allergy: no.",
    ]


def test_a_card_may_end_where_no_rule_does(told: Told) -> None:
    """The thresholds of the card are no thresholds of the findings."""
    assert told("{pulp: normal}", card="{columns_by: restoration, bands: {at_most: 2 mm}}") == [
        "For example Dentine left: 3 mm; Restoration: Amalgam; Pulp: Irritated; all else as usual.",
        "As usual: Allergy: no.",
    ]


def test_without_a_chart_all_is_named(told: Told) -> None:
    kinds = PROTOCOL.replace("{label: Restoration, kind: choice, values: {amalgam: Amalgam, composite: Composite}}",
                             "{label: Amalgam, kind: yes-no}").replace(
        "{label: Pulp, kind: choice, values: {normal: Normal, irritated: Irritated}}", "{label: Pain, kind: yes-no}"
    )  # fmt: skip
    assert told("{allergy: yes}", protocol=kinds, card="") == [
        "For example Dentine left: 3 mm; Amalgam: no; Pain: no; Allergy: no.",
    ]
