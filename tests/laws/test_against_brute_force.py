"""The engine against a brute-force table: on random protocols both say the same of every case.

`tests/oracle` works the contract out case by case; nothing of the engine is used there. A failure names the seed;
`python -m tests.oracle.shrink SEED` shows the smallest protocol on which they still disagree. `tests/seeds.py` says
which seeds are taken: `LAWS_FIRST=500` and `LAWS_COUNT=5000` look at other protocols, or more.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from liningbook.checks.registry import KINDS
from liningbook.cli import main
from liningbook.exchange.findings import findings_json
from tests import seeds
from tests.oracle import compare
from tests.oracle.folder import brute, read_plain, write_folder
from tests.oracle.generate import DAY, MOST_CELLS, Source, random_protocol
from tests.oracle.notation import Unsound
from tests.oracle.world import World, world_of

RANGE = (0, 500, 5)
SEEDS = seeds.window(*RANGE)

FAULTY = Path(__file__).resolve().parents[2] / "guidelines" / "faulty"


@pytest.fixture(scope="module", params=SEEDS)
def world(request: pytest.FixtureRequest) -> Iterator[World]:
    """A random protocol; its analysis and its table of all cases are worked out once for all tests."""
    with tempfile.TemporaryDirectory() as folder:
        yield world_of(str(request.param), random_protocol(request.param), Path(folder))


def test_findings_are_those_of_every_case_looked_at(world: World) -> None:
    assert list(compare.findings(world)) == []
    others = {"placing-order", "unscreened"}  # which other laws hold against every case
    assert {finding.kind for finding in world.analysis.findings} <= {*compare.SEVERITIES, *others}


def test_what_goes_wrong_on_a_later_day_is_said_with_its_date(world: World) -> None:
    assert list(compare.later_days(world)) == []


def test_advice_for_a_case_is_what_the_contract_says(world: World) -> None:
    assert list(compare.advice(world)) == []


def test_decision_tables_are_disjoint_complete_and_right(world: World) -> None:
    assert list(compare.tables(world)) == []


def test_the_chart_and_its_exceptions_answer_every_case_of_what_a_card_shows(world: World) -> None:
    assert list(compare.chart(world)) == []


# --- protocols written by hand --------------------------------------------------------------------------------------


def test_the_demonstration_means_what_the_oracle_says(demonstration: Path) -> None:
    world = World("demonstration", read_plain(demonstration, DAY), demonstration)
    assert list(compare.disagreements(world)) == []


UNREADABLE = {row.kind for row in KINDS if row.find is None}


@pytest.mark.parametrize("name", sorted({path.name for path in FAULTY.glob("*/")} - UNREADABLE))
def test_the_faulty_protocols_mean_what_the_oracle_says(name: str) -> None:
    """Those that can be analysed at all; each folder is named after the kind of finding that it shows."""
    world = World(name, read_plain(FAULTY / name, DAY), FAULTY / name)
    assert list(compare.disagreements(world)) == []


# --- the commands ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", SEEDS[:20])
def test_the_commands_say_what_the_library_says(seed: int, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    world = world_of(str(seed), random_protocol(seed), tmp_path)
    assert main(["check", str(tmp_path), "--format", "json", "--on", DAY.isoformat()]) == int(world.analysis.has_errors)
    assert json.loads(capsys.readouterr().out) == json.loads(json.dumps(findings_json(world.analysis)))
    grid = world.brute.grid()
    case = grid.case(Source(seed).count(0, grid.count - 1))
    values = [f"{name}={world.text(name, value).replace(' ', '')}" for name, value in case.items()]
    assert main(["case", str(tmp_path), *values, "--format", "json", "--on", DAY.isoformat()]) == 0
    assert list(compare.case_advice(world, case, json.loads(capsys.readouterr().out))) == []


@pytest.mark.parametrize("seed", SEEDS[:3])
def test_the_order_of_sets_in_memory_changes_no_output(seed: int, repository: Path, tmp_path: Path) -> None:
    folder = write_folder(random_protocol(seed), tmp_path)
    command = [sys.executable, "-m", "liningbook", "check", str(folder), "--format", "json", "--on", DAY.isoformat()]
    said = {
        subprocess.run(
            command,
            env={**os.environ, "PYTHONPATH": str(repository / "builder"), "PYTHONHASHSEED": hash_seed},
            stdout=subprocess.PIPE,
        ).stdout
        for hash_seed in ("1", "2", "3")
    }
    assert len(said) == 1
    assert said != {b""}


# --- the oracle itself ----------------------------------------------------------------------------------------------


def test_the_random_protocols_show_every_kind_of_finding_and_state() -> None:
    """Otherwise the tests above would prove less than they say."""
    states = ("not-needed", "gap", "conflict", "contraindicated", "clash", "answered")
    wanted = {*compare.SEVERITIES, *(f"state {state}" for state in states), "excluded"}
    seen: Counter[str] = Counter()
    for seed in SEEDS:
        if all(seen[kind] >= 5 for kind in wanted):
            break
        plain = random_protocol(seed)
        oracle = brute(plain)
        regions = oracle.regions(oracle.grid())
        assert regions.grid.count <= MOST_CELLS
        seen.update({"expiring"} if any("until" in rule.get("valid", {}) for rule in oracle.rules.values()) else set())
        later = [rule.get("valid", {}).get("from", "") > DAY.isoformat() for rule in plain["rules"].values()]
        seen.update({"coming"} if any(later) else set())
        seen.update({str(fact[0]) for fact in regions.cells})
        seen.update({f"state {outcome[0]}" for _, outcome in regions.outcomes})
        seen.update({"unreachable"} if oracle.unreachable(regions) else set())
        seen.update({"idle-override"} if oracle.idle_overrides(regions) else set())
        seen.update({"excluded"} if 0 < regions.scope < regions.grid.full else set())
    assert {kind: seen[kind] for kind in wanted if seen[kind] < 5} == {}


@pytest.mark.parametrize("seed", SEEDS[:20])
def test_the_table_of_the_oracle_is_its_advice_for_each_case(seed: int) -> None:
    """Cells are judged in groups and cases one by one; the two ways must meet."""
    oracle = brute(random_protocol(seed))
    regions = oracle.regions(oracle.grid())
    source = Source(seed)
    for _ in range(50):
        cell = source.count(0, regions.grid.count - 1)
        true = oracle.advise(regions.grid.case(cell))
        assert bool(regions.scope >> cell & 1) == true.in_scope
        assert {fact for fact, cells in regions.cells.items() if cells >> cell & 1} == true.facts
        assert {key for key, cells in regions.outcomes.items() if cells >> cell & 1} == {
            (decision, true.outcome(decision)) for decision in true.states
        }


def test_plain_data_come_back_from_the_files(tmp_path: Path) -> None:
    plain = random_protocol(3)
    assert read_plain(write_folder(plain, tmp_path), date.fromisoformat(plain["day"])) == plain


@pytest.mark.parametrize(
    ("box", "wrong"),
    [
        ({"depth": {"above": "1 mm"}}, "no factor"),
        ({"rdt": {"above": "1.0 mm"}}, "not canonical"),
        ({"rdt": {"above": "1000 um"}}, "not canonical"),
        ({"rdt": {"above": "7 mm"}}, "beyond the limits"),
        ({"rdt": {"above": "0.3 mm"}}, "off the step"),
        ({"rdt": {"above": "1 mm", "at_least": "1 mm"}}, "two bounds of one side"),
        ({"rdt": {"exactly": "1 mm", "below": "2 mm"}}, "more than `exactly`"),
        ({"rdt": {}}, "no range"),
        ({"filling": "amalgam"}, "no list of values"),
        ({"filling": ["gold"]}, "unknown value"),
        ({"asked": ["yes"]}, "neither yes nor no"),
        ({"rdt": {"above": "1 mm", "below": "1.25 mm"}}, "empty or meets another box"),
        ({"rdt": {"at_least": "1 mm"}}, "empty or meets another box"),
    ],
)
def test_an_unsound_box_does_not_pass(box: dict[str, object], wrong: str, tmp_path: Path) -> None:
    plain = random_protocol(0)
    plain["protocol"] |= {
        "factors": {
            "rdt": {"kind": "quantity", "unit": "mm", "at_least": "0 mm", "at_most": "6 mm", "step": "0.25 mm"},
            "filling": {"kind": "choice", "values": {"amalgam": "Amalgam", "resin": "Resin"}},
            "asked": {"kind": "yes-no"},
        },
        "decisions": {"filled": {"answers": {"well": "Well"}}},
        "excluded": [],
    }
    plain["materials"] = {"agents": {}}
    rule = {"title": "One", "advise": {"filled": "well"}, "evidence": {"basis": "good-practice", "note": "None."}}
    whens = [{"rdt": {"exactly": text}} for text in ("1 mm", "1.25 mm", "2 mm")]
    plain["rules"] = {"one": rule, "two": rule | {"when": whens}}
    world = world_of("by hand", plain, tmp_path)
    with pytest.raises(Unsound, match=wrong):
        world.cells_of([{"rdt": {"above": "2 mm"}}, box])
