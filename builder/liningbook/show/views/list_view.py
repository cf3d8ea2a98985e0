"""What stands beside the rules, in words: factors, what goes together, what is not covered, what is never done.

For a card only what concerns the cases and the decisions that it shows, said in its words.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence

from liningbook.meaning.chart import Layout, Outcomes
from liningbook.meaning.decide import Outcome
from liningbook.meaning.exceptions import is_keyed
from liningbook.meaning.meaning import Meaning
from liningbook.model.protocol import Pairing, Protocol
from liningbook.model.rule import Factor, Name, Rule, When
from liningbook.say.answers import name_or_label
from liningbook.say.cases import sentences, when_words
from liningbook.say.locale import both, day_words
from liningbook.say.outputs.readings import factor_measured, factor_values
from liningbook.say.outputs.rules import (
    accepted_by_words,
    accepted_words,
    answer_label,
    having_words,
    need_words,
    wanting_words,
)
from liningbook.show.views.case_words import CaseWords
from liningbook.show.views.pieces import Accepted, FactorView, Labelled
from liningbook.space.region import Region


class ListWords:
    """Words the lists of one compiled protocol; with `words`, those of a card that shows the `decisions`.

    With `outcomes` a card names only those of the entries of what goes together that its layers can come to.
    """

    def __init__(
        self,
        meaning: Meaning,
        words: CaseWords | None = None,
        decisions: Collection[str] | None = None,
        outcomes: Outcomes | None = None,
    ) -> None:
        self.meaning = meaning
        self.protocol: Protocol = meaning.protocol
        self.words = words
        self.outcomes = outcomes
        self.decisions = self.protocol.decisions if decisions is None else decisions

    def needs(self) -> tuple[str, ...]:
        """Which decisions are needed only after which answer to another, a sentence a condition.

        A card says Stop wherever the answer to a decision that is no layer ends the way.
        """
        found: dict[tuple[str, tuple[str, ...]], list[str]] = {}
        for decision in self.protocol.decisions.values():
            if decision.needed_when is None or decision.id not in self.decisions:
                continue
            if self.words is None or self.protocol.decisions[decision.needed_when[0]].is_layer:
                found.setdefault(decision.needed_when, []).append(decision.label)
        sentences = []
        for (on, wanted), labels in found.items():
            earlier = self.protocol.decisions[on]
            answers = [answer_label(self.protocol, earlier, word) for word in wanted]
            sentences.append(need_words(labels, earlier, answers))
        return tuple(sentences)

    def pairings(self, reasons: bool = True) -> tuple[Labelled, ...]:
        """What goes together, as what is placed and what it needs or bars, with the reasons or without."""
        return tuple(
            Labelled(self._having(p), sentences([wanting_words(self.protocol, p), p.because if reasons else ""]))
            for p in self.protocol.pairings
            if self._concerns(p.when) and any(layer in self.decisions for layer in p.layers) and self._can_be_met(p)
        )

    def _can_be_met(self, pairing: Pairing) -> bool:
        """Whether in any of the cases shown every layer of `with` may be one of its agents.

        A layer may be one if an answer says so, if the dentist decides on it, or if nothing is said.
        """
        if self.words is None or self.outcomes is None:
            return True
        held = self.meaning.scope & Region((self.words.shown,))
        held = held & Region.any_of(self.meaning.space.boxes(pairing.when))
        for layer, agents in pairing.having.items():
            found = [region for outcome, region in self.outcomes.by_decision[layer] if _may_be(outcome, agents)]
            held = held & Region.any_of([box for region in found for box in region])
        return bool(held)

    def _concerns(self, when: When) -> bool:
        """Whether any of the cases is shown."""
        return self.words is None or bool(self.words.when(when))

    def _having(self, pairing: Pairing) -> str:
        if self.words is not None:
            always = not all(self.words.when(pairing.when))
            cases = "" if always else self.words.if_words(pairing.when)
        else:
            always = not any(conditions.conditions for conditions in pairing.when)
            cases = "" if always else when_words(self.protocol, pairing.when)
        return having_words(self.protocol, pairing, cases)

    def accepted(self) -> tuple[Accepted, ...]:
        """The warnings that the practice has accepted, with the cases, the reason, by whom and until when."""
        return tuple(
            Accepted(
                label=accepted_words(self.protocol, entry),
                cases=tuple(when_words(self.protocol, (one,)) for one in entry.when),
                reason=entry.because,
                by=entry.by,
                until=day_words(entry.until) if entry.until else "",
                text=sentences([when_words(self.protocol, entry.when), entry.because, accepted_by_words(entry)]),
            )
            for entry in self.protocol.accepted
        )

    def exclusions(self) -> tuple[Labelled, ...]:
        """The cases that are not covered, why, and where to turn."""
        return tuple(
            Labelled(self._cases(entry.when), sentences([entry.because, entry.instead]))
            for entry in self.protocol.excluded
            if self._concerns(entry.when)
        )

    def _cases(self, when: When) -> str:
        return when_words(self.protocol, when) if self.words is None else self.words.line_words(when)

    def avoided(self) -> tuple[Labelled, ...]:
        """What the rules say to avoid, and where."""
        return tuple(self._warned(lambda rule: _named(self.protocol, rule.avoid, self.decisions), self.meaning.rules))

    def never(self, layout: Layout) -> tuple[Labelled, ...]:
        """What is never used, and where; without what stands under what the patient has, among the exceptions."""
        rules = [rule for rule in self.meaning.rules if not is_keyed(self.meaning, layout, rule)]
        return tuple(self._warned(lambda rule: never_named(self.protocol, rule, self.decisions), rules))

    def _warned(self, named: Callable[[Rule], str], rules: Iterable[Rule]) -> Iterator[Labelled]:
        for rule in rules:
            if (names := named(rule)) and self._concerns(rule.when):
                cases = when_words(self.protocol, rule.when) if self.words is None else self.words.if_words(rule.when)
                yield Labelled(names, cases)

    def factor(self, factor: Factor) -> FactorView:
        """A factor as the reader meets it."""
        return FactorView(factor.label, factor_values(factor), factor_measured(factor))


def _may_be(outcome: Outcome, agents: Collection[str]) -> bool:
    """Whether a layer may be one of the agents."""
    if outcome.state == "not-needed":
        return False
    answers = [candidate.answer for candidate in outcome.candidates]
    return not answers or any(a.kind == "judgement" or (a.kind == "layer" and a.name in agents) for a in answers)


def never_named(protocol: Protocol, rule: Rule, decisions: Collection[str]) -> str:
    """What a rule says is never used under the decisions; nothing if it says so of nothing."""
    return _named(protocol, rule.never, decisions)


def _named(protocol: Protocol, table: Mapping[str, Sequence[Name]], decisions: Collection[str]) -> str:
    names = [
        name_or_label(protocol, protocol.decisions[decision], name.id)
        for decision, items in table.items()
        for name in items
        if decision in decisions
    ]
    return both(list(dict.fromkeys(names))) if names else ""
