"""What a reader is told where a study table is another one now, in text and in JSON; a bundle knows of no table."""

# An edit stands on one line, so that the table can be read down.
# ruff: noqa: E501

from __future__ import annotations

import shutil
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from liningbook.analysis import analyse
from liningbook.compare.comparison import compare
from liningbook.exchange.bundle import bundle_bytes, bundle_of
from liningbook.exchange.changes_json import changes_json
from liningbook.exchange.from_bundle import read_bundle
from liningbook.exchange.versions import compare_versions, read_version
from liningbook.model.protocol import Protocol
from liningbook.say.changes.notes import note_words

DAY = date(2026, 11, 25)
SAMPLE = Path(__file__).resolve().parents[2] / "protocols" / "pass" / "two-study-tables"
DEEP = "evidence/liner-in-deep-cavities.yaml"
SHALLOW = "evidence/no-liner-in-shallow-cavities.yaml"
HEAD = "study table liner-in-deep-cavities"
OUTCOME = f"{HEAD}, pulp-necrosis"


def read(folder: Path) -> Protocol:
    protocol = analyse(folder, DAY).protocol
    assert protocol is not None
    return protocol


def edited(folder: Path, file: str, old: str, text: str) -> Path:
    shutil.copytree(SAMPLE, folder)
    whole = (folder / file).read_text("utf-8")
    assert old in whole
    (folder / file).write_text(whole.replace(old, text, 1), "utf-8")
    return folder


@pytest.mark.parametrize(
    ("file", "old", "text", "line"),
    [
        (DEEP, "comparator: No liner", "comparator: A sealer", f"{HEAD}: comparator: No liner → A sealer"),
        (
            DEEP,
            "until: 2026-05-01",
            "until: 2026-06-01",
            f"{HEAD}: search: PubMed; a library of invented works; 2026-05-01; Everything here is invented."
            " → PubMed; a library of invented works; 2026-06-01; Everything here is invented.",
        ),
        (DEEP, "importance: 8", "importance: 9", f"{OUTCOME}: importance: 8 → 9"),
        (DEEP, '"0.12"', '"0.10"', f"{OUTCOME}: risk with the comparator: 0.12 → 0.1"),
        (DEEP, "tau2: reml", "tau2: paule-mandel", f"{OUTCOME}: tau²: reml → paule-mandel"),
        (DEEP, "[5, 156]", "[6, 156]", f"{OUTCOME}, marlow2019: figures: [5, 156] / [8, 74] → [6, 156] / [8, 74]"),
        (
            DEEP,
            'low: "0.5"',
            'low: "0.55"',
            f"{OUTCOME}, bell2021: figures: estimate: 0.71, low: 0.5, high: 1.01"
            " → estimate: 0.71, low: 0.55, high: 1.01",
        ),
        (
            DEEP,
            "      - {study: quill2017, events: [0, 40], comparator: [3, 41]}\n",
            "",
            f"{OUTCOME}: studies: no longer quill2017",
        ),
        (
            DEEP,
            "{study: quill2017, events: [0, 40], comparator: [3, 41]}",
            "{study: quill2017, events: [0, 40], comparator: [3, 41], setting: animals}",
            f"{OUTCOME}, quill2017: setting: patients → animals",
        ),
        (
            DEEP,
            "because: Nobody was blinded.",
            "because: One was blinded.",
            f"{OUTCOME}: lowered: risk-of-bias 1: Nobody was blinded. → risk-of-bias 1: One was blinded.",
        ),
        (DEEP, "certainty: low", "certainty: very-low\n    because: Few events.", f"{OUTCOME}: certainty: low → very-low (weaker)"),
        (DEEP, "  pain:\n", "  ache:\n", f"{HEAD}: outcomes: pain → ache"),
        (SHALLOW, ", year: 2021}", "}", "study table no-liner-in-shallow-cavities, secondary-dentine, dunn2022: year: 2021 → 2022"),
        (
            SHALLOW,
            '["1.2", "0.4", 30]',
            "[1.3, 0.4, 30]",
            "study table no-liner-in-shallow-cavities, secondary-dentine, ash2020: figures:"
            " [1.2, 0.4, 30] / [1, 0.5, 28] → [1.3, 0.4, 30] / [1, 0.5, 28]",
        ),
    ],
)  # fmt: skip
def test_each_edit_of_a_table_is_told_and_no_case_changes(
    file: str, old: str, text: str, line: str, tmp_path: Path
) -> None:
    comparison = compare(read(SAMPLE), read(edited(tmp_path / "new", file, old, text)), DAY)
    notes = [note for note in comparison.notes if note.what == "other_changes"]
    assert line in [note_words(note) for note in notes]
    assert comparison.no_case_changed
    assert comparison.largest_step == "grounds"
    told = changes_json(comparison, "old", "new", DAY)["other_changes"]
    assert all(note["kind"] == "tables" and note["name"] for note in told)


def test_a_table_that_goes_or_comes_is_told(tmp_path: Path) -> None:
    folder = edited(tmp_path / "new", "rules/no-liner.md", "  tables: [no-liner-in-shallow-cavities]\n", "")
    (folder / SHALLOW).unlink()
    comparison = compare(read(SAMPLE), read(folder), DAY)
    lines = [note_words(note) for note in comparison.notes]
    assert "study table no-liner-in-shallow-cavities: taken out" in lines
    assert "rule no-liner: study tables: no longer no-liner-in-shallow-cavities" in lines
    back = compare(read(folder), read(SAMPLE), DAY)
    assert "study table no-liner-in-shallow-cavities: added" in [note_words(note) for note in back.notes]


@pytest.mark.parametrize(
    ("old", "text"),
    [
        ('"0.12"', "0.120"),  # another way of writing one number
        ("    model: random\n    tau2: reml\n", ""),  # the usual, left out
        ("      - {study: marlow2019, events: [5, 156], comparator: [8, 74]}\n", ""),  # and written below
    ],
)
def test_the_same_table_written_otherwise_is_no_difference(old: str, text: str, tmp_path: Path) -> None:
    folder = edited(tmp_path / "new", DEEP, old, text)
    if "marlow" in old:
        whole = (folder / DEEP).read_text("utf-8")
        (folder / DEEP).write_text(whole.replace("  pain:", f"{old}  pain:", 1), "utf-8")
    assert compare(read(SAMPLE), read(folder), DAY).notes == ()


def of_sample() -> dict[str, Any]:
    return bundle_of(analyse(SAMPLE, DAY))


def test_a_bundle_names_the_tables_of_its_rules_and_holds_none() -> None:
    bundle = of_sample()
    evidence = {rule["id"]: rule["evidence"] for rule in bundle["rules"]}
    assert evidence["line-a-deep-cavity"]["tables"] == ["liner-in-deep-cavities"]
    assert read_bundle(bundle_bytes(bundle), "bundle.json")["digest"] == bundle["digest"]
    assert "pulp-necrosis" not in bundle_bytes(bundle).decode()


def test_a_bundle_of_such_rules_is_read_and_is_the_same_protocol(tmp_path: Path) -> None:
    path = tmp_path / "bundle.json"
    path.write_bytes(bundle_bytes(of_sample()))
    old, new = (read_version(str(where), DAY) for where in (path, SAMPLE))
    comparison = compare_versions(old, new, DAY)
    assert comparison.no_case_changed
    assert comparison.notes == ()
