"""What is advised, in words."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from liningbook.meaning.decide import Outcome
from liningbook.model.protocol import Protocol
from liningbook.model.rule import Answer, Decision, Name
from liningbook.say.amounts import amount_words, quantity_words
from liningbook.say.catalogue import N_, gettext, language, ngettext

STATES: Mapping[str, str] = {
    "not-needed": N_("not needed in this case"),
    "gap": N_("NO RULE answers this; the dentist decides"),
    "conflict": N_("RULES DISAGREE; the dentist decides"),
    "contraindicated": N_("advised, but a rule says to avoid it or NEVER to use it; ask before it is used"),
    "clash": N_("advised, but it does not go with another layer; the dentist decides"),
}
"""What is said of an outcome that is no answer."""

AVOID = N_("advised, but another rule says to avoid it; the dentist decides")
NEVER = N_("advised, but a rule says NEVER to use it: do not use it; ask {contact}")


def state_words(state: str) -> str:
    """What is said of an outcome that is no answer, where it is not known which rules speak against it."""
    return gettext(STATES[state])


def barred_words(protocol: Protocol) -> dict[str, str]:
    """What is said of an answer that a rule says to avoid, and of one that a rule says never to use."""
    contact = protocol.contact or gettext("the authors of the protocol")
    return {"avoid": gettext(AVOID), "never": gettext(NEVER).format(contact=contact)}


def trouble_words(protocol: Protocol, decision: Decision, outcome: Outcome) -> str:
    """What is said of an outcome that is no answer. Nobody is left to decide on what is never to be used.

    Not every rule that bars an answer need be known in a part of a case; what could be either is said to be.
    """
    if outcome.state != "contraindicated":
        return state_words(outcome.state)
    names = {candidate.answer.name for candidate in outcome.candidates}
    rules = protocol.rules.values()
    is_never = any(name in names for rule in rules for name in _ids(rule.never, decision))
    is_avoided = any(name in names for rule in rules for name in _ids(rule.avoid, decision))
    known = any(forbids(protocol, decision, *warning) for warning in outcome.warnings)
    if is_never and is_avoided and not known:
        return state_words(outcome.state)
    return barred_words(protocol)["never" if is_never else "avoid"]


def forbids(protocol: Protocol, decision: Decision, name: str, rule: str) -> bool:
    """Whether a rule says never to use something, not only to avoid it."""
    return name in _ids(protocol.rules[rule].never, decision)


def _ids(table: Mapping[str, Sequence[Name]], decision: Decision) -> list[str]:
    return [name.id for name in table.get(decision.id, ())]


def answer_words(protocol: Protocol, decision: Decision, answer: Answer, unplaced: Collection[str] = ()) -> str:
    """An answer in full: agent, place, thickness, coats, waiting time, order.

    `unplaced` are layers that are known not to be placed: none is placed before or after such a one.
    """
    if answer.kind == "none":
        return gettext("No {layer}").format(layer=inside(decision.label))
    if answer.kind == "judgement":
        return gettext("The dentist decides")
    if answer.kind == "choice":
        return decision.answers[answer.name]
    return ", ".join([protocol.agents[answer.name].label, *layer_details(protocol, answer, unplaced)])


def layer_details(protocol: Protocol, answer: Answer, unplaced: Collection[str] = ()) -> list[str]:
    """What an answer says of a layer beside its agent, each a few words; nothing of layers that are not placed."""
    parts = []
    place = answer.place or protocol.agents[answer.name].place
    if place:
        label = protocol.places[place]
        parts.append(inside(label))
    if answer.thickness:
        parts.append(amount_words(answer.thickness))
    if answer.coats is not None:
        parts.append(coats_words(answer.coats))
    if answer.wait:
        parts.append(gettext("wait {time} before the next layer").format(time=quantity_words(answer.wait)))
    return parts + [text for layer, text in order_words(protocol, answer) if layer not in unplaced]


def layer_facts(protocol: Protocol, answer: Answer) -> list[list[str]]:
    """What an answer says of a layer beside its agent and its order: what each part is about, and its words."""
    facts = []
    if place := answer.place or protocol.agents[answer.name].place:
        facts.append([gettext("Where"), protocol.places[place]])
    if answer.thickness:
        facts.append([gettext("How thick"), amount_words(answer.thickness)])
    if answer.coats is not None:
        facts.append([gettext("Coats"), str(answer.coats)])
    if answer.wait:
        time = quantity_words(answer.wait)
        facts.append([gettext("Then wait"), gettext("{time} before the next layer").format(time=time)])
    return facts


def coats_words(count: int) -> str:
    """`1 coat`, `2 coats`."""
    return ngettext("{count} coat", "{count} coats", count).format(count=count)


def order_words(protocol: Protocol, answer: Answer) -> list[tuple[str, str]]:
    """Before and after which layers an answer wants its own placed: each layer, and the words."""
    found = []
    if answer.before:
        words = gettext("before the {layer}").format(layer=inside(protocol.decisions[answer.before].label))
        found.append((answer.before, words))
    if answer.after:
        words = gettext("after the {layer}").format(layer=inside(protocol.decisions[answer.after].label))
        found.append((answer.after, words))
    return found


def order_facts(protocol: Protocol, answer: Answer) -> list[list[str]]:
    """The order beside other layers: each layer, what its part is about, and its words."""
    return [[layer, gettext("Order"), text] for layer, text in order_words(protocol, answer)]


def name_or_label(protocol: Protocol, decision: Decision, name: str) -> str:
    """The label of an agent or of an answer that a rule names under a decision."""
    return protocol.agents[name].label if decision.is_layer else decision.answers[name]


def inside(label: str) -> str:
    """A label as it stands inside a sentence: without its capital, unless the word is an abbreviation.

    German keeps the capitals of its nouns.
    """
    is_word = label[1:2].islower() or len(label) == 1 or label.startswith("A ")
    return label[:1].lower() + label[1:] if is_word and not language().startswith("de") else label
