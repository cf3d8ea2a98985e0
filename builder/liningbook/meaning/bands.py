"""Bands of a quantity along which the whole advice of a case stays the same."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from liningbook.meaning.meaning import Meaning
from liningbook.meaning.table import answers_of
from liningbook.space.boxes import on_axis
from liningbook.space.budget import stop_if_spent
from liningbook.space.region import Region


@dataclass(frozen=True)
class Band:
    """Neighbouring cells of one axis, and the cases in which they are one band of advice.

    `width` is in the factor's unit; `at_limit` says that the band ends at a limit of the factor on one side.
    """

    width: Fraction
    at_limit: bool
    region: Region


def narrow_bands(meaning: Meaning, number: int, uncertainty: Fraction) -> Iterator[Band]:
    """The bands of an axis narrower than twice the uncertainty, or than the uncertainty where one end is a limit.

    The limits themselves are left out: no reading ever reaches them. Two cells are told apart only where some rule,
    exclusion or pairing holds in one and not in the other, so the advice is compared at such places alone.
    """
    edges = _BandEdges(meaning, number)
    for first in edges.starts:
        for last in edges.ends:
            if last < first:
                continue
            at_limit = edges.is_first(first) or edges.is_last(last)
            width = edges.width(first, last)
            if (edges.is_first(first) and edges.is_last(last)) or width >= (1 if at_limit else 2) * uncertainty:
                continue
            region = edges.band(first, last)
            if region:
                yield Band(width, at_limit, region)


class _BandEdges:
    """Where along one axis the advice changes, and for which values of the other factors."""

    def __init__(self, meaning: Meaning, number: int) -> None:
        self.meaning, self.number = meaning, number
        self.axis = meaning.space.axes[number]
        low, high = self.axis.cells[0].lower.value, self.axis.cells[-1].upper.value
        self.cells = [
            at for at, cell in enumerate(self.axis.cells) if not (cell.lower.value == cell.upper.value in (low, high))
        ]
        self.changes: dict[int, Region] = {}
        told_apart = [at for at in self.cells[:-1] if self._signature(at) != self._signature(at + 1)]
        self.starts = [*self.cells[:1], *(at + 1 for at in told_apart)]
        self.ends = [*told_apart, *self.cells[-1:]]

    def is_first(self, cell: int) -> bool:
        return cell == self.cells[0]

    def is_last(self, cell: int) -> bool:
        return cell == self.cells[-1]

    def width(self, first: int, last: int) -> Fraction:
        return self.axis.cells[last].upper.value - self.axis.cells[first].lower.value

    def band(self, first: int, last: int) -> Region:
        """The cases in which the cells are one band: the advice changes at both ends and nowhere between."""
        full = self.meaning.space.full
        mask = (1 << (last + 1)) - (1 << first)
        region = self.meaning.scope & Region((on_axis(full, self.number, mask),))
        if not self.is_first(first):
            region = region & self._change(first - 1)
        if not self.is_last(last):
            region = region & self._change(last)
        for at in self.ends:
            if first <= at < last:
                region = region.minus(self._change(at).boxes)
        return region

    def _signature(self, cell: int) -> tuple[int, ...]:
        """Which boxes of rules, exclusions and pairings hold at a cell of the axis."""
        boxes = [box for rule in self.meaning.boxes for box in rule]
        protocol, space = self.meaning.protocol, self.meaning.space
        boxes += [box for entry in protocol.excluded for box in space.boxes(entry.when)]
        boxes += [box for entry in protocol.pairings for box in space.boxes(entry.when)]
        return tuple(number for number, box in enumerate(boxes) if box[self.number] >> cell & 1)

    def _change(self, cell: int) -> Region:
        """Where, on the other axes, the advice at a cell is not that at the next one; this axis is left free."""
        if cell not in self.changes:
            changed = Region()
            for region in self._answers:
                stop_if_spent(len(region.boxes))
                mine, theirs = self._slice(region, cell), self._slice(region, cell + 1)
                changed = changed | mine.minus(theirs.boxes) | theirs.minus(mine.boxes)
            self.changes[cell] = changed
        return self.changes[cell]

    @cached_property
    def _answers(self) -> list[Region]:
        """The cases of each state and answer of each decision."""
        return [
            region for decision in self.meaning.protocol.decisions for _, region in answers_of(self.meaning, decision)
        ]

    def _slice(self, region: Region, cell: int) -> Region:
        free = self.meaning.space.full[self.number]
        number = self.number
        return Region(tuple(on_axis(box, number, free) for box in region if box[number] >> cell & 1))
