"""Names that changed and nothing else: of a factor, a value, an agent, a decision, an answer or a rule.

A name counts as changed when one went, one came, and everything else about the two is equal. The old version is then
read with the new names, so that a new name alone is never shown as another treatment.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, TypeVar

from liningbook.compare import natures
from liningbook.model.protocol import Pairing, Protocol, Vignette
from liningbook.model.rule import Answer, Condition, Conditions, Decision, Factor, Name, Rule, When

Thing = TypeVar("Thing")
NameMap = Mapping[str, str]


@dataclass(frozen=True)
class Renamed:
    """One name that changed.

    `kind` is factor, value, agent, decision, answer or rule; `within` says whose value or answer.
    """

    kind: str
    before: str
    after: str
    within: str = ""


@dataclass(frozen=True)
class Names:
    """New names by old ones; values by the new name of their factor, answers by that of their decision."""

    factors: NameMap = field(default_factory=dict)
    values: Mapping[str, NameMap] = field(default_factory=dict)
    agents: NameMap = field(default_factory=dict)
    decisions: NameMap = field(default_factory=dict)
    answers: Mapping[str, NameMap] = field(default_factory=dict)
    rules: NameMap = field(default_factory=dict)

    def listed(self) -> tuple[Renamed, ...]:
        """Every name that changed, in a fixed order."""
        found = [Renamed("factor", a, b) for a, b in self.factors.items()]
        found += [Renamed("value", a, b, within) for within, names in self.values.items() for a, b in names.items()]
        found += [Renamed("agent", a, b) for a, b in self.agents.items()]
        found += [Renamed("decision", a, b) for a, b in self.decisions.items()]
        found += [Renamed("answer", a, b, within) for within, names in self.answers.items() for a, b in names.items()]
        found += [Renamed("rule", a, b) for a, b in self.rules.items()]
        return tuple(found)


def with_new_names(old: Protocol, new: Protocol) -> tuple[Protocol, Names]:
    """The old version under the names of the new one, and which names changed.

    Rules are compared last, under the new names of everything else, again and again until no more are found: a rule may
    name another one that was renamed too.
    """
    names = Names(
        factors=_pairs(old.factors, new.factors, natures.of_factor),
        agents=_pairs(old.agents, new.agents, natures.of_agent),
        decisions=_pairs(old.decisions, new.decisions, natures.of_decision),
    )
    names = replace(names, values=_inner(old.factors, new.factors, names.factors, lambda factor: factor.values))
    names = replace(names, answers=_inner(old.decisions, new.decisions, names.decisions, lambda d: d.answers))
    renamed = Renamer(names).protocol(old) if names.listed() else old
    rules: dict[str, str] = {}
    while more := _pairs(_natures(renamed, new), _natures(new, renamed)):
        rules |= more
        renamed = Renamer(Names(rules=more)).protocol(renamed)
    return renamed, replace(names, rules=rules)


def _inner(
    old: Mapping[str, Thing], new: Mapping[str, Thing], names: NameMap, table: Callable[[Thing], NameMap]
) -> dict[str, dict[str, str]]:
    """Values of a factor, or answers to a decision, of which only the name changed and not the label."""
    found = {}
    for before, thing in old.items():
        after = names.get(before, before)
        if after in new and (pairs := _pairs(table(thing), table(new[after]))):
            found[after] = pairs
    return found


def _pairs(
    old: Mapping[str, Thing], new: Mapping[str, Thing], nature: Callable[[Any], Hashable] = lambda thing: thing
) -> dict[str, str]:
    """Each name that went, with the one that came and is all else equal, where no other could be meant."""
    went = _by_nature({name: thing for name, thing in old.items() if name not in new}, nature)
    came = _by_nature({name: thing for name, thing in new.items() if name not in old}, nature)
    return {names[0]: came[key][0] for key, names in went.items() if len(names) == 1 and len(came.get(key, ())) == 1}


def _natures(one: Protocol, other: Protocol) -> dict[str, Hashable]:
    """What the rules of one protocol are of which the other has not the name."""
    return {name: natures.of_rule(rule, one.factors) for name, rule in one.rules.items() if name not in other.rules}


def _by_nature(things: Mapping[str, Thing], nature: Callable[[Any], Hashable]) -> dict[Hashable, list[str]]:
    found: dict[Hashable, list[str]] = {}
    for name, thing in things.items():
        found.setdefault(nature(thing), []).append(name)
    return found


def with_conditions(protocol: Protocol, change: Callable[[Conditions], Conditions]) -> Protocol:
    """The protocol with every set of conditions changed; without the warnings accepted, which treat no case."""

    def when(old: When) -> When:
        return tuple(change(conditions) for conditions in old)

    return replace(
        protocol,
        rules={name: replace(rule, when=when(rule.when)) for name, rule in protocol.rules.items()},
        excluded=tuple(replace(entry, when=when(entry.when)) for entry in protocol.excluded),
        pairings=tuple(replace(entry, when=when(entry.when)) for entry in protocol.pairings),
        sources=tuple(replace(entry, when=when(entry.when)) for entry in protocol.sources),
        barriers=tuple(replace(entry, when=when(entry.when)) for entry in protocol.barriers),
        accepted=(),
        stop_questions=tuple(
            question if question.screens is None else replace(question, screens=when(question.screens))
            for question in protocol.stop_questions
        ),
    )


class Renamer:
    """Puts a protocol under other names."""

    def __init__(self, names: Names) -> None:
        self.names = names

    def protocol(self, old: Protocol) -> Protocol:
        """The protocol under the names, without its vignettes and the warnings it accepts."""
        names, old = self.names, with_conditions(old, self._conditions)
        return replace(
            old,
            factors=_mapped(old.factors, names.factors, self._factor),
            decisions=_mapped(old.decisions, names.decisions, self._decision),
            agents=_mapped(old.agents, names.agents, lambda agent, name: replace(agent, id=name)),
            rules=dict(sorted(_mapped(old.rules, names.rules, self._rule).items())),
            pairings=tuple(self._pairing(entry) for entry in old.pairings),
            vignettes=(),
        )

    def stated(self, old: Protocol) -> Protocol:
        """The protocol as it is, but for factors, vignettes, accepted warnings and the card, which get the names."""
        names, card = self.names, old.card
        values = names.values.get(names.factors.get(card.columns_by, card.columns_by), {})
        card = replace(
            card,
            usual=self._conditions(card.usual),
            columns=tuple(values.get(value, value) for value in card.columns),
            columns_by=names.factors.get(card.columns_by, card.columns_by),
            bands_by=names.factors.get(card.bands_by, card.bands_by),
            decisions=tuple(names.decisions.get(name, name) for name in card.decisions),
        )
        accepted = tuple(
            replace(entry, when=tuple(map(self._conditions, entry.when)), narrowed=self._narrowed(entry.narrowed))
            for entry in old.accepted
        )
        factors = _mapped(old.factors, names.factors, self._factor)
        vignettes = tuple(map(self._vignette, old.vignettes))
        return replace(old, factors=factors, card=card, accepted=accepted, vignettes=vignettes)

    def _narrowed(self, narrowed: Mapping[str, object]) -> Mapping[str, object]:
        tables = {"decision": self.names.decisions, "agent": self.names.agents, "factor": self.names.factors}
        found = dict(narrowed)
        for key, value in narrowed.items():
            if isinstance(value, str):
                found[key] = tables.get(key, {}).get(value, value)
            if key == "rules" and isinstance(value, tuple):
                found[key] = tuple(self.names.rules.get(name, name) for name in value)
        return found

    def _vignette(self, old: Vignette) -> Vignette:
        names = self.names

        def value(text: str, factor: str) -> str:
            return names.values.get(factor, {}).get(text, text)

        expect = {
            names.decisions.get(on, on): replace(name, id=self._answer_word(names.decisions.get(on, on), name.id))
            for on, name in old.expect.items()
        }
        case = _mapped(old.case, names.factors, value)
        return replace(old, case=case, numbers=_mapped(old.numbers, names.factors), expect=expect)

    def _factor(self, factor: Factor, name: str) -> Factor:
        return replace(factor, id=name, values=_mapped(factor.values, self.names.values.get(name, {})))

    def _decision(self, decision: Decision, name: str) -> Decision:
        needed_when = decision.needed_when
        if needed_when is not None:
            on = self.names.decisions.get(needed_when[0], needed_when[0])
            needed_when = (on, tuple(self._answer_word(on, word) for word in needed_when[1]))
        answers = _mapped(decision.answers, self.names.answers.get(name, {}))
        return replace(decision, id=name, answers=answers, needed_when=needed_when)

    def _answer_word(self, decision: str, word: str) -> str:
        word = self.names.answers.get(decision, {}).get(word, word)
        return self.names.agents.get(word, word)

    def _rule(self, rule: Rule, name: str) -> Rule:
        return replace(
            rule,
            id=name,
            advise=_mapped(rule.advise, self.names.decisions, self._answer),
            avoid=_mapped(rule.avoid, self.names.decisions, self._avoided),
            never=_mapped(rule.never, self.names.decisions, self._avoided),
            overrides=tuple(replace(n, id=self.names.rules.get(n.id, n.id)) for n in rule.overrides),
        )

    def _avoided(self, items: tuple[Name, ...], decision: str) -> tuple[Name, ...]:
        return tuple(replace(item, id=self._answer_word(decision, item.id)) for item in items)

    def _answer(self, answer: Answer, decision: str) -> Answer:
        if answer.kind == "choice":
            name = self._answer_word(decision, answer.name)
            return replace(answer, name=name, meaning=("choice", name))
        if answer.kind != "layer":
            return answer
        name = self.names.agents.get(answer.name, answer.name)
        before, after = (self.names.decisions.get(other or "", other) for other in (answer.before, answer.after))
        assert isinstance(answer.meaning, tuple)
        meaning = (answer.meaning[0], name, *answer.meaning[2:6], before, after)
        return replace(answer, name=name, before=before, after=after, meaning=meaning)

    def _conditions(self, conditions: Conditions) -> Conditions:
        return replace(conditions, conditions=_mapped(conditions.conditions, self.names.factors, self._condition))

    def _condition(self, condition: Condition, name: str) -> Condition:
        names = self.names.values.get(name, {})
        return replace(condition, factor=name, values=tuple(names.get(value, value) for value in condition.values))

    def _pairing(self, entry: Pairing) -> Pairing:
        having, require, forbid = (
            _mapped(table, self.names.decisions, self._agents) for table in (entry.having, entry.require, entry.forbid)
        )
        return replace(entry, having=having, require=require, forbid=forbid)

    def _agents(self, agents: tuple[str, ...], _: str) -> tuple[str, ...]:
        return tuple(self.names.agents.get(name, name) for name in agents)


def _mapped(
    table: Mapping[str, Thing], names: NameMap, change: Callable[[Thing, str], Thing] = lambda thing, _: thing
) -> dict[str, Thing]:
    """The table under new names, each thing changed to fit its name."""
    return {names.get(name, name): change(thing, names.get(name, name)) for name, thing in table.items()}
