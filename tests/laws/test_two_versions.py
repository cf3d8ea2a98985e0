"""Two versions of a protocol, compared by the engine and by looking at every case of both.

The second reading is `tests/oracle/brute.py`, which uses nothing of the engine: both versions are judged in every cell
of one grid. A failure names the seed of the pair.
"""

from __future__ import annotations

import copy
import tempfile
from collections import defaultdict
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from pathlib import Path
from random import Random
from typing import Any

import pytest

from liningbook.analysis import understand
from liningbook.compare.comparison import Comparison, compare
from liningbook.rendering.changes_json import changes_json
from tests.oracle.brute import Brute
from tests.oracle.folder import brute, write_folder
from tests.oracle.generate import DAY, random_protocol
from tests.oracle.grid import Grid
from tests.oracle.notation import as_list, limits_of, meets, number, step_of, thresholds, values_of

PAIRS = range(100)

Plain = dict[str, Any]
Said = tuple[str, frozenset[Any]]


# --- another version of a protocol ------------------------------------------------------------------------------------


def another(plain: Plain, seed: int) -> Plain:
    """The protocol after some random edits, each of which leaves it sound."""
    random = Random(f"edits {seed}")
    found = copy.deepcopy(plain)
    for _ in range(random.choice([1, 2, 4, 8])):
        random.choice(EDITS)(found, random)
    return found


def _other_when(plain: Plain, random: Random) -> None:
    """A rule holds where another one does."""
    rules = list(plain["rules"].values())
    random.choice(rules)["when"] = copy.deepcopy(random.choice(rules).get("when", {}))


def _other_sign(plain: Plain, random: Random) -> None:
    """An end of a range that was within is without, or the reverse."""
    swap = {"above": "at_least", "at_least": "above", "below": "at_most", "at_most": "below"}
    rule = random.choice(list(plain["rules"].values()))
    for when in as_list(rule.get("when") or {}):
        for name, bounds in when.items():
            factor = plain["protocol"]["factors"][name]
            for one in as_list(bounds):
                if not isinstance(one, dict) or len(one) != 1 or (key := next(iter(one))) not in swap:
                    continue
                if number(one[key], factor["unit"]) not in limits_of(factor):  # there it might hold nothing any more
                    one[swap[key]] = one.pop(key)
                    return


def _taken_out(plain: Plain, random: Random) -> None:
    """A rule goes, and with it what names it."""
    name = random.choice(list(plain["rules"]))
    if len(plain["rules"]) == 1:
        return
    del plain["rules"][name]
    for rule in plain["rules"].values():
        if name in (left := rule.get("overrides", [])):
            rule["overrides"] = [other for other in left if other != name]
            if not rule["overrides"]:
                del rule["overrides"]


def _other_answer(plain: Plain, random: Random) -> None:
    """A rule advises what another one does."""
    rules = [rule for rule in plain["rules"].values() if rule.get("advise")]
    first, second = random.choice(rules), random.choice(rules)
    for decision in sorted({*first["advise"], *second["advise"]}):
        if decision in first["advise"] and decision in second["advise"]:
            first["advise"][decision] = copy.deepcopy(second["advise"][decision])


def _no_override(plain: Plain, random: Random) -> None:
    overriding = [rule for rule in plain["rules"].values() if rule.get("overrides")]
    if overriding:
        del random.choice(overriding)["overrides"]


def _an_override(plain: Plain, random: Random) -> None:
    """A rule overrides another that, as nothing does yet, closes no circle."""
    if not any(rule.get("overrides") for rule in plain["rules"].values()) and len(plain["rules"]) > 1:
        first, second = random.sample(list(plain["rules"]), 2)
        plain["rules"][first]["overrides"] = [second]


def _no_warning(plain: Plain, random: Random) -> None:
    rule = random.choice(list(plain["rules"].values()))
    for key in ("avoid", "never"):
        if key in rule and (rule.get("advise") or len([k for k in ("avoid", "never") if k in rule]) > 1):
            del rule[key]
            return


def _nothing_excluded(plain: Plain, random: Random) -> None:
    if excluded := plain["protocol"].get("excluded"):
        excluded.pop(random.randrange(len(excluded)))


def _nothing_together(plain: Plain, random: Random) -> None:
    if together := plain["materials"].get("together"):
        together.pop(random.randrange(len(together)))


def _always_needed(plain: Plain, random: Random) -> None:
    random.choice(list(plain["protocol"]["decisions"].values())).pop("needed_when", None)


def _renamed(plain: Plain, random: Random) -> None:
    """A rule bears another name."""
    name = random.choice(list(plain["rules"]))
    plain["rules"] = {(f"{name}-anew" if one == name else one): rule for one, rule in plain["rules"].items()}
    for rule in plain["rules"].values():
        if "overrides" in rule:
            rule["overrides"] = [f"{one}-anew" if one == name else one for one in rule["overrides"]]


