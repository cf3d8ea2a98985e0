"""What is odd about the reference list and the identifiers in a protocol."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from liningbook.analysis import Analysis, analyse
from liningbook.finding import Finding
from liningbook.say.findings import told
from liningbook.say.references import reference_url

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
