"""What differs in accepted warnings, vignettes, card, copies and further files, though no case is treated otherwise."""

from __future__ import annotations

import shutil
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from liningbook.analysis import understand
from liningbook.compare.comparison import compare
from liningbook.exchange.changes_json import changes_json
from liningbook.exchange.versions import Version, compare_versions
from liningbook.finding import Span
from liningbook.model.protocol import Protocol
from liningbook.say.catalogue import speaking
from liningbook.say.changes.notes import note_words
from tests.saying import messages_of

DAY = date(2026, 11, 25)


def read(folder: Path) -> Protocol:
    analysis = understand(folder, DAY)
    assert analysis.protocol is not None, messages_of(analysis.findings)
    return analysis.protocol


def edited(demonstration: Path, tmp_path: Path, *edits: tuple[str, str, str]) -> Protocol:
    new = Path(shutil.copytree(demonstration, tmp_path / "new"))
    for file, old, text in edits:
        for path in sorted(new.rglob("*")) if file == "*" else [new / file]:
            if path.is_file() and (file != "*" or old in path.read_text("utf-8")):
                whole = path.read_text("utf-8")
                assert old in whole, old
                path.write_text(whole.replace(old, text, -1 if file == "*" else 1), "utf-8")
    return read(new)


def lines(old: Protocol, new: Protocol) -> list[str]:
    return [note_words(note) for note in compare(old, new, DAY).notes if note.what == "other_changes"]


@pytest.mark.parametrize(
    ("edit", "line", "step"),
    [
        (("protocol.yaml", "by: B. Reed", "by: A. Marsh"), "by: B. Reed → A. Marsh", "grounds"),
        (("protocol.yaml", "until: 2028-09-01", "until: 2028-08-01"), "until: 2028-09-01 → 2028-08-01", "grounds"),
        (("protocol.yaml", "irritant: bacteria", "irritant: thermal"), "unprotected bacteria: taken out", "grounds"),
        (
            ("protocol.yaml", "restoration: amalgam, rosin-allergy: no", "restoration: amalgam"),
            "when changed",
            "grounds",
        ),
        (("vignettes.yaml", "name: Shallow amalgam", "name: Shallow"), "vignette Shallow: added", "none"),
        (("vignettes.yaml", "rdt: 2.5 mm", "rdt: 2.6 mm"), "case: rdt 2.5 mm → rdt 2.6 mm", "none"),
        (("vignettes.yaml", "base: none", "base: zinc-phosphate"), "expect: base none → base zinc-phosphate", "none"),
        (("card.yaml", "size: A4", "size: A5"), "card: size: A4 → A5", "grounds"),
        (("card.yaml", "Promise nothing", "Promise only a call"), "when a patient rings with pain", "grounds"),
        (("copies.yaml", "edition: 2026.1", "edition: 2026.2"), "Surgery 3: edition: 2026.1 → 2026.2", "none"),
        (("copies.yaml", "room: Reception", "room: Stairs"), "hangs in Stairs: added", "none"),
        (
            ("protocol.yaml", "settings: Both surgeries", "settings: All surgeries"),
            "reporting on settings: text: Both",
            "none",
        ),
        (
            ("protocol.yaml", "{not_applicable: No existing review was used.}", "Read by two of us."),
            "reporting on reviews judged: text: now Read by two of us.",
            "none",
        ),
        (("appraisals/lane.yaml", "1: 6", "1: 5"), "appraisal by F. Lane: scores: 1 6 → 1 5", "none"),
        (
            ("appraisals/lane.yaml", "recommend: yes", "recommend: no"),
            "appraisal by F. Lane: recommend: yes → no",
            "none",
        ),
        (("appraisals/lane.yaml", "F. Lane", "F. Lake"), "appraisal by F. Lake: added", "none"),
    ],
)
def test_each_edit_is_told_and_no_case_changes(
    edit: tuple[str, str, str], line: str, step: str, demonstration: Path, tmp_path: Path
) -> None:
    old, new = read(demonstration), edited(demonstration, tmp_path, edit)
    assert any(line in said for said in lines(old, new)), lines(old, new)
    comparison = compare(old, new, DAY)
    assert comparison.no_case_changed
    assert comparison.largest_step == step
    told = changes_json(comparison, "old", "new", DAY)
    assert told["other_changes"]
    assert all({"kind", "field"} <= set(note) for note in told["other_changes"])


