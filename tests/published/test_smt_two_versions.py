"""Changed cases of two versions against an SMT solver: none is reported wrongly and none is missed, by proof.

As in `test_smt.py`, with the formulas of both versions over the same numbers. Looked at are cases in which the scope,
the need for a decision or its answers differ; what is contraindicated or clashes is held against the table of all cases
in `tests/laws/test_two_versions.py`. Source: Z3 5.4; L. de Moura and N. Bjørner, Z3: An Efficient SMT Solver, TACAS
2008, LNCS 4963, pages 337-340.
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from itertools import count, islice
from pathlib import Path
from typing import Any

import pytest
import z3

from tests.laws.test_two_versions import Pair, another, pair_of
from tests.oracle.brute import Brute
from tests.oracle.generate import random_protocol
from tests.oracle.smt import Formulas, never


def seeds() -> Iterator[int]:
    """Pairs with the same factors and other rules, not those that are held against the table of all cases."""
    for seed in count(1000):
        plain = random_protocol(seed, 4_000)
        new = another(plain, seed)
        if new["protocol"]["factors"] == plain["protocol"]["factors"] and new["rules"] != plain["rules"]:
            yield seed


@pytest.fixture(scope="module", params=list(islice(seeds(), 50)))
def pair(request: pytest.FixtureRequest) -> Iterator[Pair]:
    with tempfile.TemporaryDirectory() as folder:
        yield pair_of(request.param, Path(folder))


def answered(formulas: Formulas, brute: Brute, decision: str) -> dict[Any, z3.BoolRef]:
    """For each answer to a decision whether it is left."""
    found: dict[Any, list[z3.BoolRef]] = {}
    for rule in formulas.advising(decision):
        meaning = brute.meaning(brute.rules[rule]["advise"][decision])
        found.setdefault(meaning, []).append(formulas.left[decision, rule])
    return {meaning: z3.Or(*parts) for meaning, parts in found.items()}


def test_changed_cases_are_those_of_the_solver(pair: Pair) -> None:
    old, new = (Formulas(brute) for brute in pair.brutes)
    possible = z3.And(*old.possible)
    for decision in pair.brutes[0].decisions:
        first, second = answered(old, pair.brutes[0], decision), answered(new, pair.brutes[1], decision)
        no = z3.BoolVal(False)
        needs = old.needed[decision], new.needed[decision]
        inside = z3.Or(
            needs[0] != needs[1],
            *(
                z3.And(needs[0], first.get(meaning, no)) != z3.And(needs[1], second.get(meaning, no))
                for meaning in {*first, *second}
            ),
        )
        true = z3.Or(old.scope != new.scope, z3.And(old.scope, new.scope, inside))
        said = [box for change in pair.told["changes"] if speaks(change, decision) for box in change["cases"]]
        holds = old.holds(said) if said else no
        assert never(possible, true, z3.Not(holds)), "a case is missed"
        assert never(possible, holds, z3.Not(true)), "a case is reported wrongly"


def speaks(change: dict[str, Any], decision: str) -> bool:
    """Whether a change is one of scope, need or answers."""

    def answers(told: dict[str, Any]) -> Any:
        bare = {"not-needed": "not needed", "out-of-scope": "not covered"}
        entries = told.get("answers") or ([told] if "answer" in told else [])
        return bare.get(told["state"], sorted(repr(_plain(one["answer"])) for one in entries))

    return change["decision"] == decision and answers(change["before"]) != answers(change["after"])


def _plain(answer: Any) -> Any:
    """An answer without the reason of a judgement."""
    return "judgement" if isinstance(answer, dict) and "judgement" in answer else answer


def test_some_of_the_pairs_differ() -> None:
    changed = 0
    for seed in islice(seeds(), 50):
        with tempfile.TemporaryDirectory() as folder:
            changed += bool(pair_of(seed, Path(folder)).told["changes"])
    assert changed >= 15
