"""The command line: what is printed where, exit codes, days, and what a build writes."""

# A case stands on one line, so that the tables can be read down.

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import pytest

from liningbook import __version__
from liningbook.cli import _ARGUMENTS, main
from liningbook.outputs.rows import PARTS
from liningbook.say.command.usage import COMMANDS, OPTIONS
from tests.usual import USUAL_CASE

FAULTY = Path(__file__).parent.parent.parent / "guidelines" / "faulty"
PROTOCOLS = Path(__file__).parent.parent / "protocols"
DAY = "2026-11-25"


class Done(NamedTuple):
    """What a call left behind."""

    code: int
    out: str
    err: str


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Callable[..., Done]:
    def call(*arguments: str | Path) -> Done:
        try:
            code = main([str(argument) for argument in arguments])
        except SystemExit as stop:
            code = int(stop.code or 0)
        return Done(code, *capsys.readouterr())

    return call


Run = Callable[..., Done]


# --- calls ------------------------------------------------------------------------------------------------------------


def test_every_word_of_the_help_is_said(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("liningbook.cli.columns", lambda: 300)
    shown = {name: run(*name.split(), "--help").out for name in ("", *COMMANDS)}
    assert all(what in shown[""] and what in shown[name] for name, what in COMMANDS.items())
    for name, what in OPTIONS.items():
        command, _, option = name.rpartition(" ")
        taking = [one for one in COMMANDS if option in _ARGUMENTS[one] and f"{one} {option}" not in OPTIONS]
        commands = [command] if command else taking
        words = what.format(outputs=",".join(PARTS))
        assert all(f"{words}\n" in shown[one] for one in commands), option


# --- a case of which only a part is known -----------------------------------------------------------------------------


def test_a_part_of_a_case_is_told_what_is_open_and_how_to_answer_next(demonstration: Path, run: Run) -> None:
    known = ("exposed=no", "pulp=normal", "restoration=composite", "methacrylate-allergy=no", "--on", DAY)
    done = run("case", demonstration, *known)
    assert done.code == 0
    assert "Liner: NOT SETTLED YET, still possible:\n    Hard-setting calcium hydroxide" in done.out
    assert "What is open no longer depends on: Dissimilar metal in contact, Law restricts" in done.out
    answered = run("case", demonstration, *known, "eugenol-allergy=no", "rosin-allergy=no", "amalgam-metal-allergy=no")
    assert (
        "\nNext question: Remaining dentine thickness?\n    rdt=…mm  judged in the cavity, 0 mm to 6 mm\n"
        "    rdt.reading=…mm  read on a film (bitewing radiograph)\n"
    ) in answered.out


def test_every_factor_is_demanded_only_on_request_and_a_wrong_name_never_passes(demonstration: Path, run: Run) -> None:
    assert run("case", demonstration, "exposed=yes", "--on", DAY).code == 0
    complete = run("case", demonstration, "exposed=yes", "--complete", "--on", DAY)
    assert complete.code == 2
    assert "the case needs a value for rdt, pulp, " in complete.err
    for wrong in ("exposd=yes", "exposed=maybe", "rdt=7mm", "pulp.reading=1mm"):
        assert run("case", demonstration, wrong, "--on", DAY).code == 2


# --- check ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("folder", "plain", "strict"),
    [("conflict", 1, 1), ("unreadable", 1, 1), ("unreachable", 0, 1), ("duplicate", 0, 0), ("accepted", 0, 0)],
)
def test_errors_fail_and_under_strict_warnings_that_are_not_accepted_too(
    folder: str, plain: int, strict: int, run: Run
) -> None:
    assert run("check", FAULTY / folder, "--on", DAY).code == plain
    assert run("check", FAULTY / folder, "--on", DAY, "--strict").code == strict


def test_accepted_warnings_are_listed_if_asked_for(run: Run) -> None:
    plain, listed = (run("check", FAULTY / "accepted", "--on", DAY, *more) for more in ((), ("--accepted",)))
    assert " ".join(plain.out.split()).endswith("edition 2026.1: nothing found (1 accepted by the practice)")
    assert "(avoid-overridden, accepted)" in listed.out
    assert (plain.code, listed.code) == (0, 0)


def test_json_says_what_the_text_says(run: Run) -> None:
    text, printed = (run("check", FAULTY / "gap", "--on", DAY, *more) for more in ((), ("--format", "json")))
    found = json.loads(printed.out)
    assert found["on"] == DAY
    assert found["counts"]["error"] == 1
    said = " ".join(text.out.split())
    assert f"MUST BE SETTLED 1 {found['findings'][0]['message'].capitalize()}. (gap)".lower() in said.lower()
    assert text.err == printed.err == ""


def test_the_same_sources_are_told_in_the_same_words(demonstration: Path, tmp_path: Path, run: Run) -> None:
    moved = tmp_path / "moved"
    shutil.copytree(demonstration, moved)
    one, other = (run("check", folder, "--accepted", "--on", DAY) for folder in (demonstration, moved))
    assert one == other
    assert str(moved) not in other.out