def _one_more_value(plain: Plain, random: Random) -> None:
    choices = [f for f in plain["protocol"]["factors"].values() if f["kind"] == "choice"]
    if choices:
        random.choice(choices)["values"]["one-more"] = "One more"


def _one_more_factor(plain: Plain, random: Random) -> None:
    plain["protocol"]["factors"]["one-more"] = {"label": "One more", "kind": "yes-no"}
    rule = random.choice(list(plain["rules"].values()))
    rule["when"] = [{**when, "one-more": "yes"} for when in as_list(rule.get("when") or {}) or [{}]]


EDITS: list[Callable[[Plain, Random], None]] = [
    _other_when, _other_when, _other_sign, _other_sign, _other_sign, _taken_out, _other_answer, _other_answer,
    _no_override, _an_override, _no_warning, _nothing_excluded, _nothing_together, _always_needed, _renamed,
    _one_more_value, _one_more_factor,
]  # fmt: skip


# --- both readings ----------------------------------------------------------------------------------------------------


@dataclass
class Pair:
    old: Plain
    new: Plain
    comparison: Comparison
    told: dict[str, Any]
    grid: Grid
    brutes: tuple[Brute, Brute]

    def scope(self, version: Plain) -> int:
        """The cells within the limits and the values of a version."""
        when: dict[str, Any] = {}
        for name, factor in version["protocol"]["factors"].items():
            if factor["kind"] == "quantity":
                low, high = limits_of(factor)
                assert (low, high) == limits_of(self.grid.factors[name])
            else:
                when[name] = list(values_of(factor))
        return self.grid.box(when)

    def outcomes(self, oracle: Brute, version: Plain) -> dict[str, dict[Any, int]]:
        """By decision and outcome (state, answers with their rules) the cells."""
        inside = self.scope(version)
        regions = oracle.regions(self.grid)
        found: dict[str, dict[Any, int]] = {name: defaultdict(int) for name in version["protocol"]["decisions"]}
        for (decision, (state, answers, _)), cells in regions.outcomes.items():
            found[decision][state, answers] |= cells & inside
        outside = self.grid.full & ~(regions.scope & inside)
        for table in found.values():
            table["out-of-scope", frozenset()] |= outside
        return found

    def expected(self) -> dict[Any, int]:
        """By decision, before and after, the cells that changed."""
        before = self.outcomes(self.brutes[0], self.old)
        after = self.outcomes(self.brutes[1], self.new)
        former = {r.after: r.before for r in self.comparison.renamed if r.kind == "rule"}
        assert set(former.values()) <= set(self.old["rules"])
        found: dict[Any, int] = {}
        for decision in before:
            for first, here in before[decision].items():
                for second, there in after[decision].items():
                    if said(first) != said(second) and here & there:
                        found[decision, first, second] = here & there
        return found


def said(outcome: Any) -> Said:
    return outcome[0], frozenset(meaning for meaning, _ in outcome[1])


def outcome_of(oracle: Brute, told: Mapping[str, Any]) -> Any:
    """An outcome as the JSON tells it."""
    entries = told.get("answers") or ([told] if "answer" in told else [])
    return told["state"], frozenset((oracle.meaning(one["answer"]), frozenset(one["rules"])) for one in entries)


def protocol_of(plain: Plain, folder: Path) -> Any:
    analysis = understand(write_folder(plain, folder), date.fromisoformat(plain["day"]))
    assert analysis.protocol is not None, [finding.message for finding in analysis.findings]
    return analysis.protocol


def pair_of(seed: int, folder: Path) -> Pair:
    old = random_protocol(seed, 4_000)
    new = another(old, seed)
    first, second = protocol_of(old, folder / "old"), protocol_of(new, folder / "new")
    comparison = compare(first, second, DAY)
    factors = {**old["protocol"]["factors"], **new["protocol"]["factors"]}
    for name, factor in old["protocol"]["factors"].items():
        if factor["kind"] == "choice":
            factors[name] = {**factors[name], "values": {**factor["values"], **factors[name]["values"]}}
    whens = [
        thing.get("when")
        for plain in (old, new)
        for thing in [*plain["rules"].values(), *plain["protocol"]["excluded"], *plain["materials"]["together"]]
    ]
    grid = Grid(factors, whens)
    return Pair(old, new, comparison, changes_json(comparison, "old", "new", DAY), grid, (brute(old), brute(new)))


