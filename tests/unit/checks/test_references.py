"""What is odd about the reference list and the identifiers in a protocol."""

from __future__ import annotations

import json
import shutil
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from liningbook.analysis import Analysis, analyse
from liningbook.cli import main
from liningbook.exchange.bundle import bundle_of
from liningbook.finding import Finding
from liningbook.say.findings import told
from liningbook.say.references import reference_url
from liningbook.show.markup.markdown import to_html
from liningbook.show.paper.paper_html import protocol_html
from liningbook.show.viewer import Viewer
from liningbook.show.web.page_html import page_html
from liningbook.show.web.page_words import page_words

PROTOCOL = """title: Example
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
decisions:
  liner: {label: Liner, layer: liner}
"""


def read(folder: Path, entries: list[dict[str, Any]], more: str = "", cites: str = "") -> Analysis:
    """A protocol with one rule that cites all entries, or those named."""
    (folder / "rules").mkdir()
    (folder / "protocol.yaml").write_text(PROTOCOL + more, encoding="utf-8")
    materials = "agents:\n  calcium-hydroxide: {label: Calcium hydroxide, class: liner}\n"
    (folder / "materials.yaml").write_text(materials, encoding="utf-8")
    (folder / "references.json").write_text(json.dumps(entries, indent=1), encoding="utf-8")
    cited = cites or ", ".join(entry["id"] for entry in entries)
    rule = f"---\ntitle: No liner\nadvise: {{liner: none}}\nevidence: {{basis: instructions, cites: [{cited}]}}\n---\n"
    (folder / "rules" / "no-liner.md").write_text(rule, encoding="utf-8")
    return analyse(folder, date(2026, 11, 25))


def of(kind: str, analysis: Analysis) -> list[Finding]:
    return [finding for finding in analysis.findings if finding.kind == kind]


def test_an_identifier_that_cannot_be_right_no_longer_stops_the_reading(tmp_path: Path) -> None:
    analysis = read(tmp_path, [{"id": "a", "title": "A", "DOI": "11.5/x", "ISSN": "0895-4357"}])
    assert analysis.meaning is not None
    assert [finding.severity for finding in of("bad-identifier", analysis)] == ["warning"] * 2
    messages = [told(finding).message for finding in of("bad-identifier", analysis)]
    assert messages == [
        "'11.5/x', given as the DOI of 'a', is none",
        "the ISSN '0895-4357' of 'a' cannot be right: its check digit does not match",
    ]


def test_no_link_is_made_of_what_is_no_doi() -> None:
    assert reference_url({"DOI": "11.5/x"}) == ""
    assert reference_url({"DOI": "11.5/x", "URL": "https://example.org/a"}) == "https://example.org/a"
    assert reference_url({"DOI": "10.5555/x"}) == "https://doi.org/10.5555/x"


@pytest.mark.parametrize(("narrowed", "left"), [("", []), (", reference: a", ["b"]), (", reference: c", ["a", "b"])])
def test_it_can_be_accepted_for_one_reference(narrowed: str, left: list[str], tmp_path: Path) -> None:
    entries = [{"id": name, "title": name, "PMID": "0"} for name in "ab"]
    more = f"accepted: [{{kind: bad-identifier, because: As printed{narrowed}}}]\n"
    found = of("bad-identifier", read(tmp_path, entries, more))
    assert [finding.fact.about().further["reference"] for finding in found if not finding.accepted] == left


def test_one_finding_tells_of_each_second_entry(tmp_path: Path) -> None:
    entries = [{"id": name, "title": "T", "DOI": "10.5555/x", "PMID": "5"} for name in "abc"]
    found = of("same-work-twice", read(tmp_path, entries))
    assert [finding.fact.about().further for finding in found] == [
        {"reference": "b", "first": "a", "by": "DOI"},
        {"reference": "c", "first": "a", "by": "DOI"},
    ]


# --- retracted --------------------------------------------------------------------------------------------------------

GONE = {"retracted": {"on": "2024-05-01", "because": "The <i>figures</i> were made up"}}


def about(finding: Finding) -> tuple[str, tuple[str, ...], dict[str, Any]]:
    return finding.severity.value, finding.fact.about().rules, dict(finding.fact.about().further)


