"""A case that is treated differently: what a decision came to and comes to, what that does, how large a part it is."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from liningbook.compare.comparison import Comparison, Difference
from liningbook.compare.effects import NOT_ASKED
from liningbook.compare.ranking import ToldChange
from liningbook.meaning.decide import Outcome
from liningbook.meaning.rules import answer_word
from liningbook.model.protocol import Protocol
from liningbook.say.answers import answer_words
from liningbook.say.catalogue import gettext, ngettext
from liningbook.say.changes.safety import in_some_cases, loss_words
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


def effect_words(comparison: Comparison, change: ToldChange[Difference]) -> Iterable[str]:
    """What a change does, a sentence each, what is lost first."""
    effects = change.change.effects
    lost = list(_losses(comparison, change))
    yield from lost
    irritants = {**comparison.old.protocol.irritants, **comparison.new.protocol.irritants}
    if effects.gained:
        named = both([irritants[name].label for name in effects.gained])
        yield gettext("Adds protection against {irritants}, by the protocol's table.").format(irritants=named)
    said = {loss.name for loss in change.losses if loss.kind == "protection"}
    gone = [irritants[name].label for name in effects.lost if name not in said]
    if gone and change.change.after.state not in NOT_ASKED:
        words = gettext("Removes protection against {irritants}, by the protocol's table.")
        yield words.format(irritants=both(gone))
    for step, starts, ends in (
        (effects.layer, gettext("A layer is placed where none was."), gettext("A layer is no longer placed.")),
        (effects.referral, gettext("A referral starts: no layer is reached now."), _referral_ends(comparison, change)),
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


def _losses(comparison: Comparison, told: ToldChange[Difference]) -> Iterable[str]:
    """The safety that is lost by a change, but for a referral of which its effect tells by itself."""
    change = told.change
    for loss in told.losses:
        if loss.decision == change.decision and (loss.kind, change.effects.referral) == ("referral", "ends"):
            continue
        if loss.decision == change.decision and (loss.kind, change.effects.judgement) == ("judgement", "ends"):
            continue
        words = loss_words(comparison.old.protocol, comparison.new.protocol, loss)
        yield in_some_cases(words) if change.region.minus(loss.region.boxes) else words


def _referral_ends(comparison: Comparison, told: ToldChange[Difference]) -> str:
    opening = comparison.new.protocol.opening(told.change.decision) or ()
    if any(answer_word(candidate.answer) in opening for candidate in told.change.after.candidates):
        return gettext("A referral ends: the layers are reached.")
    return gettext("A referral ends.")


def part_words(share: Fraction) -> str:
    """A part of all combinations in per cent, never rounded to nothing or to all of them."""
    tenths = (share * 1000 + Fraction(1, 2)).__floor__()
    if not share:
        return gettext("{part} (single values)").format(part=_per_cent("0"))
    if share < Fraction(1, 1000):
        return gettext("less than {part}").format(part=_per_cent("0.1"))
    if Fraction(999, 1000) < share < 1:
        return gettext("more than {part}").format(part=_per_cent("99.9"))
    whole = (share * 100 + Fraction(1, 2)).__floor__()
    if 10 <= whole <= 99 or tenths % 10 == 0:
        return _per_cent(str(whole))
    return _per_cent(f"{tenths // 10}.{tenths % 10}")


def _per_cent(number: str) -> str:
    return gettext("{number}%").format(number=decimal_words(number))


def part_of_cases(number: int, cases: int) -> str:
    """So many of the past cases."""
    words = ngettext("{number} of {count} case", "{number} of {count} cases", cases)
    return words.format(number=number, count=cases)
