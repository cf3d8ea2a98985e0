"""Cases that no rule answers."""

from __future__ import annotations

from collections.abc import Iterator

from liningbook.checks.inquiry import Inquiry
from liningbook.finding import Finding, Label, Severity
from liningbook.logic.boxes import Box, bits, runs
from liningbook.model.interval import Range
from liningbook.model.protocol import Decision
from liningbook.wording import number_words


def gap(inquiry: Inquiry) -> Iterator[Finding]:
    """A decision is needed in some case, and no rule answers it.

    Single boundary values count: "less than 0.5 mm" and "more than 0.5 mm" leave exactly 0.5 mm without a rule.
    """
    meaning, protocol = inquiry.meaning, inquiry.protocol
    for decision in protocol.decisions.values():
        region = meaning.gap(decision.id)
        if not region:
            continue
        region = region.few_large()
        labels, advice = _edges(inquiry, decision, region.boxes)
        yield inquiry.about_cases(
            "gap",
            Severity.ERROR,
            f"no rule for {decision.label} {inquiry.in_brief(region)}",
            decision.span,
            region,
            label="this decision is needed there",
            related=labels,
            advice=advice or [f"write a rule that advises on `{decision.id}` in these cases"],
            decision=decision,
        )


def _edges(inquiry: Inquiry, decision: Decision, boxes: tuple[Box, ...]) -> tuple[list[Label], list[str]]:
    """The written ranges that stop short of the gap or start after it, and the signs that would close it."""
    labels: dict[tuple[str, int, int], Label] = {}
    advice: list[str] = []
    for box in boxes:
        for number, axis in enumerate(inquiry.meaning.space.axes):
            if axis.factor.kind != "quantity" or box[number] == axis.full:
                continue
            for first, last in runs(box[number]):
                hole = Range(axis.cells[first].lower, axis.cells[last].upper)
                closing = []
                for label, bound in _stretches_beside(inquiry, decision, box, number, hole):
                    place = label.span
                    labels.setdefault((place.file, place.line, place.column), label)
                    closing.append(f"`{bound}` in {place.file}")
                if closing and first == last and hole.lower.value == hole.upper.value:
                    advice.append("write " + ", or ".join(dict.fromkeys(closing)))
    advice = list(dict.fromkeys(advice))
    if advice:
        advice.append("or write a rule for these cases")
    return sorted(labels.values(), key=lambda label: label.span), advice


def _stretches_beside(
    inquiry: Inquiry, decision: Decision, box: Box, number: int, hole: Range
) -> Iterator[tuple[Label, str]]:
    """Written ranges that end just below or begin just above the gap, in rules that meet it on every other factor."""
    meaning = inquiry.meaning
    axis = meaning.space.axes[number]
    for index in bits(meaning.advising(decision.id)):
        rule = inquiry.rule(index)
        for conditions, own in zip(rule.when, meaning.boxes[index], strict=True):
            condition = conditions.conditions.get(axis.factor.id)
            others = all(a & b for at, (a, b) in enumerate(zip(own, box, strict=True)) if at != number)
            if condition is None or not others:
                continue
            for stretch in condition.stretches:
                ends, starts = stretch.range.upper, stretch.range.lower
                if ends.value == hole.lower.value and ends.closed != hole.lower.closed:
                    text = f"stops {'at' if ends.closed else 'before'} {number_words(ends.value, axis.unit)}"
                    yield Label(stretch.span, text), f"at_most: {axis.text(ends.value)}"
                elif starts.value == hole.upper.value and starts.closed != hole.upper.closed:
                    text = f"starts {'at' if starts.closed else 'after'} {number_words(starts.value, axis.unit)}"
                    yield Label(stretch.span, text), f"at_least: {axis.text(starts.value)}"
