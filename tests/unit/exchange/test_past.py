"""The past of a rule, from git: each change by its meaning, and who approved what first held it in force."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest

from liningbook.cli import main
from liningbook.cli.control import history as command
from liningbook.exchange.past.commits import commit_of
from liningbook.say.control.history import NOT_PROOF

SMALLEST = Path(__file__).parents[2] / "protocols" / "pass" / "smallest"

RULE = """\
---
title: {title}
when: {{rdt: {{at_most: {depth}}}}}
advise: {{liner: {{agent: calcium-hydroxide}}}}
evidence: {{basis: research, certainty: {certainty}, strength: conditional, design: observational, lowered: {{}}, cites: [{cites}]}}
---
{why}
"""  # noqa: E501
REST = """\
---
title: No liner
when: {{rdt: {{above: {depth}}}}}
advise: {{liner: none}}
evidence: {{basis: good-practice, note: Invented.}}
---
Why.
"""
PROTOCOL = """\
title: Example
practice: Example Practice
edition: {edition}
status: {status}
{more}review_by: 2035-01-01
authors: [{{name: E. Example, role: dentist, interests: none declared}}]
scope: Invented example.
cautions: [Not clinical advice.]
evidence_scheme: grade
factors:
  rdt: {{label: Dentine left, kind: quantity, unit: mm, at_least: 0 mm, at_most: 6 mm}}
decisions:
  liner: {{label: Liner, layer: liner}}
