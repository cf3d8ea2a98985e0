"""What a finding says in words is what it says in `cases`: read back, its message and notes give the same cases.

Looked at are random protocols, those whose rules start and end too, so that the findings of later days are among them.
"""

from __future__ import annotations

import re
import tempfile
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from liningbook.analysis import analyse
from liningbook.exchange.findings import facts_json, findings_json
from tests import seeds
from tests.laws.test_validity import protocol_that_changes
from tests.oracle.folder import write_folder
from tests.oracle.generate import random_protocol
from tests.oracle.grid import Grid
from tests.oracle.materials import protocol_with_materials
from tests.oracle.said import CUT, Said, read_condition, read_line, read_message, read_value
from tests.saying import message_of, notes_of

MAKERS = (random_protocol, protocol_with_materials, protocol_that_changes)
SEEDS = [(maker, seed) for maker in MAKERS for seed in seeds.window(3000, 40, 8, always=[3000, 3001, 3003, 3010, 3017])]
"""With those that show each kind, of the day and of a later day."""

IN_TITLE, LISTED, LONGEST = 3, 4, 80


@dataclass(frozen=True)
class Spoken:
    """One finding with cases, in words and in the notation of the sources."""

    factors: Mapping[str, Any]
    kind: str
    message: str
    notes: tuple[str, ...]
    cases: list[dict[str, Any]]
    witness: dict[str, str]
    is_complete: bool
    on: str | None

    def cells(self, *boxes: Mapping[str, Any]) -> int:
        """The cells of boxes; the grid is cut at what is said and at what is so."""
        return self._grid(boxes).cells(list(boxes))

    def same(self, one: Mapping[str, Any], other: Mapping[str, Any]) -> bool:
        grid = self._grid([one, other])
        return grid.box(one) == grid.box(other)

    def _grid(self, boxes: Any) -> Grid:
        return Grid(self.factors, list(boxes))


def spoken(maker: Any, seed: int) -> Iterator[Spoken]:
    plain = maker(seed)
    with tempfile.TemporaryDirectory() as folder:
        analysis = analyse(write_folder(plain, Path(folder) / "p"), date.fromisoformat(plain["day"]))
    factors = plain["protocol"]["factors"]
    told = [found["message"] for found in findings_json(analysis)["findings"]]
    for finding, message in zip(analysis.findings, told, strict=True):
        assert message_of(finding) == message
        cases, further = facts_json(finding)
        if cases["cases"]:
            yield Spoken(factors, finding.kind, message, notes_of(finding), cases["cases"], cases["witness"],
                         further.get("complete", True), further.get("on"))  # fmt: skip


def box_of(one: Spoken, said: Said) -> dict[str, Any]:
    return {name: read_condition(one.factors[name], words) for name, words in said.words.items()}


def says_what_is_unusual(one: Spoken) -> None:
    """Its message says no first case, but the values of all its cases for each factor that it names."""
    message, _, end = one.message.rpartition(", and ")
    assert end == "no stop question takes that off it"
    said = read_message(one.factors, message)
    assert said.first.words, one
    for name, words in said.first.words.items():
        if not words.endswith(CUT):
            values = [{name: case[name]} if name in case else {} for case in one.cases]
            box = {name: read_condition(one.factors[name], words)}
            grid = one._grid([*values, box])
            assert grid.cells(values) == grid.box(box), one


@pytest.mark.parametrize(("maker", "seed"), SEEDS)
def test_the_message_read_back_is_the_first_of_the_cases(maker: Any, seed: int) -> None:
    for one in spoken(maker, seed):
        if one.kind == "unscreened":
            says_what_is_unusual(one)
            continue
        first, said = one.cases[0], read_message(one.factors, one.message)
        assert said.elsewhere == (len(one.cases) > 1), one
        assert said.perhaps == (not one.is_complete), one
        assert said.first.left_out == (len(first) > IN_TITLE), one
        assert list(said.first.words) == list(first)[:IN_TITLE], one
        for name, words in said.first.words.items():
            if not words.endswith(CUT):
                assert one.same({name: read_condition(one.factors[name], words)}, {name: first[name]}), one
            else:
                assert len(words) == LONGEST, one


@pytest.mark.parametrize(("maker", "seed"), SEEDS)
def test_the_cases_listed_below_the_message_are_the_cases(maker: Any, seed: int) -> None:
    for one in spoken(maker, seed):
        lines = [note[7:] for note in one.notes if re.match(r"cases: |   or: ", note)]
        more = [
            int(found[1]) for note in one.notes if (found := re.match(r"   and (\d+) further sets? of cases$", note))
        ]
        assert bool(lines) == (len(one.cases) > 1 or len(one.cases[0]) > IN_TITLE), one
        if lines:
            assert len(lines) + sum(more) == len(one.cases), one
            assert len(lines) == min(LISTED, len(one.cases)), one
        for line, box in zip(lines, one.cases, strict=False):
            said = box_of(one, read_line(one.factors, line))
            assert list(said) == list(box), one
            assert one.same(said, box), one


@pytest.mark.parametrize(("maker", "seed"), SEEDS)
def test_the_example_is_the_witness(maker: Any, seed: int) -> None:
    for one in spoken(maker, seed):
        [example] = [note[12:] for note in one.notes if note.startswith("for example ")]
        said = read_line(one.factors, example)
        assert {name: read_value(one.factors[name], words) for name, words in said.words.items()} == one.witness, one


def test_all_that_is_said_of_cases_is_looked_at() -> None:
    """So that the laws above cannot pass by looking at nothing: each kind, of the day and of a later day."""
    kinds: Counter[str] = Counter()
    for maker, seed in SEEDS:
        for one in spoken(maker, seed):
            kinds[f"{one.kind} later" if one.on and one.kind != "expiring" else one.kind] += 1
    later = {"conflict", "gap", "contraindicated", "clash", "unprotected", "less-protection"}
    assert {*later, "duplicate", "avoid-overridden", "expiring", "indistinct"} <= set(kinds)
    assert {f"{kind} later" for kind in later} <= set(kinds)
