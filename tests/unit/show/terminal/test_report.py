"""Findings as text for people and as JSON: the place, the words set off, facts, ways out, and the sum."""

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
from liningbook.show.terminal.lines import USUAL, wide
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


def report(found: Finding, text: str = TEXT, width: int = USUAL) -> str:
    """The text of one finding, without what stands above it and the sum."""
    return "\n".join(findings_text(analysis(found, text=text), width=width).split("\n\n")[2:-1])


def test_a_finding_is_a_numbered_sentence_with_its_place_and_the_authors_own_digits() -> None:
    assert findings_text(analysis(LIMIT)) == (
        "A protocol, edition 2026.1\n\n"
        "MUST BE SETTLED\n\n"
        " 1  No rule for Liner. (gap)\n"
        "    rules/a.md, line 3 – stops at 0.5 mm\n"
        "        when: {rdt: {at_most: «0.50 mm»}}\n\n"
        "1 must be settled. Until then nothing is printed, nor are overlaps, conflicts\n"
        "and gaps looked for.\n"
    )


def test_further_places_facts_and_ways_out_follow_in_this_order() -> None:
    found = finding(
        label="",
        severity=Severity.WARNING,
        related=((Span(FILE, 2, 1, 2, 6), "named here"),),
        notes=("it is so", "cases: one", "   or: another"),
        help=("do this", "or that", "or, if it is late, nothing"),
    )
    assert report(found) == (
        " 1  No rule for Liner. (gap)\n"
        "    rules/a.md, line 3\n"
        "        when: {rdt: {at_most: «0.50 mm»}}\n"
        "    rules/a.md, line 2 – named here\n"
        "        «title»: A rule\n"
        "    It is so.\n"
        "    Cases: one\n"
        "       or: another\n"
        "    Either do this\n"
        "        or that\n"
        "       or, if it is late, nothing."
    )


@pytest.mark.parametrize(
    ("message", "said"),
    [
        ("two rules disagree", "Two rules disagree. (gap)"),
        ("protocol.yaml must be fields", "protocol.yaml must be fields. (gap)"),
        ("pH is a quantity", "pH is a quantity. (gap)"),
        ("'rdt' is given twice", "'rdt' is given twice. (gap)"),
        ("µm is a unit", "µm is a unit. (gap)"),
        ("is it so?", "Is it so? (gap)"),
    ],
)
def test_a_sentence_begins_with_a_capital_but_no_name_is_written_otherwise(message: str, said: str) -> None:
    assert report(finding(message)).split("\n")[0] == f" 1  {said}"


@pytest.mark.parametrize(
    ("ways", "said"),
    [
        (("do this",), ["Do this."]),
        (("or do this",), ["Do this."]),
        (("do this", "did you mean that?"), ["Do this.", "Did you mean that?"]),
        (("did you mean that?", "do this", "or that"), ["Did you mean that?", "Either do this", "    or that."]),
        (("write it:\n{a:\n b}",), ["Write it:", "    {a:", "     b}"]),
    ],
)
def test_a_choice_is_said_as_either_or_and_nothing_else_is(ways: tuple[str, ...], said: list[str]) -> None:
    lines = report(finding(label="", help=ways)).split("\n")[3:]
    assert lines == [f"    {line}" for line in said]


def test_what_must_be_settled_comes_first_then_what_is_to_be_looked_at_then_what_to_know() -> None:
    order = (Severity.NOTE, Severity.ERROR, Severity.WARNING, Severity.ERROR)
    lines = findings_text(analysis(*(finding(severity=severity) for severity in order))).split("\n")
    heads = [line for line in lines if line.isupper() or line[1:2].isdigit()]
    assert [line.split("  ")[0].strip() for line in heads] == [
        "MUST BE SETTLED", "1", "2", "LOOK AT", "3", "TO KNOW", "4",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("span", "text", "shown"),
    [
        (Span(FILE, 1, 1, 1, 4), "abcdef", "«abc»def"),
        (Span(FILE, 1, 3, 1, 3), "abcdef", "ab«c»def"),
        (Span(FILE, 1, 3, 9, 2), "abcdef", "ab«cdef»"),
        (Span(FILE, 1, 3, 1, 99), "abcdef", "ab«cdef»"),
        (Span(FILE, 1, 7, 1, 8), "abcdef", "abcdef« »"),
        (Span(FILE, 1, 2, 1, 4), "\tab", "«ab»"),
        (Span(FILE, 1, 3, 1, 5), "≤µab", "≤µ«ab»"),
        (Span(FILE, 1, 3, 1, 5), "  ab: c", "«ab»: c"),
        (Span(FILE, 1, 3, 1, 5), "« ab: »", "« ««ab»»: »"),
        (Span(FILE, 1, 1, 1, 3), "\u202eab", "«<U+202E>a»b"),
    ],
)
def test_the_wrong_words_are_set_off(span: Span, text: str, shown: str) -> None:
    assert report(finding(span=span, label=""), text=text).split("\n")[2] == f"        {shown}"


