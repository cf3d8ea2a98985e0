"""What rests on a work and the cases that it decides, against the reading of single cases; and the command."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import date
from fractions import Fraction
from itertools import product
from pathlib import Path

import pytest

from liningbook.analysis import understand
from liningbook.cli import main
from liningbook.control.cited import CitedWork, cited_work, key_of_work
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
  liner: {label: Liner, layer: liner}
  wash: {label: Wash, answers: {soap: Soap, water: Water, spirit: Spirit}, needed_when: {liner: [lime]}}
excluded: [{when: {depth: shallow, pain: yes}, because: Rare, instead: Ask}]
"""
MATERIALS = """
agents:
  lime: {label: Lime, class: liner}
irritants:
  heat: {label: Heat}
barriers: [{irritants: [heat], because: So it is., cites: [other]}]
"""
REFERENCES = json.dumps(
    [
        {"id": "work", "title": "A work", "DOI": "10.5555/Work", "retracted": {"because": "Made up"}},
        {"id": "other", "title": "Retracted: Another"},
        {"id": "unused", "title": "Unused"},
    ]
)
TABLE = """
question: {population: Teeth, intervention: Lime, comparator: None}
outcomes:
  loss:
    label: Loss
    kind: harm
    importance: 8
    measure: risk-ratio
    model: fixed
    design: randomised
    certainty: high
    studies: [{study: work, events: [5, 50], comparator: [9, 50]}]
"""
CITES = "evidence: {certainty: high, strength: conditional, design: randomised, cites: [work]}\n"
NOTE = "evidence: {basis: good-practice, note: We say so.}\n"
RULES = {
    "usual": "title: Usual\nadvise: {liner: none, wash: water}\n" + NOTE,
    "deep": "title: Deep\nwhen: {depth: [deep, other]}\nadvise: {liner: {agent: lime}}\noverrides: [usual]\n"
    "evidence: {certainty: high, strength: conditional, tables: [limes]}\n",
    "quiet": "title: Quiet\nwhen: {pain: yes}\nadvise: {wash: soap}\noverrides: [usual, not-soap]\n" + CITES,
    "loud": "title: Loud\nwhen: {pain: yes, depth: deep}\nadvise: {wash: spirit}\noverrides: [quiet]\n" + NOTE,
    "not-soap": "title: No soap\navoid: {wash: [soap]}\n" + NOTE,
    "no-spirit": "title: No spirit\nwhen: {pain: no}\nnever: {wash: [spirit]}\n" + CITES,
    "past": "title: Past\nadvise: {wash: soap}\nvalid: {until: 2025-01-01}\n" + CITES,
}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for file, text in (("protocol.yaml", PROTOCOL), ("materials.yaml", MATERIALS), ("evidence/limes.yaml", TABLE)):
        (tmp_path / file).parent.mkdir(exist_ok=True)
        (tmp_path / file).write_text(text.lstrip(), encoding="utf-8")
    (tmp_path / "references.json").write_text(REFERENCES, encoding="utf-8")
    (tmp_path / "rules").mkdir()
    for name, text in RULES.items():
        (tmp_path / "rules" / f"{name}.md").write_text(f"---\n{text}---\nWhy.\n", encoding="utf-8")
    return tmp_path


@pytest.fixture
def meaning(folder: Path) -> Meaning:
    found = understand(folder, DAY)
    assert found.meaning is not None, messages_of(found.findings)
    return found.meaning


def cases(meaning: Meaning) -> list[Box]:
    return list(product(*((1 << cell for cell in range(mask.bit_length())) for mask in meaning.space.full)))


def speaking(meaning: Meaning, case: Box, decision: str, key: str) -> tuple[bool, bool]:
    """Whether a rule that rests on the work gives the advice of a case; whether one silences another or avoids."""
    outcome = decide(meaning, case).outcomes.get(decision)
    if outcome is None or outcome.state == "not-needed":
        return False, False
    rules = meaning.protocol.rules
    holding = [
        name for name, number in meaning.number.items() if any(inside(case, box) for box in meaning.boxes[number])
    ]
    resting = {
        name for name, text in RULES.items() if f"cites: [{key}]" in text or (key == "work" and "tables:" in text)
    }
    advises = any(resting & set(candidate.rules) for candidate in outcome.candidates)

    def further() -> Iterator[bool]:
        for name in resting & set(holding):
            rule = rules[name]
            barred = any(
                name in {one.id for one in rules[other].overrides} and rules[other].speaks_under(decision)
                for other in holding
            )
            yield decision in rule.never or (decision in rule.avoid and not barred)
            for loser in {one.id for one in rule.overrides} & set(holding):
                yield decision in rule.advise and decision in rules[loser].advise
                yield decision in rules[loser].avoid and rule.speaks_under(decision)

    return advises, any(further())


@pytest.mark.parametrize("key", ["work", "other", "unused"])
def test_the_cases_are_those_of_single_cases_read_one_by_one(meaning: Meaning, key: str) -> None:
    found = {one.decision: one for one in cited_work(meaning, key).decisions}
    told = set()
    for case in cases(meaning):
        for decision in meaning.protocol.decisions:
            advises, further = speaking(meaning, case, decision, key)
            one = found.get(decision)
            told |= {("advises", decision)} if advises else {("only", decision)} if further else set()
            for part, expected in (("advises", advises), ("only", further and not advises)):
                region = getattr(one, part).region if one else None
                assert expected == (region is not None and any(inside(case, box) for box in region)), (case, decision)
    if key == "work":
        assert told == {("advises", "liner"), ("advises", "wash"), ("only", "wash")}


