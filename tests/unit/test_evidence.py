"""`liningbook evidence`: what is printed, exit codes, and what a harmful or hurried input comes to."""

from __future__ import annotations

import csv
import json
import shutil
import sys
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import NamedTuple

import pytest
from jsonschema import Draft202012Validator

from liningbook.analysis import analyse
from liningbook.cli import main
from liningbook.outputs.rows import is_name_of_output
from liningbook.resources import schema
from liningbook.say.findings import told

PROTOCOLS = Path(__file__).parent.parent / "protocols" / "pass"
TWO_TABLES = PROTOCOLS / "two-study-tables"
DEEP = "evidence/liner-in-deep-cavities.yaml"
DAY = ("--on", "2026-11-28")


class Called(NamedTuple):
    """What a call left behind."""

    code: int
    out: str
    err: str


Run = Callable[..., Called]


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    def call(*arguments: str | Path) -> Called:
        try:
            code = main(["evidence", *map(str, arguments), *DAY])
        except SystemExit as stop:
            code = int(stop.code or 0)
        return Called(code, *capsys.readouterr())

    return call


@pytest.fixture
def edited(tmp_path: Path) -> Callable[..., Path]:
    """A copy of a protocol with a text in its first study table put in place of another."""

    def copy(*edits: tuple[str, str], file: str = DEEP) -> Path:
        folder = Path(shutil.copytree(TWO_TABLES, tmp_path / "protocol"))
        text = (folder / file).read_text("utf-8")
        for old, new in edits:
            assert old in text, old
            text = text.replace(old, new, 1)
        (folder / file).write_text(text, "utf-8")
        return folder

    return copy


def test_json_is_what_the_schema_says_and_text_is_said_for_people(run: Run) -> None:
    done = run(TWO_TABLES, "--format", "json")
    assert (done.code, done.err) == (0, "")
    found = json.loads(done.out)
    Draft202012Validator(schema("evidence_result")).validate(found)
    assert list(found["tables"]["liner-in-deep-cavities"]["outcomes"]) == ["pulp-necrosis", "pain"]
    text = run(TWO_TABLES)
    assert (text.code, text.err) == (0, "")
    assert "Does any single study decide this?" in text.out
    assert max(map(len, text.out.splitlines())) <= 80


def test_no_tables_is_no_error_and_says_what_to_write(run: Run) -> None:
    plain = next(folder for folder in sorted(PROTOCOLS.iterdir()) if not (folder / "evidence").exists())
    done = run(plain)
    assert done.code == 0
    assert "`evidence/NAME.yaml`" in done.out
    assert json.loads(run(plain, "--format", "json").out)["tables"] == {}


def test_exit_codes(run: Run, edited: Callable[..., Path], tmp_path: Path) -> None:
    assert run(tmp_path / "nowhere").code == 2
    assert run(TWO_TABLES, "--format", "yaml").code == 2
    done = run(edited(("events: [5, 156]", "events: [157, 156]")))
    assert (done.code, done.out) == (1, "")
    assert "157 of 156 had the event" in done.err
    assert f"{DEEP}, line" in done.err


def test_what_is_missing_is_named_as_check_names_it(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "scipy", None)
    done = run(TWO_TABLES)
    assert (done.code, done.out) == (2, "")
    (missing,) = (told(one) for one in analyse(TWO_TABLES, date(2026, 10, 1)).findings if one.kind == "not-read")
    assert "pip install 'liningbook[evidence]'" in missing.help[0]
    assert " ".join(done.err.split()).endswith("; ".join((missing.message, *missing.help)))


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("events: [5, 156]", "events: [5, 1000000000]"),
        ("Pulp necrosis within two years", "'<script>alert(1)</script> =cmd() \\u202e\\e[31m'"),
        ("Pulp necrosis within two years", "'" + "long " * 400 + "'"),
        ("A liner of calcium hydroxide", '"\\u001b[2Jgone"'),
        ('estimate: "0.71", low: "0.5", high: "1.01"', 'estimate: "1e-300", low: "1e-301", high: "1e300"'),
        ("because: Nobody was blinded.", "because: '{braces} %s {0}'"),
    ],
)
def test_hostile_figures_and_words_do_no_harm(run: Run, edited: Callable[..., Path], old: str, new: str) -> None:
    folder = edited((old, new))
    for form in ("text", "json"):
        done = run(folder, "--format", form)
        assert done.code in (0, 1)
        assert "Traceback" not in done.err
        assert not {"\x1b", "\u202e"} & set(done.out)
        if form == "json" and done.code == 0:
            Draft202012Validator(schema("evidence_result")).validate(json.loads(done.out))