def test_a_place_that_is_a_whole_file_begins_with_its_first_word() -> None:
    whole = finding(span=Span("protocol.yaml", 1, 1, 1, 2), label="")
    text = findings_text(replace(analysis(whole), texts={"protocol.yaml": "title: Example"}))
    assert "        «title»: Example" in text.split("\n")


@pytest.mark.parametrize(
    ("span", "said"),
    [
        (Span(FILE, 9, 1, 9, 2), "rules/a.md, line 9"),
        (Span(FILE, 2, 1, 2, 2), "rules/a.md, line 2"),
        (Span("materials.yaml", 1, 1, 1, 2), "materials.yaml"),
    ],
)
def test_a_place_without_a_text_is_named_alone(span: Span, said: str) -> None:
    assert report(finding(span=span), text="a\n\nb") == f" 1  No rule for Liner. (gap)\n    {said}"


@pytest.mark.parametrize("column", [1, 50, 300, 395])
def test_a_long_line_is_cut_around_the_place(column: int) -> None:
    text = "".join(chr(97 + n % 26) for n in range(400))
    lines = report(finding(span=Span(FILE, 1, column, 1, column + 5), label=""), text=text).split("\n")
    shown = "".join(line.strip() for line in lines[2:])
    assert len(shown) <= 114
    assert "…" in shown
    assert f"«{text[column - 1 : column + 4]}»" in shown


@pytest.mark.parametrize("width", [30, 40, 60, 80, 100])
def test_no_line_is_wider_than_the_terminal(width: int) -> None:
    found = finding(
        "no rule for Liner where Remaining dentine thickness is exactly 0.5 mm, 漢字漢字漢字漢字漢字漢字漢字漢字漢字",
        "this decision is needed there",
        help=("write `at_most: 0.5 mm`", "or write a rule for these cases, one that holds for all of them"),
    )
    lines = findings_text(analysis(found), width=width).split("\n")
    assert max(map(wide, lines)) <= width
    assert " ".join(" ".join(lines).split()).count("no rule".capitalize()) == 1


def test_the_sum_stands_last_and_leaves_out_what_is_accepted() -> None:
    warning = replace(LIMIT, kind="unreachable", severity=Severity.WARNING)
    findings = (LIMIT, LIMIT, warning, accepted(warning), replace(warning, severity=Severity.NOTE))
    text = findings_text(analysis(*findings), width=100)
    assert text.endswith(
        "\n\n2 must be settled, 1 to look at, 1 to know (1 accepted by the practice). Until then nothing is\n"
        "printed, nor are overlaps, conflicts and gaps looked for.\n"
    )
    assert "accepted: It is." not in text
    listed = findings_text(analysis(*findings), say_accepted=True)
    assert "(unreachable, accepted)" in listed
    assert "Accepted: It is." in listed


def test_a_protocol_without_a_title_is_this_protocol() -> None:
    assert findings_text(replace(analysis(), title="")) == "This protocol: nothing found\n"


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
    note = replace(finding("from that day on", kind="coming", severity=Severity.NOTE), group="1")
    alone = replace(LIMIT, severity=Severity.WARNING)
    text = findings_text(analysis(note, alone, other, first))
    assert [line[:3].strip() for line in text.split("\n") if line[1:2].isdigit()] == ["1", "2", "3", "4"]
    before, _, after = text.partition("    Most likely from the same cause:\n\n")
    assert " 1  To know: From that day on. (coming)" in before
    assert " 2  Two rules disagree on Base. (conflict)" in after
    assert after.index(" 3  No rule") < after.index("LOOK AT") < after.index(" 4  No rule")
    assert [found["group"] for found in findings_json(analysis(first, other))["findings"]] == ["1", "1"]