def test_what_rests_on_a_retracted_work_is_one_finding_a_work(tmp_path: Path) -> None:
    entries = [{"id": "a", "title": "A", **GONE}, {"id": "b", "title": "Retracted: B"}, {"id": "c", "title": "C"}]
    found = of("retracted-reference", read(tmp_path, entries))
    assert [about(finding) for finding in found] == [
        ("error", ("no-liner",), {"reference": "a"}),
        ("warning", ("no-liner",), {"reference": "b"}),
    ]
    assert told(found[0]).notes == ("Retracted 2024 May 1: The <i>figures</i> were made up.",)


def test_a_retraction_of_a_coming_day_counts_from_then_on(tmp_path: Path) -> None:
    analysis = read(tmp_path, [{"id": "a", "title": "A", "retracted": {"on": "2026-11-26"}}])
    assert of("retracted-reference", analysis) == []
    assert len(of("retracted-reference", analyse(tmp_path, date(2026, 11, 26)))) == 1


def test_a_retracted_work_on_which_nothing_rests_is_only_unused(tmp_path: Path) -> None:
    analysis = read(tmp_path, [{"id": "a", "title": "A", **GONE}, {"id": "b", "title": "B"}], cites="b")
    assert of("retracted-reference", analysis) == []
    assert len(of("unused-reference", analysis)) == 1


def test_a_title_that_asks_can_be_answered_and_an_error_cannot_be_accepted(tmp_path: Path) -> None:
    accepted = "accepted: [{kind: retracted-reference, because: A trial of retraction cord}]\n"
    entries = [{"id": "a", "title": "Retraction of the gingiva"}, {"id": "b", "title": "B", **GONE}]
    found = of("retracted-reference", read(tmp_path, entries, accepted))
    assert {finding.fact.about().further["reference"]: bool(finding.accepted) for finding in found} == {
        "a": True,
        "b": False,
    }


def with_tables(repository: Path, folder: Path, *gone: str) -> Path:
    shutil.copytree(repository / "tests" / "protocols" / "pass" / "two-study-tables", folder)
    file = folder / "references.bib"
    text = file.read_text("utf-8")
    for key in gone:
        assert f"{{{key}," in text
        text = text.replace(f"{{{key},", f"{{{key},\n  retracted = {{2026}},")
    file.write_text(text, "utf-8")
    return folder


def test_a_rule_rests_on_the_studies_of_its_tables(repository: Path, tmp_path: Path) -> None:
    folder = with_tables(repository, tmp_path / "protocol", "bell2021")
    (finding,) = of("retracted-reference", analyse(folder, date(2026, 11, 25)))
    further = {"reference": "bell2021", "tables": ["liner-in-deep-cavities"]}
    assert about(finding) == ("error", ("line-a-deep-cavity",), further)
    assert {span.file for span, _ in told(finding).related} == {
        "evidence/liner-in-deep-cavities.yaml",
        "rules/line-a-deep-cavity.md",
    }


def test_a_table_to_which_no_rule_points_counts_as_well(repository: Path, tmp_path: Path) -> None:
    folder = with_tables(repository, tmp_path / "protocol", "bell2021")
    table = folder / "evidence" / "liner-in-deep-cavities.yaml"
    table.rename(table.with_name("another.yaml"))
    rule = folder / "rules" / "line-a-deep-cavity.md"
    text = rule.read_text("utf-8").replace("tables: [liner-in-deep-cavities]", "tables: [no-liner-in-shallow-cavities]")
    rule.write_text(text, "utf-8")
    (finding,) = of("retracted-reference", analyse(folder, date(2026, 11, 25)))
    assert about(finding) == ("error", (), {"reference": "bell2021", "tables": ["another"]})


def test_a_rule_that_is_over_rests_on_nothing_and_one_to_come_does(tmp_path: Path) -> None:
    read(tmp_path, [{"id": "a", "title": "A", **GONE}])
    rule = tmp_path / "rules" / "no-liner.md"
    text = rule.read_text("utf-8")
    found = []
    for days in ("until: 2026-11-24", "until: 2026-11-25", "from: 2026-12-24"):
        rule.write_text(text.replace("advise:", f"valid: {{{days}}}\nadvise:"), "utf-8")
        found.append(len(of("retracted-reference", analyse(tmp_path, date(2026, 11, 25)))))
    assert found == [0, 1, 1]


