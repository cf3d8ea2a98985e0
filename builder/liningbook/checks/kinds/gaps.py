"""Cases that no rule answers."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from liningbook.checks.facts import CaseFact
from liningbook.checks.inquiry import Inquiry
from liningbook.finding import About, Fact, Span
from liningbook.model.rule import Condition, Decision, Stretch
from liningbook.notation.interval import Range
from liningbook.notation.quantity import Unit
from liningbook.space.boxes import Box, in_reading_order, runs
from liningbook.space.budget import OutOfTime, in_force
from liningbook.space.region import Region
from liningbook.space.search import Remainder

FOR_UNANSWERED = 0.5
"""The share of the time for the cases without a rule, where it must then be found out whether one is needed."""

FOR_A_BOX = 0.2
"""The share of the time left that may go into finding out whether a decision is needed in a box of cases."""


@dataclass(frozen=True)
class Edge:
    """A written range of a rule that stops short of a gap, or starts only after it."""

    span: Span
    rule: str
    stops: bool
    value: Fraction
    unit: Unit
    closed: bool


@dataclass(frozen=True)
class Gap(CaseFact):
    """A decision that no rule answers in cases in which it is needed.

    Each of `closing` is a single value left out: the edges beside it, any of which could take it in.
    """

    decision: Decision
    edges: tuple[Edge, ...]
    closing: tuple[tuple[Edge, ...], ...]

    def about(self) -> About:
        """The decision."""
        return About(self.decision.id)

    def blamed(self) -> tuple[str, ...]:
        """The rules that stop short of it."""
        return tuple(dict.fromkeys(edge.rule for edge in self.edges))


def gap(inquiry: Inquiry) -> Iterator[Fact]:
    """A decision is needed in some case, and no rule answers it.

    Single boundary values count: "less than 0.5 mm" and "more than 0.5 mm" leave exactly 0.5 mm without a rule.
    """
    decisions = list(inquiry.protocol.decisions.values())
    for number, decision in enumerate(decisions):
        with in_force().part(1 / (len(decisions) - number)):
            left = left_open(inquiry, decision)
        if left.boxes or not left.is_complete:
            edges, closing = _edges(inquiry, decision, left.boxes)
            yield Gap(decision.span, inquiry.cases_left(left), decision, edges, closing)


def left_open(inquiry: Inquiry, decision: Decision) -> Remainder:
    """The cases in which the decision is needed and no rule advises on it, as far as the time goes."""
    meaning, need = inquiry.meaning, inquiry.meaning.need
    covers = meaning.boxes_of(meaning.advising(decision.id))
    needed = need.known(decision.id)
    if needed is not None:
        return inquiry.search(needed, covers)
    everywhere = Region((meaning.space.full,))
    unanswered = inquiry.search(everywhere, [*covers, *need.excluded], FOR_UNANSWERED)
    return _needed_of(inquiry, decision, unanswered)


def _needed_of(inquiry: Inquiry, decision: Decision, unanswered: Remainder) -> Remainder:
    """The cases in which the decision is needed among those that are in scope and that no rule answers."""
    boxes: list[Box] = []
    complete = unanswered.is_complete
    least, most = 0, unanswered.most if unanswered.most else inquiry.weights.of_all(unanswered.boxes)
    for box in unanswered.boxes:
        try:
            with in_force().part(FOR_A_BOX):
                needed = inquiry.meaning.need.within(decision.id, Region((box,))).few_large()
        except OutOfTime:
            complete = False
            continue
        weight = inquiry.weights.of_all(needed)
        least += weight
        most -= inquiry.weights.of(box) - weight
        boxes += needed.boxes
    return Remainder(tuple(in_reading_order(boxes)), complete, least, most)


def _edges(
    inquiry: Inquiry, decision: Decision, boxes: tuple[Box, ...]
) -> tuple[tuple[Edge, ...], tuple[tuple[Edge, ...], ...]]:
    """The edges beside the boxes, one a written range; for each single value left out, those it lies between."""
    edges: dict[Span, Edge] = {}
    closing: dict[tuple[Edge, ...], None] = {}
    stretches_of = cache(lambda mask: tuple(runs(mask)))
    for box in boxes:
        for number, axis in enumerate(inquiry.meaning.space.axes):
            if axis.factor.kind != "quantity" or box[number] == axis.full:
                continue
            ending, starting = _conditions_by_cell(inquiry, decision, box, number, stretches_of)
            for first, last in stretches_of(box[number]):
                hole = Range(axis.cells[first].lower, axis.cells[last].upper)
                beside = tuple(
                    Edge(stretch.span, rule, stops, end.value, axis.unit, end.closed)
                    for rule, stretch, stops in _beside(hole, ending.get(first - 1, ()), starting.get(last + 1, ()))
                    for end in [stretch.range.upper if stops else stretch.range.lower]
                )
                for edge in beside:
                    edges.setdefault(edge.span, edge)
                if beside and hole.lower.value == hole.upper.value:
                    closing[beside] = None
    return tuple(sorted(edges.values(), key=lambda edge: edge.span)), tuple(closing)


ByCell = dict[int, list[tuple[str, Condition]]]
"""By cell, conditions with the rules that state them."""


def _conditions_by_cell(
    inquiry: Inquiry,
    decision: Decision,
    box: Box,
    number: int,
    stretches_of: Callable[[int], Iterable[tuple[int, int]]],
) -> tuple[ByCell, ByCell]:
    """The conditions on one factor in rules that meet the box on every other: by their last cells, by their first."""
    meaning = inquiry.meaning
    name = meaning.space.names[number]
    ending: ByCell = {}
    starting: ByCell = {}
    for index, which in meaning.rows.across(box, number, meaning.advising(decision.id)):
        rule = inquiry.rule(index)
        condition = rule.when[which].conditions.get(name)
        if condition is not None:
            for first, last in stretches_of(meaning.boxes[index][which][number]):
                ending.setdefault(last, []).append((rule.id, condition))
                starting.setdefault(first, []).append((rule.id, condition))
    return ending, starting


def _beside(
    hole: Range, ending: Iterable[tuple[str, Condition]], starting: Iterable[tuple[str, Condition]]
) -> Iterator[tuple[str, Stretch, bool]]:
    """The written ranges that stop just below a gap, and those that start just above it; whether they stop there."""
    for rule, condition in ending:
        for stretch in condition.stretches:
            ends = stretch.range.upper
            if ends.value == hole.lower.value and ends.closed != hole.lower.closed:
                yield rule, stretch, True
    for rule, condition in starting:
        for stretch in condition.stretches:
            starts = stretch.range.lower
            if starts.value == hole.upper.value and starts.closed != hole.upper.closed:
                yield rule, stretch, False
