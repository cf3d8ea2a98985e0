"""What else differs between two versions: the grades, the words, the materials, the frame. No case hangs on it."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal, TypeVar

from liningbook.compare import natures
from liningbook.compare.effects import Grade, grade_step
from liningbook.compare.sentences import parted
from liningbook.model.protocol import Exposure, Pairing, Protocol
from liningbook.model.rule import Decision, Factor, Rule
from liningbook.notation.quantity import Quantity, decimal_text

What = Literal["shown", "readings", "rules", "evidence", "materials", "dates", "words", "frame", "other_changes"]
"""The groups of differences, in the order in which they are told."""

Thing = TypeVar("Thing")


@dataclass(frozen=True)
class NeededWhen:
    """Under which answers of another decision a decision is asked; as a text it is the notation of the JSON."""

    decision: str
    answers: tuple[str, ...]

    def __str__(self) -> str:
        return f"{self.decision} is {' or '.join(self.answers)}"


@dataclass(frozen=True)
class Note:
    """One thing that differs.

    `what` is the group; `kind` and `name` say what it is (`rule`, `line-the-floor`) and `field` which part of it.
    `under` is the decision of whose advice it is a part. `before` and `after` are texts as the sources would say it,
    empty where there is none or where it is too long.
    """

    what: What
    kind: str
    name: str
    field: str
    before: str | NeededWhen = ""
    after: str | NeededWhen = ""
    grade: Grade = ""
    under: str = ""


def notes_of(old: Protocol, new: Protocol) -> tuple[Note, ...]:
    """Every difference that is not by itself one of cases; `old` already bears the names of `new`."""
    return (*_frame(old, new), *_labels(old, new), *_readings(old, new), *_materials(old, new), *_rules(old, new))


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
    yield from of_text("dates", "protocol", "", "review_by", str(old.review_by.on), str(new.review_by.on))
    days = [str(protocol.in_force_from or "") for protocol in (old, new)]
    yield from of_text("dates", "protocol", "", "in_force_from", *days)
    people = [
        [", ".join(filter(None, (p.name, p.role, p.interests, p.orcid))) for p in protocol.authors]
        for protocol in (old, new)
    ]
    yield from of_lists("frame", "protocol", "", "authors", *people)
    approvals = [[f"{p.name}, {p.role}, {p.on}" for p in protocol.approved] for protocol in (old, new)]
    yield from of_lists("frame", "protocol", "", "approved", *approvals)
    reasons = [[t for e in protocol.excluded for t in (e.because, e.instead) if t] for protocol in (old, new)]
    yield from of_lists("shown", "protocol", "", "excluded", *reasons)
    if _excluded(old) != _excluded(new):
        yield Note("rules", "protocol", "", "excluded cases")
    yield from of_keys("evidence", "reference", old.references, new.references)
    for name, before, after in _common(old.references, new.references):
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
    for name, factor, now in _common(old.factors, new.factors):
        yield from _table("factor", name, factor.values, now.values)
    for name, decision, later in _common(old.decisions, new.decisions):
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
    for name, factor, other in _common(old.factors, new.factors):
        if other.kind == factor.kind:
            for field, *texts in zip(("unit", "at_least", "at_most"), _asked(factor), _asked(other), strict=True):
                yield from of_text("shown", "factor", name, field, *texts)
        asked = ["yes" if one.always_ask else "" for one in (factor, other)]
        yield from of_text("shown", "factor", name, "always_ask", *asked)
    for name, decision, later in _common(old.decisions, new.decisions):
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
    for name, factor, other in _common(old.factors, new.factors):
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


def _materials(old: Protocol, new: Protocol) -> Iterator[Note]:
    yield from of_keys("materials", "agent", old.agents, new.agents)
    yield from of_keys("materials", "irritant", old.irritants, new.irritants)
    for name, agent, other in _common(old.agents, new.agents):
        for field, nature in natures.OF_AGENT.items():
            if nature(agent) != nature(other):
                yield Note("materials", "agent", name, field)
    for name, irritant, now in _common(old.irritants, new.irritants):
        yield from of_text("materials", "irritant", name, "acts_on", irritant.acts_on or "", now.acts_on or "")
    for field in ("sources", "barriers", "together"):
        if _nature(old, field) != _nature(new, field):
            yield Note("materials", "table", field, "entries")
    for field in ("together", "sources", "barriers"):
        both = [_entries(protocol, field) for protocol in (old, new)]
        yield from of_lists("words", "table", field, "because", *([entry.because for entry in table] for table in both))
        cites = ([name.id for entry in table for name in entry.cites] for table in both)
        yield from of_lists("evidence", "table", field, "cites", *cites)


def _entries(protocol: Protocol, field: str) -> Sequence[Pairing | Exposure]:
    return protocol.pairings if field == "together" else getattr(protocol, field)


def _nature(protocol: Protocol, field: str) -> Hashable:
    """What the entries of a table do, in whatever order."""

    def layers(table: Mapping[str, tuple[str, ...]]) -> Hashable:
        return frozenset((layer, frozenset(agents)) for layer, agents in table.items())

    def does(entry: Pairing | Exposure) -> Hashable:
        if isinstance(entry, Pairing):
            return layers(entry.having), layers(entry.require), layers(entry.forbid)
        return frozenset(entry.irritants)

    return frozenset((does(e), natures.of_when(e.when, protocol.factors)) for e in _entries(protocol, field))


def _rules(old: Protocol, new: Protocol) -> Iterator[Note]:
    yield from of_keys("rules", "rule", old.rules, new.rules)
    for name, rule, other in _common(old.rules, new.rules):
        if natures.of_when(rule.when, old.factors) != natures.of_when(other.when, new.factors):
            yield Note("rules", "rule", name, "when")
        yield from _rule(rule, other)


def _rule(old: Rule, new: Rule) -> Iterator[Note]:
    if natures.of_advice(old) != natures.of_advice(new):
        yield Note("rules", "rule", new.id, "advice")
    if natures.of_evidence(old.evidence) != natures.of_evidence(new.evidence):
        yield from _evidence(old, new)
    yield from of_text("words", "rule", new.id, "title", old.title, new.title)
    if old.body.strip() != new.body.strip():
        yield Note("words", "rule", new.id, "reasons", *parted(old.body, new.body))
    for decision, answer, now in _common(old.advise, new.advise):
        if answer.why != now.why:
            yield Note("words", "rule", new.id, "why", answer.why, now.why, under=decision)
    for field in ("valid_from", "valid_until"):
        before, after = getattr(old, field), getattr(new, field)
        yield from of_text("dates", "rule", new.id, field.replace("_", " "), str(before or ""), str(after or ""))
    reviews = [str(rule.review_by.on) if rule.review_by else "" for rule in (old, new)]
    yield from of_text("dates", "rule", new.id, "review by", *reviews)


def _evidence(old: Rule, new: Rule) -> Iterator[Note]:
    step = grade_step(old.evidence, new.evidence)
    for field in ("basis", "certainty", "strength", "design", "level", "question", "note"):
        before, after = getattr(old.evidence, field), getattr(new.evidence, field)
        graded = step if field in ("certainty", "strength", "level", "basis") else ""
        if (before or "") != (after or ""):
            yield Note("evidence", "rule", new.id, field, str(before or ""), str(after or ""), graded)
    for field in ("lowered", "raised"):
        tables = [sorted(getattr(rule.evidence, field).items()) for rule in (old, new)]
        yield from of_lists("evidence", "rule", new.id, field, *([f"{a} {b}" for a, b in table] for table in tables))
    adjusted = [f"{e.to}: {e.because}" if (e := rule.evidence.adjusted) else "" for rule in (old, new)]
    yield from of_text("evidence", "rule", new.id, "adjusted", *adjusted)
    cites = [sorted({name.id for name in rule.evidence.cites}) for rule in (old, new)]
    yield from of_lists("evidence", "rule", new.id, "cites", *cites)


def _common(old: Mapping[str, Thing], new: Mapping[str, Thing]) -> Iterator[tuple[str, Thing, Thing]]:
    """What has one name in both."""
    return ((name, thing, new[name]) for name, thing in old.items() if name in new)


def of_text(
    what: What, kind: str, name: str, field: str, before: str | NeededWhen, after: str | NeededWhen
) -> Iterator[Note]:
    """A text that is another one now."""
    if before != after:
        yield Note(what, kind, name, field, before, after)


def of_lists(what: What, kind: str, name: str, field: str, old: Iterable[str], new: Iterable[str]) -> Iterator[Note]:
    """What went from a list and what came; another order alone is no difference."""
    before, after = list(old), list(new)
    went, came = [t for t in before if t not in after], [t for t in after if t not in before]
    if went or came:
        yield Note(what, kind, name, field, "; ".join(went), "; ".join(came))


def of_keys(what: What, kind: str, old: Mapping[str, object], new: Mapping[str, object]) -> Iterator[Note]:
    """Names that went and names that came."""
    yield from (Note(what, kind, name, "taken out") for name in old if name not in new)
    yield from (Note(what, kind, name, "added") for name in new if name not in old)
