"""A case that is treated differently: what a decision came to and comes to, what that does, how large a part it is."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from liningbook.compare.comparison import Comparison, four_decimals
from liningbook.compare.effects import Effects
from liningbook.meaning.decide import Outcome
from liningbook.model.protocol import Protocol
from liningbook.say.answers import answer_words
from liningbook.say.catalogue import gettext, ngettext
from liningbook.say.locale import both, decimal_words


def outcome_words(protocol: Protocol, decision: str, outcome: Outcome) -> str:
    """What a decision comes to, on one line."""
    known = protocol.decisions.get(decision)
    if outcome.state == "out-of-scope":
        return gettext("Not covered")
    if known is None:
        return gettext("Not asked")
    if outcome.state == "not-needed":
        return gettext("Not needed")
    if outcome.state == "gap":
        return gettext("No rule answers this")
    answers = [answer_words(protocol, known, candidate.answer) for candidate in outcome.candidates]
    if outcome.state == "conflict":
        return gettext("Rules disagree: {answers}").format(answers=" / ".join(answers))
    if outcome.state == "contraindicated":
        return gettext("{answer}, which another rule says to avoid").format(answer=answers[0])
    if outcome.state == "clash":
        return gettext("{answer}, which does not go with another layer").format(answer=answers[0])
    return answers[0]


def rule_titles(protocol: Protocol, outcome: Outcome) -> tuple[str, ...]:
    """The rules that give an outcome, each by its title and its name."""
    rules = [rule for candidate in outcome.candidates for rule in candidate.rules]
    return tuple(f"{protocol.rules[rule].title} ({rule})" for rule in dict.fromkeys(rules))


def effect_words(comparison: Comparison, effects: Effects) -> Iterable[str]:
    """What a change does, a sentence each."""
    irritants = {**comparison.old.protocol.irritants, **comparison.new.protocol.irritants}
    if effects.gained:
        named = both([irritants[name].label for name in effects.gained])
        yield gettext("Adds protection against {irritants}, by the protocol's table.").format(irritants=named)
    if effects.lost:
        named = both([irritants[name].label for name in effects.lost])
        yield gettext("Removes protection against {irritants}, by the protocol's table.").format(irritants=named)
    for step, starts, ends in (
        (effects.layer, gettext("A layer is placed where none was."), gettext("A layer is no longer placed.")),
        (
            effects.referral,
            gettext("A referral starts: no layer is reached now."),
            gettext("A referral ends: the layers are reached."),
        ),
        (effects.judgement, gettext("The dentist decides now."), gettext("It is no longer left to the dentist.")),
        (effects.cover, gettext("These cases are covered now."), gettext("These cases are no longer covered.")),
    ):
        if step:
            yield starts if step == "starts" else ends
    if effects.grade:
        yield {
            "stronger": gettext("The advice rests on a stronger grade."),
            "weaker": gettext("The advice rests on a weaker grade."),
            "other": gettext("The advice rests on another kind of grade."),
            "mixed": gettext("The grade behind the advice changes, but not in the same way in all these cases."),
        }[effects.grade]


def part_words(share: Fraction) -> str:
    """A part of all combinations; what is too small for four decimals is said so."""
    if share and share < Fraction(1, 20000):
        return gettext("less than {part}").format(part=decimal_words("0.0001"))
    number = decimal_words(four_decimals(share))
    return number if share else gettext("{part} (single values)").format(part=number)


def part_of_cases(number: int, cases: int) -> str:
    """So many of the past cases."""
    words = ngettext("{number} of {count} case", "{number} of {count} cases", cases)
    return words.format(number=number, count=cases)
