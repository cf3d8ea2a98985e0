"""The cases in scope, and those in which a decision is needed: all of them at once, or those of them in a region.

Where the rules under an earlier decision are so entangled that all the cases cannot be worked out in the time given, a
region is looked at by itself: there only the rules count that hold somewhere in it.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from liningbook.space.boxes import Box
from liningbook.space.budget import OutOfTime, in_force
from liningbook.space.region import Region

if TYPE_CHECKING:
    from liningbook.meaning.meaning import Meaning

FOR_ALL = 0.1
"""The share of the time left that may go into working out a region of all cases."""


class Needed:
    """Scope and need under one meaning."""

    def __init__(self, meaning: Meaning) -> None:
        self.meaning = meaning
        protocol, space = meaning.protocol, meaning.space
        self.excluded: list[Box] = [box for entry in protocol.excluded for box in space.boxes(entry.when)]
        self._known: dict[object, Region] = {}
        self._too_ragged: set[object] = set()

    # --- all cases at once --------------------------------------------------------------------------------------------

    def scope(self) -> Region:
        """Every case that is not excluded. Raises OutOfTime."""
        return self._whole(None, lambda: Region((self.meaning.space.full,)).minus(self.excluded))

    def of(self, decision: str) -> Region:
        """The cases in scope in which a decision is needed (contract: step 4). Raises OutOfTime."""
        needed_when = self.meaning.protocol.decisions[decision].needed_when
        if needed_when is None:
            return self.scope()
        earlier, wanted = needed_when
        rules = self.meaning.answering(earlier, wanted)
        return self._whole(needed_when, lambda: self.meaning.cases_of_answer(earlier, rules).few_large())

    def known(self, decision: str) -> Region | None:
        """The same, or nothing where it could not be worked out in a part of the time."""
        return self._tried(self.meaning.protocol.decisions[decision].needed_when, lambda: self.of(decision))

    def known_scope(self) -> Region | None:
        """The scope, or nothing where it could not be worked out in a part of the time."""
        return self._tried(None, self.scope)

    def _whole(self, name: object, work: Callable[[], Region]) -> Region:
        if name not in self._known:
            self._known[name] = work()
        return self._known[name]

    def _tried(self, name: object, work: Callable[[], Region]) -> Region | None:
        if name in self._known:
            return self._known[name]
        if name not in self._too_ragged:
            try:
                with in_force().part(FOR_ALL):
                    return work()
            except OutOfTime:
                self._too_ragged.add(name)
        return None

    # --- those in a region --------------------------------------------------------------------------------------------

    def scope_in(self, region: Region) -> Region:
        """The cases of a region that are in scope. Raises OutOfTime."""
        whole = self.known_scope()
        return region.minus(self.excluded) if whole is None else region & whole

    def within(self, decision: str, region: Region) -> Region:
        """The cases of a region in which a decision is needed. Raises OutOfTime."""
        whole = self.known(decision)
        if whole is not None:
            return region & whole
        needed_when = self.meaning.protocol.decisions[decision].needed_when
        if needed_when is None:
            return self.scope_in(region)
        earlier, wanted = needed_when
        rules = self.meaning.rules_meeting(region, self.meaning.answering(earlier, wanted))
        return Region.any_of(box for index in rules for box in self._heard_within(earlier, index, region))

    def _heard_within(self, decision: str, index: int, region: Region) -> Region:
        held = self.within(decision, region & self.meaning.cases_of_rule(index))
        return held.minus(self.meaning.silencers(decision, index))