def test_shares_are_those_of_all_in_scope(meaning: Meaning) -> None:
    found = {one.decision: one for one in cited_work(meaning, "work").decisions}
    in_scope = [case for case in cases(meaning) if decide(meaning, case).excluded is None]
    assert len(in_scope) == 5
    advised = sum(speaking(meaning, case, "liner", "work")[0] for case in in_scope)
    assert found["liner"].advises.share == Fraction(advised, len(in_scope)) == Fraction(4, 5)


def test_what_rests_is_told_with_the_rules_of_other_days(meaning: Meaning) -> None:
    work: CitedWork = cited_work(meaning, "work")
    assert [rule.id for rule, _ in work.resting.rules] == ["no-spirit", "past", "quiet"]
    assert [(rule.id, [name.id for name in names]) for rule, names in work.resting.through] == [("deep", ["limes"])]
    assert [rule.id for rule in work.in_force] == ["no-spirit", "quiet", "deep"]
    assert [(table.id, outcome.id) for table, outcome, _ in work.resting.studies] == [("limes", "loss")]
    assert [(table, number) for table, number, _ in cited_work(meaning, "other").resting.entries] == [("barriers", 0)]
    assert not cited_work(meaning, "unused").resting


@pytest.mark.parametrize(
    ("written", "key"),
    [("work", "work"), ("10.5555/WORK", "work"), ("https://doi.org/10.5555/work", "work"), ("Work", None), ("", None)],
)
def test_a_work_is_found_by_its_key_or_its_doi(written: str, key: str | None, meaning: Meaning) -> None:
    assert key_of_work(meaning.protocol, written) == key


def test_a_work_that_is_listed_twice_is_one(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    twice = [{"id": "again", "title": "A work", "DOI": "https://doi.org/10.5555/work"}, *json.loads(REFERENCES)]
    (folder / "references.json").write_text(json.dumps(twice), "utf-8")
    rule = folder / "rules" / "quiet.md"
    rule.write_text(rule.read_text("utf-8").replace("cites: [work]", "cites: [again]"), "utf-8")
    for written, others in (
        ("10.5555/work", ["work"]),
        ("work", ["again"]),
        ("https://doi.org/10.5555/Work?x=1", ["work"]),
    ):
        assert main(["cited", written, str(folder), "--on", DAY.isoformat(), "--format", "json"]) == 0
        found = json.loads(capsys.readouterr().out)
        assert [rule["rule"] for rule in found["rules"]] == ["no-spirit", "past", "quiet", "deep"]
        assert found["also_listed_as"] == others
        assert found["retracted"] == {"because": "Made up"}
    assert main(["cited", "work", str(folder), "--on", DAY.isoformat()]) == 0
    assert "Listed as again too" in capsys.readouterr().out


def test_text_and_json_say_it(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    on = ["--on", DAY.isoformat()]
    assert main(["cited", "work", str(folder), *on]) == 0
    text = capsys.readouterr().out
    assert "work  A work. doi:10.5555/Work" in text
    assert "Retracted: Made up." in text
    assert "Rule 'Past' (not in force on this day): rules/past.md, line 5" in text
    assert "Rule 'Deep', by its table limes: rules/deep.md, line 6" in text
    assert "Liner: a rule that rests on it gives the advice in 80% of all combinations in\n  scope:" in text
    assert main(["cited", str(folder), "doi:10.5555/work", *on, "--format", "json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["retracted"] == {"because": "Made up"}
    assert [(rule["rule"], rule["cites"], rule["tables"], rule["in_force"]) for rule in found["rules"]] == [
        ("no-spirit", True, [], True),
        ("past", True, [], False),
        ("quiet", True, [], True),
        ("deep", False, ["limes"], True),
    ]
    assert found["decisions"]["liner"]["advises"]["share"] == "0.8000"
    assert main(["cited", "other", str(folder), *on]) == 0
    text = capsys.readouterr().out
    assert "Its title begins like that of a retracted work: was it retracted?" in text
    assert "Entry 1 of `barriers`: materials.yaml" in text
    assert "No rule in force rests on it, so it decides no case." in text
    assert main(["cited", "unused", str(folder), *on]) == 0
    assert "Nothing rests on it" in capsys.readouterr().out


def test_a_list_of_retracted_works_counts_here_too(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    listed = folder.parent / f"{folder.name}.csv"
    listed.write_text("10.5555/WORK\n", encoding="utf-8")
    references = folder / "references.json"
    references.write_text(REFERENCES.replace('"retracted"', '"custom"'), encoding="utf-8")
    assert main(["cited", "work", str(folder), "--retracted", str(listed)]) == 0
    assert f"Retracted: listed in {listed.name}, row 1." in capsys.readouterr().out


def test_the_folder_that_we_are_in_is_enough(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(folder)
    assert main(["cited", "work", "--on", DAY.isoformat()]) == 0
    assert capsys.readouterr().out.startswith("work  A work.")


@pytest.mark.parametrize(
    ("key", "said"),
    [
        ("wokr", "there is no reference called 'wokr', and none with that DOI; did you mean `work`?"),
        ("10.5555/none", "there is no reference called '10.5555/none', and none with that DOI"),
    ],
)
def test_a_work_that_is_not_there_is_refused(
    key: str, said: str, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["cited", key, str(folder)]) == 2
    assert capsys.readouterr().err == f"liningbook: {said}\n"


def test_a_folder_alone_is_no_work(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["cited", str(folder)]) == 2
    assert "which work?" in capsys.readouterr().err
