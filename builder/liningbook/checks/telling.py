"""Boxes of cases as notation and as words, each set of cells of a factor worked out once.

Thousands of findings speak of the same few sets of cells; without this most of the time of a large check is wording.
"""

from __future__ import annotations

from typing import Any, NamedTuple

from liningbook.say.amounts import number_words, range_words
from liningbook.say.cases import value_words, values_words
from liningbook.say.locale import either
from liningbook.space.boxes import Box
from liningbook.space.cells import Axis, Space


class Told(NamedTuple):
    """Some cases in the notation of the sources, and label and words of each factor that it speaks of."""

    notation: dict[str, Any]
    parts: list[tuple[str, str]]


class Telling:
    """The boxes of one space, told."""

    def __init__(self, space: Space) -> None:
        self.space = space
        self._axes = [_AxisTelling(axis) for axis in space.axes]

    def told(self, box: Box) -> Told:
        """The box as notation and words: factors on which any value will do are left out."""
        notation: dict[str, Any] = {}
        parts: list[tuple[str, str]] = []
        for axis, mask in zip(self._axes, box, strict=True):
            if mask != axis.full:
                value, words = axis.told(mask)
                notation[axis.name] = value
                parts.append((axis.label, words))
        return Told(notation, parts)

    def witness(self, box: Box) -> Told:
        """One case in the box, with a value for every factor."""
        samples = [axis.sample(mask) for axis, mask in zip(self._axes, box, strict=True)]
        return Told(
            {axis.name: text for axis, (text, _) in zip(self._axes, samples, strict=True)},
            [(axis.label, words) for axis, (_, words) in zip(self._axes, samples, strict=True)],
        )


class _AxisTelling:
    """One factor's sets of cells, told."""

    def __init__(self, axis: Axis) -> None:
        self.axis = axis
        self.name, self.label, self.full = axis.factor.id, axis.factor.label, axis.full
        self._told: dict[int, tuple[Any, str]] = {}
        self._samples: dict[int, tuple[str, str]] = {}
        self._numbers: dict[int, tuple[str, str]] = {}

    def told(self, mask: int) -> tuple[Any, str]:
        """A mask as notation and in words."""
        found = self._told.get(mask)
        if found is None:
            notation = self.axis.notation(mask)
            found = self._told[mask] = (notation, self._words(mask, notation))
        return found

    def _words(self, mask: int, notation: Any) -> str:
        factor = self.axis.factor
        if factor.kind != "quantity":
            return values_words(factor, notation if isinstance(notation, list) else [notation])
        ranges = self.axis.runs_as_ranges(mask)
        return either([range_words(stretch, self.axis.unit, factor.limits) for stretch in ranges])

    def sample(self, mask: int) -> tuple[str, str]:
        """One value in the mask, as text and in words."""
        found = self._samples.get(mask)
        if found is None:
            found = self._samples[mask] = self._number(mask) if self.axis.cells else self._value(mask)
        return found

    def _number(self, mask: int) -> tuple[str, str]:
        cell = self.axis.middle_cell(mask)
        found = self._numbers.get(cell)
        if found is None:
            number = self.axis.number_in(cell)
            found = self._numbers[cell] = (self.axis.text(number), number_words(number, self.axis.unit))
        return found

    def _value(self, mask: int) -> tuple[str, str]:
        text = self.axis.sample(mask)
        return text, value_words(self.axis.factor, text)
