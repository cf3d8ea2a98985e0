"""An approval written into `protocol.yaml`: as little as can be changes, and it reads back."""

from __future__ import annotations

import difflib
from datetime import date

import pytest

from liningbook.model.approval.entry import NewApproval, with_entry
from liningbook.sources.node import get
from liningbook.sources.yaml_nodes import read_yaml

OLD, NEW = "0" * 64, "f" * 64
ENTRY = NewApproval("B. Reed", "clinical lead", date(2026, 8, 20), NEW)
LINE = f"{{name: B. Reed, role: clinical lead, on: 2026-08-20, digest: {NEW}}}"
HEAD = "title: A  # the title\nauthors:\n  - {name: A. Marsh, role: dentist, interests: none}  # who wrote it\n"
TAIL = "\n# What it is about.\nscope: Invented.\n"


def changed(before: str, after: str | None) -> tuple[list[str], list[str]]:
    """The lines that went, and those that came."""
    assert after is not None
    lines = list(difflib.ndiff(before.splitlines(keepends=True), after.splitlines(keepends=True)))
    return [line[2:] for line in lines if line[0] == "-"], [line[2:] for line in lines if line[0] == "+"]


@pytest.mark.parametrize(
    ("approved", "gone", "come"),
    [
        ("", [], ["approved:\n", f"  - {LINE}\n"]),
        ("approved: []  # none yet\n", ["approved: []  # none yet\n"], [f"approved: [{LINE}]  # none yet\n"]),
        ("approved: [\n  # none yet\n]\n", ["approved: [\n"], [f"approved: [{LINE}\n"]),
        (
            "approved: [{name: C. Doyle, on: 2026-08-19}]\n",
            ["approved: [{name: C. Doyle, on: 2026-08-19}]\n"],
            [f"approved: [{{name: C. Doyle, on: 2026-08-19}}, {LINE}]\n"],
        ),
        ("approved: [\n  {name: C. Doyle, on: 2026-08-19},  # first\n]\n",
         ["  {name: C. Doyle, on: 2026-08-19},  # first\n"],
         [f"  {{name: C. Doyle, on: 2026-08-19}}, {LINE},  # first\n"]),
        ("approved:\n  - {name: C. Doyle, on: 2026-08-19}  # first\n", [], [f"  - {LINE}\n"]),
        ("approved:\n- name: C. Doyle\n  on: 2026-08-19  # first\n", [], [f"- {LINE}\n"]),
        ("approved:\n- on: 2026-08-19\n  name: >\n    C. Doyle\n", [], [f"- {LINE}\n"]),
        (
            "approved: [{on: 2026-08-01, name: 'B. Reed', role: clinical lead}]\n",
            ["approved: [{on: 2026-08-01, name: 'B. Reed', role: clinical lead}]\n"],
            [f"approved: [{{on: 2026-08-20, digest: {NEW}, name: 'B. Reed', role: clinical lead}}]\n"],
        ),
        (
            "approved:\n  - name: B. Reed\n    role: clinical lead  # she\n    on: 2026-08-01  # late\n"
            f"    digest: {OLD}\n",
            ["    on: 2026-08-01  # late\n", f"    digest: {OLD}\n"],
            ["    on: 2026-08-20  # late\n", f"    digest: {NEW}\n"],
        ),
        (
            "approved:\n  - name: B. Reed\n    role: clinical lead\n    on: \"2026-08-01\"  # late\n",
            ["    on: \"2026-08-01\"  # late\n"],
            ["    on: 2026-08-20  # late\n", f"    digest: {NEW}\n"],
        ),
        ("approved: [{name: B. Reed, role: owner, on: 2026-08-01}]\n",
         ["approved: [{name: B. Reed, role: owner, on: 2026-08-01}]\n"],
         [f"approved: [{{name: B. Reed, role: owner, on: 2026-08-01}}, {LINE}]\n"]),
    ],
    ids=["missing", "empty", "empty on lines", "flow", "flow on lines", "block", "block of blocks", "folded text",
         "same person", "same person, block", "same person, no digest yet", "same person in another role"],
)  # fmt: skip
def test_only_the_entry_changes(approved: str, gone: list[str], come: list[str]) -> None:
    text = HEAD + approved + TAIL
    assert changed(text, with_entry(text, ENTRY)) == (gone, come)


def test_the_text_may_be_one_mapping_in_brackets_or_end_without_a_line_end() -> None:
    assert with_entry('{"title": "A"}', ENTRY) == f'{{approved: [{LINE}], "title": "A"}}'
    assert (
        with_entry("title: A\nauthors: [{name: B}]", ENTRY)
        == f"title: A\nauthors: [{{name: B}}]\napproved:\n  - {LINE}"
    )


def test_line_ends_stay_as_they_are() -> None:
    text = (HEAD + TAIL).replace("\n", "\r\n")
    made = with_entry(text, ENTRY)
    assert made is not None
    assert made.count("\r\n") == made.count("\n") == text.count("\n") + 2
    assert changed(text, made) == ([], ["approved:\r\n", f"  - {LINE}\r\n"])


@pytest.mark.parametrize(
    "name",
    ["Zoë Müller-Ø", "O'Brien, C.", 'Reed "Bob"', "role: x", "# 1", "- a", "null", "yes", "1.0", "[x]", "{x}", "a\\b",
     "a: b # c", "*x", "&x", "!x", "%x", "@x", "`x`", "|", ">", "x" * 5000, "夏目", "\U0001d49c", "Dr. B. Reed", "a]}",
     "?", "~", "trailing:", "<script>alert(1)</script>", "A.\u00a0B"],
)  # fmt: skip
@pytest.mark.parametrize("approved", ["", "approved: []\n", "approved:\n  - {name: C. Doyle, on: 2026-08-19}\n"])
def test_any_name_reads_back(name: str, approved: str) -> None:
    made = with_entry(HEAD + approved + TAIL, NewApproval(name, name, date(2026, 8, 20), NEW))
    assert made is not None
    root, findings = read_yaml(made, "protocol.yaml")
    node = get(root, "approved")
    assert not findings
    assert node is not None
    assert node.items is not None
    assert node.items[-1].plain() == {"name": name, "role": name, "on": "2026-08-20", "digest": NEW}


@pytest.mark.parametrize(
    "text",
    ["approved: nobody\ntitle: A\n", "approved: {name: B}\ntitle: A\n", "? title\n: A\n  b: 1\n", "- a\n", "a: [\n"],
)
def test_what_cannot_be_written_so_that_it_reads_back_is_not_written(text: str) -> None:
    assert with_entry(text, ENTRY) is None


def test_the_other_fields_keep_their_order_and_their_values() -> None:
    """A text at the end of which a line cannot be put in without becoming part of it goes before all else."""
    text = "authors:\n  - name: A\n    interests: |\n      none\n\n      at all\nscope: x\n"
    made = with_entry(text, ENTRY)
    root, findings = read_yaml(made or "", "protocol.yaml")
    assert root is not None
    assert not findings
    plain = root.plain()
    plain.pop("approved")
    before, _ = read_yaml(text, "protocol.yaml")
    assert before is not None
    assert str(plain) == str(before.plain())
