"""Appraisals by AGREE II: what is read of them, and what is said of one that cannot be right."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from liningbook.analysis import Analysis, understand
from liningbook.evidence.reporting.agree import ITEMS
from liningbook.say.findings import told

DAY = date(2026, 11, 25)
PROTOCOL = """\
title: Example
practice: Example Practice
edition: first
status: draft
review_by: 2027-09-01
authors: [{name: E. Example, role: dentist, interests: none declared}]
scope: Invented example.
cautions: [Not clinical advice.]
evidence_scheme: grade
factors:
  exposed: {label: Pulp exposed, kind: yes-no}
decisions:
  liner: {label: Liner, layer: liner}
"""
RULE = "---\ntitle: No liner\nadvise: {liner: none}\nevidence: {basis: good-practice, note: Invented.}\n---\nWhy.\n"

Read = Callable[..., Analysis]


def appraisal(who: str = "F. Lane", **instead: str) -> str:
    """An appraisal of which some items say something else; an empty text leaves one out."""
    items = {item: instead.get(f"item_{item}", "5") for item in ITEMS}
    return f"appraiser: {who}\nitems:\n" + "".join(f"  {item}: {text}\n" for item, text in items.items() if text)


@pytest.fixture
def read(tmp_path: Path) -> Read:
    """A protocol with appraisals, by the names of their files."""

    def call(**appraisals: str) -> Analysis:
        for name, text in {
            "protocol.yaml": PROTOCOL,
            "materials.yaml": "agents: {lime: {label: Lime, class: liner}}\n",
            "rules/no-liner.md": RULE,
            **{f"appraisals/{stem}.yaml": text for stem, text in appraisals.items()},
        }.items():
            (tmp_path / name).parent.mkdir(exist_ok=True)
            (tmp_path / name).write_text(text, "utf-8")
        return understand(tmp_path, DAY)

    return call


def said(analysis: Analysis) -> list[str]:
    return [
        "; ".join((f"{f.span.file}:{f.span.line}: {words.message}", *words.help))
        for f in analysis.findings
        for words in [told(f)]
        if f.severity == "error"
    ]


def test_scores_are_read_with_reasons_and_with_what_does_not_apply(read: Read) -> None:
    more = "role: dentist\non: 2026-08-06\noverall: {quality: 6, recommend: with-changes}\n"
    text = appraisal(item_2="{score: 6, because: Clear.}", item_9="{not_applicable: Law alone.}") + more
    analysis = read(lane=text, moor=appraisal("H. Moor"))
    assert said(analysis) == []
    assert analysis.protocol is not None
    first, second = analysis.protocol.appraisals
    assert (first.appraiser, first.role, first.on) == ("F. Lane", "dentist", date(2026, 8, 6))
    assert (first.quality, first.recommend) == (6, "with-changes")
    assert [(first.items[item].score, first.items[item].because) for item in ("1", "2", "9")] == [
        (5, ""),
        (6, "Clear."),
        (None, "Law alone."),
    ]
    assert (second.appraiser, second.quality, second.recommend) == ("H. Moor", None, None)
    assert list(second.items) == list(ITEMS)


@pytest.mark.parametrize(
    ("written", "message"),
    [
        ("0", "`4` must be a whole number from 1 to 7, or `{not_applicable: why}`, not '0'"),
        ("8", "`4` must be a whole number from 1 to 7, or `{not_applicable: why}`, not '8'"),
        ("-1", "`4` must be a whole number from 1 to 7, or `{not_applicable: why}`, not '-1'"),
        ("5.5", "`4` must be a whole number from 1 to 7, or `{not_applicable: why}`, not '5.5'"),
        ("good", "`4` must be a whole number from 1 to 7, or `{not_applicable: why}`, not 'good'"),
        ("\u0665", "`4` must be a whole number from 1 to 7, or `{not_applicable: why}`, not '\u0665'"),
        ("{score: 9}", "`score` must be a whole number from 1 to 7, such as `6`, not '9'"),
        ("{because: Clear.}", "an item has a score, or does not apply; write `{score: 5, because: why}`"),
        ("{score: 5, not_applicable: Law.}", "an item that does not apply has no score; keep `score`"),
    ],
)
def test_a_score_off_the_scale_is_told_at_its_place(written: str, message: str, read: Read) -> None:
    [line] = said(read(lane=appraisal(item_4=written)))
    assert line.startswith(f"appraisals/lane.yaml:6: {message}"), line


def test_items_left_out_are_named(read: Read) -> None:
    [line] = said(read(lane=appraisal(item_4="", item_22="")))
    assert line == (
        "appraisals/lane.yaml:2: these items of AGREE II have no score: 4, 22; "
        "give each a whole number from 1 to 7, or write `{not_applicable: why}`"
    )


def test_an_item_that_there_is_not_is_told(read: Read) -> None:
    [line] = said(read(lane=appraisal() + "  24: 5\n"))
    assert line == "appraisals/lane.yaml:26: AGREE II has no item '24'; its items are numbered from 1 to 23"


def test_the_same_appraiser_twice_is_told_whatever_the_letters(read: Read) -> None:
    [line] = said(read(one=appraisal("F. Lane"), two=appraisal("f.  lane")))
    assert line.startswith("appraisals/two.yaml:1: there are two appraisals by 'f. lane'; keep one of the two")


def test_the_whole_is_judged_on_the_same_scale(read: Read) -> None:
    lines = said(read(lane=appraisal() + "overall: {quality: 10, recommend: maybe}\n"))
    assert [line.partition(": ")[2] for line in lines] == [
        "`quality` must be a whole number from 1 to 7, such as `5`, not '10'",
        "`recommend` must be yes, with-changes or no, not 'maybe'",
    ]


def test_an_appraisal_that_lies_beside_the_folder_is_told(read: Read, tmp_path: Path) -> None:
    (tmp_path / "lane.yaml").write_text(appraisal(), "utf-8")
    analysis = read()
    assert analysis.protocol is not None
    assert analysis.protocol.appraisals == ()
    assert [one.file for one in analysis.protocol.unread] == ["lane.yaml"]
