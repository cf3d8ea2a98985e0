"""What lies in a protocol's folder and is read by nothing is told, from the disk and from git alike; and never hangs."""

# A case stands on one line, so that the table can be read down.
# ruff: noqa: E501

from __future__ import annotations

import json
import os
import shutil
import subprocess
import time
from datetime import date
from pathlib import Path

import pytest

from liningbook.analysis import Analysis, analyse, understand_sources
from liningbook.exchange.from_git import read_revision
from liningbook.finding import Severity
from liningbook.model.build import read_files, read_folder
from liningbook.sources.files import MOST_NAMES, GivenFiles
from liningbook.sources.strays import MOST_TOLD
from tests.limits import processor
from tests.saying import advice_of, message_of

DAY = date(2026, 11, 25)
PROTOCOL = Path(__file__).resolve().parents[2] / "protocols" / "pass" / "smallest"
RULE = "---\ntitle: Never\nnever: {liner: [calcium-hydroxide]}\nevidence: {basis: good-practice, note: Invented.}\n---\nWhy.\n"
TABLE = "question: {population: A, intervention: B, comparator: C}\noutcomes: {}\n"
RECORD = json.dumps({"format": "liningbook-build", "version": 1, "files": {"card.pdf": {}, "site/index.html": {}}})
BUNDLE = json.dumps({"format": "liningbook-bundle", "rules": []})

Files = dict[str, str]
ERROR, WARNING = Severity.ERROR, Severity.WARNING