"""
MATERIALS = "agents: {calcium-hydroxide: {label: Calcium hydroxide, class: liner}}\n"
BIB = """\
@article{{{key}, title = {{Invented}}, author = {{Ash, Ben}}, journal = {{Invented Journal}}, year = {{2019}}}}
@article{{bell2021, title = {{Also invented}}, author = {{Bell, Cy}}, journal = {{Invented Journal}}, year = {{2021}}}}
"""


class Practice:
    """A repository with a protocol in its folder `mine`; each commit writes it anew with what is said to be other."""

    def __init__(self, home: Path) -> None:
        self.home, self.folder = home, home / "mine"
        self.said: dict[str, str] = {
            "title": "Line a deep cavity", "depth": "0.5 mm", "certainty": "low", "cites": "ash2019", "why": "Why.",
            "edition": "2026.1", "status": "draft", "more": "", "key": "ash2019", "name": "line",
        }  # fmt: skip
        home.mkdir()
        self.git("init", "-q", "-b", "main")
        self.month = 0

    def git(self, *arguments: str, **environment: str) -> str:
        known = {k: v for k, v in os.environ.items() if not k.startswith("GIT_")}
        who = {"GIT_AUTHOR_NAME": "A. Marsh", "GIT_AUTHOR_EMAIL": "a@example", "GIT_COMMITTER_NAME": "A. Marsh"}
        who |= {"GIT_COMMITTER_EMAIL": "a@example", "GIT_CONFIG_GLOBAL": os.devnull, "GIT_CONFIG_NOSYSTEM": "1"}
        call = ["git", "-C", str(self.home), *arguments]
        done = subprocess.run(call, capture_output=True, text=True, check=True, env=known | who | environment)
        return done.stdout.strip()

    def write(self, **other: str) -> None:
        self.said |= other
        shutil.rmtree(self.folder, ignore_errors=True)
        (self.folder / "rules").mkdir(parents=True)
        files = {"protocol.yaml": PROTOCOL, "rules/rest.md": REST, "references.bib": BIB}
        if self.said["name"]:
            files[f"rules/{self.said['name']}.md"] = RULE
        for path, text in files.items():
            (self.folder / path).write_text(text.format(**self.said), "utf-8")
        (self.folder / "materials.yaml").write_text(MATERIALS, "utf-8")

    def commit(self, message: str = "x", day: str = "", **environment: str) -> str:
        self.month += 1
        when = day or f"2026-{self.month:02}-01T23:30:00+0200"
        self.git("add", "-A")
        self.git("commit", "-qm", message, GIT_AUTHOR_DATE=when, GIT_COMMITTER_DATE=when, **environment)
        return self.git("rev-parse", "HEAD")

    def commits(self, **other: str) -> str:
        self.write(**other)
        return self.commit()


@pytest.fixture
def practice(tmp_path: Path) -> Practice:
    return Practice(tmp_path / "repository")


def told(practice: Practice, capsys: pytest.CaptureFixture[str], *more: str, rule: str = "line") -> dict[str, Any]:
    capsys.readouterr()
    assert main(["history", rule, str(practice.folder), "--format", "json", *more]) == 0
    found: dict[str, Any] = json.loads(capsys.readouterr().out)
    return found


def changes(found: dict[str, Any]) -> list[str]:
    return [turn["change"] for turn in found["history"]]


def test_only_commits_that_change_what_the_rule_means_are_told_each_with_what_changed(
    practice: Practice, capsys: pytest.CaptureFixture[str]
) -> None:
    first = practice.commits()
    practice.commits(edition="2026.2")  # another file
    deeper = practice.commits(depth="1 mm")
    graded = practice.commits(certainty="moderate", cites="ash2019, bell2021")
    words = practice.commits(why="Because it is deep.")
    found = told(practice, capsys)
    assert found["rule"] == "line"
    assert found["place"] == "mine/rules/line.md"
    assert (found["commits"], found["complete"]) == (5, True)
    assert [(turn["change"], turn["commit"]) for turn in found["history"]] == [
        ("words", words), ("changed", graded), ("changed", deeper), ("written", first),
    ]  # fmt: skip
    _, grade, advice, written = found["history"]
    assert [(f["field"], f["before"], f["after"]) for f in grade["fields"]] == [
        ("certainty", "low", "moderate"), ("cites", "", "bell2021"),
    ]  # fmt: skip
    assert grade["advice"] == []
    assert grade["before"]["cites"] == ["ash2019"]
    assert grade["after"]["grade"]["certainty"] == "moderate"
    assert [(one["cases"], one["before"]["answer"], one["after"]["answer"]) for one in advice["advice"]] == [
        ([{"rdt": {"above": "0.5 mm", "at_most": "1 mm"}}], "none", {"agent": "calcium-hydroxide"})
    ]
    assert (advice["edition"], advice["status"], advice["on"]) == ("2026.2", "draft", "2026-03-01T23:30:00+02:00")
    assert (advice["author"], advice["committer"]) == ("A. Marsh", "A. Marsh")
    assert written["before"] is None


def test_edits_that_are_not_committed_are_not_told_and_that_is_said(
    practice: Practice, capsys: pytest.CaptureFixture[str]
) -> None:
    practice.commits()
    assert told(practice, capsys)["uncommitted"] is False
    practice.write(depth="1 mm")
    found = told(practice, capsys)
    assert (changes(found), found["uncommitted"]) == (["written"], True)
    assert main(["history", "line", str(practice.folder)]) == 0
    assert "edits that are not committed" in capsys.readouterr().out


def test_cases_of_one_change_of_advice_are_told_together(
    practice: Practice, capsys: pytest.CaptureFixture[str]
) -> None:
    practice.commits()
    practice.commits(depth="1 mm")
    assert main(["history", "line", str(practice.folder)]) == 0
    said = " ".join(capsys.readouterr().out.split())
    share = "Treated differently: 8.3% of the combinations in the table."
    assert f"{share} Liner: No liner → Calcium hydroxide Dentine left: over 0.5 up to 1 mm" in said


def test_a_change_beside_the_rule_is_not_laid_to_it(practice: Practice, capsys: pytest.CaptureFixture[str]) -> None:
    practice.commits()
    practice.write(certainty="moderate")
    text = (practice.folder / "rules" / "rest.md").read_text("utf-8")
    (practice.folder / "rules" / "rest.md").write_text(text.replace("0.5 mm", "0.4 mm"), "utf-8")
    practice.commit()
    first = told(practice, capsys)["history"][0]
    assert [field["field"] for field in first["fields"]] == ["certainty"]
    assert first["advice"] == []


def test_the_approval_is_that_of_the_edition_that_first_held_it_in_force(
    practice: Practice, capsys: pytest.CaptureFixture[str]
) -> None:
    practice.commits()
    practice.write()
    assert main(["approve", str(practice.folder), "--name", "B. Reed", "--role", "lead", "--on", "2026-01-15"]) == 0
    line = next(
        line for line in (practice.folder / "protocol.yaml").read_text("utf-8").splitlines() if "digest" in line
    )
    more = f"approved:\n{line}\n"
    practice.commits(more=more)
    in_force = practice.commits(status="in-force", more=f"{more}in_force_from: 2026-02-01\n")
    changed = practice.commits(depth="1 mm")
    later = practice.commits(
        edition="2026.2", more="approved: [{name: C. Doyle, on: 2026-06-01}]\nin_force_from: 2026-06-02\n"
    )
    newer, older = told(practice, capsys)["history"]
    digest = line.partition("digest: ")[2].rstrip("}")
    assert older["in_force"] == {
        "commit": in_force, "on": "2026-03-01T23:30:00+02:00", "author": "A. Marsh", "committer": "A. Marsh",
        "edition": "2026.1", "from": "2026-03-01",
        "approved": [{"name": "B. Reed", "role": "lead", "on": "2026-01-15", "digest": digest, "of_this_text": True}],
    }  # fmt: skip
    assert older["in_force_unapproved"] is None
    early = newer["in_force_unapproved"]
    assert (early["commit"], early["edition"]) == (changed, "2026.1")
    assert early["approved"][0]["of_this_text"] is False, "it was changed in force"
    assert (newer["in_force"]["commit"], newer["in_force"]["edition"]) == (later, "2026.2")
    assert newer["in_force"]["from"] == "2026-06-02", "its first day, which is after the commit"
    assert newer["in_force"]["approved"] == [{"name": "C. Doyle", "role": "", "on": "2026-06-01"}]
    assert main(["history", "line", str(practice.folder)]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert f"approved by B. Reed, lead, on 15 January 2026 (digest {digest[:8]}, of that text)" in said
    assert f"(digest {digest[:8]}, of an earlier text)" in said
    assert "Where, before: Dentine left 0.5 mm or less Where, now: Dentine left 1 mm or less" in said
    assert said.endswith(NOT_PROOF)


def test_an_approval_that_comes_after_the_edition_is_in_force_counts_while_the_rule_is_the_same(
    practice: Practice, capsys: pytest.CaptureFixture[str]
) -> None:
    practice.commits()
    practice.commits(status="in-force", more="in_force_from: 2026-02-01\n")
    practice.commits(more="in_force_from: 2026-02-01\napproved: [{name: C. Doyle, on: 2026-01-01}]\n")
    held = told(practice, capsys)["history"][0]["in_force"]
    assert held["on"].startswith("2026-03-01"), "before, nobody had approved it"
    assert held["approved"] == [{"name": "C. Doyle", "role": "", "on": "2026-01-01"}]


def approved_on(practice: Practice, day: str) -> str:
    """The line of an approval of what is written now."""
    call = ["approve", str(practice.folder), "--name", "B. Reed", "--role", "lead", "--on", day]
    assert main(call) == 0
    lines = (practice.folder / "protocol.yaml").read_text("utf-8").splitlines()
    return f"approved:\n{next(line for line in lines if 'digest' in line)}\n"


def test_a_rule_changed_in_force_is_in_force_from_the_edition_that_was_approved_with_it(
    practice: Practice, capsys: pytest.CaptureFixture[str]
) -> None:
    practice.write(more="in_force_from: 2026-02-11\n")
    more = f"{approved_on(practice, '2026-02-10')}in_force_from: 2026-02-11\n"
    practice.write(status="in-force", more=more)
    practice.commit(day="2026-02-10T12:00:00+0000")
    practice.write(depth="1 mm")
    changed = practice.commit(day="2026-06-01T12:00:00+0000")
    practice.write(status="draft", edition="2026.2", more="in_force_from: 2026-06-25\n")
    more = f"{approved_on(practice, '2026-06-20')}in_force_from: 2026-06-25\n"
    practice.write(status="in-force", more=more)
    second = practice.commit(day="2026-06-20T12:00:00+0000")
    newer, older = told(practice, capsys)["history"]
    assert (older["in_force"]["edition"], older["in_force"]["from"]) == ("2026.1", "2026-02-11")
    assert (newer["in_force"]["commit"], newer["in_force"]["edition"]) == (second, "2026.2")
    assert (newer["in_force"]["from"], newer["in_force"]["approved"][0]["on"]) == ("2026-06-25", "2026-06-20")
    assert newer["in_force_unapproved"]["commit"] == changed
    assert main(["history", "line", str(practice.folder)]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert (
        f"Edition 2026.1 held it from commit {changed[:8]} (1 June 2026) on, said to be in force, but not app" in said
    )
    assert f"First in force as approved in edition 2026.2, from 25 June 2026 (commit {second[:8]}): approved by" in said


def test_what_was_reworded_before_it_was_approved_came_into_force_reworded(
    practice: Practice, capsys: pytest.CaptureFixture[str]
) -> None:
    practice.commits()
    practice.commits(depth="1 mm")
    practice.write(why="Because it is deep.")
    more = f"{approved_on(practice, '2026-03-01')}in_force_from: 2026-03-02\n"
    practice.commits(status="in-force", more=more)
    _, changed, written = told(practice, capsys)["history"]
    assert changed["in_force"]["from"] == "2026-03-02"
    assert written["in_force"] is None


@pytest.mark.parametrize("more", ["", "in_force_from: 2026-01-01\n", "approved: [{name: C. Doyle, on: 2025-01-01}]\n"])
def test_an_edition_that_nobody_approved_as_it_is_or_without_a_first_day_held_nothing_in_force(
    practice: Practice, capsys: pytest.CaptureFixture[str], more: str
) -> None:
    practice.commits(status="in-force", more=more)
    (turn,) = told(practice, capsys)["history"]
    assert turn["in_force"] is None
    assert turn["in_force_unapproved"]["edition"] == "2026.1"


def test_of_a_history_that_was_not_fetched_whole_the_first_commit_is_not_called_the_origin(
    practice: Practice, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    practice.commits()
    practice.commits(depth="1 mm")
    boundary = practice.commits(depth="2 mm")
    newest = practice.commits(depth="3 mm")
    for depth, seen in (("2", [("changed", newest)]), ("1", [])):
        practice.git("clone", "-q", "--depth", depth, f"file://{practice.home}", str(tmp_path / depth))
        folder = tmp_path / depth / "mine"
        capsys.readouterr()
        assert main(["history", "line", str(folder), "--format", "json"]) == 0
        found = json.loads(capsys.readouterr().out)
        assert [(turn["change"], turn["commit"]) for turn in found["history"]] == seen
        assert found["complete"] is False
        assert main(["history", "line", str(folder)]) == 0
        said = " ".join(capsys.readouterr().out.split())
        first = boundary if depth == "2" else newest
        assert f"The history that is here begins with commit {first[:8]}" in said
        assert "git fetch --unshallow" in said
    assert told(practice, capsys)["complete"] is True


@pytest.mark.parametrize("former", ["guide", "deep/er/guide", ""])
def test_a_folder_that_got_another_name_is_followed(
    practice: Practice, capsys: pytest.CaptureFixture[str], former: str
) -> None:
    first = practice.commits()
    practice.commits(depth="1 mm")
    inside = practice.home / former
    if former:
        inside.parent.mkdir(parents=True, exist_ok=True)
        practice.git("mv", "mine", former)
    else:
        for each in list(practice.folder.iterdir()):
            practice.git("mv", f"mine/{each.name}", each.name)
    practice.commit()
    capsys.readouterr()
    assert main(["history", "line", str(inside), "--format", "json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert changes(found) == ["changed", "written"]
    assert found["history"][1]["commit"] == first
    assert (found["commits"], found["former_folders"], found["complete"]) == (3, ["mine"], True)
    assert main(["history", "line", str(inside)]) == 0
    assert "the protocol lay in mine; it was followed there." in " ".join(capsys.readouterr().out.split())


def test_a_copy_of_a_folder_that_is_still_there_is_a_new_one(
    practice: Practice, capsys: pytest.CaptureFixture[str]
) -> None:
    practice.commits()
    shutil.copytree(practice.folder, practice.home / "second")
    copied = practice.commit()
    practice.folder = practice.home / "second"
    found = told(practice, capsys)
    assert [(turn["change"], turn["commit"]) for turn in found["history"]] == [("written", copied)]
    assert found["former_folders"] == []


def test_a_rule_is_followed_to_the_name_that_it_had(practice: Practice, capsys: pytest.CaptureFixture[str]) -> None:
    practice.commits()
    practice.commits(depth="1 mm")
    practice.commits(name="line-deep")
    practice.commits(certainty="moderate")
    found = told(practice, capsys, rule="line-deep")
    assert [(turn["change"], turn["rule"], turn.get("called_before")) for turn in found["history"]] == [
        ("changed", "line-deep", None), ("renamed", "line-deep", "line"), ("changed", "line", None),
        ("written", "line", None),
    ]  # fmt: skip
    old = told(practice, capsys)["history"]
    assert [(turn["change"], turn["rule"]) for turn in old][:2] == [("renamed", "line-deep"), ("changed", "line")]


def test_a_file_that_says_something_else_under_another_name_is_another_rule(
    practice: Practice, capsys: pytest.CaptureFixture[str]
) -> None:
    practice.commits()
    practice.commits(name="line-deep", depth="1 mm")
    assert changes(told(practice, capsys, rule="line-deep")) == ["written"]
    assert changes(told(practice, capsys)) == ["taken-out", "written"]


def test_a_rule_that_was_taken_out_and_came_back_is_written_anew(
    practice: Practice, capsys: pytest.CaptureFixture[str]
) -> None:
    practice.commits()
    practice.commits(name="")
    practice.commits(name="line")
    assert changes(told(practice, capsys)) == ["written", "taken-out", "written"]


def test_a_commit_that_cannot_be_read_is_told_with_the_reason_and_what_follows_is_compared_across_it(
    practice: Practice, capsys: pytest.CaptureFixture[str]
) -> None:
    practice.commits()
    practice.commits(certainty="lowish")
    practice.commits(certainty="moderate")
    mended, broken, _ = told(practice, capsys)["history"]
    assert broken["change"] == "unreadable"
    assert "rules/line.md" in broken["unreadable"]
    assert "lowish" in broken["unreadable"]
    assert [(f["before"], f["after"]) for f in mended["fields"]] == [("low", "moderate")]


def test_what_is_broken_beside_the_rule_is_read_as_it_was_mended(
    practice: Practice, capsys: pytest.CaptureFixture[str]
) -> None:
    practice.commits()
    practice.commits(depth="1 mm", key="ash2018")
    (practice.folder / "materials.yaml").write_text("agents: [\n", "utf-8")
    broken = practice.commit()
    practice.write(depth="2 mm")
    (practice.folder / "materials.yaml").write_text("agents: [\n", "utf-8")
    slip = practice.commit()
    practice.commits(key="ash2019")
    turns = told(practice, capsys)["history"]
    assert [turn["change"] for turn in turns] == ["changed", "changed", "written"]
    assert turns[0]["commit"] == slip
    assert "materials.yaml" in turns[0]["unreadable"]
    assert broken not in [turn["commit"] for turn in turns]


def test_a_branch_that_was_merged_counts_as_its_merge(practice: Practice, capsys: pytest.CaptureFixture[str]) -> None:
    practice.commits()
    practice.git("switch", "-qc", "deeper")
    practice.commits(depth="0.8 mm")
    practice.commits(depth="1 mm")
    practice.git("switch", "-q", "main")
    practice.git("merge", "-q", "--no-ff", "-m", "Merge", "deeper", GIT_COMMITTER_NAME="C. Doyle")
    found = told(practice, capsys)
    assert changes(found) == ["changed", "written"]
    assert found["history"][0]["committer"] == "C. Doyle"


def test_what_is_older_than_a_day_is_left_out_and_said_so(
    practice: Practice, capsys: pytest.CaptureFixture[str]
) -> None:
    practice.commits()
    practice.commits(depth="1 mm")
    found = told(practice, capsys, "--since", "2026-02-01")
    assert (changes(found), found["complete"]) == (["changed"], False)
    assert main(["history", "line", str(practice.folder), "--since", "2026-12-01"]) == 0
    assert "Commits before 1 December 2026 were not looked at." in capsys.readouterr().out
    assert main(["history", "line", str(practice.folder), "--since", "soon"]) == 2


def test_a_long_history_is_cut_and_says_so(
    practice: Practice, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    practice.commits()
    practice.commits(depth="1 mm")
    practice.commits(depth="2 mm")
    monkeypatch.setattr(command, "MOST_COMMITS", 2)
    found = told(practice, capsys)
    assert (changes(found), found["complete"], found["commits"]) == (["changed"], False, 2)
    assert main(["history", "line", str(practice.folder)]) == 0
    assert "Only the last 2 commits were looked at." in capsys.readouterr().out


@pytest.mark.parametrize(
    "named", [["rules/line.md"], ["line"], ["line", "."], ["rules/line.md", "."], ["../mine/rules/line.md"]]
)
def test_the_rule_is_named_by_its_file_or_by_its_name(
    practice: Practice, named: list[str], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    practice.commits()
    monkeypatch.chdir(practice.folder)
    assert main(["history", *named]) == 0
    assert "rule line (mine/rules/line.md)" in capsys.readouterr().out


def test_where_there_is_no_history_it_is_said_why(
    practice: Practice, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    practice.write()
    assert main(["history", "line", str(practice.folder)]) == 1
    assert "no revision 'HEAD'" in capsys.readouterr().err
    practice.commit()
    assert main(["history", "lime", str(practice.folder)]) == 1
    assert "there is no rule 'lime'" in capsys.readouterr().err
    practice.write(name="line-more")
    assert main(["history", "line-more", str(practice.folder)]) == 1
    assert "is committed yet" in capsys.readouterr().err
    assert main(["history", "Line It", str(practice.folder)]) == 2
    assert "is not the name of a rule" in capsys.readouterr().err
    alone = Path(shutil.copytree(SMALLEST, tmp_path / "alone"))
    assert main(["history", "line", str(alone)]) == 1
    assert "not a git repository" in capsys.readouterr().err
    assert main(["history", "line", str(tmp_path / "nowhere")]) == 1
    assert "there is no folder" in capsys.readouterr().err


def test_nothing_that_the_repository_names_is_run(
    practice: Practice, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What shows a signature, filters, watches or pages would run a script of the repository's choice."""
    script = tmp_path / "script"
    script.write_text(f"#!/bin/sh\ntouch '{tmp_path}/marker'\ncat\n", "utf-8")
    script.chmod(0o755)
    practice.commits()
    practice.commits(depth="1 mm")
    settings = ["log.showSignature=true", "core.fsmonitor={}", "diff.external={}", "core.pager={}", "gpg.program={}"]
    settings += ["gpg.x509.program={}", "gpg.ssh.program={}", "filter.x.smudge={}", "diff.x.textconv={}"]
    settings += ["core.hooksPath={}", "alias.rev-list=!{}", "alias.cat-file=!{}", "pager.rev-list={}"]
    for setting in settings:
        key, _, value = setting.format(script).partition("=")
        practice.git("config", key, value)
    (practice.home / ".gitattributes").write_text("* filter=x diff=x\n", "utf-8")
    signed = practice.git("cat-file", "commit", "HEAD").replace(
        "committer A", "gpgsig -----BEGIN PGP SIGNATURE-----\n \n x\n -----END PGP SIGNATURE-----\ncommitter A", 1
    )
    object_ = subprocess.run(
        ["git", "-C", str(practice.home), "hash-object", "-t", "commit", "-w", "--stdin", "--literally"],
        input=f"{signed}\n", capture_output=True, text=True, check=True,
    ).stdout.strip()  # fmt: skip
    practice.git("update-ref", "refs/heads/main", object_)
    assert changes(told(practice, capsys)) == ["changed", "written"]
    assert not (tmp_path / "marker").exists()
    practice.git("log", "-1")
    assert (tmp_path / "marker").exists(), "it would have been run"


