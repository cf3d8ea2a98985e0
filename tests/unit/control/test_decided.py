"""The cases that a rule decides are those whose advice names it, and those in which what it avoids stands."""

from __future__ import annotations

from datetime import date
from itertools import product
from pathlib import Path

import pytest

from liningbook.analysis import understand
from liningbook.control.decided import cases_decided
from liningbook.meaning.decide import decide
from liningbook.meaning.meaning import Meaning
from liningbook.space.boxes import Box, inside
from tests.saying import messages_of

DAY = date(2026, 11, 25)

PROTOCOL = """
title: One
practice: A practice
edition: "1"
status: draft
scope: Everything.
cautions: [Take care.]
authors: [{name: A. Marsh, role: dentist, interests: none}]
evidence_scheme: grade
review_by: 2028-01-01
factors:
  depth: {label: Depth, kind: choice, values: {deep: Deep, shallow: Shallow, other: Other}}
  pain: {label: Pain, kind: yes-no}
decisions:
  liner: {label: Liner, answers: {yes-please: One, no-thanks: None}}
  wash: {label: Wash, answers: {soap: Soap, water: Water}, needed_when: {liner: [yes-please]}}
"""
EVIDENCE = "evidence: {basis: good-practice, strength: conditional, note: We say so.}"
RULES = {
    "usual": "title: Usual\nwhen: {}\nadvise: {liner: no-thanks, wash: water}\n",
    "deep": "title: Deep\nwhen: {depth: deep}\nadvise: {liner: yes-please}\noverrides: [usual]\n",
    "not-soap": "title: No soap\nwhen: {pain: yes}\navoid: {wash: [soap]}\n",
    "past": "title: Past\nwhen: {}\nadvise: {wash: soap}\nvalid: {until: 2025-01-01}\n",
    "silent": "title: Silent\nwhen: {depth: shallow}\nadvise: {liner: yes-please}\n",
    "louder": "title: Louder\nwhen: {depth: [shallow, other]}\nadvise: {liner: no-thanks}\n"
    "overrides: [silent, usual]\n",
}


@pytest.fixture
def meaning(tmp_path: Path) -> Meaning:
    (tmp_path / "protocol.yaml").write_text(PROTOCOL.lstrip())
    (tmp_path / "materials.yaml").write_text("agents: {}\n")
    (tmp_path / "rules").mkdir()
    for name, text in RULES.items():
        (tmp_path / "rules" / f"{name}.md").write_text(f"---\n{text}{EVIDENCE}\n---\nWhy.\n")
    found = understand(tmp_path, DAY)
    assert found.meaning is not None, messages_of(found.findings)
    return found.meaning


def cases(meaning: Meaning) -> list[Box]:
    return list(product(*((1 << cell for cell in range(mask.bit_length())) for mask in meaning.space.full)))


@pytest.mark.parametrize("rule", [name for name in RULES if name != "past"])
def test_the_cases_are_those_whose_advice_names_the_rule(meaning: Meaning, rule: str) -> None:
    """Against the reading of single cases."""
    found = cases_decided(meaning, meaning.protocol.rules[rule])
    for case in cases(meaning):
        for decision, outcome in decide(meaning, case).outcomes.items():
            heard = any(rule in candidate.rules for candidate in outcome.candidates)
            region = found.advises.get(decision)
            assert heard == (region is not None and any(inside(case, box) for box in region)), (case, decision)


def test_what_a_rule_avoids_counts_where_the_decision_is_needed(meaning: Meaning) -> None:
    found = cases_decided(meaning, meaning.protocol.rules["not-soap"])
    assert [meaning.space.notation(box) for box in found.avoids["wash"] or ()] == [{"depth": ["deep"], "pain": "yes"}]
    assert not found.is_silent


def test_a_silenced_rule_and_one_out_of_force_decide_nothing(meaning: Meaning) -> None:
    rules = meaning.protocol.rules
    silenced, past = cases_decided(meaning, rules["silent"]), cases_decided(meaning, rules["past"])
    assert (silenced.in_force, silenced.is_silent, list(silenced.advises)) == (True, True, ["liner"])
    assert (past.in_force, past.is_silent, list(past.advises)) == (False, True, [])
