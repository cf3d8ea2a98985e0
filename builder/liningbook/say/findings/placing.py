"""What is said of layers whose placing order the practice's own words contradict."""

from __future__ import annotations

from collections.abc import Iterable

from liningbook.checks.kinds.placing import CoversLess, NotKept, TooLate
from liningbook.finding import Span
from liningbook.model.protocol import Protocol
from liningbook.model.rule import Answer, Rule
from liningbook.say.answers import inside
from liningbook.say.catalogue import gettext
from liningbook.say.findings.cases import told_of_cases
from liningbook.say.locale import both, either
from liningbook.say.told import Told


def covers_less(fact: CoversLess) -> Told:
    """A layer placed over one that covers more."""
    protocol = fact.protocol
    return told_of_cases(
        fact.cases,
        gettext("{upper} is placed over {lower}, which covers more, {where}"),
        label=gettext("placed over the other, by the order of `decisions` and what the rules say of it"),
        related=[(fact.lower.span, gettext("placed first"))],
        notes=[
            gettext("{layer}: {agents}").format(layer=decision.label, agents=either(_agents(protocol, answers)))
            for decision, answers in ((fact.upper, fact.above), (fact.lower, fact.below))
        ]
        + [gettext("placed by {rules}").format(rules=", ".join(rule.id for rule in fact.rules))],
        advice=[
            gettext("list `decisions` in protocol.yaml in the order in which their layers are placed, pulp side first"),
            gettext("or write `before` or `after` in the answer of a rule whose layer is placed elsewhere"),
            gettext("or correct `place`, if a layer does not cover what is written"),
            *_accept(),
        ],
        upper=fact.upper.label,
        lower=inside(fact.lower.label),
    )


def _agents(protocol: Protocol, answers: Iterable[Answer]) -> list[str]:
    """Each agent with the place that it covers."""
    found = []
    for answer in answers:
        agent = protocol.agents[answer.name]
        place = answer.place or agent.place or list(protocol.places)[-1]
        words = gettext("{agent} ({place})")
        found.append(words.format(agent=agent.label, place=inside(protocol.places[place])))
    return list(dict.fromkeys(found))


def too_late(fact: TooLate) -> Told:
    """A required layer over the one that it is to protect from."""
    protocol = fact.protocol
    return told_of_cases(
        fact.cases,
        gettext("{required} is to stop {irritants} that {giving} gives off, but is placed over it, {where}"),
        label=gettext("this entry requires it"),
        related=_placing(fact.rules),
        notes=[gettext("why: {reason}").format(reason=fact.pairing.because)] if fact.pairing.because else [],
        advice=[
            gettext("write `before: {layer}` in the answer of the rule that places it").format(layer=fact.giving.id),
            gettext("or list `decisions` in protocol.yaml in the order in which their layers are placed"),
            *_accept(),
        ],
        required=fact.required.label,
        giving=inside(fact.giving.label),
        irritants=both([inside(protocol.irritants[name].label) for name in fact.irritants]),
    )


def not_kept(fact: NotKept) -> Told:
    """A wish that the order does not keep."""
    if fact.wish == "before":
        message = gettext("{layer} is to be placed before {other}, but is placed after it, {where}")
    else:
        message = gettext("{layer} is to be placed after {other}, but is placed before it, {where}")
    return told_of_cases(
        fact.cases,
        message,
        label=gettext("asked for here"),
        notes=[gettext("`before` and `after` in the answers of these cases contradict one another")],
        advice=[gettext("take one of them out, or narrow the `when` of its rule"), *_accept()],
        layer=fact.layer.label,
        other=inside(fact.other.label),
    )


def _placing(rules: Iterable[Rule]) -> list[tuple[Span, str]]:
    return [(rule.span, gettext("places one of these layers")) for rule in rules]


def _accept() -> list[str]:
    return [gettext("or add this warning to `accepted` in protocol.yaml, with the reason")]