UNREAD: dict[str, tuple[Files, list[tuple[str, Severity, str]]]] = {
    # what may be a rule
    "a rule beside protocol.yaml": ({"no-lime.md": RULE}, [("no-lime.md", ERROR, "move it there, as `rules/no-lime.md`")]),
    "a rule beside it as text": ({"No lime.txt": RULE}, [("No lime.txt", ERROR, "move it there, as `rules/no-lime.md`")]),
    "a rule saved by Windows": ({"no-lime.txt": RULE.replace("\n", "\r\n")}, [("no-lime.txt", ERROR, "move it there, as `rules/no-lime.md`")]),
    "a rule saved as text": ({"rules/no-lime.txt": RULE}, [("rules/no-lime.txt", ERROR, "rename it to `no-lime.md`")]),
    "with both endings": ({"rules/no-lime.md.txt": RULE}, [("rules/no-lime.md.txt", ERROR, "rename it to `no-lime.md`")]),
    "in capitals": ({"rules/No-Lime.MD": RULE}, [("rules/No-Lime.MD", ERROR, "rename it to `no-lime.md`")]),
    "without an ending": ({"rules/no-lime": RULE}, [("rules/no-lime", ERROR, "rename it to `no-lime.md`")]),
    "from a word processor": ({"rules/no-lime.docx": "PK"}, [("rules/no-lime.docx", ERROR, "if it is a rule, save its text alone, without any layout, as `no-lime.md`")]),
    "a copy of an editor": ({"rules/no-lime.md~": RULE}, [("rules/no-lime.md~", ERROR, "move it elsewhere")]),
    "a copy of a rule that is read": ({"rules/a.md": RULE, "rules/a.txt": RULE}, [("rules/a.txt", ERROR, "move it elsewhere")]),
    "a folder among the rules": ({"rules/deep/no-lime.md": RULE, "rules/deep/no-zinc.md": RULE}, [("rules/deep", ERROR, "move its rules up into the folder `rules`")]),
    "a folder of rules of another name": ({"Rules/no-lime.md": RULE}, [("Rules", ERROR, "rename it to `rules`")]),
    "a folder with a rule deep in it": ({"old/2025/no-lime.md": RULE, "old/a.txt": ""}, [("old", ERROR, "move its rules into the folder `rules`")]),
    # sources of another name
    "protocol.yml": ({"protocol.yml": "title: A\n"}, [("protocol.yml", WARNING, "bring what is needed of it into `protocol.yaml`")]),
    "Materials.yaml": ({"Materials.yaml": ""}, [("Materials.yaml", WARNING, "bring what is needed of it into `materials.yaml`")]),
    "vignettes.yml": ({"vignettes.yml": "[]\n"}, [("vignettes.yml", WARNING, "rename it to `vignettes.yaml`")]),
    "a slip of the pen": ({"vignete.yaml": "[]\n"}, [("vignete.yaml", WARNING, "did you mean `vignettes.yaml`?")]),
    "references of RIS": ({"library.ris": "TY  - JOUR\n"}, [("library.ris", WARNING, "export them as BibTeX to `references.bib`, or as CSL-JSON to `references.json`")]),
    "references of PubMed": ({"found.NBIB": ""}, [("found.NBIB", WARNING, "export them as BibTeX to `references.bib`")]),
    # study tables
    "a table with the other ending of YAML": ({"evidence/zinc.yml": TABLE, "evidence/README.md": "", "evidence/_old.yml": ""}, [("evidence/zinc.yml", ERROR, "rename it to `zinc.yaml`")]),
    "a table with an ending too many": ({"evidence/zinc.yaml.txt": TABLE}, [("evidence/zinc.yaml.txt", ERROR, "rename it to `zinc.yaml`")]),
    "a table as a spreadsheet": ({"evidence/zinc.xlsx": "PK"}, [("evidence/zinc.xlsx", ERROR, "move it elsewhere")]),
    "a work beside the tables": ({"evidence/ash2020.pdf": "%PDF"}, [("evidence/ash2020.pdf", WARNING, "move it elsewhere")]),
    "a folder among the tables": ({"evidence/zinc/liner.yaml": TABLE}, [("evidence/zinc", ERROR, "move its files up into the folder `evidence`")]),
    "a table beside its folder": ({"Zinc oxide.yaml": TABLE}, [("Zinc oxide.yaml", ERROR, "move it there, as `evidence/zinc-oxide.yaml`")]),
    "a file called as the folder": ({"evidence.yaml": "a: b\n"}, [("evidence.yaml", ERROR, "move it there, as `evidence/evidence.yaml`")]),
    "a table in a folder": ({"papers/zinc.yaml": TABLE, "papers/a.pdf": ""}, [("papers", ERROR, "move it into the folder `evidence`")]),
    "a rule and a table in a folder": ({"papers/a.yaml": TABLE, "papers/b.md": RULE}, [("papers", ERROR, "move it into the folder `evidence`")]),
    "a folder of tables under another name": ({"studies/zinc.yaml": "a: b\n"}, [("studies", ERROR, "rename it to `evidence`")]),
    # what this version does not read
    "an audit": ({"audit.yaml": "columns: {}\n"}, [("audit.yaml", WARNING, "move it elsewhere")]),
    "past editions": ({"editions/2026.1.json": "{}"}, [("editions", WARNING, "move it elsewhere")]),
    # all else
    "the minutes of a meeting": ({"minutes.docx": "PK"}, [("minutes.docx", WARNING, "move it elsewhere")]),
    "notes": ({"notes.md": "# Notes\n\n---\n"}, [("notes.md", WARNING, "move it elsewhere")]),
    "a folder of pictures": ({"pictures/a.png": "", "pictures/b/c.png": ""}, [("pictures", WARNING, "move it elsewhere")]),
    "another protocol": ({"second/protocol.yaml": "title: B\n", "second/rules/a.md": RULE}, [("second", WARNING, "keep each protocol in a folder of its own")]),
    "a rule among what a build wrote": ({"out/.liningbook-build.json": RECORD, "out/card.pdf": "", "out/no-lime.md": RULE}, [("out", ERROR, "move its rules into the folder `rules`")]),
    "a rule that a record claims": ({".liningbook-build.json": RECORD.replace("card.pdf", "no-lime.md"), "no-lime.md": RULE}, [("no-lime.md", ERROR, "move it there")]),
    # nothing
    "what is harmless": ({"README.md": RULE, "LICENSE": "", "licence.txt": "", ".gitignore": "", ".github/x.md": RULE, "_old/no-lime.md": RULE, "CHANGELOG.md": "", "rules/.x.md": RULE, "rules/_later.txt": RULE, "rules/Thumbs.db": ""}, []),
    "what a build wrote": ({"out/.liningbook-build.json": RECORD, "out/card.pdf": "", "out/site/index.html": "", "out/deep/x.css": ""}, []),
    "what a build wrote deep in a folder": ({"_x/y": "", "made/2026/out/.liningbook-build.json": RECORD, "made/2026/out/card.pdf": ""}, []),
    "what a build wrote here": ({".liningbook-build.json": RECORD, "card.pdf": "", "site/index.html": ""}, []),
    "what a build wrote before there was a record": ({"out/bundle.json": BUNDLE, "out/card.pdf": ""}, []),
    "pages put here": ({"pages/index.html": f"<script>{BUNDLE}</script>", "pages/x.css": ""}, []),
}  # fmt: skip


