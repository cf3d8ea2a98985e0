"""Changes in the order of their consequence: lost safety first, then other advice, and what only follows grouped.

A change *follows* from another where a decision is needed no longer, or newly, or a case is covered no longer, because
of what an earlier decision comes to in the same cases. What follows is told with its cause. A change in which safety is
lost, or that leaves no single answer, stands by itself all the same.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Generic, Protocol, TypeVar, get_args

from liningbook.compare.safety import Kind, Loss, losses
from liningbook.meaning.decide import NOT_NEEDED, Outcome
from liningbook.meaning.difference import OUT_OF_SCOPE
from liningbook.meaning.layers import stops
from liningbook.meaning.meaning import Meaning
from liningbook.space.boxes import Box, meets
from liningbook.space.region import Region

UNSETTLED = ("gap", "conflict", "contraindicated", "clash")
"""The states that leave no single answer to work by."""

FEW = 1_000
"""So many pairs of boxes are looked at one by one."""


class Changed(Protocol):
    """Cases in which a decision comes to something else."""

    @property
    def decision(self) -> str:
        """The decision."""

    @property
    def before(self) -> Outcome:
        """What it came to."""

    @property
    def after(self) -> Outcome:
        """What it comes to."""

    @property
    def region(self) -> Region:
        """The cases."""


C = TypeVar("C", bound=Changed)


@dataclass(frozen=True)
class ToldChange(Generic[C]):
    """A change that is told, with the safety that is lost by it and the changes that follow from it."""

    change: C
    losses: tuple[Loss, ...]
    following: tuple[C, ...]


class Ranking(Generic[C]):
    """The changes from one version to another in the order in which they are told."""

    def __init__(
        self, old: Meaning, new: Meaning, changes: Sequence[C], same_materials: bool = True, usual: Box | None = None
    ) -> None:
        self.old, self.new, self.changes = old, new, changes
        self.same_materials = same_materials
        self.usual = usual

    @cached_property
    def _number(self) -> dict[int, int]:
        return {id(change): number for number, change in enumerate(self.changes)}

    @cached_property
    def losses(self) -> tuple[Loss, ...]:
        """Everything that is lost, the gravest first."""
        layers = [d.region for d in self.changes if self._is_layer(d.decision)]
        within = Region.any_of(box for region in layers for box in region) if self.same_materials else None
        return tuple(sorted(losses(self.old, self.new, within), key=gravity, reverse=True))

    @cached_property
    def told(self) -> tuple[ToldChange[C], ...]:
        """The changes that stand by themselves, by consequence."""
        following: dict[int, list[C]] = {}
        alone = []
        for number, change in enumerate(self.changes):
            lost = self._lost_by(number)
            if lost or not self._causes[number] or change.after.state in UNSETTLED:
                alone.append((number, lost))
        standing = {number for number, _ in alone}
        for number, change in enumerate(self.changes):
            if number not in standing:
                for cause in self._causes[number]:
                    following.setdefault(cause, []).append(change)
        found = [ToldChange(self.changes[number], lost, tuple(following.get(number, ()))) for number, lost in alone]
        return tuple(sorted(found, key=self._rank))

    def is_exception(self, told: ToldChange[C]) -> bool:
        """Whether a change is neither grave nor in any usual case, those for which a chart stands."""
        return self._rank(told) == (2, 1)

    def _rank(self, told: ToldChange[C]) -> tuple[int, int]:
        """Lost safety by its kind, then changes that leave no single answer, then usual cases, then the rest."""
        if told.losses:
            return 0, -max(gravity(loss) for loss in told.losses)
        if told.change.after.state in UNSETTLED:
            return 1, 0
        usual = Region((self.usual,) if self.usual is not None else ())
        return 2, 0 if any(_meet(one.region, usual) for one in (told.change, *told.following)) else 1

    @property
    def in_order(self) -> tuple[C, ...]:
        """Every change: those that are told, then those that only follow."""
        told = tuple(one.change for one in self.told)
        return (*told, *(change for change in self.changes if not any(change is one for one in told)))

    def causes_of(self, change: C) -> tuple[C, ...]:
        """The changes from which one follows; none where it stands by itself."""
        return tuple(self.changes[cause] for cause in self._causes[self._number[id(change)]])

    def lost_by(self, change: C, region: Region) -> tuple[Loss, ...]:
        """The safety that is lost in some of the cases of a change."""
        return tuple(loss for loss in self._lost_by(self._number[id(change)]) if _meet(loss.region, region))

    # --- what is lost by which change ---------------------------------------------------------------------------------

    def _lost_by(self, number: int) -> tuple[Loss, ...]:
        return tuple(loss for loss in self.losses if self._has_part(number, loss))

    def _has_part(self, number: int, loss: Loss) -> bool:
        change = self.changes[number]
        if not _meet(change.region, loss.region):
            return False
        if loss.kind in ("referral", "judgement"):
            is_freed = change.decision in loss.layers and not self._causes[number]
            return change.decision == loss.decision or is_freed
        if loss.kind == "never":
            names = {candidate.answer.name for candidate in change.after.candidates}
            return change.decision == loss.decision and loss.name in names
        if not self._is_layer(change.decision):
            return False
        return self._stops_no_more(number, loss.name) or not any(
            self._stops_no_more(other, loss.name)
            for other, one in enumerate(self.changes)
            if self._is_layer(one.decision) and _meet(one.region, change.region, loss.region)
        )

    def _stops_no_more(self, number: int, irritant: str) -> bool:
        before, after = self.changes[number].before.answer, self.changes[number].after.answer
        return stops(self.old.protocol, before, irritant) and not stops(self.new.protocol, after, irritant)

    def _is_layer(self, decision: str) -> bool:
        both = (meaning.protocol.decisions.get(decision) for meaning in (self.old, self.new))
        return any(one is not None and one.is_layer for one in both)

    # --- what follows from what ---------------------------------------------------------------------------------------

    @cached_property
    def _causes(self) -> tuple[tuple[int, ...], ...]:
        """For each change those from which it follows, themselves following from none."""
        known: dict[int, tuple[int, ...]] = {}
        return tuple(self._roots(number, known) for number in range(len(self.changes)))

    def _roots(self, number: int, known: dict[int, tuple[int, ...]], above: tuple[int, ...] = ()) -> tuple[int, ...]:
        """The first causes of a change; of changes that wait for one another, as two versions may, one stands alone."""
        if number in above:
            return (number,)
        if number not in known:
            found: set[int] = set()
            for cause in self._direct_causes(self.changes[number]):
                found.update(self._roots(cause, known, (*above, number)) or (cause,))
            region = self.changes[number].region
            kept = tuple(sorted(root for root in found if _meet(self.changes[root].region, region)))
            known[number] = () if number in found else kept
        return known[number]

    def _direct_causes(self, change: C) -> list[int]:
        """The changes of the decision that a change waits for, if they take in all of its cases."""
        if change.after == OUT_OF_SCOPE:
            first = next(iter(self.new.protocol.decisions))
            return [] if change.decision == first else self._of(first, change, to=OUT_OF_SCOPE)
        meaning = {change.before.state: self.old, change.after.state: self.new}.get(NOT_NEEDED.state)
        known = meaning.protocol.decisions.get(change.decision) if meaning is not None else None
        if known is None or known.needed_when is None:
            return []
        return self._of(known.needed_when[0], change)

    def _of(self, decision: str, change: C, to: Outcome | None = None) -> list[int]:
        found = [
            number
            for number in self._by_decision.get(decision, ())
            if to is None or self.changes[number].after == to
            if _meet(self.changes[number].region, change.region)
        ]
        boxes = [box for number in found for box in self.changes[number].region]
        return [] if change.region.minus(boxes) else found

    @cached_property
    def _by_decision(self) -> dict[str, list[int]]:
        found: dict[str, list[int]] = {}
        for number, change in enumerate(self.changes):
            found.setdefault(change.decision, []).append(number)
        return found


def gravity(loss: Loss) -> int:
    """More for a graver kind of loss, one for the least."""
    kinds = get_args(Kind)
    return len(kinds) - kinds.index(loss.kind)


def _meet(first: Region, second: Region, *more: Region) -> bool:
    """Whether there is a case in all of the regions."""
    if not more and len(first.boxes) * len(second.boxes) <= FEW:
        return any(meets(a, b) for a in first for b in second)
    common = first & second
    for other in more:
        common = common & other
    return bool(common)
