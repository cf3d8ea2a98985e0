"""A text that YAML cut into something that still passes is asked about, and few others are."""

from __future__ import annotations

import shutil
from datetime import date
from pathlib import Path

import pytest

from liningbook.analysis import analyse

DAY = date(2026, 11, 25)
PROTOCOL = Path(__file__).resolve().parents[2] / "protocols" / "pass" / "smallest"


def cuts(folder: Path, field: str, text: str) -> list[str]:
    """What is asked about where a field of `protocol.yaml` stands so."""
    shutil.copytree(PROTOCOL, folder)
    frame = folder / "protocol.yaml"
    rows = [row for row in frame.read_text().splitlines() if not row.startswith(f"{field}:")]
    frame.write_text("\n".join([*rows, f"{field}: {text}"]) + "\n")
    found = analyse(folder, DAY).findings
    assert {finding.kind for finding in found} <= {"cut-text"}, found
    return [str(finding.fact.about().further["text"]) for finding in found]


@pytest.mark.parametrize(
    ("field", "text", "after"),
    [
        ("cautions", "[Check the record for allergies, asthma and drugs.]", "asthma and drugs."),
        ("cautions", "[Not clinical advice., Ask about drugs, latex and so on.]", "latex and so on."),
        ("cautions", "[Ask about every allergy before choosing, Latex]", "Latex"),
        ("cautions", "[Vor der Wahl nach Allergien fragen, auch nach Latex.]", "auch nach Latex."),
        ("cautions", "[\n  Ask about drugs,\n  and about\n  allergies]", "and about allergies"),
        ("stop_questions", "[Does pain linger, or wake the patient?]", "or wake the patient?"),
        ("stop_questions", "[{ask: Is the pulp exposed?}, Does pain linger, or wake her?]", "or wake her?"),
        ("scope", "Invented example #2 of all.", "#2 of all."),
        ("contact", "Extension #12", "#12"),
        ("scope", "Vital teeth in adults #only permanent ones", "#only permanent ones"),
        ("scope", "Vital teeth in adults # 2 of them", "# 2 of them"),
        ("cautions", "\n  - Use no bur of size #2 here.", "#2 here."),
    ],
)  # fmt: skip
def test_a_text_that_may_be_cut_is_asked_about(field: str, text: str, after: str, tmp_path: Path) -> None:
    assert cuts(tmp_path / "home", field, text) == [after]


@pytest.mark.parametrize(
    ("field", "text"),
    [
        ("cautions", "[Not clinical advice., Ask about drugs., Invented.]"),
        ("cautions", "[ask about drugs, check the record]"),
        ("cautions", "[Allergien prüfen, Röntgenbild prüfen]"),
        ("cautions", "[Latex, Eugenol]"),
        ("cautions", "['Ask about drugs', 'and allergies']"),
        ("cautions", "\n  - Ask about drugs\n  - and allergies"),
        ("cautions", "[Ask about all allergies before choosing., \u201eLatex\u201c fragen]"),
        ("stop_questions", "[Any pain that lingers after cold?, Swelling?]"),
        ("scope", "Invented example.   # a comment"),
        ("scope", "Invented example. ## comment"),
        ("scope", "'Invented example' #2"),
        ("scope", "Invented   #example"),
        ("scope", "Invented example#2"),
        ("edition", "2026.1 #2"),
        ("scope", "Invented example.     # 2 drafts before this"),
        ("scope", "|\n  Invented example #2 of all.\n"),
    ],
)
def test_what_is_most_likely_meant_so_is_not(field: str, text: str, tmp_path: Path) -> None:
    assert cuts(tmp_path / "home", field, text) == []


@pytest.mark.parametrize(
    "text", ["[Not clinical: invented.]", "\n  - Not clinical: invented.", "Not clinical: invented."]
)
def test_a_colon_that_cuts_a_text_is_an_error_already(text: str, tmp_path: Path) -> None:
    with pytest.raises(AssertionError, match=r"schema|unreadable"):
        cuts(tmp_path / "home", "cautions", text)