def written(folder: Path, files: Files) -> Path:
    shutil.copytree(PROTOCOL, folder)
    for name, content in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content.encode())
    return folder


def in_git(folder: Path) -> Analysis:
    """The folder as its first commit holds it."""
    author = {"GIT_AUTHOR_NAME": "A", "GIT_AUTHOR_EMAIL": "a@example", "GIT_CONFIG_GLOBAL": os.devnull}
    committer = {"GIT_COMMITTER_NAME": "A", "GIT_COMMITTER_EMAIL": "a@example"}
    for call in (["init", "-q", "-b", "main"], ["add", "-A", "-f"], ["commit", "-qm", "Edition"]):
        subprocess.run(["git", "-C", str(folder), *call], check=True, env={**os.environ, **author, **committer})
    files = read_revision(folder, "main:")
    return understand_sources(*read_files(GivenFiles(files.contents, files.links)), DAY)


def unread(analysis: Analysis) -> list[str]:
    assert analysis.protocol is not None
    return sorted(f"{one.file} {one.what} {one.is_error}" for one in analysis.protocol.unread)


@pytest.mark.parametrize("name", UNREAD)
def test_what_nothing_reads_is_told_with_what_to_do(name: str, tmp_path: Path) -> None:
    files, expected = UNREAD[name]
    analysis = analyse(written(tmp_path / "home", files), DAY)
    found = [finding for finding in analysis.findings if finding.kind == "not-read"]
    assert [(finding.span.file, finding.severity) for finding in found] == [entry[:2] for entry in expected]
    for finding, (_, _, remedy) in zip(found, expected, strict=True):
        assert remedy in " ".join(advice_of(finding))
        assert message_of(finding)


@pytest.mark.parametrize("name", UNREAD)
def test_git_says_the_same_as_the_disk(name: str, tmp_path: Path) -> None:
    folder = written(tmp_path / "home", UNREAD[name][0])
    on_disk = unread(analyse(folder, DAY))
    assert unread(in_git(folder)) == on_disk


def test_a_rule_in_utf_16_is_one_all_the_same(tmp_path: Path) -> None:
    folder = written(tmp_path / "home", {})
    (folder / "no-lime.txt").write_text(RULE, "utf-16")
    assert unread(analyse(folder, DAY)) == ["no-lime.txt rule-beside True"]


def test_links_are_told_and_never_followed(tmp_path: Path) -> None:
    outside = tmp_path / "outside"
    outside.mkdir()
    (outside / "no-lime.md").write_text(RULE)
    folder = written(tmp_path / "home", {"kept/no-lime.md": RULE})
    (folder / "rules" / "no-lime.md").symlink_to("../kept/no-lime.md")
    assert unread(analyse(folder, DAY)) == []  # it is read through the link
    (folder / "elsewhere").symlink_to(outside)
    (folder / "circle").symlink_to(".")
    (folder / "no-zinc.md").symlink_to(outside / "no-lime.md")
    (folder / "rules" / "more").symlink_to(outside)
    told = ["circle file False", "elsewhere file False", "no-zinc.md file False", "rules/more folder-among-rules True"]
    assert unread(analyse(folder, DAY)) == told


def test_a_pipe_is_told_and_never_opened(tmp_path: Path) -> None:
    folder = written(tmp_path / "home", {})
    os.mkfifo(folder / "pipe.md")
    assert unread(analyse(folder, DAY)) == ["pipe.md file False"]


def test_an_empty_folder_is_nothing(tmp_path: Path) -> None:
    folder = written(tmp_path / "home", {})
    for name in ("pictures", "rules/later", "rules/even/later"):
        (folder / name).mkdir(parents=True)
    assert unread(analyse(folder, DAY)) == []


