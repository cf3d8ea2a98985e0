"""Every factor cut at all its thresholds into ordered cells; conditions as bitmasks; and back to words of the sources.

For a quantity the cells are the thresholds themselves and the open stretches between them, so each boundary value
is a cell of its own. For a choice they are its values. With a `step`, a stretch that holds no multiple is no cell.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property
from typing import Any

from liningbook.model.protocol import Protocol
from liningbook.model.rule import Conditions, Factor, When
from liningbook.notation.codec import ranges_notation
from liningbook.notation.interval import Lower, Range, RangeSet, Upper
from liningbook.notation.quantity import Quantity, Unit, short_decimal_between
from liningbook.space.boxes import Box, bits, inside, nth_bit, runs


@dataclass(frozen=True)
class Axis:
    """One factor cut into cells. For a quantity `cells` are ranges, for the rest they are values."""

    factor: Factor
    cells: tuple[Range, ...] = ()
    values: tuple[str, ...] = ()
    starts: tuple[Fraction, ...] = ()
    """Where each cell of a quantity starts, to look values up."""
    places: Mapping[Fraction, int] = field(default_factory=dict)
    """The cell of each threshold."""

    @property
    def count(self) -> int:
        """How many cells there are."""
        return len(self.cells) or len(self.values)

    @property
    def full(self) -> int:
        """The mask of all cells."""
        return (1 << self.count) - 1

    @cached_property
    def single_values(self) -> int:
        """The cells of a quantity that hold one value each."""
        return sum(1 << cell for cell in self.places.values())

    @property
    def unit(self) -> Unit:
        """The unit of a quantity."""
        assert self.factor.unit is not None
        return self.factor.unit

    @property
    def limits(self) -> Range:
        """The values of a quantity that occur."""
        assert self.factor.limits is not None
        return self.factor.limits

    def mask_of_numbers(self, numbers: RangeSet) -> int:
        """The cells within ranges whose bounds are thresholds of this axis."""
        mask = 0
        for item in numbers.ranges:
            first = self.places[item.lower.value] + (0 if item.lower.closed else 1)
            last = self.places[item.upper.value] - (0 if item.upper.closed else 1)
            if last >= first:
                mask |= (1 << (last + 1)) - (1 << first)
        return mask

    def mask_of_values(self, values: Iterable[str]) -> int:
        """The cells of the values."""
        return sum(1 << self.values.index(value) for value in values)

    def cell_of_number(self, number: Fraction) -> int:
        """The cell that holds a value within the limits."""
        if number in self.places:
            return self.places[number]
        return bisect_left(self.starts, number) - 1

    def runs_as_ranges(self, mask: int) -> list[Range]:
        """The stretches of a mask of a quantity, as ranges."""
        return [Range(self.cells[first].lower, self.cells[last].upper) for first, last in runs(mask)]

    def notation(self, mask: int) -> Any:
        """The mask as the sources would write it (plain values, ready for JSON)."""
        if self.factor.kind == "yes-no":
            return self.values[next(bits(mask))]
        if self.factor.kind == "choice":
            return [self.values[cell] for cell in bits(mask)]
        return ranges_notation(self.runs_as_ranges(mask), self.unit, self.limits)

    def text(self, number: Fraction) -> str:
        """A number of this factor as the sources write it."""
        return str(Quantity(number, self.unit))

    def sample(self, mask: int) -> str:
        """One value in the mask: from the middle stretch for a quantity, `no` before `yes`, else the first."""
        cell = self.sample_cell(mask)
        return self.text(self.number_in(cell)) if self.factor.kind == "quantity" else self.values[cell]

    def sample_cell(self, mask: int) -> int:
        """The cell in the mask from which `sample` takes a value."""
        if self.factor.kind == "yes-no":
            return mask.bit_length() - 1
        return next(bits(mask)) if self.factor.kind == "choice" else self.middle_cell(mask)

    def sample_number(self, mask: int) -> Fraction:
        """One number in the mask, with few digits; a multiple of the step where there is one."""
        return self.number_in(self.middle_cell(mask))

    def middle_cell(self, mask: int) -> int:
        """The middle one of a quantity's cells in the mask; a stretch rather than a single value."""
        pool = mask & ~self.single_values or mask
        return nth_bit(pool, pool.bit_count() // 2)

    def number_in(self, number: int) -> Fraction:
        """One number in a cell, with few digits; a multiple of the step where there is one."""
        cell = self.cells[number]
        low, high = cell.lower.value, cell.upper.value
        if low == high:
            return low
        step = self.factor.step
        if step is None:
            return short_decimal_between(low, high)
        first, last = low // step + 1, -(-high // step) - 1
        return Fraction((first + last) // 2) * step


def _quantity_axis(factor: Factor, thresholds: Iterable[Fraction]) -> Axis:
    assert factor.limits is not None
    ends = {factor.limits.lower.value, factor.limits.upper.value}
    points = sorted(ends | set(thresholds))
    cells: list[Range] = []
    places: dict[Fraction, int] = {}
    for index, point in enumerate(points):
        places[point] = len(cells)
        cells.append(Range(Lower(point, True), Upper(point, True)))
        if index + 1 < len(points):
            between = Range(Lower(point, False), Upper(points[index + 1], False))
            if factor.step is None or between.has_multiple(factor.step):
                cells.append(between)
    # A stretch starts just after its threshold, so a number between two thresholds finds the stretch, not the point.
    starts = tuple(cell.lower.value for cell in cells)
    return Axis(factor, cells=tuple(cells), starts=starts, places=places)


class Space:
    """All cases of a protocol: one axis a factor, in the order of the sources."""

    def __init__(self, factors: Mapping[str, Factor], whens: Iterable[When]) -> None:
        thresholds: dict[str, set[Fraction]] = {name: set() for name in factors}
        for when in whens:
            for conditions in when:
                for name, condition in conditions.conditions.items():
                    if condition.numbers is not None:
                        for item in condition.numbers.ranges:
                            thresholds[name] |= {item.lower.value, item.upper.value}
        self.axes: tuple[Axis, ...] = tuple(
            _quantity_axis(factor, thresholds[name])
            if factor.kind == "quantity"
            else Axis(factor, values=tuple(factor.values))
            for name, factor in factors.items()
        )
        self.names: tuple[str, ...] = tuple(factors)
        self.index: dict[str, int] = {name: number for number, name in enumerate(factors)}
        self.full: Box = tuple(axis.full for axis in self.axes)

    @classmethod
    def of(cls, *protocols: Protocol) -> Space:
        """The space of one protocol, or of several on the union of their thresholds (same factors)."""
        return cls(protocols[0].factors, (when for protocol in protocols for when in all_whens(protocol)))

    def box(self, conditions: Conditions) -> Box:
        """The cases in which all the conditions hold."""
        masks = list(self.full)
        for name, condition in conditions.conditions.items():
            number = self.index[name]
            axis = self.axes[number]
            if condition.numbers is not None:
                masks[number] = axis.mask_of_numbers(condition.numbers)
            else:
                masks[number] = axis.mask_of_values(condition.values)
        return tuple(masks)

    def boxes(self, when: When) -> tuple[Box, ...]:
        """The boxes of a `when`, which may overlap."""
        return tuple(self.box(conditions) for conditions in when)

    def holds(self, when: When, case: Box) -> bool:
        """Whether a case, a box of one cell on every axis, is one of a `when`."""
        return any(inside(case, self.box(conditions)) for conditions in when)

    def cell(self, values: Mapping[str, str], numbers: Mapping[str, Fraction]) -> Box:
        """The box of one case: a single bit on every axis."""
        return tuple(
            1 << axis.cell_of_number(numbers[name])
            if axis.factor.kind == "quantity"
            else 1 << axis.values.index(values[name])
            for name, axis in zip(self.names, self.axes, strict=True)
        )

    def notation(self, box: Box) -> dict[str, Any]:
        """The box as a `when` would write it: factors on which any value will do are left out."""
        return {
            name: axis.notation(mask)
            for name, axis, mask in zip(self.names, self.axes, box, strict=True)
            if mask != axis.full
        }

    def case_in(self, box: Box) -> Box:
        """The cells of the case that `witness` gives."""
        return tuple(1 << axis.sample_cell(mask) for axis, mask in zip(self.axes, box, strict=True))

    def witness(self, box: Box) -> dict[str, str]:
        """One case in the box, with a value for every factor."""
        return {name: axis.sample(mask) for name, axis, mask in zip(self.names, self.axes, box, strict=True)}


def all_whens(protocol: Protocol) -> Iterable[When]:
    """Every set of conditions that the protocol states, wherever it states one."""
    for rule in protocol.rules.values():
        yield rule.when
    yield from (entry.when for entry in protocol.excluded)
    yield from (entry.when for entry in protocol.accepted)
    yield from (question.screens for question in protocol.stop_questions if question.screens is not None)
    yield from (entry.when for entry in protocol.pairings)
    yield from (entry.when for entry in (*protocol.sources, *protocol.barriers))
