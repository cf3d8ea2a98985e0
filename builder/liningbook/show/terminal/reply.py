"""The reply to a question, as the JSON of the contract and as words."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from liningbook.cases.question import Reply
from liningbook.cases.readings import OtherAdvice, Taken
from liningbook.cases.trace import DEPENDS, DOES_NOT_APPLY, HEARD, SILENCED, Reason, probabilities, reasons
from liningbook.exchange.outcomes import case_json, outcome_json, said_json
from liningbook.meaning.decide import unplaced
from liningbook.meaning.layers import Threat
from liningbook.meaning.meaning import Meaning
from liningbook.model.protocol import Protocol
from liningbook.model.rule import Factor
from liningbook.notation.codec import range_notation
from liningbook.notation.quantity import Quantity, Unit
from liningbook.say.answers import answer_words, name_or_label
from liningbook.say.cases import sentences
from liningbook.say.command import reply as words
from liningbook.say.command import why
from liningbook.say.outputs.cover import edition_notice
from liningbook.show.terminal.lines import USUAL, block, reflowed


def reply_json(protocol: Protocol, reply: Reply) -> dict[str, Any]:
    """What `case --format json` prints, with the irritants and, for readings, how they were taken."""
    found = {
        "edition_state": reply.edition_state,
        **case_json(reply.question.values, reply.advice),
        **_rest_json(reply),
    }
    if reply.threats is not None and reply.advice.excluded is None:
        found["irritants"] = [_threat_json(threat) for threat in reply.threats]
    taken = reply.question.taken
    if taken:
        found["readings"] = {name: _taken_json(protocol.factors[name], item) for name, item in taken.items()}
    if reply.doubt is not None and reply.doubt.is_borderline:
        found["borderline"] = {
            name: range_notation(item.band, _unit(protocol.factors[name])) for name, item in taken.items()
        }
        found |= _otherwise_json(reply, reply.doubt)
    if reply.near is not None and reply.near.is_borderline:
        found["near"] = _near_json(protocol, reply, reply.near)
    return found


def _near_json(protocol: Protocol, reply: Reply, near: OtherAdvice) -> dict[str, Any]:
    """Which judged values are near a threshold, each with what else the advice could be within all their ranges."""
    found = {}
    for name, band in reply.question.judged.items():
        how, unit = protocol.factors[name].judged, _unit(protocol.factors[name])
        assert how is not None
        found[name] = {
            "range": range_notation(band, unit),
            "uncertainty": str(Quantity(how.uncertainty, unit)),
            "cautious": how.cautious,
            **_otherwise_json(reply, near),
        }
    return found


def _otherwise_json(reply: Reply, doubt: OtherAdvice) -> dict[str, Any]:
    found: dict[str, Any] = {
        "otherwise": {
            name: [(outcome_json if reply.rest is None else said_json)(outcome) for outcome in outcomes]
            for name, outcomes in doubt.otherwise.items()
        }
    }
    if doubt.not_covered:
        found["otherwise_not_covered"] = [entry.because or entry.instead for entry in doubt.not_covered]
    return found


def _rest_json(reply: Reply) -> dict[str, Any]:
    """What is missing, settled and open; of a whole case nothing."""
    if reply.rest is None:
        return {"missing": [], "settled": {}, "open": {}, "next": None, "irrelevant": []}
    in_scope = {} if reply.rest.in_scope is not None else {"in_scope": "open"}
    return {
        **in_scope,
        "missing": list(reply.question.missing),
        "settled": {name: said_json(outcome) for name, outcome in reply.advice.outcomes.items()},
        "open": {name: [said_json(outcome) for outcome in some] for name, some in reply.rest.open.items()},
        "next": reply.rest.asking.next,
        "irrelevant": list(reply.rest.asking.irrelevant),
    }


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


def reply_text(protocol: Protocol, reply: Reply, cautions: Iterable[str], trace: str = "", width: int = USUAL) -> str:
    """The advice in words, layers in placing order, what is in doubt, what reaches the pulp, and the cautions."""
    question, advice = reply.question, reply.advice
    replies = words.REPLIES.format(title=protocol.title, edition=protocol.edition, practice=protocol.practice)
    notice = edition_notice(protocol, reply.edition_state)
    case = words.case_rows(protocol, question.values, question.taken)
    lines = [replies, *([notice] if notice else []), "", words.CASE, *block(case, width, "    ")]
    for name, taken in question.taken.items():
        lines += words.reading_lines(protocol.factors[name], question.values[name], taken)
    lines.append("")
    if advice.excluded is not None:
        lines += words.excluded_lines(advice.excluded)
    for name, outcome in advice.outcomes.items():
        lines += words.outcome_lines(protocol, protocol.decisions[name], outcome, unplaced(advice.outcomes))
    if len(advice.placing_order) > 1:
        layers = words.THEN.join(protocol.decisions[name].label for name in advice.placing_order)
        lines.append(words.ORDER.format(layers=layers))
    lines += _doubt_lines(protocol, reply)
    if threats := words.threat_words(protocol, reply.threats or ()):
        lines += ["", words.REACHING, *block(threats, width, "    ")]
    lines += _rest_lines(protocol, reply)
    if trace:
        lines += ["", trace.rstrip("\n")]
    return "\n".join([*reflowed(lines, width), "", *reflowed(cautions, width, 0)]) + "\n"


def _rest_lines(protocol: Protocol, reply: Reply) -> Iterator[str]:
    """What is not settled yet, on what it no longer depends, and what to say next."""
    if reply.rest is None:
        return
    asking = reply.rest.asking
    if reply.rest.in_scope is None:
        yield words.SCOPE_OPEN
    for name, outcomes in reply.rest.open.items():
        yield from words.open_lines(protocol, protocol.decisions[name], outcomes)
    if asking.irrelevant:
        labels = [protocol.factors[name].label for name in asking.irrelevant]
        is_all = not reply.rest.open and reply.rest.in_scope is not None
        yield ""
        is_borderline = any(one is not None and one.is_borderline for one in (reply.doubt, reply.near))
        stays = words.ADVICE_STAYS if is_borderline else words.NOTHING_CAN_CHANGE
        yield (stays if is_all else words.NO_LONGER_MATTERS).format(factors=", ".join(labels))
        if is_borderline:
            yield words.OTHERWISE_MAY_CHANGE
    if asking.next is not None:
        factor = protocol.factors[asking.next]
        yield ""
        yield words.next_line(factor, changes_nothing=asking.next in asking.irrelevant)
        yield from (f"    {line}" for line in words.how_to_answer(factor))


def _doubt_lines(protocol: Protocol, reply: Reply) -> Iterable[str]:
    if reply.doubt is not None and reply.doubt.is_borderline:
        yield words.borderline_words(protocol, reply.question.taken)
        yield from _otherwise_lines(protocol, reply.doubt)
    if reply.near is not None and reply.near.is_borderline:
        yield from words.near_lines(protocol, reply.question.values, reply.question.judged)
        yield from _otherwise_lines(protocol, reply.near)


def _otherwise_lines(protocol: Protocol, doubt: OtherAdvice) -> Iterable[str]:
    for name, outcomes in doubt.otherwise.items():
        for outcome in outcomes:
            yield from (f"  {line}" for line in words.outcome_lines(protocol, protocol.decisions[name], outcome))
    for entry in doubt.not_covered:
        line = words.COULD_BE_OUTSIDE.format(why=sentences([entry.because, entry.instead]))
        yield f"  {line}".rstrip(": ")


_STOPS = "stops"
"""What a rule does that rules an agent out."""


def why_text(meaning: Meaning, reply: Reply, width: int = USUAL) -> str:
    """The trace, decision by decision, then the probabilities of readings.

    What is ruled out stands first, then what decides, what gives way, what asks for more, and what does not apply.
    """
    lines = [why.HEADING]
    for reason in reasons(meaning, reply):
        needed = why.need_words(meaning.protocol, reason)
        lines += ["", why.DECISION.format(decision=reason.decision.label, needed=needed)]
        lines += _why_lines(meaning.protocol, reason)
    lines += ["", *map(why.above_words, probabilities(meaning, reply))]
    return "\n".join(reflowed(lines, width)).rstrip("\n") + "\n"


def _why_lines(protocol: Protocol, reason: Reason) -> Iterator[str]:
    """What the rules do under one decision; where it is not needed, only what would decide."""
    decision = reason.decision
    found: dict[str, list[str]] = {status: [] for status in (_STOPS, HEARD, SILENCED, DEPENDS, DOES_NOT_APPLY)}
    for warner in reason.warners:
        status = DEPENDS if warner.depends else SILENCED if warner.winners and not warner.always else _STOPS
        found[status].append(why.warning_words(warner, name_or_label(protocol, decision, warner.avoided)))
    for speaker in reason.speakers:
        said = answer_words(protocol, decision, speaker.answer)
        found[speaker.status].append(why.speaking_words(reason, speaker, said))
    if reason.needed is False:
        found = {HEARD: found[HEARD]}
    idle = found.pop(DOES_NOT_APPLY, [])
    yield from (f"    {line}" for lines in found.values() for line in lines)
    if idle:
        yield f"    {why.DO_NOT_APPLY}"
        yield from (f"        {line}" for line in idle)
