"""No command imports what it does not need: `check` starts fast, `case` and `table` run no check."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

SLOW_TO_IMPORT = {
    "bibtexparser",
    "difflib",
    "fontTools",
    "hypothesis",
    "jinja2",
    "jsonschema",
    "markdown_it",
    "numpy",
    "scipy",
    "segno",
    "watchfiles",
    "weasyprint",
}

RUN = "import sys; sys.argv[0] = 'liningbook'; from liningbook.cli import main; sys.exit(main())"


def imported(repository: Path, *arguments: str) -> set[str]:
    """Names of the packages and modules that the command line imports when it is called so."""
    run = subprocess.run(
        [sys.executable, "-X", "importtime", "-c", RUN, *arguments],
        env={**os.environ, "PYTHONPATH": str(repository / "builder")},
        capture_output=True,
        text=True,
        check=False,
    )
    assert run.returncode == 0, run.stdout + run.stderr
    rows = [line.rpartition("|")[2].strip() for line in run.stderr.splitlines() if line.startswith("import time:")]
    assert "liningbook.cli" in rows, run.stderr
    return set(rows)


@pytest.mark.parametrize("form", ["text", "json"])
def test_check_imports_nothing_that_is_slow_to_import(repository: Path, demonstration: Path, form: str) -> None:
    found = imported(repository, "check", str(demonstration), "--format", form)
    slow = SLOW_TO_IMPORT | ({"babel"} if form == "text" else set())  # JSON gives the day until which one is accepted
    assert {name.partition(".")[0] for name in found} & slow == set()


def test_check_of_study_tables_with_intervals_of_the_usual_kind_loads_no_library_of_numbers(repository: Path) -> None:
    folder = repository / "tests" / "protocols" / "pass" / "two-study-tables"
    found = imported(repository, "check", str(folder))
    assert "liningbook.model.studies.build_tables" in found
    assert {name.partition(".")[0] for name in found} & {"numpy", "scipy"} == set()


@pytest.mark.parametrize(
    "module", ["space.cells", "space.cover", "cases.question", "cases.readings", "meaning.meaning"]
)
def test_the_arithmetic_of_cases_loads_no_reader_of_files(repository: Path, module: str) -> None:
    readers = {"yaml", "liningbook.sources.documents"}
    code = f"import sys, liningbook.{module}; print(*sorted({readers} & set(sys.modules)))"
    environment = {**os.environ, "PYTHONPATH": str(repository / "builder")}
    done = subprocess.run([sys.executable, "-c", code], env=environment, capture_output=True, text=True, check=True)
    assert done.stdout == "\n"


def test_case_and_table_run_no_check(repository: Path, demonstration: Path) -> None:
    small = repository / "tests" / "protocols" / "pass" / "a-silent-rule-silences"
    for call in (["case", str(small), "rdt=1mm"], ["table", str(demonstration), "--decision", "liner"]):
        assert not [name for name in imported(repository, *call) if name.startswith("liningbook.checks")]
