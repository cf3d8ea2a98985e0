"""Cases that no rule answers."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from functools import cache

from liningbook.checks.inquiry import Inquiry
from liningbook.finding import Finding, Label, Severity, Span
from liningbook.model.protocol import Condition, Decision, Stretch
from liningbook.notation.interval import Range
from liningbook.say.amounts import number_words
from liningbook.space.boxes import Box, in_reading_order, runs
from liningbook.space.budget import OutOfTime, in_force
from liningbook.space.cells import Axis
from liningbook.space.region import Region
from liningbook.space.search import Remainder

FOR_UNANSWERED = 0.5
"""The share of the time for the cases without a rule, where it must then be found out whether one is needed."""

FOR_A_BOX = 0.2
"""The share of the time left that may go into finding out whether a decision is needed in a box of cases."""


def gap(inquiry: Inquiry) -> Iterator[Finding]:
    """A decision is needed in some case, and no rule answers it.

    Single boundary values count: "less than 0.5 mm" and "more than 0.5 mm" leave exactly 0.5 mm without a rule.
    """
    decisions = list(inquiry.protocol.decisions.values())
    for number, decision in enumerate(decisions):
        with in_force().part(1 / (len(decisions) - number)):
            left = left_open(inquiry, decision)
        if left.is_complete and not left.boxes:
            continue
        labels, advice = _edges(inquiry, decision, left.boxes)
        yield inquiry.about_remainder(
            "gap",
            Severity.ERROR,
            left,
            f"no rule for {decision.label}",
            f"there may be cases without a rule for {decision.label}",
            decision.span,
            label="this decision is needed there",
            related=labels,
            advice=advice or [f"write a rule that advises on `{decision.id}` in these cases"],
            decision=decision,
        )


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


def _edges(inquiry: Inquiry, decision: Decision, boxes: tuple[Box, ...]) -> tuple[list[Label], list[str]]:
    """The written ranges that stop short of the gap or start after it, and the signs that would close it."""
    labels: dict[Span, Label] = {}
    advice: list[str] = []
    stretches_of = cache(lambda mask: tuple(runs(mask)))
    for box in boxes:
        for number, axis in enumerate(inquiry.meaning.space.axes):
            if axis.factor.kind != "quantity" or box[number] == axis.full:
                continue
            ending, starting = _conditions_by_cell(inquiry, decision, box, number, stretches_of)
            for first, last in stretches_of(box[number]):
                hole = Range(axis.cells[first].lower, axis.cells[last].upper)
                is_single = hole.lower.value == hole.upper.value
                closing = []
                for stretch, stops in _beside(hole, ending.get(first - 1, ()), starting.get(last + 1, ())):
                    place = stretch.span
                    if place not in labels:
                        labels[place] = Label(place, _end_words(stretch, stops, axis))
                    if is_single:
                        bound = f"{'at_most' if stops else 'at_least'}: {axis.text(hole.lower.value)}"
                        closing.append(f"`{bound}` in {place.file}")
                if closing:
                    advice.append("write " + ", or ".join(dict.fromkeys(closing)))
    advice = list(dict.fromkeys(advice))
    if advice:
        advice.append("or write a rule for these cases")
    return sorted(labels.values(), key=lambda label: label.span), advice


ByCell = dict[int, list[Condition]]
Stretches = tuple[tuple[int, int], ...]


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
        condition = inquiry.rule(index).when[which].conditions.get(name)
        if condition is not None:
            for first, last in stretches_of(meaning.boxes[index][which][number]):
                ending.setdefault(last, []).append(condition)
                starting.setdefault(first, []).append(condition)
    return ending, starting


def _beside(hole: Range, ending: Iterable[Condition], starting: Iterable[Condition]) -> Iterator[tuple[Stretch, bool]]:
    """The written ranges that stop just below a gap, and those that start just above it; whether they stop there."""
    for condition in ending:
        for stretch in condition.stretches:
            ends = stretch.range.upper
            if ends.value == hole.lower.value and ends.closed != hole.lower.closed:
                yield stretch, True
    for condition in starting:
        for stretch in condition.stretches:
            starts = stretch.range.lower
            if starts.value == hole.upper.value and starts.closed != hole.upper.closed:
                yield stretch, False


def _end_words(stretch: Stretch, stops: bool, axis: Axis) -> str:
    """`stops before 0.5 mm`, `starts at 2 mm`."""
    if stops:
        ends = stretch.range.upper
        return f"stops {'at' if ends.closed else 'before'} {number_words(ends.value, axis.unit)}"
    starts = stretch.range.lower
    return f"starts {'at' if starts.closed else 'after'} {number_words(starts.value, axis.unit)}"
