"""What else differs in the rules of two versions."""

from __future__ import annotations

from collections.abc import Iterator

from liningbook.compare import natures
from liningbook.compare.effects import grade_step
from liningbook.compare.noting.note import Note, in_both, judged_text, of_keys, of_lists, of_text
from liningbook.compare.sentences import parted
from liningbook.model.protocol import Protocol
from liningbook.model.rule import Rule


def rules(old: Protocol, new: Protocol) -> Iterator[Note]:
    """What went and came, and what else a rule of both says of itself."""
    yield from of_keys("rules", "rule", old.rules, new.rules)
    for name, rule, other in in_both(old.rules, new.rules):
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
    dissent = [[f"{one.name}: {one.reason}" for one in rule.dissent] for rule in (old, new)]
    yield from of_lists("evidence", "rule", new.id, "dissent", *dissent)
    for decision, answer, now in in_both(old.advise, new.advise):
        if answer.why != now.why:
            yield Note("words", "rule", new.id, "why", answer.why, now.why, under=decision)
    for field in ("valid_from", "valid_until"):
        before, after = getattr(old, field), getattr(new, field)
        yield from of_text("dates", "rule", new.id, field.replace("_", " "), str(before or ""), str(after or ""))
    reviews = [str(rule.review_by.on) if rule.review_by else "" for rule in (old, new)]
    yield from of_text("dates", "rule", new.id, "review by", *reviews)


_PLAIN = ("risk_of_bias_tool", "setting")


def _judged(rule: Rule, field: str) -> list[str]:
    return [judged_text(name, rule.evidence.judged[name]) for name in sorted(getattr(rule.evidence, field))]


def _evidence(old: Rule, new: Rule) -> Iterator[Note]:
    step = grade_step(old.evidence, new.evidence)
    for field in ("basis", "certainty", "strength", "design", "level", "question", "note", "because", *_PLAIN):
        before, after = getattr(old.evidence, field), getattr(new.evidence, field)
        graded = step if field in ("certainty", "strength", "level", "basis") else ""
        if (before or "") != (after or ""):
            yield Note("evidence", "rule", new.id, field, str(before or ""), str(after or ""), graded)
    for field in ("lowered", "raised"):
        yield from of_lists("evidence", "rule", new.id, field, *(_judged(rule, field) for rule in (old, new)))
    situations = [": ".join(filter(None, natures.situation_of(rule.evidence))) for rule in (old, new)]
    yield from of_text("evidence", "rule", new.id, "situation", *situations)
    answers = [[f"{key}: {said}" for key, said in rule.evidence.good_practice.items()] for rule in (old, new)]
    yield from of_lists("evidence", "rule", new.id, "good_practice", *answers)
    adjusted = [f"{e.to}: {e.because}" if (e := rule.evidence.adjusted) else "" for rule in (old, new)]
    yield from of_text("evidence", "rule", new.id, "adjusted", *adjusted)
    for field in ("cites", "tables"):
        named = [sorted({name.id for name in getattr(rule.evidence, field)}) for rule in (old, new)]
        yield from of_lists("evidence", "rule", new.id, field, *named)
