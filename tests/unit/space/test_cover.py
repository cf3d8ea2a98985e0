"""Dividing and subtracting, growing boxes, and the index, on inputs larger than those of the laws."""

from __future__ import annotations

from itertools import combinations, product
from random import Random

import pytest

from liningbook.meaning.meaning import Meaning
from liningbook.space.boxes import Box, bits, cell_count, inside, meets
from liningbook.space.cover import is_covered, uncovered
from liningbook.space.growth import few_large
from liningbook.space.overlap import Join, OwnerIndex
from liningbook.space.region import Region
from tests.bench.protocols import DAY, decision_table, unstructured


def compiled(rules: int, columns: int, noise: str, seed: int = 1) -> tuple[Box, list[Box]]:
    meaning = Meaning(decision_table(rules, columns, noise, seed), DAY)
    return meaning.space.full, [box for (box,) in meaning.boxes]


def random_boxes(random: Random, full: Box, count: int) -> list[Box]:
    return [
        tuple(random.randrange(1, mask + 1) if random.random() < 0.6 else mask for mask in full) for _ in range(count)
    ]


def cells(box: Box) -> set[tuple[int, ...]]:
    return set(product(*(bits(mask) for mask in box)))


@pytest.mark.parametrize("columns", [3, 5, 7])
def test_a_table_that_shares_the_cases_out_has_no_gap(columns: int) -> None:
    full, boxes = compiled(300, columns, "")
    assert uncovered(full, boxes) == []
    assert is_covered(full, boxes)


@pytest.mark.parametrize("columns", [3, 5, 7])
def test_every_narrowed_row_of_a_table_is_found_in_hardly_more_boxes_than_rows(columns: int) -> None:
    full, boxes = compiled(500, columns, "missing")
    gaps = few_large(uncovered(full, boxes))
    assert cell_count(full) - sum(map(cell_count, boxes)) == sum(map(cell_count, gaps))
    assert 0 < len(gaps) <= 52, "50 rows were narrowed"


def test_what_is_uncovered_of_a_hard_set_is_what_a_count_of_cells_gives() -> None:
    meaning = Meaning(unstructured(40, 2, 3, 0.3, most=20), DAY)
    covers = [box for (box,) in meaning.boxes]
    pieces = uncovered(meaning.space.full, covers)
    covered = set().union(*map(cells, covers))
    assert sum(map(cell_count, pieces)) == cell_count(meaning.space.full) - len(covered)
    assert not any(meets(piece, cover) for piece in pieces for cover in covers)


@pytest.mark.parametrize("seed", range(20))
def test_few_large_boxes_hold_the_same_cells_whatever_the_order_of_the_pieces(seed: int) -> None:
    random = Random(seed)
    full: Box = (0b111111111, 0b11111, 0b111, 0b1111)
    pieces = uncovered(full, random_boxes(random, full, random.randrange(2, 14)))
    grown = few_large(pieces)
    assert set().union(*map(cells, pieces)) == set().union(*map(cells, grown))
    assert not any(meets(one, other) for one, other in combinations(grown, 2))
    assert len(grown) <= max(1, len(pieces))
    random.shuffle(pieces)
    assert few_large(pieces) == grown


@pytest.mark.parametrize("seed", range(5))
def test_a_box_cut_up_by_chance_is_put_together_again(seed: int) -> None:
    random = Random(seed)
    full: Box = (0b1111111, 0b11111, 0b1111111)
    pieces = [full]
    for _ in range(40):
        piece = pieces.pop(random.randrange(len(pieces)))
        axis = random.randrange(3)
        some = piece[axis] & random.randrange(1 << 7)
        for side in (some, piece[axis] & ~some):
            if side:
                pieces.append((*piece[:axis], side, *piece[axis + 1 :]))
    assert few_large(pieces) == [full]


def test_boxes_that_have_nothing_in_common_stay_as_they_are() -> None:
    apart: list[Box] = [(1 << at, 1 << at) for at in range(200)]
    assert few_large(apart[::-1]) == apart


@pytest.mark.parametrize("seed", range(10))
def test_the_algebra_of_large_regions_is_that_of_sets(seed: int) -> None:
    random = Random(seed)
    full: Box = (0b1111111, 0b11111, 0b1111)
    some, others = random_boxes(random, full, 40), random_boxes(random, full, 40)
    narrow = [tuple(mask & ~(1 << random.randrange(4)) or mask for mask in box) for box in others]
    one, two = Region.any_of(some), Region.any_of(narrow)
    a, b = set().union(*map(cells, some)), set().union(*map(cells, narrow))
    for region, expected in (
        (one & two, a & b),
        (one | two, a | b),
        (one.minus(narrow), a - b),
        (two.minus(some), b - a),
    ):
        assert sum(map(cell_count, region)) == len(expected)
        assert set().union(*map(cells, region)) == expected


@pytest.mark.parametrize("seed", range(10))
def test_the_index_finds_what_a_loop_finds(seed: int) -> None:
    random = Random(seed)
    full: Box = ((1 << 40) - 1, 0b11111, (1 << 25) - 1)
    boxes = random_boxes(random, full, 60)
    stretches = [
        ((2 << max(a, b)) - (1 << min(a, b)), box[1], box[2]) for box in boxes for a, b in [random.sample(range(40), 2)]
    ]
    join = Join(full, stretches)
    for box in boxes:
        assert list(bits(join.meeting(box))) == [row for row, other in enumerate(stretches) if meets(box, other)]


def test_owners_of_several_boxes_are_found_by_any_of_them() -> None:
    full: Box = (0b1111, 0b1111)
    rows = OwnerIndex(full, [[(0b0001, 0b1111), (0b0010, 0b0001)], [(0b1100, 0b0011)], [(0b0110, 0b1000)]])
    assert rows.owners_meeting((0b0010, 0b1111), -1) == 0b101
    assert rows.owners_meeting((0b0010, 0b1111), 0b110) == 0b100
    assert list(rows.across((0b0010, 0b0001), 0, -1)) == [(0, 0), (0, 1), (1, 0)]
    assert list(rows.across((0b0010, 0b0001), 1, 0b101)) == [(0, 1), (2, 0)]


def test_a_grown_box_lies_in_the_region() -> None:
    full, boxes = compiled(300, 5, "missing", seed=3)
    pieces = uncovered(full, boxes)
    for box in few_large(pieces):
        assert not any(meets(box, cover) for cover in boxes)
        assert inside(box, full)