def test_a_list_marks_works_without_a_change_of_the_sources(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / "protocol"
    folder.mkdir()
    before = read(folder, [{"id": "a", "title": "A", "DOI": "10.5555/a"}])
    listed = tmp_path / "list.csv"
    listed.write_text("Title,DOI\nA,https://doi.org/10.5555/A\nB,none\nC,\n", encoding="utf-8")
    call = ["check", str(folder), "--on", "2026-11-25", "--format", "json", "--retracted", str(listed)]
    assert main(call) == 1
    printed = capsys.readouterr()
    (finding,) = [one for one in json.loads(printed.out)["findings"] if one["kind"] == "retracted-reference"]
    assert (finding["severity"], finding["rules"], finding["reference"]) == ("error", ["no-liner"], "a")
    assert printed.err == f"liningbook: {listed}, row 3: 'none' is no DOI, and is passed over\n"
    assert bundle_of(before)["digest"] == bundle_of(analyse(folder, date(2026, 11, 25)))["digest"]


@pytest.mark.parametrize("content", ["", "Title,Works\nA,10.5555/a\n", None])
def test_a_list_that_cannot_be_used_stops_the_check(
    content: str | None, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    read(tmp_path, [{"id": "a", "title": "A", "DOI": "10.5555/a"}])
    listed = tmp_path / "list.csv"
    if content is not None:
        listed.write_text(content, encoding="utf-8")
    assert main(["check", str(tmp_path), "--retracted", str(listed)]) == 2
    assert str(listed) in capsys.readouterr().err


def test_the_reference_list_prints_a_retracted_work_as_such(tmp_path: Path) -> None:
    viewer = Viewer(read(tmp_path, [{"id": "a", "title": "A & B", **GONE}]), "0" * 64, to_html)
    view = viewer.protocol_view()
    said = "Retracted 2024 May 1: The &lt;i&gt;figures&lt;/i&gt; were made up."
    for html in (protocol_html(view), page_html(view, "{}")):
        assert f'<b class="retracted">{said}</b> A &amp; B.' in html
    assert page_words(viewer)["references"]["1"].endswith("(retracted)")


def test_a_retracted_study_is_named_so_in_its_tables(
    repository: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = with_tables(repository, tmp_path / "protocol")
    listed = tmp_path / "list.csv"
    listed.write_text("10.5555/ASH2020\n", encoding="utf-8")
    call = ["evidence", str(folder), "--on", "2026-11-25", "--retracted", str(listed)]
    assert main(call) == 0
    text = capsys.readouterr().out
    assert "Ash 2020 (retracted)" in text
    assert "Bell 2021 (retracted)" not in text
    assert main([*call, "--format", "json"]) == 0
    assert json.loads(capsys.readouterr().out)["retracted"] == ["ash2020"]
    marked = analyse(with_tables(repository, tmp_path / "marked", "ash2020"), date(2026, 11, 25))
    assert "Ash 2020 (retracted)" in page_html(Viewer(marked, "0" * 64, to_html).protocol_view(), "{}")


def test_references_that_no_list_can_name_are_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = tmp_path / "protocol"
    folder.mkdir()
    read(folder, [{"id": "a", "title": "A", "DOI": "10.5555/a"}, {"id": "b", "title": "B"}, {"id": "c", "title": "C"}])
    listed = tmp_path / "list.csv"
    listed.write_text("10.5555/other\n", encoding="utf-8")
    assert main(["check", str(folder), "--on", "2026-11-25", "--retracted", str(listed)]) == 0
    said = "2 references have no DOI, so list.csv cannot say whether they were retracted: b, c"
    assert capsys.readouterr().err == f"liningbook: {said}\n"


def test_studies_of_tables_are_numbered_after_what_rules_and_materials_cite(repository: Path, tmp_path: Path) -> None:
    folder = with_tables(repository, tmp_path / "protocol")
    materials = folder / "materials.yaml"
    barrier = "irritants: {heat: {label: Heat}}\nbarriers: [{irritants: [heat], because: It is., cites: [quill2017]}]\n"
    materials.write_text(materials.read_text("utf-8") + barrier, "utf-8")
    numbers = Viewer(analyse(folder, date(2026, 11, 25)), "0" * 64, to_html).rules.reference_numbers
    assert list(numbers) == ["dunn2022", "quill2017", "marlow2019", "ash2020", "bell2021"]
