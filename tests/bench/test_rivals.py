"""The bench is fair: all ways that it compares give the same answer."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from liningbook.meaning.meaning import Meaning
from liningbook.model.protocol import Protocol
from liningbook.space.boxes import cell_count
from tests.bench import engine, rivals
from tests.bench.draw import picture
from tests.bench.measure import Measured, measure
from tests.bench.protocols import DAY, decision_table, practice, unstructured
from tests.bench.sweep import missing_rules, overlapping_pairs

SETS: dict[str, Callable[[], Protocol]] = {
    "overlapping": lambda: decision_table(60, 3, "overlapping"),
    "missing": lambda: decision_table(60, 4, "missing"),
    "neither": lambda: decision_table(40, 3),
    "practice": lambda: practice(24),
    "unstructured": lambda: unstructured(20, 2, 3, 0.4, most=12),
}


def nothing(share: float) -> None:
    assert 0 <= share <= 1


@pytest.fixture(params=SETS)
def meaning(request: pytest.FixtureRequest) -> Meaning:
    return Meaning(SETS[request.param](), DAY)


@pytest.mark.parametrize("rival", rivals.PAIRS)
def test_every_way_finds_the_same_pairs(meaning: Meaning, rival: str) -> None:
    boxes = [box for boxes in meaning.boxes for box in boxes]
    assert rivals.PAIRS[rival](boxes, nothing) == engine.pairs(meaning.space.full, boxes)


@pytest.mark.parametrize("rival", [name for name in rivals.GAPS if name != "Z3, cell by cell"])
def test_every_way_agrees_on_the_gaps(meaning: Meaning, rival: str) -> None:
    boxes = [box for boxes in meaning.boxes for box in boxes]
    full = meaning.space.full
    gaps = engine.gap_boxes(full, boxes)
    found = rivals.GAPS[rival](full, boxes, nothing)
    assert found == sum(map(cell_count, gaps)) if rival == "every cell by numpy" else bool(found) == bool(gaps)


def test_z3_counts_the_same_open_cells() -> None:
    meaning = Meaning(decision_table(20, 2, "missing"), DAY)
    boxes = [box for boxes in meaning.boxes for box in boxes]
    gaps = engine.gap_boxes(meaning.space.full, boxes)
    assert rivals.gaps_by_z3(meaning.space.full, boxes, nothing) == sum(map(cell_count, gaps)) > 0


def test_the_published_sweep_on_a_table_by_hand() -> None:
    rows = [[[(0, 3)], [(0, 1)]], [[(2, 5)], [(1, 2)]], [[(4, 5)], [(0, 0)]]]
    assert overlapping_pairs(rows) == {(0, 1)}
    assert missing_rules(rows, [6, 3]) == [((0, 1), (2, 2))]


def test_a_rival_that_is_late_is_stopped() -> None:
    def endless(progress: Callable[[float], None]) -> int:
        while True:
            progress(0.25)

    found = measure(endless, 0.7)
    assert found.seconds is None
    assert found.estimate is not None
    assert found.words().startswith("> 0.7 s (about ")


def test_what_a_rival_cannot_do_is_told() -> None:
    def too_big(_: Callable[[float], None]) -> int:
        raise rivals.TooBig("3e8 cells")

    assert measure(too_big, 5).words() == "3e8 cells"
    assert Measured((0.002, 0.001, 0.004), 5).words() == "2 ms"


def test_changed_rules_change_the_advice() -> None:
    old, new = engine.two_versions(practice(30), 3)
    assert engine.difference(old, new) > 0
    assert engine.difference(old, old) == 0


def test_the_curve_is_drawn_with_every_way_and_none_where_it_was_stopped() -> None:
    done, stopped = {"seconds": 0.01}, {"seconds": None}
    ways = ["whole check", "pairs", "pairs by numpy", "pairs in a plain loop", "published sweep"]
    growth = {
        str(size): {**dict.fromkeys(ways, done), "Z3, pair by pair": done if size == 10 else stopped}
        for size in (10, 100)
    }
    drawn = picture({"growth": growth})
    assert drawn.count("<polyline") == 6
    assert drawn.count("<circle") == 11
    assert "Z3, the same pairs (stopped)" in drawn
