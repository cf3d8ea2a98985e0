"""`liningbook evidence`: what is printed, exit codes, and what a harmful or hurried input comes to."""

from __future__ import annotations

import json
import shutil
import sys
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import pytest
from jsonschema import Draft202012Validator

from liningbook.cli import main
from liningbook.resources import schema

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


def test_what_is_missing_is_named(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "scipy", None)
    done = run(TWO_TABLES)
    assert (done.code, done.out) == (2, "")
    assert "pip install 'liningbook[evidence]'" in done.err


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
