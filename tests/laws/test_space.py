"""Cases in the notation of the sources and back: boxes of random protocols, and the cells of single cases."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from liningbook.model.values import read_value
from liningbook.space.boxes import Box, bits, inside
from liningbook.space.cells import Axis, Space
from tests import seeds
from tests.oracle.boxes import box_from
from tests.oracle.generate import Source, random_protocol
from tests.oracle.notation import holds, read_box, read_witness
from tests.oracle.world import World, world_of


@pytest.fixture(scope="module", params=seeds.window(0, 40, 2))
def world(request: pytest.FixtureRequest) -> Iterator[World]:
    with tempfile.TemporaryDirectory() as folder:
        yield world_of(str(request.param), random_protocol(request.param), Path(folder))


def random_boxes(world: World, number: int = 30) -> Iterator[Box]:
    source = Source(int(world.name))
    for _ in range(number):
        yield tuple(axis.full if source.is_so(30) else source.count(1, axis.full) for axis in world.meaning.space.axes)


def cell_of(space: Space, case: dict[str, str]) -> Box:
    """The cell of a case whose values are texts, read as the commands read them."""
    numbers: dict[str, Fraction] = {}
    for name, axis in zip(space.names, space.axes, strict=True):
        number = read_value(axis.factor, case[name])[1]
        if number is not None:
            numbers[name] = number
    return space.cell(case, numbers)


def test_a_box_comes_back_from_its_notation(world: World) -> None:
    space = world.meaning.space
    for box in random_boxes(world):
        written = space.notation(box)
        read_box(world.factors, written)
        assert box_from(space, written) == box
    assert space.notation(space.full) == {}
    assert box_from(space, {}) == space.full


def test_the_notation_holds_for_the_cases_in_the_box_and_no_others(world: World) -> None:
    space, source = world.meaning.space, Source(1)
    grid = world.brute.grid()
    for box in random_boxes(world):
        written = space.notation(box)
        for _ in range(5):
            case = grid.case(source.count(0, grid.count - 1))
            cell = cell_of(space, {name: world.text(name, value) for name, value in case.items()})
            assert inside(cell, box) == holds(world.factors, [written], case)


def test_a_witness_lies_in_its_box(world: World) -> None:
    space = world.meaning.space
    for box in random_boxes(world):
        witness = space.witness(box)
        assert holds(world.factors, [space.notation(box)], read_witness(world.factors, witness))
        assert inside(cell_of(space, witness), box)


def test_every_value_lies_in_the_one_cell_that_holds_it(world: World) -> None:
    for name, axis in zip(world.meaning.space.names, world.meaning.space.axes, strict=True):
        values: list[Any] = world.brute.grid().axes[name]
        for value in values:
            cells = [n for n in range(axis.count) if _holds(axis, n, value)]
            assert len(cells) == 1
            if axis.factor.kind == "quantity":
                assert axis.cell_of_number(value) == cells[0]
    for axis in world.meaning.space.axes:
        assert list(bits(axis.full)) == list(range(axis.count))


def _holds(axis: Axis, cell: int, value: Any) -> bool:
    return value in axis.cells[cell] if axis.factor.kind == "quantity" else value == axis.values[cell]
