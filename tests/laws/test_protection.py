"""What reaches the pulp against brute force: random protocols with random materials, every case looked at.

`tests/oracle/irritants.py` works out of the contract alone which irritants are brought, what dentine and layers stop,
and where thinner dentine loses a layer's protection. Regions are compared exactly; boxes must be disjoint and the
witness inside. A failure names the seed.
"""

from __future__ import annotations

import tempfile
from collections import Counter
from collections.abc import Hashable, Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from tests import seeds
from tests.oracle.brute import Fact, Judgement
from tests.oracle.generate import DAY, Source
from tests.oracle.irritants import KINDS, Guarded, differences, expected, with_some_beyond
from tests.oracle.materials import GuardedWorld, guarded, guarded_world, protocol_with_materials

RANGE = (0, 300, 5)
SEEDS = seeds.window(*RANGE, always=[5, 275])
"""With those in which layers in another order matter."""


@pytest.fixture(scope="module", params=SEEDS)
def world(request: pytest.FixtureRequest) -> Iterator[GuardedWorld]:
    with tempfile.TemporaryDirectory() as folder:
        yield guarded_world(str(request.param), protocol_with_materials(request.param), Path(folder))


@pytest.mark.parametrize("kind", KINDS)
def test_findings_about_materials_are_those_of_every_case_looked_at(world: GuardedWorld, kind: str) -> None:
    assert list(differences(world, kind, world.of_materials, world.expected)) == []


# --- the oracle itself ----------------------------------------------------------------------------------------------


class WithoutPlaces(Guarded):
    def covers(self, _answer: Any, _irritant: str) -> bool:
        return True


class WithoutThickness(Guarded):
    def is_as_thick(self, _answer: Any, _wanted: Mapping[str, str]) -> bool:
        return True


class WithoutDentine(Guarded):
    def listed(self, holding: frozenset[Hashable], key: str) -> set[str]:
        return super().listed(holding, key) if key == "sources" else set()


class WithoutEmission(Guarded):
    def emitted(self, _answer: Any) -> list[str]:
        return []


class WithoutSources(Guarded):
    def listed(self, holding: frozenset[Hashable], key: str) -> set[str]:
        return super().listed(holding, key) if key == "barriers" else set()


class InTheUsualOrder(Guarded):
    def in_order(self, chosen: Mapping[str, Any]) -> list[Any]:
        return [answer for answer in chosen.values() if answer and answer[0] == "layer"]


class OfTheFirstAnswer(Guarded):
    def _reaching(self, holding: frozenset[Hashable], out: Judgement, layers: list[str]) -> set[Fact]:
        first = {layer: dict(list(out.answers[layer].items())[:1]) for layer in layers}
        return super()._reaching(holding, replace(out, answers=first), layers)


@pytest.mark.parametrize(
    "without",
    [
        WithoutPlaces, WithoutThickness, WithoutDentine, WithoutEmission, WithoutSources, InTheUsualOrder,
        OfTheFirstAnswer,
    ],
)  # fmt: skip
def test_each_part_of_the_meaning_decides_some_random_protocols(without: type[Guarded]) -> None:
    """Otherwise the tests above would prove less than they say."""
    decided: Counter[str] = Counter()
    for seed in SEEDS:
        if decided["unprotected"] >= 3 and decided["less-protection"] >= 1:
            break
        plain = protocol_with_materials(seed)
        whole = guarded(plain)
        lesser = without(plain["protocol"], plain["materials"], plain["rules"], DAY)
        grid = whole.grid()
        true, other = (expected(oracle, oracle.regions(grid)) for oracle in (whole, lesser))
        decided.update({str(fact[0]) for fact in {*true, *other} if true.get(fact) != other.get(fact)})
    assert decided["unprotected"] >= 3
    assert decided["less-protection"] >= 1


class WithAnyPlacesOverOneAnother(Guarded):
    def stops(self, _answer: Any, _irritant: str) -> bool:
        return False


def test_each_part_of_the_placing_order_decides_some_random_protocols() -> None:
    decided: Counter[str] = Counter()
    for seed in range(*RANGE[:2]):
        plain = protocol_with_materials(seed)
        whole = guarded(plain)
        regions = whole.regions(whole.grid())
        found = {fact for fact in regions.cells if fact[0] == "placing-order"}
        decided.update("by an entry" if fact[3] is not None else "by places" for fact in found)
        freer = WithAnyPlacesOverOneAnother(plain["protocol"], plain["materials"], plain["rules"], DAY)
        decided["excused"] += freer.regions(freer.grid()).of_kind("placing-order").keys() > found
    assert min(decided[why] for why in ("by places", "by an entry", "excused")) >= 3, decided


def test_moving_one_factor_away_from_its_cautious_side_is_what_it_says() -> None:
    """Cells found with shifted bits and found one by one."""
    grid = guarded(protocol_with_materials(1)).grid()
    for name, axis in grid.axes.items():
        kept = Source(7).random.getrandbits(grid.count)
        for larger in (True, False):
            found = with_some_beyond(grid, kept, name, larger)
            for cell in range(grid.count):
                n = cell // grid.strides[name] % len(axis)
                beyond = range(n + 1, len(axis)) if larger else range(n)
                true = any(kept >> cell + (m - n) * grid.strides[name] & 1 for m in beyond)
                assert bool(found >> cell & 1) == true