def test_a_name_that_would_move_the_cursor_is_printed_inert(
    practice: Practice, capsys: pytest.CaptureFixture[str]
) -> None:
    practice.write()
    practice.commit(GIT_AUTHOR_NAME="B.\x1b[2J\u202e Reed<script>x", GIT_COMMITTER_NAME="Zoë")
    assert main(["history", "line", str(practice.folder)]) == 0
    said = capsys.readouterr().out
    assert "\x1b" not in said
    assert "\u202e" not in said
    assert "B.<U+001B>[2J<U+202E> Reed" in said
    assert "(committed by Zoë)" in said


@pytest.mark.parametrize(
    ("line", "name", "when"),
    [
        (b"A. Marsh <a@x> 1767262200 +0100", "A. Marsh", "2026-01-01T11:10:00+01:00"),
        (b"A. Marsh <a@x> 1767262200 -0330", "A. Marsh", "2026-01-01T06:40:00-03:30"),
        (b" <a@x> 0 +0000", "", "1970-01-01T00:00:00+00:00"),
        (b"A <> 99999999999999999 +0000", "A", None),
        (b"A <> 1 +9999", "A", None),
        (b"A <> 99999999999999999999999 +0000", "A <> 99999999999999999999999 +0000", None),
        (b"no sense", "no sense", None),
        (b"", "", None),
        (b"Zo\xeb <> 0 +0000", "Zo\N{REPLACEMENT CHARACTER}", "1970-01-01T00:00:00+00:00"),
    ],
)
def test_who_and_when_a_commit_names_is_read_whatever_stands_there(line: bytes, name: str, when: str | None) -> None:
    commit = commit_of("0" * 40, b"tree 1\nauthor " + line + b"\ncommitter " + line + b"\n\nMessage")
    assert commit.author == commit.committer == name
    assert (commit.when.isoformat() if commit.when else None) == when


def test_an_encoding_is_believed_where_it_is_a_usual_one() -> None:
    text = b"author Zo\xeb <> 0 +0000\ncommitter Zo\xeb <> 0 +0000\nencoding %s\n\nMessage"
    assert commit_of("", text % b"ISO-8859-1").author == "Zoë"
    assert commit_of("", text % b"punycode").author == "Zo\N{REPLACEMENT CHARACTER}"


def test_a_long_name_is_cut() -> None:
    assert len(commit_of("", b"author %s <> 0 +0000\n\n" % (b"x" * 5000)).author) == 200