# --- the day ----------------------------------------------------------------------------------------------------------


def test_the_day_is_that_of_the_call_else_of_the_build_time(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    def day(*more: str) -> str:
        printed = run("check", FAULTY / "duplicate", "--format", "json", *more).out
        found: str = json.loads(printed)["on"]
        return found

    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1600000000")
    assert day("--on", DAY) == DAY
    assert day() == "2020-09-13"
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "")
    assert day() >= "2026"


def test_a_rule_holds_on_both_days_of_valid(run: Run) -> None:
    folder = PROTOCOLS / "pass" / "rules-of-other-days"
    assert run("case", folder, "rdt=1mm", "--on", "2026-11-24", "--format", "json").out.count("until-now") == 1
    assert run("case", folder, "rdt=1mm", "--on", "2026-11-25", "--format", "json").out.count("from-now") == 1
    assert run("check", folder, "--on", "2019-12-31").code == 1


# --- case -------------------------------------------------------------------------------------------------------------


def test_a_case_is_answered_in_the_shape_of_the_contract(run: Run) -> None:
    folder = PROTOCOLS / "pass" / "a-silent-rule-silences"
    done = run("case", folder, "rdt=300um", "--format", "json", "--on", DAY)
    found = json.loads(done.out)
    assert (done.code, done.err) == (0, "")
    assert found["case"] == {"rdt": "0.3 mm"}
    assert found["in_scope"] is True
    assert found["advice"] == {"liner": {"state": "answered", "answer": {"agent": "calcium-hydroxide"}, "rules": ["a"]}}
    assert found["silent"] == {"liner": ["b", "c"]}
    assert found["placing_order"] == ["liner"]


@pytest.mark.parametrize(
    ("place", "values", "state"),
    [
        ("fail/boundary-left-out", ("rdt=0.5mm", "restoration=amalgam"), "gap"),
        ("fail/boundary-twice", ("rdt=0.5mm",), "conflict"),
        ("fail/never-stays", ("rdt=1mm", "allergy=yes"), "contraindicated"),
    ],
)
def test_a_question_that_can_be_answered_exits_0_whatever_the_answer(
    place: str, values: tuple[str, ...], state: str, run: Run
) -> None:
    done = run("case", PROTOCOLS / place, *values, "--format", "json", "--on", DAY)
    assert done.code == 0
    assert json.loads(done.out)["advice"]["liner"]["state"] == state
    assert run("case", PROTOCOLS / place, *values, "--on", DAY).code == 0


def test_an_answer_that_a_rule_says_never_to_use_is_left_to_nobody(tmp_path: Path, run: Run) -> None:
    """To avoid something is for the dentist to weigh; of what is open, the answer is told with why it will not do."""
    folder = shutil.copytree(PROTOCOLS / "fail" / "never-stays", tmp_path / "protocol")
    never, agent = "a rule says NEVER to use it: do not use it; ask the authors of the protocol", "calcium hydroxide"
    text = " ".join(run("case", folder, "rdt=1mm", "allergy=yes", "--on", DAY).out.lower().split())
    assert f"liner: advised, but {never}".lower() in text
    assert f"never {agent}: by never with an allergy" in text
    assert "dentist decides" not in text
    text = " ".join(run("case", folder, "rdt=1mm", "--on", DAY).out.lower().split())
    assert f" {agent} {agent}: advised, but {never} ".lower() in text
    rule = folder / "rules" / "allergy.md"
    rule.write_text(rule.read_text("utf-8").replace("never: ", "avoid: "), "utf-8")
    line = folder / "rules" / "line.md"
    line.write_text(line.read_text("utf-8").replace("overrides: [allergy]\n", ""), "utf-8")
    text = " ".join(run("case", folder, "rdt=1mm", "allergy=yes", "--on", DAY).out.lower().split())
    assert "liner: advised, but another rule says to avoid it; the dentist decides" in text
    assert f"avoid {agent}: by never with an allergy" in text


def test_what_else_it_could_be_may_hang_on_what_cannot_change_the_advice(demonstration: Path, run: Run) -> None:
    known = {name: text for name, text in USUAL_CASE.items() if name not in ("rdt", "metal-contact", "restoration")}
    case = ("case", demonstration, *(f"{name}={text}" for name, text in known.items()), "restoration=composite")
    sure = run(*case, "rdt=1.2mm", "--on", DAY).out
    assert "This stays as it is whatever the answer on: Dissimilar metal in contact\n" in sure
    borderline = run(*case, "rdt.reading=1.2mm", "--on", DAY).out
    assert "Borderline: " in borderline
    assert (
        "The advice stays as it is whatever the answer on: Dissimilar metal in contact\n"
        "What else it could be (borderline) may still hang on that.\n"
    ) in borderline
    assert "This stays" not in borderline


