"""Layers that must not be placed: agents to avoid, and layers that do not go together."""

from __future__ import annotations

from collections.abc import Iterator

from liningbook.checks.inquiry import Inquiry
from liningbook.finding import Finding, Label, Severity
from liningbook.meaning.rules import Warned
from liningbook.model.protocol import Decision, Pairing
from liningbook.say.answers import name_or_label
from liningbook.say.locale import both, either
from liningbook.space.boxes import bits
from liningbook.space.region import Region


def contraindicated(inquiry: Inquiry) -> Iterator[Finding]:
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
                yield _contraindicated(inquiry, decision, index, agent, region, (index, agent) in always)


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


def _contraindicated(
    inquiry: Inquiry, decision: Decision, index: int, agent: str, region: Region, always: bool
) -> Finding:
    meaning, protocol = inquiry.meaning, inquiry.protocol
    rule = inquiry.rule(index)
    region = region.few_large()
    advisers = [i for i in _advisers(inquiry, decision, agent) if meaning.cases_heard(decision.id, i) & region]
    named = next(n for n in (*rule.avoid.get(decision.id, ()), *rule.never.get(decision.id, ())) if n.id == agent)
    label = name_or_label(protocol, decision, agent)
    advice = [f"advise something else for {decision.label} in these cases"]
    if not always:
        advice.append(f"or narrow the `when` of `{rule.id}`")
        advice.append(f"or write `overrides: [{rule.id}]` in the rule that advises it")
    said = "never to use" if always else "to avoid"
    return inquiry.about_cases(
        "contraindicated",
        Severity.ERROR,
        f"{label} is advised, though a rule says {said} it, {inquiry.in_brief(region)}",
        named.span,
        region,
        label="never to be used here" if always else "to be avoided here",
        related=[
            Label(inquiry.rule(i).advise[decision.id].span, f"advised here, under {decision.label}") for i in advisers
        ],
        advice=advice,
        decision=decision,
        rules=[rule, *(inquiry.rule(i) for i in advisers)],
        extra={"agent": agent},
    )


def clash(inquiry: Inquiry) -> Iterator[Finding]:
    """Two layers are advised for one case that must not be, or one without the other that it needs.

    What goes together is said under `together` in materials.yaml.
    """
    meaning = inquiry.meaning
    for number, pairing in enumerate(inquiry.protocol.pairings):
        region = meaning.cases_clashing(number)
        if not region:
            continue
        region = region.few_large()
        rules = _placing(inquiry, pairing, region)
        yield inquiry.about_cases(
            "clash",
            Severity.ERROR,
            f"{_pairing_words(inquiry, pairing)} {inquiry.in_brief(region)}",
            pairing.span,
            region,
            label="this entry is not met",
            related=[Label(inquiry.rule(i).span, "places one of these layers") for i in rules],
            notes=[f"why: {pairing.because}"] if pairing.because else [],
            advice=["change the advice on one of the layers in these cases", "or narrow the `when` of this entry"],
            rules=[inquiry.rule(i) for i in rules],
            extra={"entry": number},
        )


def _placing(inquiry: Inquiry, pairing: Pairing, region: Region) -> list[int]:
    found = set()
    for layer in dict.fromkeys([*pairing.having, *pairing.require, *pairing.forbid]):
        for index in bits(inquiry.meaning.advising(layer)):
            if inquiry.meaning.cases_heard(layer, index) & region:
                found.add(index)
    return sorted(found)


def _pairing_words(inquiry: Inquiry, pairing: Pairing) -> str:
    protocol = inquiry.protocol

    def agents(names: tuple[str, ...]) -> str:
        return either([protocol.agents[name].label for name in names]) if names else "nothing"

    having = both([agents(names) for names in pairing.having.values()]) if pairing.having else "this case"
    wanted = [f"{agents(names)} as {protocol.decisions[layer].label}" for layer, names in pairing.require.items()]
    barred = [f"{agents(names)} as {protocol.decisions[layer].label}" for layer, names in pairing.forbid.items()]
    parts = []
    if wanted:
        parts.append(f"needs {both(wanted)}")
    if barred:
        parts.append(f"must not meet {either(barred)}")
    return f"{having} {' and '.join(parts)}"
