"""What is said of layers and irritants, and of bands that a reading cannot tell apart."""

from __future__ import annotations

from liningbook.checks.kinds.indistinct import Indistinct
from liningbook.checks.kinds.layers import Clash, Contraindicated
from liningbook.checks.kinds.protection import LessProtection, Unprotected
from liningbook.finding import Span
from liningbook.model.protocol import Protocol
from liningbook.say.amounts import number_words
from liningbook.say.answers import inside, name_or_label
from liningbook.say.catalogue import gettext
from liningbook.say.findings.cases import told_of_cases
from liningbook.say.locale import both, either
from liningbook.say.told import Told


def contraindicated(fact: Contraindicated) -> Told:
    """An agent that is advised and advised against."""
    rule, decision = fact.rule.id, fact.decision.label
    advice = [gettext("advise something else for {decision} in these cases").format(decision=decision)]
    if fact.always:
        message = gettext("{agent} is advised, though a rule says never to use it, {where}")
        label = gettext("never to be used here")
    else:
        message = gettext("{agent} is advised, though a rule says to avoid it, {where}")
        label = gettext("to be avoided here")
        advice.append(gettext("or narrow the `when` of `{rule}`").format(rule=rule))
        advice.append(gettext("or write `overrides: [{rule}]` in the rule that advises it").format(rule=rule))
    advised = gettext("advised here, under {decision}").format(decision=decision)
    return told_of_cases(
        fact.cases,
        message,
        label=label,
        related=[(adviser.advise[fact.decision.id].span, advised) for adviser in fact.advisers],
        advice=advice,
        agent=name_or_label(fact.protocol, fact.decision, fact.agent),
    )


def clash(fact: Clash) -> Told:
    """Layers that do not go together."""
    protocol, pairing = fact.protocol, fact.pairing
    layers = both([_agents(protocol, names) for names in pairing.having.values()]) if pairing.having else ""
    wanted = [_as_layer(protocol, layer, names) for layer, names in pairing.require.items()]
    barred = [_as_layer(protocol, layer, names) for layer, names in pairing.forbid.items()]
    if wanted and barred:
        message = gettext("{layers} needs {wanted} and must not meet {barred} {where}")
    elif wanted:
        message = gettext("{layers} needs {wanted} {where}")
    else:
        message = gettext("{layers} must not meet {barred} {where}")
    return told_of_cases(
        fact.cases,
        message,
        label=gettext("this entry is not met"),
        related=[(rule.span, gettext("places one of these layers")) for rule in fact.rules],
        notes=[gettext("why: {reason}").format(reason=pairing.because)] if pairing.because else [],
        advice=[
            gettext("change the advice on one of the layers in these cases"),
            gettext("or narrow the `when` of this entry"),
        ],
        layers=layers or gettext("this case"),
        wanted=both(wanted) if wanted else "",
        barred=either(barred) if barred else "",
    )


def _agents(protocol: Protocol, names: tuple[str, ...]) -> str:
    return either([protocol.agents[name].label for name in names]) if names else gettext("nothing")


def _as_layer(protocol: Protocol, layer: str, names: tuple[str, ...]) -> str:
    words = gettext("{agent} as {layer}")
    return words.format(agent=_agents(protocol, names), layer=protocol.decisions[layer].label)


def unprotected(fact: Unprotected) -> Told:
    """An irritant that nothing stops."""
    return told_of_cases(
        fact.cases,
        gettext("nothing stops {irritant} {where}"),
        label=gettext("neither dentine nor a layer stops it there, by this protocol's table"),
        related=_bringing(fact),
        advice=[
            gettext("place a layer that stops it, thick enough and on every place it acts on"),
            gettext("or correct `sources`, `barriers` or `blocks` in materials.yaml, if they do not say what is so"),
            gettext("or add this warning to `accepted` in protocol.yaml, with the reason"),
        ],
        irritant=inside(fact.irritant.label),
    )


def less_protection(fact: LessProtection) -> Told:
    """An irritant that a layer stops only on the less cautious side."""
    return told_of_cases(
        fact.cases,
        gettext("on the cautious side of {factors} no layer stops {irritant} any more {where}"),
        label=gettext("no layer stops it there, though one does on the less cautious side"),
        related=_bringing(fact),
        advice=[
            gettext("place a layer against it in these cases too"),
            gettext("or add this warning to `accepted` in protocol.yaml, with the reason"),
        ],
        factors=either([factor.label for factor in fact.factors]),
        irritant=inside(fact.irritant.label),
    )


def _bringing(fact: Unprotected) -> list[tuple[Span, str]]:
    brought = [(span, gettext("brings it")) for span in fact.bringing]
    return brought + [(span, gettext("gives it off")) for span in fact.emitting]


def indistinct(fact: Indistinct) -> Told:
    """A band too narrow for a reading."""
    unit = fact.factor.unit
    assert unit is not None
    note = gettext("expanded uncertainty of the corrected reading {uncertainty}")
    return told_of_cases(
        fact.cases,
        gettext("a band of {factor} only {width} wide, while a reading needs {needed}, {where}"),
        label=gettext("this reading cannot tell the band from its neighbours"),
        notes=[note.format(uncertainty=number_words(fact.uncertainty, unit))],
        advice=[
            gettext("merge the band with a neighbour, or widen it"),
            gettext("or measure with a smaller uncertainty, and write it in `reading`"),
            gettext("or add this warning to `accepted` in protocol.yaml, with the reason"),
        ],
        factor=fact.factor.label,
        width=number_words(fact.width, unit),
        needed=number_words(fact.needed, unit),
    )