def test_a_case_out_of_scope_says_why_and_where_to_turn(run: Run) -> None:
    folder = PROTOCOLS / "pass" / "excluded-cases"
    found = json.loads(run("case", folder, "rdt=0mm", "--format", "json", "--on", DAY).out)
    assert (found["in_scope"], found["advice"], found["placing_order"]) == (False, {}, [])
    assert (found["because"], found["instead"]) == ("The pulp is exposed.", "See elsewhere.")
    text = run("case", folder, "rdt=0mm", "--on", DAY).out
    assert "The pulp is exposed." in text
    assert "See elsewhere." in text


def test_the_words_of_a_case_carry_the_cautions(run: Run) -> None:
    folder = PROTOCOLS / "pass" / "smallest"
    text = run("case", folder, "rdt=1mm", "--on", DAY).out
    assert "Not clinical advice." in text
    assert "does not replace" in text


# --- build ------------------------------------------------------------------------------------------------------------


def test_a_build_writes_what_is_asked_for_and_names_it(tmp_path: Path, run: Run) -> None:
    out = tmp_path / "a" / "b"
    done = run("build", PROTOCOLS / "pass" / "smallest", "--out", out, "--only", "site, bundle", "--on", DAY)
    names = ["bundle.json", "site/index.html", "site/sw.js", "site/manifest.webmanifest", "site/icon.svg"]
    assert (done.code, done.out) == (0, "".join(f"{out / name}\n" for name in names))
    written = {path.relative_to(out).as_posix() for path in out.rglob("*") if path.is_file()}
    assert written == {*names, ".liningbook-build.json", ".liningbook-build.lock"}


def test_two_builds_are_the_same_byte_for_byte(tmp_path: Path, run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1790000000")
    for name in ("one", "other"):
        assert (
            run("build", PROTOCOLS / "pass" / "every-notation", "--out", tmp_path / name, "--only", "bundle,site").code
            == 0
        )
    for path in (tmp_path / "one").rglob("*.*"):
        assert path.read_bytes() == (tmp_path / "other" / path.relative_to(tmp_path / "one")).read_bytes()


def test_a_protocol_with_errors_is_built_as_a_draft_only(tmp_path: Path, run: Run) -> None:
    arguments = ("build", FAULTY / "gap", "--out", tmp_path / "out", "--only", "bundle", "--on", DAY)
    refused = run(*arguments)
    assert (refused.code, refused.out) == (1, "")
    assert "`--draft` builds all the same" in refused.err
    assert not (tmp_path / "out").exists()
    assert run(*arguments, "--draft").code == 0
    assert (tmp_path / "out" / "bundle.json").exists()


def test_what_is_no_protocol_is_not_even_built_as_a_draft(tmp_path: Path, run: Run) -> None:
    done = run("build", FAULTY / "schema", "--out", tmp_path / "out", "--draft", "--on", DAY)
    assert done.code == 1
    assert "--draft" not in done.err
    assert not (tmp_path / "out").exists()


# --- the rest ---------------------------------------------------------------------------------------------------------


def test_the_version_is_printed(run: Run) -> None:
    assert run("--version") == (0, f"liningbook {__version__}\n", "")


@pytest.mark.parametrize("command", ["check", "case", "build", "preview"])
def test_every_command_has_help(command: str, run: Run) -> None:
    done = run(command, "--help")
    assert done.code == 0
    assert done.out.startswith(f"usage: liningbook {command}")
    assert "PROTOCOL" in done.out


@pytest.mark.parametrize(
    "name", ["protocol.yaml", "card.yaml", "copies.yaml", "references.json", "rules/line-a-deep-cavity.md"]
)
def test_no_source_is_written_over(name: str, demonstration: Path, tmp_path: Path, run: Run) -> None:
    """Whatever option names it, a table or a drawing."""
    folder = shutil.copytree(demonstration, tmp_path / "protocol")
    before = (folder / name).read_bytes()
    cases = tmp_path / "cases.csv"
    cases.write_text("rdt\n1 mm\n", "utf-8")
    for call in (
        ("case", folder, "--cases", cases, "--out", folder / name),
        ("compare", folder, folder, "--cases", cases, "--out", folder / name),
        ("compare", folder, folder, "--chart", folder / name),
    ):
        done = run(*call)
        assert done.code == 1
        assert "is a source" in done.err
        assert (folder / name).read_bytes() == before


# --- what nothing reads -----------------------------------------------------------------------------------------------


def test_a_rule_that_nothing_reads_is_told_beside_every_answer(tmp_path: Path, run: Run) -> None:
    home = Path(shutil.copytree(PROTOCOLS / "pass" / "smallest", tmp_path / "home"))
    (home / "rules" / "more.txt").write_text("---\ntitle: More\n---\n")
    (home / "minutes.docx").write_text("")
    for call in (["case", home, "rdt=1mm"], ["table", home, "--decision", "liner"], ["compare", home, home]):
        done = run(*map(str, call), "--on", DAY)
        assert done.code == 0
        assert "nothing reads rules/more.txt, so what is said here knows nothing of it" in done.err
        assert "minutes" not in done.err
    stopped = run("build", home, "--out", tmp_path / "out", "--only", "bundle", "--on", DAY)
    assert stopped.code == 1
    assert not (tmp_path / "out").exists()
