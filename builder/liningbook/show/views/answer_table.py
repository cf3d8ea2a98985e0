"""The words of every answer that a rule gives, as plain data for the page's scripts and the figures.

An answer is found by its decision and by its canonical JSON (RFC 8785) as the bundle holds it.
"""

from __future__ import annotations

from typing import Any

from liningbook.digest import canonical
from liningbook.exchange.outcomes import answer_json
from liningbook.meaning.meaning import Meaning
from liningbook.model.protocol import Protocol
from liningbook.model.rule import Answer, Decision
from liningbook.notation.interval import UNBOUNDED
from liningbook.notation.quantity import UNITS
from liningbook.notation.typical import typical
from liningbook.say.amounts import amount_words, number_words
from liningbook.say.answers import answer_words, coats_words, inside, layer_facts, order_facts

MILLIMETRE = UNITS["mm"]


def decision_words(meaning: Meaning) -> dict[str, Any]:
    """Every decision with the words of the answers that a rule gives to it, by the text of the answer."""
    protocol = meaning.protocol
    found = {}
    for decision in protocol.decisions.values():
        opening = protocol.opening(decision.id)
        answers = {}
        for rule in meaning.rules:
            if decision.id in rule.advise:
                answer = rule.advise[decision.id]
                answers[answer_key(answer)] = _answer(protocol, decision, answer)
        found[decision.id] = {
            "gate": opening is not None,
            "goes_on": sorted(opening or ()),
            "answers": dict(sorted(answers.items())),
        }
    return found


def answer_key(answer: Answer) -> str:
    """By what the browser finds an answer's words: the canonical JSON of the answer as the bundle holds it."""
    return canonical(answer_json(answer)).decode()


def _answer(protocol: Protocol, decision: Decision, answer: Answer) -> dict[str, Any]:
    """An answer's kind, the answer in full, and for a layer each of its parts with what it is about.

    The order beside another layer stands apart, since it is said only where that layer may be placed.
    """
    beside = [layer for layer in (answer.before, answer.after) if layer is not None]
    found: dict[str, Any] = {"kind": answer.kind, "words": answer_words(protocol, decision, answer, beside)}
    if answer.kind == "judgement":
        found["why"] = answer.why
    if answer.kind == "layer":
        found["agent"] = protocol.agents[answer.name].label
        found["facts"] = layer_facts(protocol, answer)
        if beside:
            found["order"] = order_facts(protocol, answer)
        found["drawn"] = _drawn(protocol, decision, answer)
    return found


def _drawn(protocol: Protocol, decision: Decision, answer: Answer) -> dict[str, str]:
    """What the cross-section says of a layer: `words`, the `amount`, and the `thickness` in mm at which it is drawn.

    `at` says it where the range leaves a choice.
    """
    place = answer.place or protocol.agents[answer.name].place
    words = [decision.label]
    if place:
        words.append(inside(protocol.places[place]))
    if answer.coats is not None:
        words.append(coats_words(answer.coats))
    found = {"words": ", ".join(words), "amount": "", "at": ""}
    if (amount := answer.thickness) is None:
        return found
    found["amount"] = amount_words(amount)
    value = typical(amount.range, amount.range.upper.value == UNBOUNDED)
    if amount.unit.dimension == MILLIMETRE.dimension and value:
        found["thickness"] = str(value * amount.unit.size / MILLIMETRE.size)
        found["at"] = "" if amount.range.lower.value == value else number_words(value, amount.unit)
    return found