# --- one more study ---------------------------------------------------------------------------------------------------

NEW = "outcome: pulp-necrosis\nstudy: reed2026\nyear: 2026\nevents: [3, 120]\ncomparator: [9, 118]\n"


@pytest.fixture
def new(tmp_path: Path) -> Callable[[str], Path]:
    """A file that describes a study."""

    def write(text: str) -> Path:
        (tmp_path / "new.yaml").write_text(text, "utf-8")
        return tmp_path / "new.yaml"

    return write


def test_what_a_study_would_change_is_said_and_nothing_is_regraded(run: Run, new: Callable[[str], Path]) -> None:
    done = run(TWO_TABLES, "--with", new(NEW))
    assert (done.code, done.err) == (0, "")
    assert "What reed2026 would change: Pulp necrosis within two years" in done.out
    assert "Risk ratio      0.60 (0.41 to 0.88)              0.55 (0.36 to 0.84)" in done.out
    assert "With this study, as without it, the interval lies below no effect." in done.out
    assert (
        "  Line a deep cavity (rules/line-a-deep-cavity.md): low certainty, conditional\n  recommendation\n"
        "    It gives the advice on Liner in these cases:\n    - Dentine left: 0.5 mm or less.\n"
    ) in done.out
    assert "Nothing was regraded and nothing was written." in done.out
    assert "supports the judgement of the licensed clinician" in done.out
    assert max(map(len, done.out.splitlines())) <= 80


def test_a_conclusion_that_turns_and_what_is_asked_now_are_said(run: Run, new: Callable[[str], Path]) -> None:
    done = run(TWO_TABLES, "--with", new(NEW.replace("[3, 120]", "[80, 120]")))
    said = " ".join(done.out.split())
    assert "The conclusion is another: with this study the interval crosses no effect" in said
    assert "without it, it lies below no effect." in said
    assert "What the figures ask with it, and do not ask without it:" in said
    assert "'Pulp necrosis within two years' is not lowered for inconsistency" in said


def test_json_has_it_under_with(run: Run, new: Callable[[str], Path]) -> None:
    found = json.loads(run(TWO_TABLES, "--with", new(NEW), "--format", "json").out)
    Draft202012Validator(schema("evidence_result")).validate(found)
    told, table = found["with"], found["tables"]["liner-in-deep-cavities"]["outcomes"]["pulp-necrosis"]
    assert (told["study"], told["table"], told["outcome"]) == ("reed2026", "liner-in-deep-cavities", "pulp-necrosis")
    assert told["before"]["pooled"] == table["pooled"]
    assert told["after"]["pooled"]["estimate"] < told["before"]["pooled"]["estimate"]
    assert told["regraded"] is False
    assert told["rules"] == [
        {
            "rule": "line-a-deep-cavity",
            "title": "Line a deep cavity",
            "certainty": "low",
            "strength": "conditional",
            "in_force": True,
            "advises": {"liner": {"cases": [{"rdt": {"at_most": "0.5 mm"}}]}},
            "avoids": {},
        }
    ]
    assert "with" not in json.loads(run(TWO_TABLES, "--format", "json").out)


def test_a_study_that_gives_no_effect_is_said_to_be_left_out(run: Run, new: Callable[[str], Path]) -> None:
    empty = new(NEW.replace("[3, 120]", "[0, 120]").replace("[9, 118]", "[0, 118]"))
    assert "reed2026: left out: no event in either arm." in run(TWO_TABLES, "--with", empty).out
    found = json.loads(run(TWO_TABLES, "--with", empty, "--format", "json").out)
    Draft202012Validator(schema("evidence_result")).validate(found)
    assert found["with"]["before"]["left_out"] == []
    assert found["with"]["after"]["left_out"] == [{"study": "reed2026", "because": "no event in either arm"}]


def test_the_sources_stay_as_they_were(run: Run, new: Callable[[str], Path], edited: Callable[..., Path]) -> None:
    folder = edited()
    before = {path: path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()}
    assert run(folder, "--with", new(NEW)).code == 0
    assert {path: path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()} == before


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (NEW.replace("pulp-necrosis", "pulp-necroses"), "There is no outcome called 'pulp-necroses'"),
        (NEW.replace("reed2026", "ash2020"), "'ash2020' is in the table already"),
        (NEW.replace("events", "mean"), "Means cannot give a risk-ratio"),
        (NEW.replace("[3, 120]", "[121, 120]"), "121 of 120 had the event"),
        ("outcome: [\n", "new.yaml, line"),
        ("\0", "new.yaml, line"),
        ("", "new.yaml"),
    ],
)
def test_a_study_that_cannot_be_used_is_told_on_its_line(
    run: Run, new: Callable[[str], Path], text: str, said: str
) -> None:
    done = run(TWO_TABLES, "--with", new(text))
    assert (done.code, done.out) == (1, "")
    assert _unwrapped(said) in _unwrapped(done.err)
    assert _unwrapped("new.yaml cannot be used") in _unwrapped(done.err)


