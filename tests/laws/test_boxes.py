"""Laws of boxes of cells, held against plain sets of cells."""

from __future__ import annotations

from itertools import combinations, pairwise, product

from hypothesis import given
from hypothesis import strategies as st

from liningbook.space.boxes import Box, bits, cell_count, inside, meet, meets, runs
from liningbook.space.cover import is_covered, uncovered
from liningbook.space.growth import few_large
from liningbook.space.overlap import Join
from liningbook.space.region import Region

Cells = set[tuple[int, ...]]


def cells(box: Box) -> Cells:
    return set(product(*(list(bits(mask)) for mask in box)))


def all_cells(boxes: object) -> Cells:
    return set().union(*(cells(box) for box in boxes))  # type: ignore[attr-defined]


def are_disjoint(boxes: object) -> bool:
    return all(not cells(one) & cells(two) for one, two in combinations(list(boxes), 2))  # type: ignore[call-overload]


sizes = st.lists(st.integers(1, 5), min_size=1, max_size=4)


def boxes_in(full: Box) -> st.SearchStrategy[Box]:
    """Boxes with any cells on each axis; whole axes and single stretches are as likely as anything."""

    def masks(whole: int) -> st.SearchStrategy[int]:
        stretches = [
            whole & ((2 << last) - (1 << first)) for first in bits(whole) for last in bits(whole) if first <= last
        ]
        return st.one_of(st.just(whole), st.sampled_from(stretches), st.integers(1, whole))

    return st.tuples(*map(masks, full))


@st.composite
def spaces(draw: st.DrawFn, most: int = 7) -> tuple[Box, list[Box]]:
    """The whole space, and some boxes in it."""
    full = tuple((1 << size) - 1 for size in draw(sizes))
    return full, draw(st.lists(boxes_in(full), max_size=most))


@st.composite
def two_regions(draw: st.DrawFn) -> tuple[Box, list[Box], list[Box]]:
    full, some = draw(spaces(5))
    return full, some, draw(st.lists(boxes_in(full), max_size=5))


@given(st.integers(0, 1 << 40))
def test_bits_and_runs_give_back_the_mask(mask: int) -> None:
    assert sum(1 << bit for bit in bits(mask)) == mask
    found = list(runs(mask))
    assert sum((2 << last) - (1 << first) for first, last in found) == mask
    assert all(left[1] + 1 < right[0] for left, right in pairwise(found))


@given(spaces())
def test_two_boxes_meet_where_both_have_cells(space: tuple[Box, list[Box]]) -> None:
    for one, two in product(space[1], repeat=2):
        common = meet(one, two)
        assert (cells(common) if common else set()) == cells(one) & cells(two)
        assert meets(one, two) == bool(common)
        assert inside(one, two) == (cells(one) <= cells(two))
        assert cell_count(one) == len(cells(one))


@given(spaces())
def test_uncovered_is_exactly_what_no_cover_holds(space: tuple[Box, list[Box]]) -> None:
    full, covers = space
    for box in (full, *covers[:2]):
        left = uncovered(box, covers)
        assert all(mask for piece in left for mask in piece)
        assert all_cells(left) == cells(box) - all_cells(covers)
        assert are_disjoint(left)
        assert is_covered(box, covers) == (not left)


@given(spaces())
def test_few_large_boxes_are_the_same_cells_and_disjoint(space: tuple[Box, list[Box]]) -> None:
    pieces = list(Region.any_of(space[1]))
    found = few_large(pieces)
    assert all_cells(found) == all_cells(space[1])
    assert are_disjoint(found)
    assert few_large(list(reversed(pieces))) == found


@given(spaces(1))
def test_few_large_makes_one_box_of_the_pieces_of_one(space: tuple[Box, list[Box]]) -> None:
    full, boxes = space
    for box in boxes:
        singles = [tuple(1 << bit for bit in cell) for cell in sorted(cells(box))]
        assert few_large(singles) == [box]
        assert few_large([full]) == [full]


@given(spaces(12), st.integers(0, 1 << 12))
def test_a_join_finds_the_boxes_that_a_double_loop_finds(space: tuple[Box, list[Box]], among: int) -> None:
    full, boxes = space
    join = Join(full, boxes)
    for box in (full, *boxes):
        expected = [row for row, other in enumerate(boxes) if cells(box) & cells(other)]
        assert list(bits(join.meeting(box))) == expected
        assert list(bits(join.meeting(box, among))) == [row for row in expected if among >> row & 1]


@given(two_regions())
def test_the_algebra_of_regions_is_that_of_sets(given_boxes: tuple[Box, list[Box], list[Box]]) -> None:
    _, some, others = given_boxes
    one, two = Region.any_of(some), Region.any_of(others)
    a, b = all_cells(some), all_cells(others)
    for region, expected in (
        (one, a),
        (one & two, a & b),
        (one | two, a | b),
        (one.minus(others), a - b),
        ((one | two).few_large(), a | b),
    ):
        assert all_cells(region) == expected
        assert are_disjoint(region)
        assert bool(region) == bool(expected)
    assert one.is_within(others) == (a <= b)


@given(two_regions())
def test_regions_are_equal_if_they_hold_the_same_cases(given_boxes: tuple[Box, list[Box], list[Box]]) -> None:
    full, some, others = given_boxes
    one, two = Region.any_of(some), Region.any_of(others)
    assert (one == two) == (all_cells(some) == all_cells(others))
    singles = Region(tuple(tuple(1 << bit for bit in cell) for cell in sorted(all_cells(some), reverse=True)))
    for other in (Region.any_of(reversed(some)), one.few_large(), singles, Region((full,)) & one):
        assert one == other
        assert hash(one) == hash(other)
    assert one != tuple(one)
