"""Boxes of cases as notation and as words, each set of cells of a factor worked out once.

Thousands of findings speak of the same few sets of cells; without this most of the time of a large check is wording.
"""

from __future__ import annotations

from typing import Any

from liningbook.logic.boxes import Box
from liningbook.logic.cells import Axis, Space
from liningbook.wording import either, number_words, range_words, value_words, values_words


class Telling:
    """The boxes of one space, told."""

    def __init__(self, space: Space) -> None:
        self.space = space
        self._axes = [_AxisTelling(axis) for axis in space.axes]

    def notation(self, box: Box) -> dict[str, Any]:
        """The box as a `when` would write it: factors on which any value will do are left out."""
        return {axis.name: axis.notation(mask) for axis, mask in zip(self._axes, box, strict=True) if mask != axis.full}

    def parts(self, box: Box) -> list[tuple[str, str]]:
        """Label and words of each factor that the box speaks of."""
        return [(axis.label, axis.words(mask)) for axis, mask in zip(self._axes, box, strict=True) if mask != axis.full]

    def witness(self, box: Box) -> dict[str, str]:
        """One case in the box, with a value for every factor."""
        return {axis.name: axis.sample(mask)[0] for axis, mask in zip(self._axes, box, strict=True)}

    def witness_parts(self, box: Box) -> list[tuple[str, str]]:
        """Label and words of each factor's value in that case."""
        return [(axis.label, axis.sample(mask)[1]) for axis, mask in zip(self._axes, box, strict=True)]


class _AxisTelling:
    """One factor's sets of cells, told."""

    def __init__(self, axis: Axis) -> None:
        self.axis = axis
        self.name, self.label, self.full = axis.factor.id, axis.factor.label, axis.full
        self._notations: dict[int, Any] = {}
        self._words: dict[int, str] = {}
        self._samples: dict[int, tuple[str, str]] = {}

    def notation(self, mask: int) -> Any:
        if mask not in self._notations:
            self._notations[mask] = self.axis.notation(mask)
        return self._notations[mask]

    def words(self, mask: int) -> str:
        if mask not in self._words:
            self._words[mask] = self._find_words(mask)
        return self._words[mask]

    def _find_words(self, mask: int) -> str:
        factor = self.axis.factor
        if factor.kind == "quantity":
            ranges = self.axis.runs_as_ranges(mask)
            return either([range_words(stretch, self.axis.unit, factor.limits) for stretch in ranges])
        value = self.notation(mask)
        return values_words(factor, value if isinstance(value, list) else [value])

    def sample(self, mask: int) -> tuple[str, str]:
        """One value in the mask, as text and in words."""
        if mask not in self._samples:
            self._samples[mask] = self._find_sample(mask)
        return self._samples[mask]

    def _find_sample(self, mask: int) -> tuple[str, str]:
        if self.axis.factor.kind == "quantity":
            number = self.axis.sample_number(mask)
            return self.axis.text(number), number_words(number, self.axis.unit)
        text = self.axis.sample(mask)
        return text, value_words(self.axis.factor, text)