def _unwrapped(text: str) -> str:
    """Without blanks and line breaks: a long path goes on in the next line, wherever that falls."""
    return "".join(text.split())


def test_calls_that_cannot_be_meant(run: Run, new: Callable[[str], Path], tmp_path: Path) -> None:
    assert run(TWO_TABLES, "--with", tmp_path / "no.yaml").code == 2
    assert run(TWO_TABLES, "--with", tmp_path).code == 2
    assert run(TWO_TABLES, "--with", "/dev/zero").code == 2
    done = run(TWO_TABLES, "--with", new(NEW), "--out", tmp_path / "out")
    assert (done.code, (tmp_path / "out").exists()) == (2, False)
    plain = next(folder for folder in sorted(PROTOCOLS.iterdir()) if not (folder / "evidence").exists())
    for further in (("--with", new(NEW)), ("--out", tmp_path / "out")):
        done = run(plain, *further)
        assert (done.code, done.out) == (2, "")
        assert "has no study tables" in done.err
    assert not (tmp_path / "out").exists()


# --- files ------------------------------------------------------------------------------------------------------------

FILES = {
    "effects.csv",
    "evidence.html",
    "evidence.json",
    "forest-liner-in-deep-cavities.pain.svg",
    "forest-liner-in-deep-cavities.pulp-necrosis.svg",
    "forest-no-liner-in-shallow-cavities.secondary-dentine.svg",
    "forest-no-liner-in-shallow-cavities.survival.svg",
}


def test_page_plots_table_and_json_are_written(run: Run, tmp_path: Path) -> None:
    out = tmp_path / "out"
    done = run(TWO_TABLES, "--out", out)
    assert (done.code, done.err) == (0, "")
    written = {path.name for path in out.iterdir() if not path.name.startswith(".")}
    assert written == FILES == {Path(line).name for line in done.out.splitlines()}
    assert all(map(is_name_of_output, FILES))
    found = json.loads((out / "evidence.json").read_text("utf-8"))
    Draft202012Validator(schema("evidence_result")).validate(found)
    page = (out / "evidence.html").read_text("utf-8")
    for word in ("Example", "2026.1", "DRAFT", "Not clinical advice.", "licensed clinician", "1 September 2027"):
        assert word in page
    assert found["digest"][:32] in page
    assert page.count("<svg") >= 8
    assert "<script" not in page
    rows = (out / "effects.csv").read_text("utf-8-sig").splitlines()
    assert len(rows) == 5
    assert rows[1].startswith(
        "liner-in-deep-cavities,pulp-necrosis,Pulp necrosis within two years,may happen less often,8,"
    )
    cells = list(csv.DictReader(rows))
    people = found["tables"]["liner-in-deep-cavities"]["outcomes"]["pulp-necrosis"]["absolute"]
    for end in ("low", "high"):
        assert cells[0][f"number_needed_{end}"] == str(people[f"number_needed_{end}"]["number"])
        assert cells[0][f"number_needed_{end}_for"] == people[f"number_needed_{end}"]["for"]
    assert cells[0]["through_infinity"] == ("true" if people["through_infinity"] else "false")
    assert (found["status"], cells[0]["status"]) == ("draft", "draft")
    again = {path.name: path.read_bytes() for path in out.iterdir()}
    run(TWO_TABLES, "--out", out)
    assert {path.name: path.read_bytes() for path in out.iterdir()} == again


@pytest.mark.parametrize(("more", "state"), [
    ("approved: [{name: B. Reed, on: 2026-01-01}]\nin_force_from: 2026-01-02", "in-force"),
    ("approved: [{name: B. Reed, on: 2026-01-01}]\nin_force_from: 2027-01-02", "not-yet-in-force"),
    ("in_force_from: 2026-01-02", "draft"),
])  # fmt: skip
def test_table_and_json_say_where_the_edition_stands(
    run: Run, edited: Callable[..., Path], tmp_path: Path, more: str, state: str
) -> None:
    out = tmp_path / "out"
    folder = edited()
    head = (folder / "protocol.yaml").read_text("utf-8").replace("status: draft", f"status: in-force\n{more}", 1)
    (folder / "protocol.yaml").write_text(head, "utf-8")
    run(folder, "--out", out, "--on", "2026-11-28")
    assert json.loads((out / "evidence.json").read_text("utf-8"))["status"] == state
    assert {row["status"] for row in csv.DictReader((out / "effects.csv").read_text("utf-8-sig").splitlines())} == {
        state
    }


