"""Findings as text for people and as JSON: the place, the marked text, notes, help, and the line of counts."""

# A case stands on one line, so that the tables can be read down.

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

import pytest

from liningbook.analysis import Analysis
from liningbook.exchange.findings import findings_json
from liningbook.finding import About, Fact, Finding, Severity, Span
from liningbook.model.protocol import Acceptance
from liningbook.say.findings import WORDS
from liningbook.say.told import Told
from liningbook.show.terminal.report import findings_text

FILE = "rules/a.md"
TEXT = "---\ntitle: A rule\nwhen: {rdt: {at_most: 0.50 mm}}\n---\n"
PLACE = Span(FILE, 3, 23, 3, 30)


NAMES = About()


@dataclass(frozen=True)
class Said(Fact):
    """A fact that says whatever a test wants said."""

    words: Told
    names: About

    def about(self) -> About:
        return self.names


@pytest.fixture(autouse=True)
def _words(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(WORDS, Said, lambda fact: fact.words)


def finding(
    message: str = "no rule for Liner",
    label: str = "stops at 0.5 mm",
    span: Span = PLACE,
    *,
    kind: str = "gap",
    severity: Severity = Severity.ERROR,
    names: About = NAMES,
    **more: tuple[object, ...],
) -> Finding:
    return Finding(kind, severity, Said(span, Told(message, label, **more), names))


LIMIT = finding()


def accepted(found: Finding) -> Finding:
    """The finding, accepted because it is."""
    return replace(found, accepted=(Acceptance(found.kind, {}, (), "It is.", "", None, PLACE),))


def analysis(*findings: Finding, text: str = TEXT) -> Analysis:
    return Analysis(date(2026, 11, 25), findings, {FILE: text}, "A protocol", "2026.1")


def report(found: Finding, text: str = TEXT) -> str:
    """The text of one finding, without the line of counts."""
    return findings_text(analysis(found, text=text)).split("\n\n")[0]


def test_a_finding_shows_its_place_with_the_authors_own_digits() -> None:
    assert report(LIMIT) == (
        "error: no rule for Liner (gap)\n"
        "  rules/a.md:3:23\n"
        "    3 | when: {rdt: {at_most: 0.50 mm}}\n"
        "      |                       ^^^^^^^ stops at 0.5 mm"
    )


def test_related_places_notes_and_help_follow_in_this_order() -> None:
    found = finding(
        label="",
        severity=Severity.WARNING,
        related=((Span(FILE, 2, 1, 2, 6), "named here"),),
        notes=("for example 1 mm",),
        help=("do this", "or that"),
    )
    assert report(found) == (
        "warning: no rule for Liner (gap)\n"
        "  rules/a.md:3:23\n"
        "    3 | when: {rdt: {at_most: 0.50 mm}}\n"
        "      |                       ^^^^^^^\n"
        "  rules/a.md:2:1\n"
        "    2 | title: A rule\n"
        "      | ----- named here\n"
        "  note: for example 1 mm\n"
        "  help: do this\n"
        "  help: or that"
    )


@pytest.mark.parametrize(
    ("span", "text", "marks"),
    [
        (Span(FILE, 1, 1, 1, 4), "abcdef", "^^^"),
        (Span(FILE, 1, 3, 1, 3), "abcdef", "  ^"),
        (Span(FILE, 1, 3, 9, 2), "abcdef", "  ^^^^"),
        (Span(FILE, 1, 3, 1, 99), "abcdef", "  ^^^^"),
        (Span(FILE, 1, 7, 1, 8), "abcdef", "      ^"),
        (Span(FILE, 1, 2, 1, 4), "\tab", " ^^"),
        (Span(FILE, 1, 3, 1, 5), "≤µab", "  ^^"),
    ],
)
def test_the_marks_stand_under_the_text(span: Span, text: str, marks: str) -> None:
    assert report(finding(span=span, label=""), text=text).split("\n")[3] == f"      | {marks}"


@pytest.mark.parametrize("span", [Span(FILE, 9, 1, 9, 2), Span("materials.yaml", 1, 1, 1, 2), Span(FILE, 2, 1, 2, 2)])
def test_a_place_without_a_text_is_named_alone(span: Span) -> None:
    shown = report(finding(span=span), text="a\n\nb")
    assert shown == f"error: no rule for Liner (gap)\n  {span.file}:{span.line}:1"


@pytest.mark.parametrize("column", [1, 50, 300, 395])
def test_a_long_line_is_cut_around_the_place(column: int) -> None:
    text = "".join(chr(97 + n % 26) for n in range(400))
    lines = report(finding(span=Span(FILE, 1, column, 1, column + 5), label=""), text=text).split("\n")
    shown, marks = lines[2].partition("| ")[2], lines[3].partition("| ")[2]
    assert len(shown) <= 112
    assert "…" in shown
    assert shown[marks.index("^") : len(marks)] == text[column - 1 : column + 4]


def test_the_counts_stand_last_and_leave_out_what_is_accepted() -> None:
    warning = replace(LIMIT, kind="unreachable", severity=Severity.WARNING)
    findings = (LIMIT, LIMIT, warning, accepted(warning), replace(warning, severity=Severity.NOTE))
    text = findings_text(analysis(*findings))
    assert text.endswith(
        "\n\nA protocol, edition 2026.1: 2 errors, 1 warning, 1 note (1 accepted by the practice)\n"
        "The sources must be put right first; overlaps, conflicts and gaps were not looked for.\n"
    )
    assert "accepted: It is." not in text
    assert "(unreachable, accepted)" in findings_text(analysis(*findings), say_accepted=True)


def test_a_protocol_without_a_title_is_this_protocol() -> None:
    assert findings_text(replace(analysis(), title="")).startswith("this protocol: nothing found\n")


def test_json_has_the_keys_of_the_contract_and_those_of_the_kind() -> None:
    found = finding(names=About("liner", ("a", "b"), {"agent": "lime"}, case={"rdt": "0.5 mm"}))
    printed = findings_json(analysis(found))
    assert printed == {
        "protocol": "A protocol",
        "edition": "2026.1",
        "on": "2026-11-25",
        "counts": {"error": 1, "warning": 0, "note": 0, "accepted": 0},
        "placing_order": [],
        "findings": [
            {
                "kind": "gap",
                "severity": "error",
                "decision": "liner",
                "rules": ["a", "b"],
                "file": FILE,
                "line": 3,
                "column": 23,
                "cases": [],
                "witness": {"rdt": "0.5 mm"},
                "message": "no rule for Liner",
                "agent": "lime",
            }
        ],
    }


def test_an_accepted_finding_says_so_in_json_and_does_not_count() -> None:
    printed = findings_json(analysis(accepted(replace(LIMIT, severity=Severity.WARNING))))
    assert printed["findings"][0]["accepted"] is True
    assert printed["counts"] == {"error": 0, "warning": 0, "note": 0, "accepted": 1}


def test_findings_of_one_group_read_as_one_report() -> None:
    first = replace(LIMIT, group="1")
    other = replace(finding("two rules disagree on Base", kind="conflict"), group="1")
    text = findings_text(analysis(first, other))
    assert (
        "\n  with it, most likely from the same cause: 1 finding\n    error: two rules disagree on Base (conflict)"
        in text
    )
    assert text.count("\n\n") == 1
    assert [found["group"] for found in findings_json(analysis(first, other))["findings"]] == ["1", "1"]
