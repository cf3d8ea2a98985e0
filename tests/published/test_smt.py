"""Conflicts and gaps against an SMT solver: no case is reported wrongly and none is missed, by proof.

`tests/oracle/smt.py` puts the rules of the contract to the solver as formulas over exact rational and whole numbers;
there are no cells and no samples. For each decision and each pair of rules two formulas must have no solution: "so, but
not reported" and "reported, but not so". Source: Z3 5.4; L. de Moura and N. Bjørner, Z3: An Efficient SMT Solver,
TACAS 2008, LNCS 4963, pages 337-340.
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from itertools import combinations
from pathlib import Path
from typing import Any

import pytest
import z3

from tests import seeds
from tests.oracle.generate import random_protocol
from tests.oracle.smt import Formulas, never
from tests.oracle.world import World, world_of

SEEDS = seeds.window(1000, 50, 5)
"""Other protocols than those that are held against the table of all cases."""


@pytest.fixture(scope="module", params=SEEDS)
def world(request: pytest.FixtureRequest) -> Iterator[World]:
    with tempfile.TemporaryDirectory() as folder:
        yield world_of(str(request.param), random_protocol(request.param), Path(folder))


def reported(world: World, kind: str, decision: str, rules: set[str]) -> list[dict[str, Any]]:
    """The boxes of the one finding of a kind, a decision and its rules; none if there is no finding."""
    found = [
        finding["cases"]
        for finding in world.findings_of_the_day
        if finding["kind"] == kind and finding["decision"] == decision and set(finding["rules"]) == rules
    ]
    assert len(found) <= 1
    return found[0] if found else []


def assert_same(formulas: Formulas, true: z3.BoolRef, boxes: list[dict[str, Any]]) -> None:
    said = formulas.holds(boxes) if boxes else z3.BoolVal(False)
    possible = z3.And(*formulas.possible)
    assert never(possible, true, z3.Not(said)), "a case is missed"
    assert never(possible, said, z3.Not(true)), "a case is reported wrongly"
    for one, two in combinations(boxes, 2):
        assert never(possible, formulas.box(one), formulas.box(two)), "two boxes overlap"


def test_gaps_are_those_of_the_solver(world: World) -> None:
    formulas = Formulas(world.brute)
    for decision in world.brute.decisions:
        assert_same(formulas, formulas.gap(decision), reported(world, "gap", decision, set()))


def test_conflicts_are_those_of_the_solver(world: World) -> None:
    formulas = Formulas(world.brute)
    for decision in world.brute.decisions:
        for pair in combinations(formulas.advising(decision), 2):
            boxes = reported(world, "conflict", decision, set(pair))
            assert_same(formulas, formulas.conflict(decision, *pair), boxes)


def test_the_solver_knows_that_nothing_lies_between_two_multiples_of_a_step() -> None:
    plain = random_protocol(0)
    plain["protocol"] |= {
        "factors": {"rdt": {"kind": "quantity", "unit": "mm", "at_least": "0 mm", "at_most": "6 mm"}},
        "decisions": {"filled": {"answers": {"well": "Well"}}},
        "excluded": [],
    }
    plain["materials"], plain["rules"] = {"agents": {}}, {}
    between = {"rdt": {"above": "500 um", "below": "0.55 mm"}}
    for step, is_empty in ((None, False), ("0.05 mm", True), ("0.01 mm", False)):
        if step is not None:
            plain["protocol"]["factors"]["rdt"]["step"] = step
        formulas = Formulas(World("by hand", plain, Path()).brute)
        assert never(*formulas.possible, formulas.box(between)) == is_empty


def test_the_solver_is_asked_about_protocols_with_conflicts_and_gaps() -> None:
    found = {"conflict": 0, "gap": 0}
    for seed in SEEDS:
        oracle = World(str(seed), random_protocol(seed), Path()).brute
        kinds = {fact[0] for fact in oracle.regions(oracle.grid()).cells}
        found = {kind: count + (kind in kinds) for kind, count in found.items()}
    assert min(found.values()) >= 0.4 * len(SEEDS)
