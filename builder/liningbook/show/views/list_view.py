"""What stands beside the rules, in words: factors, what goes together, what is not covered, what is never done.

For a card only what concerns the cases and the decisions that it shows, said in its words.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable

from liningbook.meaning.chart import Outcomes
from liningbook.meaning.decide import Outcome
from liningbook.meaning.meaning import Meaning
from liningbook.model.protocol import Acceptance, Decision, Factor, Pairing, Protocol, Rule, When
from liningbook.notation.quantity import decimal_text
from liningbook.say.amounts import number_words
from liningbook.say.answers import name_or_label
from liningbook.say.cases import when_words
from liningbook.say.locale import both, either
from liningbook.show.views.case_words import IN_EVERY_CASE, CaseWords
from liningbook.show.views.view import Fact, FactorView
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
        """Which decisions are needed only after which answer to another, a sentence a condition."""
        found: dict[tuple[str, tuple[str, ...]], list[str]] = {}
        for decision in self.protocol.decisions.values():
            if decision.needed_when is not None and decision.id in self.decisions:
                found.setdefault(decision.needed_when, []).append(decision.label)
        sentences = []
        for (on, wanted), labels in found.items():
            earlier = self.protocol.decisions[on]
            answers = [self._answer_label(earlier, word) for word in wanted]
            sentences.append(
                f"{both(labels)}: only if {earlier.label} comes to “{either(answers)}”. If it does not, stop there."
            )
        return tuple(sentences)

    def _answer_label(self, decision: Decision, word: str) -> str:
        if word == "none":
            return f"No {decision.label}"
        return name_or_label(self.protocol, decision, word)

    def pairings(self, reasons: bool = True) -> tuple[Fact, ...]:
        """What goes together, as what is placed and what it needs or bars, with the reasons or without."""
        return tuple(
            Fact(self._having(p), self._wanting(p) + (f". {p.because}" if reasons and p.because else ""))
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

    def _agents(self, layers: Iterable[tuple[str, tuple[str, ...]]]) -> list[str]:
        return [
            f"{self.protocol.decisions[layer].label} of {either([self.protocol.agents[n].label for n in names])}"
            if names
            else f"no {self.protocol.decisions[layer].label}"
            for layer, names in layers
        ]

    def _having(self, pairing: Pairing) -> str:
        words = both(self._agents(pairing.having.items())) if pairing.having else "Any layers"
        if self.words is not None:
            cases = self.words.if_words(pairing.when)
            return words if cases == IN_EVERY_CASE else f"{words} ({cases})"
        if any(conditions.conditions for conditions in pairing.when):
            words += f" ({when_words(self.protocol, pairing.when)})"
        return words

    def _wanting(self, pairing: Pairing) -> str:
        parts = [f"needs {text}" for text in self._agents(pairing.require.items())]
        parts += [f"not with {text}" for text in self._agents(pairing.forbid.items())]
        return "; ".join(parts)

    def accepted(self) -> tuple[Fact, ...]:
        """The warnings that the practice has accepted, with the cases and the reason."""
        return tuple(
            Fact(self._accepted_words(entry), f"{when_words(self.protocol, entry.when)}. {entry.because}")
            for entry in self.protocol.accepted
        )

    def _accepted_words(self, entry: Acceptance) -> str:
        """The kind of an accepted warning, with what it is about."""
        kind = entry.kind.replace("-", " ")
        irritant = self.protocol.irritants.get(str(entry.narrowed.get("irritant", "")))
        return f"{kind}: {irritant.label}" if irritant else kind

    def exclusions(self) -> tuple[Fact, ...]:
        """The cases that are not covered, why, and where to turn."""
        return tuple(
            Fact(self._cases(entry.when), f"{entry.because} {entry.instead}".strip())
            for entry in self.protocol.excluded
            if self._concerns(entry.when)
        )

    def _cases(self, when: When) -> str:
        return when_words(self.protocol, when) if self.words is None else self.words.line_words(when)

    def warnings(self, table_of: Callable[[Rule], object]) -> tuple[Fact, ...]:
        """What the rules say to avoid (or never to use), and where."""
        found = []
        for rule in self.meaning.rules:
            table = table_of(rule)
            assert isinstance(table, dict)
            names = [
                name_or_label(self.protocol, self.protocol.decisions[decision], name.id)
                for decision, items in table.items()
                for name in items
                if decision in self.decisions
            ]
            if names and self._concerns(rule.when):
                cases = when_words(self.protocol, rule.when) if self.words is None else self.words.if_words(rule.when)
                found.append(Fact(both(list(dict.fromkeys(names))), cases))
        return tuple(found)

    def factor(self, factor: Factor) -> FactorView:
        """A factor as the reader meets it."""
        if factor.kind != "quantity" or factor.unit is None or factor.limits is None:
            return FactorView(factor.label, either(list(factor.values.values())), "")
        unit = factor.unit
        low, high = factor.limits.lower.value, factor.limits.upper.value
        values = f"{number_words(low, unit)} to {number_words(high, unit)}"
        if factor.step is not None:
            values += f", in steps of {number_words(factor.step, unit)}"
        return FactorView(factor.label, values, self._reading(factor))

    def _reading(self, factor: Factor) -> str:
        reading = factor.reading
        if reading is None or factor.unit is None:
            return ""
        parts = [f"Read by {reading.method}" if reading.method else "Read off"]
        if reading.scale != 1:
            parts.append(f"value = {decimal_text(reading.scale)} times the reading")
        if reading.offset:
            parts.append(f"with {number_words(reading.offset, factor.unit)} added")
        if reading.uncertainty:
            parts.append(f"expanded uncertainty (k = 2) {number_words(reading.uncertainty, factor.unit)}")
        if reading.cautious is not None:
            side = "smaller" if reading.cautious == "below" else "larger"
            parts.append(f"in doubt the {side} value counts")
        return "; ".join(parts) + "."


def _may_be(outcome: Outcome, agents: Collection[str]) -> bool:
    """Whether a layer may be one of the agents."""
    if outcome.state == "not-needed":
        return False
    answers = [candidate.answer for candidate in outcome.candidates]
    return not answers or any(a.kind == "judgement" or (a.kind == "layer" and a.name in agents) for a in answers)
