"""What the fuzzers have found, and what they start from: nothing goes wrong with it again, nor takes long."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from tests.fuzz import fuzz_bundle, fuzz_page, fuzz_reader
from tests.fuzz.sources import DAY, ROOT, analysed, joined, split
from tests.limits import processor

FOUND = Path(__file__).parent / "found"
TARGETS = {"reader": fuzz_reader, "bundle": fuzz_bundle, "page": fuzz_page}
SECONDS = 2.0
"""Of the processor."""

CASES = [
    pytest.param(name, data, id=f"{name}-{what}")
    for name, target in TARGETS.items()
    for what, data in (
        *((path.stem, path.read_bytes()) for path in sorted((FOUND / name).glob("*.txt"))),
        *((f"seed-{number}", seed) for number, seed in enumerate(target.seeds(), 1)),
    )
]


@pytest.mark.parametrize(("name", "data"), CASES)
def test_nothing_goes_wrong(name: str, data: bytes) -> None:
    start = time.process_time()
    TARGETS[name].one_input(data)
    assert time.process_time() - start < processor(SECONDS)


@pytest.mark.parametrize("name", TARGETS)
def test_something_was_found_or_is_started_from(name: str) -> None:
    assert [case for case in CASES if case.values[0] == name]


@pytest.mark.parametrize("name", ["conflict", "gap", "schema", "unit", "vignette"])
def test_a_fuzzed_folder_is_analysed_as_on_the_disk(name: str) -> None:
    from liningbook.analysis import analyse

    folder = ROOT / "guidelines" / "faulty" / name
    files = split(joined(folder))
    here = {file: content for file, content in files.items() if (folder / file).exists()}
    kinds = {(finding.kind, finding.span.file) for finding in analyse(folder, DAY).findings}
    assert kinds
    assert {(finding.kind, finding.span.file) for finding in analysed(here).findings} == kinds
