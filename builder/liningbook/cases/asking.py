"""What to ask next of a case of which only a part is known, so that it is settled soon; and what need not be asked.

A factor matters where two completions differ in it alone and come to different things. Of those that matter the one is
asked next whose answer leaves the fewest completions with something open. On the demonstration that comes within 0.12
of a question of the best order there can be (`make bench`).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from liningbook.meaning.meaning import Meaning
from liningbook.meaning.possible import Outlook
from liningbook.space.boxes import bits, cell_count
from liningbook.space.overlap import Join
from liningbook.space.region import Region

Ways = Sequence[Region]
"""Completions parted by what something comes to; each part is a region of disjoint boxes."""


@dataclass(frozen=True)
class Asking:
    """The factor to ask next, if any, and those that are missing and can change nothing that is open."""

    next: str | None
    irrelevant: tuple[str, ...]


def asking(meaning: Meaning, outlook: Outlook, missing: Sequence[str]) -> Asking:
    """What to ask next, and what can change nothing. Nothing is asked where no completion is in scope."""
    if outlook.in_scope is False:
        return Asking(None, tuple(missing))
    undecided = [tuple(way.region for way in ways) for ways in outlook.open.values()]
    if outlook.in_scope is None:
        scope = outlook.scope
        undecided.append((scope, Region.any_of([outlook.box]).minus(scope.boxes)))
    mattering: set[int] = set()
    for ways in undecided:
        mattering |= _mattering(ways, outlook)
    numbers = {name: meaning.space.index[name] for name in missing}
    relevant = [name for name in missing if numbers[name] in mattering]
    return Asking(_next(meaning, undecided, numbers, relevant), tuple(name for name in missing if name not in relevant))


def _next(meaning: Meaning, undecided: Sequence[Ways], missing: dict[str, int], relevant: list[str]) -> str | None:
    always = [name for name in missing if meaning.protocol.factors[name].always_ask]
    for name in asked_first(meaning):
        if name in relevant or name in always:
            return name
    if relevant:
        return min(relevant, key=lambda name: sum(left_open(ways, missing[name]) for ways in undecided))
    return always[0] if always else None


def asked_first(meaning: Meaning) -> list[str]:
    """The factors that the stop questions hang on, in their order; one of which every value will do is none."""
    space = meaning.space
    whens = [question.screens for question in meaning.protocol.stop_questions if question.screens is not None]
    boxes = [space.box(conditions) for when in whens for conditions in when]
    named = (axis.factor.id for box in boxes for axis, mask in zip(space.axes, box, strict=True) if mask != axis.full)
    return list(dict.fromkeys(named))


def left_open(ways: Ways, axis: int) -> int:
    """How many completions are left undecided once a factor is known: those whose value of it leaves several ways."""
    sizes: dict[int, int] = {}
    owners: dict[int, int] = {}
    for number, region in enumerate(ways):
        for box in region:
            each = cell_count(box) // box[axis].bit_count()
            for cell in bits(box[axis]):
                sizes[cell] = sizes.get(cell, 0) + each
                owners[cell] = owners.get(cell, 0) | 1 << number
    return sum(size for cell, size in sizes.items() if owners[cell].bit_count() > 1)


def _mattering(ways: Ways, outlook: Outlook) -> set[int]:
    """The axes along which two completions lie that come to different things and differ in nothing else."""
    boxes = [box for region in ways for box in region]
    join = Join(outlook.box, boxes)
    found: set[int] = set()
    rows_before = 0
    for region in ways:
        own = ((1 << len(region.boxes)) - 1) << rows_before
        rows_before += len(region.boxes)
        for box in region:
            found |= _across([column[mask] for column, mask in zip(join.columns, box, strict=True)], ~own, found)
    return found


def _across(meeting: list[int], others: int, known: Iterable[int]) -> set[int]:
    """The axes on which a box may miss a row of `others` that it meets on all other axes."""
    found = set()
    before = others
    after = [-1]
    for rows in reversed(meeting[1:]):
        after.append(after[-1] & rows)
    for axis, rows in enumerate(meeting):
        if axis not in known and before & after[-1 - axis]:
            found.add(axis)
        before &= rows
    return found
