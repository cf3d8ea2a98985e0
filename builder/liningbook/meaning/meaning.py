"""What the rules of a protocol mean on one day, as regions of cases.

Every question that a check or an output asks is answered here in terms of four regions of a decision: the cases in
which it is needed, those in which a rule is heard under it, those in which a rule's `avoid` stands, and the cases of
an answer.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from liningbook.meaning.needed import Needed
from liningbook.model.protocol import Answer, Pairing, Protocol, Rule
from liningbook.space.boxes import Box, bits, meet
from liningbook.space.cells import Space
from liningbook.space.overlap import Rows
from liningbook.space.region import Region


@dataclass(frozen=True)
class Warned:
    """A rule that says to avoid an agent (or an answer) under a decision, and whether nothing can override it."""

    rule: int
    agent: str
    always: bool


class Meaning:
    """The rules in force on a day, compiled. Rules are numbered in the order of their ids; sets of rules are ints."""

    def __init__(self, protocol: Protocol, day: date, space: Space | None = None) -> None:
        self.protocol = protocol
        self.day = day
        self.rules: tuple[Rule, ...] = tuple(rule for rule in protocol.rules.values() if rule.holds_on(day))
        self.number: dict[str, int] = {rule.id: index for index, rule in enumerate(self.rules)}
        self.space = space or Space.of(protocol)
        self.boxes: tuple[tuple[Box, ...], ...] = tuple(self.space.boxes(rule.when) for rule in self.rules)
        self.overrides: tuple[int, ...] = tuple(
            sum(1 << index for index in {self.number[name.id] for name in rule.overrides if name.id in self.number})
            for rule in self.rules
        )
        self.need = Needed(self)
        self._answers: dict[str, dict[Answer, int]] = {}
        self._clashing: dict[int, dict[str, Region]] = {}
        self.protection: object = None
        """What `meaning/layers.py` works out about this meaning, kept with it."""
        self._other_days: dict[date, Meaning] = {day: self}
        self._cases_of: dict[tuple[str, int], Region] = {}

    def on(self, day: date) -> Meaning:
        """The same protocol on another day."""
        if day not in self._other_days:
            self._other_days[day] = Meaning(self.protocol, day)
        return self._other_days[day]

    # --- which rules say what -----------------------------------------------------------------------------------

    def advising(self, decision: str) -> int:
        """The rules that advise on a decision."""
        return self._advising[decision]

    def speaking(self, decision: str) -> int:
        """The rules that say anything under a decision: advise, avoid or never."""
        return self._speaking[decision]

    @cached_property
    def _advising(self) -> dict[str, int]:
        return {
            name: sum(1 << index for index, rule in enumerate(self.rules) if name in rule.advise)
            for name in self.protocol.decisions
        }

    @cached_property
    def _speaking(self) -> dict[str, int]:
        return {
            name: sum(1 << index for index, rule in enumerate(self.rules) if rule.speaks_under(name))
            for name in self.protocol.decisions
        }

    @cached_property
    def overridden_by(self) -> tuple[int, ...]:
        """For each rule the rules that name it in their overrides."""
        found = [0] * len(self.rules)
        for index, losers in enumerate(self.overrides):
            for loser in bits(losers):
                found[loser] |= 1 << index
        return tuple(found)

    def answers(self, decision: str) -> dict[Answer, int]:
        """The distinct answers advised under a decision, each with the rules that advise it, in rule order."""
        if decision not in self._answers:
            found: dict[Answer, int] = {}
            by_meaning: dict[object, Answer] = {}
            for index in bits(self.advising(decision)):
                answer = self.rules[index].advise[decision]
                first = by_meaning.setdefault(answer.meaning, answer)
                found[first] = found.get(first, 0) | 1 << index
            self._answers[decision] = found
        return self._answers[decision]

    def warned(self, decision: str) -> Iterator[Warned]:
        """What rules say to avoid under a decision."""
        for index in bits(self.speaking(decision)):
            yield from self.warned_by(decision, index)

    def warned_by(self, decision: str, index: int) -> Iterator[Warned]:
        """What one rule says to avoid under a decision."""
        rule = self.rules[index]
        for always, table in ((False, rule.avoid), (True, rule.never)):
            for agent in dict.fromkeys(name.id for name in table.get(decision, ())):
                yield Warned(index, agent, always)

    def boxes_of(self, rules: int) -> list[Box]:
        """The boxes of a set of rules."""
        return [box for index in bits(rules) for box in self.boxes[index]]

    # --- regions --------------------------------------------------------------------------------------------------

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

    def answering(self, decision: str, words: Collection[str]) -> int:
        """The rules whose answer under a decision is one of the words that `needed_when` uses."""
        return sum(rules for answer, rules in self.answers(decision).items() if answer_word(answer) in words)

    def cases_of_rule(self, index: int) -> Region:
        """The cases in which a rule holds, in scope or not."""
        key = ("", index)
        if key not in self._cases_of:
            self._cases_of[key] = Region.any_of(self.boxes[index])
        return self._cases_of[key]

    def silencers(self, decision: str, index: int) -> list[Box]:
        """The boxes in which a rule is silenced under a decision: those of rules that advise on it and override it."""
        return self.boxes_of(self.overridden_by[index] & self.advising(decision))

    def cases_heard(self, decision: str, index: int) -> Region:
        """The cases in which a decision is needed and a rule's advice on it is not silenced (step 3)."""
        key = (decision, index)
        if key not in self._cases_of:
            held = self.need.within(decision, self.cases_of_rule(index))
            self._cases_of[key] = held.minus(self.silencers(decision, index))
        return self._cases_of[key]

    def cases_of_answer(self, decision: str, rules: int) -> Region:
        """The cases in which an answer, that of the given rules, is advised (one of several in a conflict)."""
        return Region.any_of(box for index in bits(rules) for box in self.cases_heard(decision, index))

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

    # --- rules that meet --------------------------------------------------------------------------------------------

    @cached_property
    def rows(self) -> Rows:
        """All the boxes of all the rules, indexed."""
        return Rows(self.space.full, self.boxes)

    def rules_meeting(self, region: Region, among: int) -> list[int]:
        """Those of a set of rules that hold somewhere in a region."""
        found = 0
        for box in region:
            found |= self.rows.owners_meeting(box, among)
        return list(bits(found))

    def partners_left(self, decision: str, alike: bool) -> Iterator[tuple[int, int]]:
        """Rules that both advise on a decision, meet, and do not override one another, in rule order.

        Each rule comes with the set of its partners of a higher number: those that give the same answer if `alike`,
        else those that give another.
        """
        advising = self.advising(decision)
        same_answer = {answer.meaning: rules for answer, rules in self.answers(decision).items()}
        for index in bits(advising):
            same = same_answer[self.rules[index].advise[decision].meaning]
            others = advising & ~((2 << index) - 1) & ~self.overrides[index] & ~self.overridden_by[index]
            others &= same if alike else ~same
            met = 0
            for box in self.boxes[index]:
                met |= self.rows.owners_meeting(box, others)
            if met:
                yield index, met

    # --- layers together --------------------------------------------------------------------------------------------

    def cases_of_agents(self, decision: str, agents: tuple[str, ...]) -> Region:
        """The cases in which an answer to a layer decision, one of several in a conflict, is one of the agents."""
        rules = 0
        for answer, advising in self.answers(decision).items():
            if answer.kind == "layer" and answer.name in agents:
                rules |= advising
        return self.cases_of_answer(decision, rules)

    def cases_without(self, decision: str, agents: tuple[str, ...]) -> Region:
        """The cases in scope in which a layer may be none of the agents: another answer, none, or not needed."""
        rules = 0
        listed = 0
        for answer, advising in self.answers(decision).items():
            if answer.kind == "layer" and answer.name in agents:
                listed |= advising
            else:
                rules |= advising
        other = self.cases_of_answer(decision, rules)
        answered = self.cases_of_answer(decision, listed)
        return other | self.scope.minus(answered.boxes)

    def cases_clashing(self, number: int) -> Region:
        """The cases in which an entry of `together` is broken (step 7)."""
        found = Region()
        for region in self.layers_clashing(number).values():
            found = found | region
        return found

    def layers_clashing(self, number: int) -> dict[str, Region]:
        """For each layer of an entry of `together` the cases in which it takes part in breaking it.

        The layers of `with` do wherever it is broken; the others where they lack what is required or hold what is
        forbidden.
        """
        if number not in self._clashing:
            self._clashing[number] = self._find_clashing(self.protocol.pairings[number])
        return self._clashing[number]

    def _find_clashing(self, pairing: Pairing) -> dict[str, Region]:
        held = self.scope & Region.any_of(self.space.boxes(pairing.when))
        found = {layer: Region() for layer in pairing.layers}
        for layer, agents in pairing.require.items():
            found[layer] = self._having(held, pairing.having, layer) & self._broken(pairing, layer, agents)
        for layer, agents in pairing.forbid.items():
            wanted = pairing.having.get(layer)
            bad = agents if wanted is None else tuple(agent for agent in agents if agent in wanted)
            holding = self._having(held, pairing.having, layer) & self.cases_of_agents(layer, bad)
            found[layer] = found[layer] | holding
        broken = Region()
        for region in found.values():
            broken = broken | region
        return {layer: broken if layer in pairing.having else region for layer, region in found.items()}

    def _having(self, held: Region, having: Mapping[str, tuple[str, ...]], without: str) -> Region:
        for layer, agents in having.items():
            if layer != without:
                held = held & self.cases_of_agents(layer, agents)
        return held

    def _broken(self, pairing: Pairing, layer: str, agents: tuple[str, ...]) -> Region:
        """Where the layer may be an agent that meets `with` (if that names the layer) but not `require`."""
        wanted = pairing.having.get(layer)
        if wanted is None:
            return self.cases_without(layer, agents)
        return self.cases_of_agents(layer, tuple(agent for agent in wanted if agent not in agents))


def answer_word(answer: Answer) -> str:
    """The word by which `needed_when` names an answer: its agent, `none` or the answer; nothing for a judgement."""
    return {"none": "none", "judgement": ""}.get(answer.kind, answer.name)
