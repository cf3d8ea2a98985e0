"""Two versions of a protocol, compared by the engine and by looking at every case of both.

The second reading is `tests/oracle/versions.py`, which uses nothing of the engine: both versions are judged in every
cell of one grid. The pairs are random protocols and what random edits make of them (`tests/oracle/edits.py`). A failure
names the seed of the pair.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from liningbook.compare.comparison import Comparison, compare
from liningbook.exchange.changes_json import changes_json
from liningbook.space.boxes import cell_count
from tests import seeds
from tests.oracle.boxes import box_from
from tests.oracle.edits import RENAMING
from tests.oracle.generate import DAY
from tests.oracle.notation import meets, read_box, read_witness
from tests.oracle.pairs import Pair, pair_of, versions_of
from tests.oracle.versions import Versions

RANGE = (0, 300, 5)
PAIRS = seeds.window(*RANGE, always=[3, 17, 28, 34, 57, 119, 124, 162, 173, 190, 204, 219, 266])
"""With those that bring what is rare (the last test)."""


@pytest.fixture(params=PAIRS)
def pair(request: pytest.FixtureRequest) -> Pair:
    return pair_of(request.param)


def test_changed_cases_are_those_of_every_case_looked_at(pair: Pair) -> None:
    versions, grid = pair.versions, pair.versions.grid
    assert sorted(pair.comparison.space.names) == sorted(grid.axes)
    told: dict[Any, int] = {}
    groups: set[Any] = set()
    everything: dict[str, int] = defaultdict(int)
    for change in pair.changes:
        key = (change["decision"], versions.told(0, change["before"]), versions.told(1, change["after"]))
        # Entries of `together` that are broken are told apart too, of which the table of all cases knows nothing.
        group = (*key, *(tuple(change[side].get("entries", ())) for side in ("before", "after")))
        assert group not in groups, "the same change twice"
        groups.add(group)
        cells = 0
        for box in change["cases"]:
            read_box(grid.factors, box)
            inside = grid.cells(box)
            assert inside, "a box without a case"
            assert not inside & everything[change["decision"]], "a case in two boxes"
            everything[change["decision"]] |= inside
            cells |= inside
        assert not cells & ~(versions.scopes[0] | versions.scopes[1]), "a case that neither version covers"
        told[key] = told.get(key, 0) | cells
        named = {name: grid.factors[name] for name in change["witness"]}
        witness = read_witness(named, change["witness"])
        assert set(witness) == set(grid.axes)
        assert any(_holds(grid.factors, box, witness) for box in change["cases"]), "the witness is no such case"
        assert abs(Fraction(change["share"]) - versions.share(cells)) <= Fraction(1, 20_000)
    assert told == versions.changes()
    assert pair.told["no_case_changed"] == (not told)


def _holds(factors: Mapping[str, Any], box: Mapping[str, Any], case: Mapping[str, Any]) -> bool:
    return all(meets(factors[name], condition, case[name]) for name, condition in box.items())


def test_the_other_way_round_is_the_mirror(pair: Pair) -> None:
    back = compare(pair.comparison.new_protocol, pair.comparison.old_protocol, DAY)
    again = changes_json(back, "", "", DAY)
    apart = any(name.startswith("old-") for name in pair.told["factors"]["removed"])
    if pair.told["renamed"] or again["renamed"] or apart:
        # The names are those of the later version, whichever that is; cases and parts are the same.
        mine = sorted(_unnamed(pair.comparison, change, "before", "after") for change in pair.changes)
        assert mine == sorted(_unnamed(back, change, "after", "before") for change in again["changes"])
    else:
        mine = [_key(pair, change, "before", "after") for change in pair.changes]
        assert sorted(mine) == sorted(_key(pair, change, "after", "before") for change in again["changes"])
    assert pair.told["share_changed"] == again["share_changed"]
    opposite = {"new": "closed", "closed": "new"}
    for state in ("gaps", "conflicts"):
        for step, other in opposite.items():
            assert len(pair.told[state][step]) == len(again[state][other])
    steps = {"starts": "ends", "ends": "starts", "same": "same"}
    for key in ("layer", "referral", "judgement", "cover"):
        turned = sorted(steps[change["effects"][key]] for change in again["changes"])
        assert sorted(change["effects"][key] for change in pair.changes) == turned


def _key(pair: Pair, change: Mapping[str, Any], first: str, second: str) -> Any:
    return change["decision"], repr(change[first]), repr(change[second]), pair.versions.grid.cells(change["cases"])


def _unnamed(comparison: Comparison, change: Mapping[str, Any], first: str, second: str) -> Any:
    """What of a change bears no name: states, how many answers and rules, and how many cells it takes."""
    boxes = [box_from(comparison.space, box) for box in change["cases"]]
    counts = [len(change[side].get("answers", ())) for side in (first, second)]
    rules = [len(change[side].get("rules", ())) for side in (first, second)]
    return change[first]["state"], change[second]["state"], counts, rules, sum(map(cell_count, boxes)), change["share"]


def test_a_version_does_not_differ_from_itself(pair: Pair) -> None:
    protocol = pair.comparison.new_protocol
    same = compare(protocol, protocol, DAY)
    assert (same.differences, same.notes, same.renamed, same.gone, same.added) == ((), (), (), (), ())
    assert same.largest_step == "none"


@pytest.mark.parametrize("seed", seeds.window(0, 60, 3))
def test_new_names_alone_change_no_case(seed: int, tmp_path: Path) -> None:
    old, new, first, second = versions_of(seed, tmp_path, RENAMING)
    comparison = compare(first, second, DAY)
    told = changes_json(comparison, "old", "new", DAY)
    versions = Versions(old, new, told["renamed"])
    if not versions.changes():
        assert told["changes"] == []
    for entry in told["renamed"]:
        assert entry["after"].startswith(f"{entry['before']}-anew")


def test_the_pairs_change_in_every_way() -> None:
    """What the laws above say is said of pairs that differ, and that differ in many ways."""
    seen: dict[str, int] = defaultdict(int)
    for seed in PAIRS:
        pair = pair_of(seed)
        seen["differ"] += bool(pair.changes)
        for entry in pair.told["renamed"]:
            seen[f"renamed {entry['kind']}"] += 1
        seen["factors"] += bool(pair.told["factors"]["added"] or pair.told["factors"]["removed"])
        seen["apart"] += any(name.startswith("old-") for name in pair.told["factors"]["removed"])
        for name, factor in pair.old["protocol"]["factors"].items():
            other = pair.new["protocol"]["factors"].get(name, factor)
            for key in ("unit", "step", "at_most", "values"):
                seen[key] += factor.get(key) != other.get(key)
        for change in pair.changes:
            for side in ("before", "after"):
                seen[change[side]["state"]] += 1
    assert seen["differ"] >= (0.5 if seeds.takes_all() else 0.4) * len(PAIRS)
    for kind in ("rule", "factor", "value", "decision", "answer", "agent"):
        assert seen[f"renamed {kind}"] >= 3, kind
    for what in ("unit", "step", "at_most", "values", "factors", "apart"):
        assert seen[what] >= 5, what
    for state in ("answered", "gap", "conflict", "contraindicated", "clash", "not-needed", "out-of-scope"):
        assert seen[state] >= 10, state