@pytest.mark.parametrize("place", [".", "pictures", "rules"])
def test_a_folder_of_thousands_of_files_is_looked_through_within_bounds(place: str, tmp_path: Path) -> None:
    folder = written(tmp_path / "home", {"pictures/x.png": ""})
    for number in range(MOST_NAMES + 100):
        os.mknod(folder / place / f"{number}.png")
    start = time.process_time()
    found = [finding for finding in analyse(folder, DAY).findings if finding.kind == "not-read"]
    assert time.process_time() - start < processor(3)
    assert 0 < len(found) <= 10 * MOST_TOLD + 2
    words = " ".join(map(message_of, found))
    assert (
        f"{MOST_NAMES + 100 - 10 * MOST_TOLD} further files" in words
        if place == "rules"
        else f"more than {MOST_NAMES} files" in words
    )


def test_a_home_with_many_deep_folders_is_looked_through_within_bounds(tmp_path: Path) -> None:
    folder = written(tmp_path / "home", {})
    for number in range(60):
        for part in range(5):
            home = folder / f"folder-{number:02}" / f"part-{part}"
            home.mkdir(parents=True)
            for file in range(60):
                os.mknod(home / f"{file}.txt")
    start = time.process_time()
    found = analyse(folder, DAY).findings
    assert time.process_time() - start < processor(2)
    assert len(found) == MOST_TOLD + 1
    assert message_of(found[0]) == f"nothing reads {60 - MOST_TOLD} further files"
    assert message_of(found[1]) == "nothing reads the folder `folder-00`, which holds 300 files"


def test_a_folder_that_cannot_be_listed_is_a_finding_and_the_sources_are_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = written(tmp_path / "home", {})
    real = os.scandir
    monkeypatch.setattr(os, "scandir", lambda path: real(path) if str(path) != str(folder) else real(tmp_path / "no"))
    read, (finding,) = read_folder(folder)
    assert (finding.kind, finding.span.file) == ("unreadable", "protocol.yaml")
    assert message_of(finding).startswith("the folder cannot be opened")
    assert read.root("protocol") is not None


def test_where_the_sources_are_wrong_too_all_is_told_at_once(tmp_path: Path) -> None:
    folder = written(tmp_path / "home", {"minutes.docx": "", "rules/no-lime.txt": RULE, "card.yaml": "size: A3\n"})
    found = [(finding.kind, finding.span.file) for finding in analyse(folder, DAY).findings]
    assert found == [("schema", "card.yaml"), ("not-read", "minutes.docx"), ("not-read", "rules/no-lime.txt")]


def test_an_override_of_a_rule_that_is_not_read_is_no_second_mistake(tmp_path: Path) -> None:
    folder = written(tmp_path / "home", {"rules/no-lime.txt": RULE})
    rule = next((folder / "rules").glob("*.md"))
    rule.write_text(rule.read_text().replace("---\ntitle", "---\noverrides: [no-lime]\ntitle", 1))
    assert [finding.kind for finding in analyse(folder, DAY).findings] == ["not-read"]


def test_a_practice_may_accept_a_file_and_no_other(tmp_path: Path) -> None:
    folder = written(tmp_path / "home", {"minutes.docx": "", "notes.docx": "", "no-lime.md": RULE})
    with (folder / "protocol.yaml").open("a") as frame:
        frame.write("accepted:\n")
        for name in ("minutes.docx", "no-lime.md"):
            frame.write(f"  - {{kind: not-read, file: {name}, because: Kept here., by: E. Example}}\n")
    found = {finding.span.file: bool(finding.accepted) for finding in analyse(folder, DAY).findings}
    assert found == {"no-lime.md": False, "minutes.docx": True, "notes.docx": False}


def test_a_film_beside_the_sources_keeps_no_revision_from_being_read(tmp_path: Path) -> None:
    folder = written(tmp_path / "home", {})
    (folder / "film.mp4").write_bytes(bytes(60_000_000))
    on_disk = unread(analyse(folder, DAY))
    assert unread(in_git(folder)) == on_disk == ["film.mp4 file False"]