@pytest.fixture(scope="module", params=PAIRS)
def pair(request: pytest.FixtureRequest) -> Any:
    with tempfile.TemporaryDirectory() as folder:
        yield pair_of(request.param, Path(folder))


def test_changed_cases_are_those_of_every_case_looked_at(pair: Pair) -> None:
    told: dict[Any, int] = defaultdict(int)
    everything: dict[str, int] = defaultdict(int)
    for change in pair.told["changes"]:
        before, after = (outcome_of(o, change[k]) for o, k in zip(pair.brutes, ("before", "after"), strict=True))
        for box in change["cases"]:
            cells = pair.grid.cells(box)
            assert cells, "a box without a case"
            assert not cells & everything[change["decision"]], "a case in two boxes"
            everything[change["decision"]] |= cells
            told[change["decision"], before, after] |= cells
        witness = {
            name: {"exactly": text} if pair.grid.factors[name]["kind"] == "quantity" else [text]
            for name, text in change["witness"].items()
        }
        assert set(witness) == set(pair.grid.factors)
        assert any(_within(pair.grid, witness, box) for box in change["cases"])
    assert dict(told) == pair.expected()
    assert pair.told["no_case_changed"] == (not pair.expected())


def _within(grid: Grid, witness: Mapping[str, Any], box: Mapping[str, Any]) -> bool:
    for name, condition in box.items():
        factor = grid.factors[name]
        value = witness[name]
        one: Any = number(value["exactly"], factor["unit"]) if factor["kind"] == "quantity" else value[0]
        if not meets(factor, condition, one):
            return False
    return True


def test_shares_are_those_of_the_cells(pair: Pair) -> None:
    grid = pair.grid
    both = zip(pair.brutes, (pair.old, pair.new), strict=True)
    scopes = [oracle.regions(grid).scope & pair.scope(plain) for oracle, plain in both]
    whole = _weight(grid, scopes[0] | scopes[1])
    for change in pair.told["changes"]:
        cells = grid.cells(change["cases"])
        share = Fraction(_weight(grid, cells), whole) if whole else Fraction(0)
        assert abs(Fraction(change["share"]) - share) <= Fraction(1, 20000)


def _weight(grid: Grid, cells: int) -> Fraction:
    """Length for a quantity (count of multiples with a step), count of values for the rest."""
    total = Fraction(0)
    for case in grid.cases(cells):
        weight = Fraction(1)
        for name, value in case.items():
            factor = grid.factors[name]
            if factor["kind"] == "quantity":
                weight *= _extent(grid, name, value)
        total += weight
    return total


def _extent(grid: Grid, name: str, value: Fraction) -> Fraction:
    values = grid.axes[name]
    at = values.index(value)
    step = grid.factors[name].get("step")
    if step is None:
        if at % 2 == 0:
            return Fraction(int(len(values) == 1))
        return values[at + 1] - values[at - 1]
    size = step_of(grid.factors[name])
    assert size is not None
    points = thresholds(name, grid.factors[name]["unit"], grid.whens) | set(limits_of(grid.factors[name]))
    if value in points:
        return Fraction(1)
    return (values[at + 1] - values[at - 1]) / size - 1


def test_the_other_way_round_is_the_mirror(pair: Pair) -> None:
    back = compare(pair.comparison.new_protocol, pair.comparison.old_protocol, DAY)
    there = {_key(pair.grid, c, "before", "after") for c in pair.told["changes"]}
    again = {_key(pair.grid, c, "after", "before") for c in changes_json(back, "", "", DAY)["changes"]}
    assert there == again


def _key(grid: Grid, change: Mapping[str, Any], first: str, second: str) -> Any:
    return change["decision"], repr(change[first]), repr(change[second]), grid.cells(change["cases"])


def test_a_version_does_not_differ_from_itself(pair: Pair) -> None:
    same = compare(pair.comparison.new_protocol, pair.comparison.new_protocol, DAY)
    assert (same.differences, same.notes, same.renamed, same.largest_step) == ((), (), (), "none")


def test_the_pairs_change_in_every_way() -> None:
    """What the laws above say is said of pairs that differ, and that differ in many ways."""
    seen: dict[str, int] = defaultdict(int)
    for seed in PAIRS:
        with tempfile.TemporaryDirectory() as folder:
            pair = pair_of(seed, Path(folder))
        seen["differ"] += bool(pair.told["changes"])
        seen["renamed"] += bool(pair.told["renamed"])
        for change in pair.told["changes"]:
            for side in ("before", "after"):
                seen[change[side]["state"]] += 1
    assert seen["differ"] >= 50
    assert seen["renamed"] >= 6
    for state in ("answered", "gap", "conflict", "contraindicated", "clash", "not-needed", "out-of-scope"):
        assert seen[state] >= 2, state
