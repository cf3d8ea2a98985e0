"""Changed cases of two versions against an SMT solver: none is reported wrongly and none is missed, by proof.

As in `test_smt.py`, with the formulas of both versions over the same numbers. Looked at are cases in which the scope,
the need for a decision or its answers differ; what is contraindicated or clashes is held against the table of all cases
in `tests/laws/test_two_versions.py`. Source: Z3 5.4; L. de Moura and N. Bjørner, Z3: An Efficient SMT Solver, TACAS
2008, LNCS 4963, pages 337-340.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pytest
import z3

from tests import seeds
from tests.oracle.brute import Brute
from tests.oracle.pairs import Pair, pair_of
from tests.oracle.smt import Formulas, never
from tests.oracle.versions import Said, bare

ALIKE = [
    1059, 1071, 1078, 1088, 1091, 1098, 1110, 1122, 1124, 1128, 1195, 1203, 1218, 1225, 1287,
    1004, 1009, 1019, 1021, 1036, 1039, 1040, 1041, 1044, 1049, 1060, 1069, 1074, 1080, 1092, 1099, 1125, 1134,
    1139, 1146, 1152, 1167, 1183, 1185, 1205, 1206, 1211, 1239, 1250, 1256, 1259, 1261, 1265, 1272, 1276,
]  # fmt: skip
"""Pairs with the same factors and names and other rules, not those held against the table of all cases.

In those of the first line cases change.
"""

SEEDS = [ALIKE[n] for n in seeds.window(0, len(ALIKE), 5)]


@pytest.fixture(params=SEEDS)
def pair(request: pytest.FixtureRequest) -> Pair:
    pair = pair_of(request.param)
    assert pair.old["protocol"]["factors"] == pair.new["protocol"]["factors"]
    assert list(pair.old["protocol"]["decisions"]) == list(pair.new["protocol"]["decisions"])
    assert not pair.told["renamed"]
    assert pair.old["rules"] != pair.new["rules"]
    return pair


def answered(formulas: Formulas, brute: Brute, decision: str) -> dict[Any, z3.BoolRef]:
    """For each answer to a decision whether it is left."""
    found: dict[Any, list[z3.BoolRef]] = {}
    for rule in formulas.advising(decision):
        meaning = brute.meaning(brute.rules[rule]["advise"][decision])
        found.setdefault(meaning, []).append(formulas.left[decision, rule])
    return {meaning: z3.Or(*parts) for meaning, parts in found.items()}


def test_changed_cases_are_those_of_the_solver(pair: Pair) -> None:
    old, new = (Formulas(brute) for brute in pair.versions.brutes)
    possible = z3.And(*old.possible)
    for decision in pair.versions.brutes[0].decisions:
        first, second = (
            answered(old, pair.versions.brutes[0], decision),
            answered(new, pair.versions.brutes[1], decision),
        )
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
        said = [box for change in pair.changes if speaks(pair, change, decision) for box in change["cases"]]
        holds = old.holds(said) if said else no
        assert never(possible, true, z3.Not(holds)), "a case is missed"
        assert never(possible, holds, z3.Not(true)), "a case is reported wrongly"


def speaks(pair: Pair, change: Mapping[str, Any], decision: str) -> bool:
    """Whether a change is one of scope, need or answers."""
    before, after = (pair.versions.told(side, change[key]) for side, key in enumerate(("before", "after")))
    return change["decision"] == decision and _answers(before) != _answers(after)


def _answers(told: Said) -> Any:
    """The answers, and whether the decision is needed and the case covered at all."""
    state, answers = bare(told)
    return state if state in ("not-needed", "out-of-scope") else answers


def test_some_of_the_pairs_differ() -> None:
    assert sum(bool(pair_of(seed).changes) for seed in SEEDS) >= 0.3 * len(SEEDS)
