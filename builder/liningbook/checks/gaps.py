"""Cases that no rule answers."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from liningbook.checks.inquiry import Inquiry
from liningbook.finding import Finding, Label, Severity
from liningbook.logic.boxes import Box, in_reading_order, runs
from liningbook.logic.budget import OutOfTime, in_force
from liningbook.logic.cells import Axis
from liningbook.logic.region import Region
from liningbook.logic.search import Remainder
from liningbook.model.interval import Range
from liningbook.model.protocol import Decision, Stretch
from liningbook.wording import number_words

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
            left = _remainder(inquiry, decision)
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


def _remainder(inquiry: Inquiry, decision: Decision) -> Remainder:
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
    labels: dict[tuple[str, int, int], Label] = {}
    advice: list[str] = []
    for box in boxes:
        for number, axis in enumerate(inquiry.meaning.space.axes):
            if axis.factor.kind != "quantity" or box[number] == axis.full:
                continue
            ends, starts = _written_ends(inquiry, decision, box, number)
            for first, last in runs(box[number]):
                hole = Range(axis.cells[first].lower, axis.cells[last].upper)
                closing = []
                for label, bound in _beside(hole, axis, ends, starts):
                    place = label.span
                    labels.setdefault((place.file, place.line, place.column), label)
                    closing.append(f"`{bound}` in {place.file}")
                if closing and first == last and hole.lower.value == hole.upper.value:
                    advice.append("write " + ", or ".join(dict.fromkeys(closing)))
    advice = list(dict.fromkeys(advice))
    if advice:
        advice.append("or write a rule for these cases")
    return sorted(labels.values(), key=lambda label: label.span), advice


Ends = dict[Fraction, list[Stretch]]


def _written_ends(inquiry: Inquiry, decision: Decision, box: Box, number: int) -> tuple[Ends, Ends]:
    """Where the ranges written for one factor end and where they start, in rules that meet the box on every other."""
    meaning = inquiry.meaning
    name = meaning.space.names[number]
    ends: Ends = {}
    starts: Ends = {}
    for index, which in meaning.rows.across(box, number, meaning.advising(decision.id)):
        condition = inquiry.rule(index).when[which].conditions.get(name)
        for stretch in condition.stretches if condition is not None else ():
            ends.setdefault(stretch.range.upper.value, []).append(stretch)
            starts.setdefault(stretch.range.lower.value, []).append(stretch)
    return ends, starts


def _beside(hole: Range, axis: Axis, ends: Ends, starts: Ends) -> Iterator[tuple[Label, str]]:
    """The written ranges that end just below or begin just above a gap, and the bound that would close it."""
    lower, upper = hole.lower, hole.upper
    for stretch in ends.get(lower.value, ()):
        if stretch.range.upper.closed != lower.closed:
            text = f"stops {'before' if lower.closed else 'at'} {number_words(lower.value, axis.unit)}"
            yield Label(stretch.span, text), f"at_most: {axis.text(lower.value)}"
    for stretch in starts.get(upper.value, ()):
        if stretch.range.lower.closed != upper.closed:
            text = f"starts {'after' if upper.closed else 'at'} {number_words(upper.value, axis.unit)}"
            yield Label(stretch.span, text), f"at_least: {axis.text(upper.value)}"