def test_nothing_is_told_where_nothing_differs(demonstration: Path) -> None:
    old = read(demonstration)
    assert changes_json(compare(old, read(demonstration), DAY), "", "", DAY)["other_changes"] == []
    turned = replace(
        old,
        vignettes=old.vignettes[::-1],
        copies=old.copies[::-1],
        accepted=old.accepted[::-1],
        appraisals=old.appraisals[::-1],
        reporting=dict(reversed(old.reporting.items())),
    )
    assert lines(old, turned) == []


def test_new_names_are_no_other_vignettes_acceptances_or_card(demonstration: Path, tmp_path: Path) -> None:
    old = read(demonstration)
    names = [
        ("*", "rosin-allergy:", "colophony:"),
        ("*", "cavity-varnish", "copal"),
        ("*", "provisional-otherwise", "x"),
    ]
    comparison = compare(old, edited(demonstration, tmp_path, *names), DAY)
    assert {renamed.after for renamed in comparison.renamed} >= {"colophony", "copal", "x"}
    assert [note for note in comparison.notes if note.what == "other_changes"] == []


def test_a_bundle_holds_none_of_it(demonstration: Path) -> None:
    old = read(demonstration)
    bare = replace(old, vignettes=(), accepted=(), copies=(), reporting={}, appraisals=())
    assert compare_versions(Version("folder", old), Version("bundle", bare, is_whole=False), DAY).is_alike


@dataclass(frozen=True)
class Table:
    studies: tuple[str, ...]
    span: Span


def test_what_further_files_hold_is_told_whatever_it_is(demonstration: Path) -> None:
    place, elsewhere = Span("a", 1, 1, 1, 2), Span("b", 9, 9, 9, 9)

    def holding(**tables: Table) -> Protocol:
        further: dict[str, Any] = {"tables": tables}
        return replace(read(demonstration), further=further)

    old = holding(necrosis=Table(("marlow",), place), pain=Table(("ash",), place))
    assert lines(old, holding(pain=Table(("ash",), elsewhere), necrosis=Table(("marlow",), place))) == []
    new = holding(necrosis=Table(("marlow", "bell"), place), fracture=Table((), place))
    told = ["study table pain: taken out", "study table fracture: added", "study table necrosis: entry changed"]
    assert lines(old, new) == told


def test_an_accepted_warning_is_called_by_words_in_every_language(demonstration: Path, tmp_path: Path) -> None:
    new = edited(
        demonstration, tmp_path, ("protocol.yaml", "kind: unprotected\n    irritant: acid", "kind: indistinct")
    )
    with speaking("de"):
        said = lines(read(demonstration), new)
    kinds = {"unprotected", "indistinct"}
    assert len(said) == 2
    assert not [line for line in said if kinds & set(line.replace(":", "").split())], said


def test_an_approval_without_a_role_is_told_without_a_hole(demonstration: Path) -> None:
    old = read(demonstration)
    approval = replace(old.approved[0], role="")
    found = compare(old, replace(old, approved=(approval,)), DAY).notes
    (said,) = [note_words(note) for note in found if note.field == "approved"]
    assert f"{approval.name}, {approval.on}" in said
    assert ", ," not in said


def test_a_digest_that_went_from_an_approval_or_is_another_now_is_told(demonstration: Path) -> None:
    old = read(demonstration)
    old = replace(old, approved=(replace(old.approved[0], digest="a" * 64), *old.approved[1:]))
    for digest in ("", "f" * 64):
        approval = replace(old.approved[0], digest=digest)
        found = compare(old, replace(old, approved=(approval, *old.approved[1:])), DAY).notes
        (said,) = [note_words(note) for note in found if note.field == "approved"]
        assert f"{old.approved[0].on}, {old.approved[0].digest[:8]}" in said
        assert ("ffffffff" in said) == bool(digest)


def test_dissent_and_the_way_to_rate_up_are_what_advice_rests_on(demonstration: Path) -> None:
    old = read(demonstration)
    rule = next(rule for rule in old.rules.values() if rule.dissent)
    agreed = replace(old, rules={**old.rules, rule.id: replace(rule, dissent=())})
    for new, field in ((agreed, "dissent"), (replace(old, rating_up="arithmetic-2004"), "rating_up")):
        found = compare(old, new, DAY)
        assert [(note.what, note.field) for note in found.notes] == [("evidence", field)]
        assert found.largest_step == "grounds"
