"""What stands beside the rules, in words: factors, what goes together, what is not covered, what is never done."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from liningbook.logic.meaning import Meaning
from liningbook.model.protocol import Acceptance, Decision, Factor, Pairing, Protocol, Rule
from liningbook.model.quantity import decimal_text
from liningbook.rendering.view import Fact, FactorView
from liningbook.wording import both, either, name_or_label, number_words, when_words


class ListWords:
    """Words the lists of one compiled protocol."""

    def __init__(self, meaning: Meaning) -> None:
        self.meaning = meaning
        self.protocol: Protocol = meaning.protocol

    def needs(self) -> tuple[str, ...]:
        """Which decisions are needed only after which answer to another, a sentence a condition."""
        found: dict[tuple[str, tuple[str, ...]], list[str]] = {}
        for decision in self.protocol.decisions.values():
            if decision.needed_when is not None:
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
        )

    def _agents(self, layers: Iterable[tuple[str, tuple[str, ...]]]) -> list[str]:
        return [
            f"{self.protocol.decisions[layer].label} of {either([self.protocol.agents[n].label for n in names])}"
            if names
            else f"no {self.protocol.decisions[layer].label}"
            for layer, names in layers
        ]

    def _having(self, pairing: Pairing) -> str:
        words = both(self._agents(pairing.having.items())) if pairing.having else "Any layers"
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
            Fact(when_words(self.protocol, entry.when), f"{entry.because} {entry.instead}".strip())
            for entry in self.protocol.excluded
        )

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
            ]
            if names:
                found.append(Fact(both(list(dict.fromkeys(names))), when_words(self.protocol, rule.when)))
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
