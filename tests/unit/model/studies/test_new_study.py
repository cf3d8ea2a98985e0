"""A new study is read as the studies of a table are, and for one outcome that is known."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest

from liningbook.analysis import understand
from liningbook.evidence.table import Counts, Means, Reported, StudyTable
from liningbook.model.studies.new_study import MeantFor, read_new_study
from liningbook.resources import schema
from tests.saying import advice_of, message_of, messages_of

TWO_TABLES = Path(__file__).parents[3] / "protocols" / "pass" / "two-study-tables"
DEEP = "liner-in-deep-cavities"
COUNTS = "events: [3, 120]\ncomparator: [9, 118]\n"


@pytest.fixture(scope="module")
def tables() -> dict[str, StudyTable]:
    found = understand(TWO_TABLES, date(2026, 11, 28))
    assert found.protocol is not None, messages_of(found.findings)
    return dict(found.protocol.tables)


def read(text: str, tables: dict[str, StudyTable]) -> MeantFor:
    found, _, findings = read_new_study(text.encode(), "new.yaml", tables)
    assert messages_of(findings) == []
    assert found is not None
    return found


def test_counts_means_and_estimates_are_read_with_a_year(tables: dict[str, StudyTable]) -> None:
    found = read(f"table: {DEEP}\noutcome: pulp-necrosis\nstudy: reed2026\nyear: 2026\n{COUNTS}", tables)
    assert (found.table.id, found.outcome.id) == (DEEP, "pulp-necrosis")
    study = found.study
    assert (study.study, study.year, study.setting) == ("reed2026", 2026, "patients")
    assert (study.treated, study.comparator) == (Counts(3, 120), Counts(9, 118))
    mean = read("outcome: secondary-dentine\nstudy: x\nmean: [1.2, '0.4', 30]\ncomparator: [1, 0.5, 28]", tables)
    assert mean.study.treated == Means(Fraction("1.2"), Fraction("0.4"), 30)
    assert mean.study.year is None
    told = read("outcome: pulp-necrosis\nstudy: x\nestimate: 0.7\nstandard_error: 0.2\nsetting: laboratory", tables)
    assert told.study.reported == Reported(Fraction("0.7"), standard_error=Fraction("0.2"))
    assert told.study.setting == "laboratory"


def test_the_table_may_be_left_out_where_one_alone_has_the_outcome(tables: dict[str, StudyTable]) -> None:
    text = f"outcome: pulp-necrosis\nstudy: reed2026\n{COUNTS}"
    assert read(text, tables).table.id == DEEP
    both = {**tables, "another": replace(tables[DEEP], id="another")}
    found, _, (finding,) = read_new_study(text.encode(), "new.yaml", both)
    assert found is None
    assert message_of(finding) == "several study tables have an outcome called 'pulp-necrosis'"
    assert advice_of(finding) == (f"add `table:` with the one that is meant: {DEEP} or another",)
    assert read(f"table: another\n{text}", both).table is both["another"]


@pytest.mark.parametrize(
    ("text", "kind", "place", "message"),
    [
        (
            f"outcome: pulp-necrosi\nstudy: x\n{COUNTS}",
            "unknown-name",
            (1, 10),
            "there is no outcome called 'pulp-necrosi'",
        ),
        (
            f"table: {DEEP}\noutcome: survival\nstudy: x\n{COUNTS}",
            "unknown-name",
            (2, 10),
            f"there is no outcome of {DEEP} called 'survival'",
        ),
        (
            f"table: deep\noutcome: pain\nstudy: x\n{COUNTS}",
            "unknown-name",
            (1, 8),
            "there is no study table in the folder evidence called 'deep'",
        ),
        (
            f"outcome: pain\nstudy: ash2020\n{COUNTS}",
            "bad-table",
            (2, 8),
            "'ash2020' is in the table already, for this outcome",
        ),
        (
            "outcome: pain\nstudy: x\nevents: [30, 20]\ncomparator: [1, 20]",
            "bad-table",
            (3, 10),
            "30 of 20 had the event",
        ),
        ("outcome: pain\nstudy: x\nmean: [1, 2, 30]\ncomparator: [1, 2, 30]", "bad-table", (3, 1), "means cannot give"),
        ("outcome: secondary-dentine\nstudy: x\n" + COUNTS, "bad-table", (3, 1), "counts cannot give"),
        (
            "outcome: pain\nstudy: x\nestimate: 0.7\nstandard_error: 0.2",
            "bad-table",
            (3, 11),
            "mantel-haenszel weights counts",
        ),
        ("outcome: pain\nstudy: x\nevents: [1, 20]", "bad-table", (1, 1), "the study has `events` and no `comparator`"),
        (f"outcome: pain\n{COUNTS}", "schema", (1, 1), "`study` is missing"),
        (f"outcome: pain\nstudy: x\nfigures: 3\n{COUNTS}", "schema", (3, 1), "'figures' is not a field of a new study"),
        ("- outcome: pain", "schema", (1, 1), ""),
        ("", "", (1, 1), ""),
        ("outcome: [", "unreadable", (1, 11), ""),
        ("outcome: pain\noutcome: pain\n", "unreadable", (2, 1), ""),
        ("outcome: &a [*a]\nstudy: x\n", "unreadable", (1, 1), ""),
        pytest.param("outcome: " + "[" * 5000, "unreadable", (1, 1), "", id="deep"),
        pytest.param(
            f"outcome: pain\nstudy: x\nevents: [{'9' * 5000}, 20]\ncomparator: [1, 2]",
            "bad-table",
            (3, 10),
            "",
            id="long",
        ),
    ],
)
def test_what_is_wrong_is_told_on_its_place(
    tables: dict[str, StudyTable], text: str, kind: str, place: tuple[int, int], message: str
) -> None:
    found, _, findings = read_new_study(text.encode(), "new.yaml", tables)
    assert found is None
    assert findings
    assert {finding.span.file for finding in findings} == {"new.yaml"}
    if message:
        (finding,) = findings
        assert (finding.kind, finding.span.line, finding.span.column) == (kind, *place)
        assert message in message_of(finding)
    elif kind:
        assert findings[0].kind == kind


def test_its_fields_are_those_of_a_study_of_a_table() -> None:
    fields, own = schema("evidence")["$defs"]["study"]["properties"], dict(schema("new_study")["properties"])
    assert {"table", "outcome"} == own.keys() - fields.keys()
    assert {name: own[name] for name in fields if name != "study"} == {n: fields[n] for n in fields if n != "study"}
    for name, part in schema("new_study")["$defs"].items():
        assert part == schema("evidence")["$defs"][name]