def test_a_harmful_name_is_no_formula_and_no_markup(run: Run, edited: Callable[..., Path], tmp_path: Path) -> None:
    out = tmp_path / "out"
    assert run(edited(("Pulp necrosis within two years", "'=1+1 <script>alert(1)</script>'")), "--out", out).code == 0
    assert "liner-in-deep-cavities,pulp-necrosis,'=1+1 <script>" in (out / "effects.csv").read_text("utf-8-sig")
    assert "<script" not in (out / "evidence.html").read_text("utf-8")
    assert "<script" not in (out / "forest-liner-in-deep-cavities.pulp-necrosis.svg").read_text("utf-8")


def test_nothing_is_written_over_sources_links_or_half(run: Run, edited: Callable[..., Path], tmp_path: Path) -> None:
    folder = edited()
    assert run(folder, "--out", folder / "evidence").code == 1
    assert run(folder, "--out", folder / "rules" / "out").code == 1
    out = tmp_path / "out"
    (out / "evidence.json").mkdir(parents=True)
    assert run(folder, "--out", out).code == 1
    assert [path.name for path in out.iterdir() if path.name[0] != "."] == ["evidence.json"]
    (out / "evidence.json").rmdir()
    (out / "effects.csv").symlink_to(folder / "protocol.yaml")
    before = (folder / "protocol.yaml").read_bytes()
    assert run(folder, "--out", out).code == 1
    assert (folder / "protocol.yaml").read_bytes() == before


def test_only_what_an_earlier_call_wrote_is_written_over(run: Run, edited: Callable[..., Path], tmp_path: Path) -> None:
    folder, out = edited(), tmp_path / "out"
    out.mkdir()
    (out / "effects.csv").write_text("my own", "utf-8")
    done = run(folder, "--out", out)
    assert done.code == 1
    assert f"{out / 'effects.csv'} stands in the way" in done.err
    assert (out / "effects.csv").read_text("utf-8") == "my own"
    assert not (out / "evidence.html").exists()
    (out / "effects.csv").unlink()
    assert run(folder, "--out", out).code == 0
    first = (out / "effects.csv").read_bytes()
    table = folder / "evidence" / "liner-in-deep-cavities.yaml"
    table.write_text(table.read_text("utf-8").replace("Pulp necrosis within two years", "Pulp death"), "utf-8")
    assert run(folder, "--out", out).code == 0
    assert (out / "effects.csv").read_bytes() != first
    (out / "evidence.html").write_text("my own", "utf-8")
    assert run(folder, "--out", out).code == 1
    assert (out / "evidence.html").read_text("utf-8") == "my own"


def test_a_folder_that_holds_a_protocol_is_none_to_write_into(run: Run, edited: Callable[..., Path]) -> None:
    folder = edited()
    before = sorted(path.name for path in folder.iterdir())
    done = run(folder, "--out", folder)
    assert done.code == 1
    assert "holds a protocol" in done.err
    assert sorted(path.name for path in folder.iterdir()) == before


def test_a_plot_of_an_earlier_call_is_told(run: Run, tmp_path: Path) -> None:
    out = tmp_path / "out"
    out.mkdir()
    (out / "forest-old.pain.svg").write_text("<svg/>")
    (out / "forest.svg").write_text("<svg/>")
    done = run(TWO_TABLES, "--out", out)
    assert done.code == 0
    assert "forest-old.pain.svg is of an earlier call" in done.err
    assert "forest.svg" not in done.err


def test_a_protocol_with_open_findings_is_marked(run: Run, edited: Callable[..., Path], tmp_path: Path) -> None:
    out = tmp_path / "out"
    assert run(edited(("certainty: low", "certainty: high")), "--out", out).code == 0
    page = (out / "evidence.html").read_text("utf-8")
    assert "DRAFT: do not use" in page
    assert "--printed-mark:" in page
    listed = page[page.index('aria-label="Open findings"') : page.index("</ol>")]
    assert "(certainty-mismatch)" in listed or "(outcome-mismatch)" in listed
