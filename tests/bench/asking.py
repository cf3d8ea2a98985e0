"""How many questions a case takes when only what matters is asked, over all cases of the demonstration.

Every case is asked to the end, in the order that `liningbook.cases.asking` gives. Beside it stands the best order there
can be, by dynamic programming over all parts of cases (which takes the weights of the cases as known).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import combinations
from typing import Any

import numpy

from liningbook.cases.asking import asking
from liningbook.meaning.meaning import Meaning
from liningbook.meaning.possible import Possible
from liningbook.model.protocol import Protocol
from liningbook.space.boxes import Box, bits, on_axis
from tests.bench.protocols import DAY

WEIGHTS: Mapping[str, Mapping[str, float]] = {
    "exposed": {"yes": 0.05, "no": 0.95},
    "pulp": {
        "normal": 0.6, "reversible-pulpitis": 0.25, "irreversible-pulpitis": 0.08, "necrotic": 0.04, "uncertain": 0.03,
    },
    "restoration": {
        "amalgam": 0.1, "composite": 0.55, "glass-ionomer": 0.12, "cast-metal": 0.05, "ceramic": 0.08,
        "provisional-before-resin": 0.05, "provisional-otherwise": 0.05,
    },
    "metal-contact": {"yes": 0.05, "no": 0.95},
    "amalgam-restricted": {"yes": 0.2, "no": 0.8},
}  # fmt: skip
"""Invented: how often the values occur in a practice; a yes that is not named here (an allergy) in 3 cases of 100."""


@dataclass(frozen=True)
class Questions:
    """How many questions are asked: in the mean of all cells, in the mean of a practice, and at most."""

    mean: float
    practice: float
    worst: int


def without_stop_questions(protocol: Protocol) -> Protocol:
    """The protocol if nothing were asked first."""
    return replace(protocol, stop_questions=())


def without_always(protocol: Protocol) -> Protocol:
    """The protocol if nothing were always asked."""
    return replace(protocol, factors={name: replace(f, always_ask=False) for name, f in protocol.factors.items()})


class Cases:
    """All cases of a protocol with their weights. The cells are those of the whole protocol, whatever is left out."""

    def __init__(self, protocol: Protocol) -> None:
        self.meaning = Meaning(protocol, DAY)
        self.axes = self.meaning.space.axes
        self.practice = [self._practice(number) for number in range(len(self.axes))]

    def _practice(self, number: int) -> list[float]:
        axis = self.axes[number]
        if axis.values:
            table = WEIGHTS.get(axis.factor.id, {"yes": 0.03, "no": 0.97})
            return [table.get(value, 1 / axis.count) for value in axis.values]
        widths = [float(cell.upper.value - cell.lower.value) or 0.05 for cell in axis.cells]
        return [width / sum(widths) for width in widths]

    def asked(self, protocol: Protocol) -> Questions:
        """Every case asked to the end; `protocol` is this one with other things asked first or always."""
        meaning = Meaning(protocol, DAY, self.meaning.space)
        possible = Possible(meaning)
        mean = practice = 0.0
        worst = 0
        stack: list[tuple[Box, int, float, float]] = [(meaning.space.full, 0, 1.0, 1.0)]
        while stack:
            box, count, share, weight = stack.pop()
            missing = [name for name, axis, mask in zip(meaning.space.names, self.axes, box, strict=True)
                       if axis.count > 1 and mask == axis.full]  # fmt: skip
            name = asking(meaning, possible.outlook(box), missing).next
            if name is None:
                mean, practice, worst = mean + share * count, practice + weight * count, max(worst, count)
                continue
            number = meaning.space.index[name]
            for cell in bits(self.axes[number].full):
                each = self.practice[number][cell]
                stack.append(
                    (on_axis(box, number, 1 << cell), count + 1, share / self.axes[number].count, weight * each)
                )
        return Questions(mean, practice, worst)

    # --- the best order there can be ---------------------------------------------------------------------------------

    @cached_property
    def _alike(self) -> Any:
        """What every cell comes to, as a number: equal for those that come to the same under every decision."""
        shape = tuple(axis.count for axis in self.axes)
        found = numpy.zeros(shape, numpy.int64)
        outlook = Possible(self.meaning).outlook(self.meaning.space.full)
        for ways in outlook.ways.values():
            found *= len(ways) + 1
            for number, way in enumerate(ways):
                for box in way.region:
                    found[numpy.ix_(*[list(bits(mask)) for mask in box])] += number + 1
        return found

    def best(self, practice: bool) -> float:
        """The least mean number of questions of any order, nothing being asked first or always."""
        count = len(self.axes)
        weights = numpy.ones(())
        for number, axis in enumerate(self.axes):
            own = numpy.array(self.practice[number] if practice else [1 / axis.count] * axis.count)
            weights = weights[..., None] * own
        known = tuple(range(count))
        least, most, weight = {known: self._alike}, {known: self._alike}, {known: weights}
        cost = {known: numpy.zeros_like(weights)}
        for size in range(count - 1, -1, -1):
            for some in combinations(range(count), size):
                onward = [(axis, tuple(sorted({*some, axis}))) for axis in range(count) if axis not in some]
                axis, more = onward[0]
                least[some] = least[more].min(axis, keepdims=True)
                most[some] = most[more].max(axis, keepdims=True)
                weight[some] = weight[more].sum(axis, keepdims=True)
                asked = [cost[more].sum(axis, keepdims=True) for axis, more in onward]
                cost[some] = numpy.where(least[some] == most[some], 0, numpy.minimum.reduce(asked) + weight[some])
        return float(cost[()].sum())


def first_question(protocol: Protocol) -> str | None:
    """The first question of a protocol, compiling and tables included."""
    meaning = Meaning(protocol, DAY)
    return asking(meaning, Possible(meaning).outlook(meaning.space.full), meaning.space.names).next
