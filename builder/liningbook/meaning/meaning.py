"""What the rules of a protocol mean on one day, as regions of cases.

Every question that a check or an output asks is answered here in terms of four regions of a decision: the cases in
which it is needed, those in which a rule is heard under it, those in which a rule's `avoid` stands, and the cases of
an answer.
"""

from __future__ import annotations

from datetime import date

from liningbook.meaning.clashes import Clashes
from liningbook.meaning.needed import Needed
from liningbook.meaning.rules import RulesInForce, Warned
from liningbook.model.protocol import Protocol
from liningbook.space.boxes import Box, meet
from liningbook.space.cells import Space
from liningbook.space.region import Region


class Meaning(RulesInForce):
    """The rules in force on a day, and what comes of them."""

    def __init__(self, protocol: Protocol, day: date, space: Space | None = None) -> None:
        super().__init__(protocol, day, space)
        self.need = Needed(self)
        self.clashes = Clashes(self, self.need)
        self.protection: object = None
        """What `meaning/layers.py` works out about this meaning, kept with it."""
        self._other_days: dict[date, Meaning] = {day: self}

    def on(self, day: date) -> Meaning:
        """What the protocol means on another day."""
        if day not in self._other_days:
            self._other_days[day] = Meaning(self.protocol, day)
        return self._other_days[day]

    @property
    def scope(self) -> Region:
        """Every case that is not excluded."""
        return self.need.scope()

    def needed(self, decision: str) -> Region:
        """The cases in scope in which a decision is needed (contract: step 4)."""
        return self.need.of(decision)

    def gap(self, decision: str) -> Region:
        """The cases in which a decision is needed and no rule advises on it."""
        return self.needed(decision).minus(self.boxes_of(self.advising(decision)))

    def cases_heard(self, decision: str, index: int) -> Region:
        """The cases in which a decision is needed and a rule's advice on it is not silenced (step 3)."""
        return self.need.heard(decision, index)

    def cases_of_answer(self, decision: str, rules: int) -> Region:
        """The cases in which an answer, that of the given rules, is advised (one of several in a conflict)."""
        return self.need.of_answer(decision, rules)

    def cases_clashing(self, number: int) -> Region:
        """The cases in which an entry of `together` is broken (step 7)."""
        return self.clashes.cases(number)

    def cases_warned(self, decision: str, warned: Warned) -> Region:
        """The cases in which a decision is needed and a rule's `avoid` (or `never`) under it stands (step 6)."""
        held = self.need.within(decision, self.cases_of_rule(warned.rule))
        return held.minus(self._unwarning(decision, warned))

    def _unwarning(self, decision: str, warned: Warned) -> list[Box]:
        """The boxes in which a warning does not stand: those of rules that speak under the decision and override it."""
        return [] if warned.always else self.boxes_of(self.overridden_by[warned.rule] & self.speaking(decision))

    def is_ever_heard(self, decision: str, index: int) -> bool:
        """Whether there is a case in which a rule's advice on a decision is heard."""
        held = self.need.within(decision, self.cases_of_rule(index))
        return not held.is_within(self.silencers(decision, index))

    def is_ever_warned(self, decision: str, warned: Warned) -> bool:
        """Whether there is a case in which a warning stands."""
        held = self.need.within(decision, self.cases_of_rule(warned.rule))
        return not held.is_within(self._unwarning(decision, warned))

    def cases_both(self, decision: str, first: int, second: int) -> Region:
        """The cases in which a decision is needed and both rules hold."""
        common = [box for a in self.boxes[first] for b in self.boxes[second] if (box := meet(a, b))]
        return self.need.within(decision, Region.any_of(common))

    def silencing_either(self, decision: str, first: int, second: int) -> list[Box]:
        """The boxes in which the advice of one of two rules on a decision is silenced (step 3)."""
        return self.silencers(decision, first) + self.silencers(decision, second)
