"""The cases in scope, and those in which a decision is needed: all of them at once, or those of them in a region.

Where the rules under an earlier decision are so entangled that all the cases cannot be worked out in the time given, a
region is looked at by itself: there only the rules count that hold somewhere in it.
"""

from __future__ import annotations

from collections.abc import Callable

from liningbook.meaning.rules import RulesInForce
from liningbook.space.boxes import Box, bits
from liningbook.space.budget import OutOfTime, in_force
from liningbook.space.region import Region

FOR_ALL = 0.1
"""The share of the time left that may go into working out a region of all cases."""


class Needed:
    """Scope and need, and where a rule is heard: a decision is needed where certain answers to an earlier one are."""

    def __init__(self, rules: RulesInForce) -> None:
        self.rules = rules
        protocol, space = rules.protocol, rules.space
        self.excluded: list[Box] = [box for entry in protocol.excluded for box in space.boxes(entry.when)]
        self._known: dict[object, Region] = {}
        self._too_ragged: set[object] = set()
        self._heard: dict[tuple[str, int], Region] = {}

    # --- all cases at once --------------------------------------------------------------------------------------------

    def scope(self) -> Region:
        """Every case that is not excluded. Raises OutOfTime."""
        return self._whole(None, lambda: Region((self.rules.space.full,)).minus(self.excluded))

    def of(self, decision: str) -> Region:
        """The cases in scope in which a decision is needed (contract: step 4). Raises OutOfTime."""
        needed_when = self.rules.protocol.decisions[decision].needed_when
        if needed_when is None:
            return self.scope()
        earlier, wanted = needed_when
        answering = self.rules.answering(earlier, wanted)
        return self._whole(needed_when, lambda: self.of_answer(earlier, answering).few_large())

    def known(self, decision: str) -> Region | None:
        """The cases in which a decision is needed, or nothing where a part of the time does not do to work them out."""
        return self._tried(self.rules.protocol.decisions[decision].needed_when, lambda: self.of(decision))

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
        needed_when = self.rules.protocol.decisions[decision].needed_when
        if needed_when is None:
            return self.scope_in(region)
        earlier, wanted = needed_when
        meeting = self.rules.rules_meeting(region, self.rules.answering(earlier, wanted))
        return Region.any_of(box for index in meeting for box in self._heard_within(earlier, index, region))

    def _heard_within(self, decision: str, index: int, region: Region) -> Region:
        return self._heard_of(decision, index, region & self.rules.cases_of_rule(index))

    # --- where a rule is heard ----------------------------------------------------------------------------------------

    def heard(self, decision: str, index: int) -> Region:
        """The cases in which a decision is needed and a rule's advice on it is not silenced (step 3)."""
        key = (decision, index)
        if key not in self._heard:
            self._heard[key] = self._heard_of(decision, index, self.rules.cases_of_rule(index))
        return self._heard[key]

    def _heard_of(self, decision: str, index: int, held: Region) -> Region:
        return self.within(decision, held).minus(self.rules.silencers(decision, index))

    def of_answer(self, decision: str, rules: int) -> Region:
        """The cases in which an answer, that of the given rules, is advised (one of several in a conflict)."""
        return Region.any_of(box for index in bits(rules) for box in self.heard(decision, index))
