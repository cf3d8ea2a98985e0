"""Factors that are read off, as each of two versions by itself knows them, in cells that both have in common.

A reading stops short of the limits of the version that corrects it and is taken to a multiple of that version's step,
so each version reads it in an axis of its own; `places_of` leads from there to the joint one.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import replace
from fractions import Fraction

from liningbook.compare.natures import of_reading
from liningbook.model.rule import Conditions, Factor
from liningbook.notation.interval import Lower, Range, RangeSet, Upper
from liningbook.space.boxes import Box
from liningbook.space.cells import Axis, Space


def conditions_on(conditions: Conditions, factors: Mapping[str, Factor], own: Mapping[str, Factor]) -> Conditions:
    """The conditions on some factors alone; those on a version's own factor as far as it goes."""
    held = {name: condition for name, condition in conditions.conditions.items() if name in factors}
    for name, factor in own.items():
        if name in held and (numbers := held[name].numbers) is not None:
            held[name] = replace(held[name], numbers=_as_far(numbers, factor))
    return replace(conditions, conditions=held)


def _as_far(numbers: RangeSet, factor: Factor) -> RangeSet:
    """The numbers within a factor's limits; one nearer a limit than the step, where no reading leads, becomes it."""
    assert factor.limits is not None
    low, high = factor.limits.lower.value, factor.limits.upper.value
    step = factor.step or Fraction(0)

    def near(value: Fraction) -> Fraction:
        if low < value < low + step:
            return low
        return high if high - step < value < high else value

    kept = (stretch.meet(factor.limits) for stretch in numbers.ranges)
    return RangeSet.of(
        Range(Lower(near(r.lower.value), r.lower.closed), Upper(near(r.upper.value), r.upper.closed))
        for r in kept
        if not r.is_empty
    )


def taken_by(factor: Factor) -> Hashable:
    """All on which it depends as which value a reading counts."""
    return (of_reading(factor.reading), factor.limits, factor.step)


def places_of(own: Space, joint: Space) -> list[list[int]]:
    """For each axis of a version's own space, for each cell, the same one of the joint axis, as a mask."""
    return [_same_cells(mine, whole) for mine, whole in zip(own.axes, joint.axes, strict=True)]


def _same_cells(own: Axis, joint: Axis) -> list[int]:
    if not own.cells:
        return [1 << cell for cell in range(own.count)]
    places = {cell: number for number, cell in enumerate(joint.cells)}
    return [1 << places[cell] if cell in places else 1 << joint.cell_of_number(own.number_in(number))
            for number, cell in enumerate(own.cells)]  # fmt: skip


def moved(places: list[list[int]], box: Box, full: Box) -> Box:
    """A case of a version's own space in the joint one; a factor of which it has every cell keeps all of them."""
    return tuple(
        masks[mask.bit_length() - 1] if mask.bit_count() == 1 else whole
        for masks, mask, whole in zip(places, box, full, strict=True)
    )
