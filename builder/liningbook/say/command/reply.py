"""The reply to one case in words: what each decision comes to, what is in doubt, what reaches the pulp."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from fractions import Fraction

from liningbook.cases.readings import Taken, outward
from liningbook.meaning.decide import Outcome
from liningbook.meaning.layers import Threat
from liningbook.model.protocol import Exclusion, Protocol
from liningbook.model.rule import Decision, Factor
from liningbook.say.amounts import number_words, range_words
from liningbook.say.answers import answer_words, forbids, name_or_label, trouble_words
from liningbook.say.cases import value_words
from liningbook.say.catalogue import gettext
from liningbook.say.locale import both, either

REPLIES = "{title}, edition {edition} ({practice})"
ORDER, THEN = "Place in this order: {layers}", ", then "
OTHER_RULES = "one rule or another, as what is missing has it"
CASE = "Case:"
REACHING = "What can reach the pulp:"
NOTHING_KNOWN = ("All", "not known yet")
SCOPE_OPEN = "Whether this protocol covers the case is not settled yet."
NO_LONGER_MATTERS = "What is open no longer depends on: {factors}"
NOTHING_CAN_CHANGE = "This stays as it is whatever the answer on: {factors}"
ADVICE_STAYS = "The advice stays as it is whatever the answer on: {factors}"
OTHERWISE_MAY_CHANGE = "What else it could be (borderline) may still hang on that."
COULD_BE_OUTSIDE = "a case that this protocol does not cover: {why}"


def case_rows(protocol: Protocol, values: Mapping[str, str], taken: Mapping[str, Taken]) -> Sequence[tuple[str, str]]:
    """The case that was asked about: label and value of each factor, as it counts."""
    rows = [
        (factor.label, counted_words(factor, values[name], taken.get(name)))
        for name, factor in protocol.factors.items()
        if name in values
    ]
    return rows or [NOTHING_KNOWN]


def counted_words(factor: Factor, text: str, taken: Taken | None) -> str:
    """The value that counts in a case, in words; one read off that comes near a limit is said by the limit."""
    if taken is None:
        return value_words(factor, text)
    assert factor.unit is not None and factor.limits is not None
    said = taken.to_place(taken.value)
    if taken.stops_short or not factor.limits.lower.value < said < factor.limits.upper.value:
        limit = _nearer_limit(factor, taken.value)
        words = gettext("just above {value}") if limit == factor.limits.lower.value else gettext("just below {value}")
        return words.format(value=number_words(limit, factor.unit))
    return number_words(said, factor.unit)


def _nearer_limit(factor: Factor, value: Fraction) -> Fraction:
    """The limit of a quantity that a value is nearer to, the upper one in the middle."""
    assert factor.limits is not None
    low, high = factor.limits.lower.value, factor.limits.upper.value
    return low if value - low < high - value else high


def reading_lines(factor: Factor, text: str, taken: Taken) -> Iterable[str]:
    """What was read, as what it counts, and what is to be looked at again."""
    assert factor.unit is not None
    method = f" ({factor.reading.method})" if factor.reading and factor.reading.method else ""
    read, corrected = (number_words(value, factor.unit) for value in (taken.reading, taken.to_place(taken.corrected)))
    counted = counted_words(factor, text, taken)
    yield f"You gave a reading of {read}{method}; corrected it is {corrected}, and it is treated as {counted}."
    if taken.is_doubtful:
        yield f"CHECK THE NUMBER AND THE UNIT: {factor.label} does not go so far in this protocol."
    if taken.stops_short and factor.limits is not None:
        words = gettext("A reading never stands for a limit of {factor} itself; look for that in another way.")
        yield words.format(factor=factor.label)


def excluded_lines(excluded: Exclusion) -> Iterable[str]:
    """Why the protocol does not cover the case, and what to do instead."""
    yield f"Not covered by this protocol: {excluded.because}".rstrip(": ")
    if excluded.instead:
        yield f"Instead: {excluded.instead}"


def outcome_lines(
    protocol: Protocol, decision: Decision, outcome: Outcome, unplaced: Collection[str] = ()
) -> Iterable[str]:
    """What a decision comes to, with the rules that say so; nothing of the order beside layers that are not placed."""
    if outcome.state == "answered":
        candidate = outcome.candidates[0]
        yield f"{decision.label}: {answer_words(protocol, decision, candidate.answer, unplaced)}"
        if candidate.answer.kind == "judgement":
            yield f"    why: {candidate.answer.why}"
        yield f"    by {_titles(protocol, candidate.rules)}"
        return
    yield f"{decision.label}: {trouble_words(protocol, decision, outcome)}"
    for candidate in outcome.candidates:
        said = answer_words(protocol, decision, candidate.answer, unplaced)
        yield f"    {said}: by {_titles(protocol, candidate.rules)}"
    for agent, rule in outcome.warnings:
        bar = "NEVER" if forbids(protocol, decision, agent, rule) else "avoid"
        yield f"    {bar} {name_or_label(protocol, decision, agent)}: by {protocol.rules[rule].title}"
    for entry in outcome.clashes:
        yield f"    {protocol.pairings[entry].because}"


def open_lines(protocol: Protocol, decision: Decision, outcomes: Iterable[Outcome]) -> Iterator[str]:
    """Between which answers a decision is still open."""
    yield f"{decision.label}: NOT SETTLED YET, still possible:"
    for outcome in outcomes:
        said = [answer_words(protocol, decision, candidate.answer) for candidate in outcome.candidates]
        if outcome.state == "answered":
            yield f"    {said[0]}"
        else:
            state = trouble_words(protocol, decision, outcome)
            yield f"    {either(said)}: {state}" if said else f"    {state}"


def next_line(factor: Factor, changes_nothing: bool) -> str:
    """The question to answer next; one that is always asked may change nothing."""
    return f"Asked all the same: {factor.label}?" if changes_nothing else f"Next question: {factor.label}?"


def how_to_answer(factor: Factor) -> Iterator[str]:
    """How the question is answered on the command line, value and reading in one breath."""
    if factor.limits is None or factor.unit is None:
        for value, label in factor.values.items():
            yield f"{factor.id}={value}" + ("" if label == value else f"  {label}")
        return
    unit = factor.unit
    low, high = (number_words(end.value, unit) for end in (factor.limits.lower, factor.limits.upper))
    if factor.reading is None:
        yield f"{factor.id}=…{unit.code}  {low} to {high}"
        return
    is_length = unit.dimension == "length"
    judged, read = ("judged in the cavity", "read on a film") if is_length else ("judged otherwise", "read off")
    method = f" ({factor.reading.method})" if factor.reading.method else ""
    yield f"{factor.id}=…{unit.code}  {judged}, {low} to {high}"
    yield f"{factor.id}.reading=…{unit.code}  {read}{method}"


def _titles(protocol: Protocol, rules: Sequence[str]) -> str:
    return ", ".join(protocol.rules[rule].title for rule in rules) or OTHER_RULES


def borderline_words(protocol: Protocol, taken: Mapping[str, Taken]) -> str:
    """Within what the values could lie that were read off."""
    bands = []
    for name, item in taken.items():
        factor = protocol.factors[name]
        assert factor.unit is not None
        words = gettext("{factor} could be {range}")
        bands.append(words.format(factor=factor.label, range=range_words(outward(item), factor.unit)))
    return f"Borderline: {both(bands)}. Within that it could also be:"


def near_lines(protocol: Protocol, values: Mapping[str, str], judged: Iterable[str]) -> Iterator[str]:
    """That a value judged by eye is near a threshold, and which way to lean."""
    for name in judged:
        factor = protocol.factors[name]
        assert factor.judged is not None and factor.unit is not None
        value, within = value_words(factor, values[name]), number_words(factor.judged.uncertainty, factor.unit)
        side = "smaller" if factor.judged.cautious == "below" else "larger"
        yield (
            f"Look again: {factor.label}, judged by eye as {value}, is within {within} of a threshold. "
            f"If in doubt, take the {side} value."
        )
    yield "Within that it could also be:"


def threat_words(protocol: Protocol, threats: Iterable[Threat]) -> list[tuple[str, str]]:
    """Each irritant that is present and what stops it by this protocol's table; never more than that is said."""
    return [(protocol.irritants[t.irritant].label, _stopped_words(protocol, t)) for t in threats]


def _stopped_words(protocol: Protocol, threat: Threat) -> str:
    def layers(names: Iterable[str]) -> str:
        return both([protocol.decisions[name].label for name in names])

    if threat.barriers:
        return gettext("stopped by the dentine, by this protocol's table")
    parts = []
    if threat.sources and threat.stopped_by:
        parts.append(gettext("stopped by {layers}").format(layers=layers(threat.stopped_by)))
    elif threat.sources:
        parts.append(gettext("stopped by nothing placed here"))
    for layer, stoppers in threat.emitted_by.items():
        if stoppers:
            words = gettext("what {layer} gives off is stopped by {layers}")
            parts.append(words.format(layer=layers([layer]), layers=layers(stoppers)))
        else:
            words = gettext("what {layer} gives off is stopped by nothing placed before it")
            parts.append(words.format(layer=layers([layer])))
    return gettext("{text}, by this protocol's table").format(text="; ".join(parts))
