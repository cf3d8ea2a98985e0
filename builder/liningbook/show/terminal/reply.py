"""The reply to a question, as the JSON of the contract and as words."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from typing import Any

from liningbook.cases.question import Reply
from liningbook.cases.readings import Taken
from liningbook.exchange.outcomes import case_json, outcome_json
from liningbook.meaning.layers import Threat
from liningbook.model.protocol import Factor, Protocol
from liningbook.notation.codec import range_notation
from liningbook.notation.quantity import Quantity, Unit
from liningbook.say.amounts import number_words, range_words
from liningbook.say.cases import value_words
from liningbook.say.locale import both
from liningbook.show.terminal.report import outcome_lines


def reply_json(protocol: Protocol, reply: Reply) -> dict[str, Any]:
    """What `case --format json` prints, with the irritants and, for readings, how they were taken."""
    found = case_json(reply.question.values, reply.advice)
    if reply.advice.excluded is None:
        found["irritants"] = [_threat_json(threat) for threat in reply.threats]
    taken = reply.question.taken
    if taken:
        found["readings"] = {name: _taken_json(protocol.factors[name], item) for name, item in taken.items()}
    if reply.doubt is not None and reply.doubt.is_borderline:
        found["borderline"] = {
            name: range_notation(item.band, _unit(protocol.factors[name])) for name, item in taken.items()
        }
        found["otherwise"] = {
            name: [outcome_json(outcome) for outcome in outcomes] for name, outcomes in reply.doubt.otherwise.items()
        }
        if reply.doubt.not_covered:
            found["otherwise_not_covered"] = [entry.because or entry.instead for entry in reply.doubt.not_covered]
    return found


def _unit(factor: Factor) -> Unit:
    assert factor.unit is not None
    return factor.unit


def _taken_json(factor: Factor, taken: Taken) -> dict[str, Any]:
    unit = _unit(factor)
    return {
        "reading": str(Quantity(taken.reading, unit)),
        "corrected": str(Quantity(taken.corrected, unit)),
        "treated_as": str(Quantity(taken.value, unit)),
        "stops_short_of_limit": taken.stops_short,
        "outside_limits": taken.is_doubtful,
    }


def _threat_json(threat: Threat) -> dict[str, Any]:
    return {
        "irritant": threat.irritant,
        "live": threat.is_live,
        "stopped": threat.is_stopped,
        "from_sources": list(threat.sources),
        "stopped_by_dentine": list(threat.barriers),
        "stopped_by_layers": list(threat.stopped_by),
        "given_off_by": {layer: list(stoppers) for layer, stoppers in threat.emitted_by.items()},
    }


def reply_text(protocol: Protocol, reply: Reply, cautions: Iterable[str], why: str = "") -> str:
    """The advice in words, layers in placing order, what is in doubt, what reaches the pulp, and the cautions."""
    lines = [
        f"{protocol.title}, edition {protocol.edition} ({protocol.practice})",
        f"Case: {_case_words(protocol, reply)}",
    ]
    lines += _reading_lines(protocol, reply)
    advice = reply.advice
    if advice.excluded is not None:
        lines.append(f"Not covered by this protocol: {advice.excluded.because}".rstrip(": "))
        if advice.excluded.instead:
            lines.append(f"Instead: {advice.excluded.instead}")
    for name, outcome in advice.outcomes.items():
        lines += outcome_lines(protocol, protocol.decisions[name], outcome)
    if len(advice.placing_order) > 1:
        order = ", then ".join(protocol.decisions[name].label for name in advice.placing_order)
        lines.append(f"Place in this order: {order}")
    lines += _doubt_lines(protocol, reply)
    lines += [f"{label}: {text}" for label, text in threat_words(protocol, reply.threats)]
    if why:
        lines += ["", why.rstrip("\n")]
    return "\n".join([*lines, "", *cautions]) + "\n"


def _case_words(protocol: Protocol, reply: Reply) -> str:
    return "; ".join(
        f"{factor.label}: {counted_words(factor, reply.question.values[name], reply.question.taken.get(name))}"
        for name, factor in protocol.factors.items()
    )


def counted_words(factor: Factor, text: str, taken: Taken | None) -> str:
    """The value that counts in a case, in words; one read off that stops short of a limit is said by the limit."""
    if taken is None:
        return value_words(factor, text)
    if taken.stops_short and factor.limits is not None:
        limit = nearer_limit(factor, taken.value)
        side = "above" if limit == factor.limits.lower.value else "below"
        return f"just {side} {number_words(limit, _unit(factor))}"
    return number_words(taken.value, _unit(factor))


def nearer_limit(factor: Factor, value: Fraction) -> Fraction:
    """The limit of a quantity that a value is nearer to, the upper one in the middle."""
    assert factor.limits is not None
    low, high = factor.limits.lower.value, factor.limits.upper.value
    return low if value - low < high - value else high


def _reading_lines(protocol: Protocol, reply: Reply) -> list[str]:
    lines = []
    for name, taken in reply.question.taken.items():
        factor = protocol.factors[name]
        unit = _unit(factor)
        method = factor.reading.method if factor.reading else ""
        counted = counted_words(factor, reply.question.values[name], taken)
        lines.append(
            f"You gave a reading of {number_words(taken.reading, unit)}{f' ({method})' if method else ''}; "
            f"corrected it is {number_words(taken.corrected, unit)}, and it is treated as {counted}."
        )
        if taken.is_doubtful:
            lines.append(f"CHECK THE NUMBER AND THE UNIT: {factor.label} does not go so far in this protocol.")
        if taken.stops_short and factor.limits is not None:
            lines.append(f"A reading never stands for a limit of {factor.label} itself; look for that in another way.")
    return lines


def _doubt_lines(protocol: Protocol, reply: Reply) -> list[str]:
    if reply.doubt is None or not reply.doubt.is_borderline:
        return []
    bands = [
        f"{protocol.factors[name].label} could be {range_words(taken.band, _unit(protocol.factors[name]))}"
        for name, taken in reply.question.taken.items()
    ]
    lines = [f"Borderline: {both(bands)}. Within that it could also be:"]
    for name, outcomes in reply.doubt.otherwise.items():
        for outcome in outcomes:
            lines += [f"  {line}" for line in outcome_lines(protocol, protocol.decisions[name], outcome)]
    for entry in reply.doubt.not_covered:
        lines.append(f"  a case that this protocol does not cover: {entry.because} {entry.instead}".rstrip(": "))
    return lines


def threat_words(protocol: Protocol, threats: Iterable[Threat]) -> list[tuple[str, str]]:
    """Each irritant that is present and what stops it by this protocol's table; never more than that is said."""
    return [(protocol.irritants[t.irritant].label, _stopped_words(protocol, t)) for t in threats]


def _stopped_words(protocol: Protocol, threat: Threat) -> str:
    def layers(names: Iterable[str]) -> str:
        return both([protocol.decisions[name].label for name in names])

    if threat.barriers:
        return "stopped by the dentine, by this protocol's table"
    parts = []
    if threat.sources:
        parts.append(
            f"stopped by {layers(threat.stopped_by)}" if threat.stopped_by else "stopped by nothing placed here"
        )
    for layer, stoppers in threat.emitted_by.items():
        given = f"what {layers([layer])} gives off is stopped by "
        parts.append(given + (layers(stoppers) if stoppers else "nothing placed before it"))
    return f"{'; '.join(parts)}, by this protocol's table"
