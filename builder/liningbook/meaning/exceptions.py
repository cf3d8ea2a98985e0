"""How other cases depart from the chart, keyed by what departs: `rosin allergy: under amalgam another sealer`.

What the lines of each decision are `exception_lines.py` says; here those of all decisions are gathered by what triggers
them, so that for each decision the first that fits still decides.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass

from liningbook.meaning.chart import Layout, Line, Outcomes
from liningbook.meaning.exception_lines import departing, lines_of
from liningbook.meaning.meaning import Meaning
from liningbook.model.rule import Rule
from liningbook.space.boxes import Box, meet, meets


@dataclass(frozen=True)
class Keyed:
    """Lines under what the patient has: any of the `triggers`, boxes that ask only about departing factors.

    Each box of `lines` asks about the rest; a line holds where it meets any of the triggers.
    """

    triggers: tuple[Box, ...]
    lines: tuple[Line, ...]


def exceptions(
    outcomes: Outcomes, layout: Layout, decisions: Collection[str], charted: Sequence[int]
) -> tuple[Keyed, ...]:
    """How the decisions depart from the chart: for each of them the first line that fits decides, else the chart.

    Decisions that are no layers stand first, then more departing factors before fewer. `charted` are the bands.
    """
    found: list[Keyed] = []
    protocol = outcomes.meaning.protocol
    for is_layer in (False, True):
        lines = [
            line
            for decision in decisions
            if protocol.decisions[decision].is_layer == is_layer
            for line in lines_of(outcomes, layout, decision, charted)
        ]
        found += _gathered(_blocks(layout, lines))
    return tuple(found)


def is_keyed(meaning: Meaning, layout: Layout, rule: Rule) -> bool:
    """Whether a rule asks only about factors that depart: all about what the patient has, nothing about the tooth."""
    boxes = meaning.space.boxes(rule.when)
    return all((asked := departing(layout, box)) and _asks_only(meaning, asked, box) for box in boxes)


def _asks_only(meaning: Meaning, axes: Collection[int], box: Box) -> bool:
    return all(n in axes or mask == whole for n, (mask, whole) in enumerate(zip(box, meaning.space.full, strict=True)))


def _trigger(layout: Layout, box: Box) -> Box:
    """The box with only what it asks about the factors in which all its cases depart."""
    return tuple(
        mask if number in departing(layout, box) else whole
        for number, (mask, whole) in enumerate(zip(box, layout.shown, strict=True))
    )


def _blocks(layout: Layout, lines: list[Line]) -> list[Keyed]:
    """Lines by what triggers them; lines of one decision that contradict each other keep their order."""
    above = [[j for j in range(i) if _contradict(lines[j], line)] for i, line in enumerate(lines)]
    triggers = [_trigger(layout, line.box) for line in lines]
    levels = [len(departing(layout, line.box)) for line in lines]
    left, found = list(range(len(lines))), []
    while left:
        ready = [i for i in left if not any(j in left for j in above[i])]
        head = min(ready, key=lambda i: (-levels[i], i))
        taken: list[int] = []
        for i in left:
            if triggers[i] == triggers[head] and not any(j in left and j not in taken for j in above[i]):
                taken.append(i)
        rest = tuple(
            Line(lines[i].decision, _without(layout, lines[i].box, triggers[i]), lines[i].outcome) for i in taken
        )
        found.append(Keyed((triggers[head],), rest))
        left = [i for i in left if i not in taken]
    return found


def _without(layout: Layout, box: Box, trigger: Box) -> Box:
    """The box with any value of what its trigger asks about."""
    return tuple(
        whole if asked != whole else mask for mask, asked, whole in zip(box, trigger, layout.shown, strict=True)
    )


def _contradict(first: Line, second: Line) -> bool:
    return (
        first.decision == second.decision and first.outcome.said != second.outcome.said and meets(first.box, second.box)
    )


def _gathered(groups: list[Keyed]) -> list[Keyed]:
    """Groups of the same lines as one, wherever no group between them has a say in it."""
    found: list[Keyed] = []
    for group in groups:
        for number in range(len(found) - 1, -1, -1):
            if found[number].lines == group.lines:
                found[number] = Keyed((*found[number].triggers, *group.triggers), group.lines)
                break
            if _groups_contradict(found[number], group):
                found.append(group)
                break
        else:
            found.append(group)
    return found


def _groups_contradict(first: Keyed, second: Keyed) -> bool:
    mine, theirs = (list(whole_lines(group)) for group in (first, second))
    return any(_contradict(a, b) for a in mine for b in theirs)


def whole_lines(group: Keyed) -> Iterator[Line]:
    """The lines of a group, each with one of its triggers."""
    for line in group.lines:
        for one in group.triggers:
            if box := meet(one, line.box):
                yield Line(line.decision, box, line.outcome)
