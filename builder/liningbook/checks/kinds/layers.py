"""Layers that must not be placed: agents to avoid, and layers that do not go together."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from liningbook.checks.facts import CaseFact
from liningbook.checks.inquiry import Inquiry
from liningbook.finding import About, Fact
from liningbook.meaning.rules import Warned
from liningbook.model.protocol import Pairing, Protocol
from liningbook.model.rule import Decision, Rule
from liningbook.space.boxes import bits
from liningbook.space.region import Region


@dataclass(frozen=True)
class Contraindicated(CaseFact):
    """What some rules advise where another says to avoid it, `always` if nothing overrides that."""

    protocol: Protocol = field(repr=False)
    decision: Decision
    rule: Rule
    agent: str
    always: bool
    advisers: tuple[Rule, ...]

    def about(self) -> About:
        """The decision, the rule that warns, and the agent; who advises it does not matter."""
        rules = (self.rule.id, *(rule.id for rule in self.advisers))
        return About(self.decision.id, rules, {"agent": self.agent}, telling=1)


@dataclass(frozen=True)
class Clash(CaseFact):
    """An entry of `together` that is not met, by its number, and the rules that place its layers."""

    protocol: Protocol = field(repr=False)
    number: int
    pairing: Pairing
    rules: tuple[Rule, ...]

    def about(self) -> About:
        """The entry."""
        return About(rules=tuple(rule.id for rule in self.rules), further={"entry": self.number}, telling=0)


def contraindicated(inquiry: Inquiry) -> Iterator[Fact]:
    """The advice names an agent that another rule says to avoid in the same case.

    Change the advice there, narrow the rule that warns, or let the advising rule override it: an `avoid` can be
    overridden, a `never` cannot.
    """
    meaning, protocol = inquiry.meaning, inquiry.protocol
    for decision in protocol.decisions.values():
        merged: dict[tuple[int, str], Region] = {}
        always: set[tuple[int, str]] = set()
        for warned in meaning.warned(decision.id):
            key = (warned.rule, warned.agent)
            merged[key] = merged.get(key, Region()) | _advised_against(inquiry, decision, warned)
            if warned.always:
                always.add(key)
        for (index, agent), region in merged.items():
            if region:
                cases, rule = inquiry.cases(region), inquiry.rule(index)
                named = [*rule.avoid.get(decision.id, ()), *rule.never.get(decision.id, ())]
                advisers = tuple(
                    inquiry.rule(adviser)
                    for adviser in _advisers(inquiry, decision, agent)
                    if meaning.cases_heard(decision.id, adviser) & cases.region
                )
                span = next(name.span for name in named if name.id == agent)
                stands = (index, agent) in always
                yield Contraindicated(span, cases, protocol, decision, rule, agent, stands, advisers)


def _advisers(inquiry: Inquiry, decision: Decision, agent: str) -> Iterator[int]:
    for index in bits(inquiry.meaning.advising(decision.id)):
        answer = inquiry.rule(index).advise[decision.id]
        if answer.kind in ("layer", "choice") and answer.name == agent:
            yield index


def _advised_against(inquiry: Inquiry, decision: Decision, warned: Warned) -> Region:
    meaning = inquiry.meaning
    stands = meaning.cases_warned(decision.id, warned)
    advised = Region()
    for index in _advisers(inquiry, decision, warned.agent):
        advised = advised | (stands & meaning.cases_heard(decision.id, index))
    return advised


def clash(inquiry: Inquiry) -> Iterator[Fact]:
    """Two layers are advised for one case that must not be, or one without the other that it needs.

    What goes together is said under `together` in materials.yaml.
    """
    meaning = inquiry.meaning
    for number, pairing in enumerate(inquiry.protocol.pairings):
        region = meaning.cases_clashing(number)
        if not region:
            continue
        cases = inquiry.cases(region)
        rules = tuple(inquiry.rule(index) for index in _placing(inquiry, pairing, cases.region))
        yield Clash(pairing.span, cases, inquiry.protocol, number, pairing, rules)


def _placing(inquiry: Inquiry, pairing: Pairing, region: Region) -> list[int]:
    found = set()
    for layer in dict.fromkeys([*pairing.having, *pairing.require, *pairing.forbid]):
        for index in bits(inquiry.meaning.advising(layer)):
            if inquiry.meaning.cases_heard(layer, index) & region:
                found.add(index)
    return sorted(found)
