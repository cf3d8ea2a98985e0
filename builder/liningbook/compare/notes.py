"""What else differs between two versions: the grades, the words, the materials, the frame. No case hangs on it."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping
from fractions import Fraction

from liningbook.compare import natures
from liningbook.compare.noting.materials import materials
from liningbook.compare.noting.note import NeededWhen, Note, What, in_both, of_keys, of_lists, of_text
from liningbook.compare.noting.rules import rules
from liningbook.model.protocol import Protocol
from liningbook.model.rule import Decision, Factor
from liningbook.notation.quantity import Quantity, decimal_text


def notes_of(old: Protocol, new: Protocol) -> tuple[Note, ...]:
    """Every difference that is not by itself one of cases; `old` already bears the names of `new`."""
    return (*_frame(old, new), *_labels(old, new), *_readings(old, new), *materials(old, new), *rules(old, new))


def _frame(old: Protocol, new: Protocol) -> Iterator[Note]:
    for field in ("title", "practice", "site_address"):
        yield from of_text("words", "protocol", "", field, getattr(old, field), getattr(new, field))
    for field in ("scope", "contact", "language"):
        yield from of_text("shown", "protocol", "", field, getattr(old, field), getattr(new, field))
    yield from of_lists("shown", "protocol", "", "cautions", old.cautions, new.cautions)
    yield from of_lists("shown", "protocol", "", "stop_questions", old.asked_first, new.asked_first)
    if _screens(old) != _screens(new):
        yield Note("shown", "protocol", "", "screens")
    for field in ("edition", "status"):
        yield from of_text("frame", "protocol", "", field, getattr(old, field), getattr(new, field))
    yield from of_text("frame", "protocol", "", "evidence_scheme", old.scheme, new.scheme)
    yield from of_text("evidence", "protocol", "", "rating_up", old.rating_up, new.rating_up)
    yield from of_text("dates", "protocol", "", "review_by", str(old.review_by.on), str(new.review_by.on))
    days = [str(protocol.in_force_from or "") for protocol in (old, new)]
    yield from of_text("dates", "protocol", "", "in_force_from", *days)
    people = [
        [", ".join(filter(None, (p.name, p.role, p.interests, p.orcid))) for p in protocol.authors]
        for protocol in (old, new)
    ]
    yield from of_lists("frame", "protocol", "", "authors", *people)
    approvals = [
        [", ".join(filter(None, (p.name, p.role, str(p.on), p.digest[:8]))) for p in protocol.approved]
        for protocol in (old, new)
    ]
    yield from of_lists("frame", "protocol", "", "approved", *approvals)
    reasons = [[t for e in protocol.excluded for t in (e.because, e.instead) if t] for protocol in (old, new)]
    yield from of_lists("shown", "protocol", "", "excluded", *reasons)
    if _excluded(old) != _excluded(new):
        yield Note("rules", "protocol", "", "excluded cases")
    yield from of_keys("evidence", "reference", old.references, new.references)
    for name, before, after in in_both(old.references, new.references):
        if before.data != after.data:
            yield Note("evidence", "reference", name, "entry")


def _labels(old: Protocol, new: Protocol) -> Iterator[Note]:
    for kind, ours, theirs in (
        ("factor", old.factors, new.factors),
        ("decision", old.decisions, new.decisions),
        ("agent", old.agents, new.agents),
        ("irritant", old.irritants, new.irritants),
    ):
        for name, thing in ours.items():
            if name in theirs:
                yield from of_text("shown", kind, name, "label", thing.label, theirs[name].label)
    for name, factor, now in in_both(old.factors, new.factors):
        yield from _table("factor", name, factor.values, now.values)
    for name, decision, later in in_both(old.decisions, new.decisions):
        yield from _table("decision", name, decision.answers, later.answers)
    yield from _table("place", "", old.places, new.places)
    yield from _order("decision", "placing order", list(old.decisions), list(new.decisions))
    yield from _order("place", "from least to most", list(old.places), list(new.places))
    yield from _questions(old, new)


def _order(kind: str, field: str, old: list[str], new: list[str]) -> Iterator[Note]:
    """Another order of what both have: layers are placed in the order of their decisions, places grow in theirs."""
    before, after = [name for name in old if name in new], [name for name in new if name in old]
    if before != after:
        yield Note("shown", kind, "", field, ", ".join(before), ", ".join(after))


def _questions(old: Protocol, new: Protocol) -> Iterator[Note]:
    """Within what, and in which unit, a value is asked for; of which sort a layer is, and when it is asked for."""
    for name, factor, other in in_both(old.factors, new.factors):
        if other.kind == factor.kind:
            for field, *texts in zip(("unit", "at_least", "at_most"), _asked(factor), _asked(other), strict=True):
                yield from of_text("shown", "factor", name, field, *texts)
        asked = ["yes" if one.always_ask else "" for one in (factor, other)]
        yield from of_text("shown", "factor", name, "always_ask", *asked)
    for name, decision, later in in_both(old.decisions, new.decisions):
        yield from of_text("materials", "decision", name, "layer", decision.layer or "", later.layer or "")
        yield from of_text("rules", "decision", name, "needed when", _needed(decision), _needed(later))


def _asked(factor: Factor) -> tuple[str, str, str]:
    """Unit and limits; of a choice nothing."""
    if factor.unit is None or factor.limits is None:
        return "", "", ""
    ends = (factor.limits.lower.value, factor.limits.upper.value)
    low, high = (str(Quantity(end, factor.unit)) for end in ends)
    return factor.unit.code, low, high


def _needed(decision: Decision) -> str | NeededWhen:
    if decision.needed_when is None:
        return ""
    on, answers = decision.needed_when
    return NeededWhen(on, tuple(sorted(answers)))


def _excluded(protocol: Protocol) -> Hashable:
    return frozenset(natures.of_when(entry.when, protocol.factors) for entry in protocol.excluded)


def _screens(protocol: Protocol) -> Hashable:
    """What the stop questions take off the chart, one after the other."""
    screens = [question.screens for question in protocol.stop_questions if question.screens is not None]
    return tuple(natures.of_when(when, protocol.factors) for when in screens)


def _table(kind: str, name: str, old: Mapping[str, str], new: Mapping[str, str]) -> Iterator[Note]:
    """Labels that changed, and names that went or came, which by themselves change no case."""
    for value in dict.fromkeys([*old, *new]):
        yield from of_text("shown", kind, name, value, old.get(value, ""), new.get(value, ""))


def _readings(old: Protocol, new: Protocol) -> Iterator[Note]:
    for name, factor, other in in_both(old.factors, new.factors):
        if other.kind != factor.kind:
            continue
        ours, theirs = _read_off(factor), _read_off(other)
        for field in dict.fromkeys([*ours, *theirs]):
            (first, before), (second, after) = ours.get(field, (None, "")), theirs.get(field, (None, ""))
            if first != second:
                what: What = "words" if field == "method" else "shown" if field == "judged" else "readings"
                yield Note(what, "factor", name, field, before, after)


def _read_off(factor: Factor) -> dict[str, tuple[Hashable, str]]:
    """On what it depends as which value a reading counts, and how sure a judged one is: to compare, and as written."""
    found: dict[str, tuple[Hashable, str]] = {}
    unit, how = factor.unit, factor.reading

    def quantity(field: str, value: Fraction) -> None:
        if value and unit is not None:
            found[field] = (value * unit.size, str(Quantity(value, unit)))

    if factor.step is not None:
        quantity("step", factor.step)
    if (by_eye := factor.judged) is not None and unit is not None:
        text = f"{Quantity(by_eye.uncertainty, unit)}, {by_eye.cautious}"
        found["judged"] = ((by_eye.uncertainty * unit.size, by_eye.cautious), text)
    if how is not None:
        quantity("offset", how.offset)
        quantity("uncertainty", how.uncertainty)
        found["scale"] = (how.scale, decimal_text(how.scale))
        found["guard_band"] = (how.guard_band, decimal_text(how.guard_band))
        found["cautious"] = (how.cautious, how.cautious or "")
        found["method"] = (how.method, how.method)
    return found
