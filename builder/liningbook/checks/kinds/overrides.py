"""Overrides: those that do nothing, those that switch off a warning, those that let the weaker rule win."""

from __future__ import annotations

from collections.abc import Iterator

from liningbook.checks.inquiry import Inquiry
from liningbook.evidence.grade import is_weaker
from liningbook.finding import Finding, Label, Severity
from liningbook.model.protocol import Name, Rule
from liningbook.space.region import Region


def _links(inquiry: Inquiry) -> Iterator[tuple[Rule, Rule, Name]]:
    """Every override between rules in force: the winner, the loser, and the name written."""
    for rule in inquiry.meaning.rules:
        seen = set()
        for name in rule.overrides:
            if name.id in inquiry.meaning.number and name.id not in seen:
                seen.add(name.id)
                yield rule, inquiry.rule(inquiry.meaning.number[name.id]), name


def _meeting(inquiry: Inquiry, decision: str, winner: Rule, loser: Rule) -> Region:
    number = inquiry.meaning.number
    return inquiry.meaning.cases_both(decision, number[winner.id], number[loser.id])


def _decisions_silenced(winner: Rule, loser: Rule) -> list[str]:
    return [decision for decision in loser.advise if decision in winner.advise]


def _decisions_unwarned(winner: Rule, loser: Rule) -> list[str]:
    return [decision for decision in loser.avoid if winner.speaks_under(decision)]


def avoid_overridden(inquiry: Inquiry) -> Iterator[Finding]:
    """An override switches off another rule's `avoid`.

    That may be meant; if so, say it in `accepted`. A warning that must always stand is written as `never`.
    """
    for winner, loser, name in _links(inquiry):
        region = Region()
        decisions = []
        for decision in _decisions_unwarned(winner, loser):
            cases = _meeting(inquiry, decision, winner, loser)
            if cases:
                decisions.append(decision)
            region = region | cases
        if not region:
            continue
        region = region.few_large()
        yield inquiry.about_cases(
            "avoid-overridden",
            Severity.WARNING,
            f"'{winner.title}' switches off what '{loser.title}' says to avoid {inquiry.in_brief(region)}",
            name.span,
            region,
            label="this override switches off an `avoid`",
            related=[Label(n.span, "switched off") for decision in decisions for n in loser.avoid[decision]],
            advice=[
                "take the override out, or narrow the conditions of one of the rules",
                "or write `never` instead of `avoid` if the warning must stand",
                "or add this warning to `accepted` in protocol.yaml, with the reason",
            ],
            decision=inquiry.protocol.decisions[decisions[0]] if len(decisions) == 1 else None,
            rules=[winner, loser],
        )


def idle_override(inquiry: Inquiry) -> Iterator[Finding]:
    """An override that in no case silences a rule or switches off an `avoid`.

    The two rules never meet where it matters, or do not speak on the same decision.
    """
    for winner, loser, name in _links(inquiry):
        shared = dict.fromkeys([*_decisions_silenced(winner, loser), *_decisions_unwarned(winner, loser)])
        if any(_meeting(inquiry, decision, winner, loser) for decision in shared):
            continue
        note = (
            "the two rules never apply to the same case in which it matters"
            if shared
            else "the two rules do not speak on the same decision"
        )
        yield Finding(
            "idle-override",
            Severity.WARNING,
            f"'{winner.title}' overrides '{loser.title}', but that changes nothing",
            name.span,
            "this override does nothing",
            (Label(loser.span, "the rule it names"),),
            (note,),
            ("take it out", "or check the conditions of the two rules"),
            rules=(winner.id, loser.id),
        )


def weaker_overrides_stronger(inquiry: Inquiry) -> Iterator[Finding]:
    """A rule on weaker research overrides a rule on stronger research.

    That can be right (the weaker evidence may fit the case better); the reason belongs into the rule's text.
    """
    for winner, loser, name in _links(inquiry):
        mine, theirs = winner.evidence, loser.evidence
        if mine.basis != "research" or theirs.basis != "research":
            continue
        if mine.certainty and theirs.certainty and is_weaker(mine.certainty, theirs.certainty):
            note = f"certainty {_plain(mine.certainty)} against {_plain(theirs.certainty)}"
        elif mine.level and theirs.level and mine.level > theirs.level:
            note = f"level {mine.level} against level {theirs.level}"
        else:
            continue
        field = "certainty" if mine.certainty else "level"
        labels = (Label(winner.evidence.places[field], "weaker"), Label(loser.evidence.places[field], "stronger"))
        yield Finding(
            "weaker-overrides-stronger",
            Severity.WARNING,
            f"'{winner.title}' overrides '{loser.title}', which rests on stronger evidence",
            name.span,
            "this override",
            labels,
            (note,),
            (
                "check that the override is meant",
                "if it is, add this warning to `accepted` in protocol.yaml, with the reason",
            ),
            rules=(winner.id, loser.id),
        )


def _plain(level: str) -> str:
    return level.replace("-", " ")
