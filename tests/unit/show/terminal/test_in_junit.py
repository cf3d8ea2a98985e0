"""A finding within the report of a test runner: the place, the marked text, notes and help."""

from __future__ import annotations

from dataclasses import dataclass

import pytest

from liningbook.finding import Fact, Finding, Severity, Span
from liningbook.say.findings import WORDS
from liningbook.say.told import Told
from liningbook.show.terminal.in_junit import finding_in_junit

FILE = "rules/a.md"
TEXT = "---\ntitle: A rule\nwhen: {rdt: {at_most: 0.50 mm}}\n---\n"
PLACE = Span(FILE, 3, 23, 3, 30)


@dataclass(frozen=True)
class Said(Fact):
    """A fact that says whatever a test wants said."""

    words: Told


@pytest.fixture(autouse=True)
def _words(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(WORDS, Said, lambda fact: fact.words)


def finding(
    label: str = "stops at 0.5 mm", span: Span = PLACE, severity: Severity = Severity.ERROR, **more: tuple[object, ...]
) -> Finding:
    return Finding("gap", severity, Said(span, Told("no rule for Liner", label, **more)))


LIMIT = finding()


def report(found: Finding, text: str = TEXT) -> str:
    return finding_in_junit(found, {FILE: text})


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
