"""What a change does: to the protection of the pulp, to who decides, to the grade behind the advice.

All of it is read off the two outcomes and the protocol's own table of materials; nothing is judged here.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from liningbook.evidence import grade
from liningbook.meaning.decide import NOT_NEEDED, Outcome
from liningbook.meaning.difference import OUT_OF_SCOPE
from liningbook.meaning.layers import stops
from liningbook.meaning.rules import answer_word
from liningbook.model.protocol import Protocol
from liningbook.model.rule import Answer, Evidence

Step = Literal["starts", "ends", ""]
Grade = Literal["stronger", "weaker", "other", "mixed", ""]

STRENGTHS = ("conditional", "strong")
"""From the weaker to the stronger."""

NOT_ASKED = (NOT_NEEDED.state, OUT_OF_SCOPE.state)
"""The states in which there is nothing to protect."""


@dataclass(frozen=True)
class Effects:
    """What a change does.

    `gained` and `lost` are irritants that the layer of this decision stops now and did not before, or the reverse, by
    the table of each version; nothing is gained in cases that were stopped or not covered before. `layer` says whether
    a layer is now placed where none was, or the reverse. `referral` says whether an answer under which nothing is
    placed starts or ends; `judgement` whether the clinician decides.
    """

    gained: tuple[str, ...] = ()
    lost: tuple[str, ...] = ()
    layer: Step = ""
    referral: Step = ""
    judgement: Step = ""
    cover: Step = ""
    """Whether the protocol covers these cases now, or no longer."""
    grade: Grade = ""


def effects_of(old: Protocol, new: Protocol, decision: str, before: Outcome, after: Outcome) -> Effects:
    """The effects of a decision's coming to `after` instead of `before`."""
    first, second = _answer(before), _answer(after)
    irritants = [name for name in new.irritants if name in old.irritants]
    kept = {name for name in irritants if first is not None and stops(old, first, name)}
    stopped = {name for name in irritants if second is not None and stops(new, second, name)}
    return Effects(
        gained=tuple(name for name in irritants if name in stopped - kept and before.state not in NOT_ASKED),
        lost=tuple(name for name in irritants if name in kept - stopped),
        layer=_step(_is(first, "layer"), _is(second, "layer")),
        referral=_step(_refers(old, decision, before), _refers(new, decision, after)),
        judgement=_step(_is(first, "judgement"), _is(second, "judgement")),
        cover=_step(before != OUT_OF_SCOPE, after != OUT_OF_SCOPE),
        grade=_grade(old, new, before, after),
    )


def together(parts: Sequence[Effects]) -> Effects:
    """The effects of a change with the same answers everywhere; its grades may not change everywhere in one way."""
    grades = {effects.grade for effects in parts}
    return parts[0] if len(grades) == 1 else replace(parts[0], grade="mixed")


def _step(before: bool, after: bool) -> Step:
    if before == after:
        return ""
    return "starts" if after else "ends"


def _answer(outcome: Outcome) -> Answer | None:
    """The one answer, whatever is wrong with it; none in a conflict or where there is none."""
    return outcome.candidates[0].answer if len(outcome.candidates) == 1 else None


def _is(answer: Answer | None, kind: str) -> bool:
    return answer is not None and answer.kind == kind


def _refers(protocol: Protocol, decision: str, outcome: Outcome) -> bool:
    """Whether an answer leads away from the layers although other answers to the decision lead to them."""
    answer = _answer(outcome)
    if answer is None or answer.kind != "choice":
        return False
    opening = protocol.opening(decision)
    return opening is not None and answer_word(answer) not in opening


def _grade(old: Protocol, new: Protocol, before: Outcome, after: Outcome) -> Grade:
    """How the best grade behind the one answer after compares with that before."""
    if old.scheme != new.scheme or before.state != "answered" or after.state != "answered":
        return ""
    first = [_rank(old.rules[name].evidence) for name in before.candidates[0].rules]
    second = [_rank(new.rules[name].evidence) for name in after.candidates[0].rules]
    ranked, others = [rank for rank in first if rank is not None], [rank for rank in second if rank is not None]
    if not ranked or not others:
        bases = {old.rules[name].evidence.basis for name in before.candidates[0].rules}
        return "" if bases == {new.rules[name].evidence.basis for name in after.candidates[0].rules} else "other"
    return compared(max(ranked), max(others))


def compared(before: tuple[int, ...], after: tuple[int, ...]) -> Grade:
    """Whether a grade is stronger in one thing and weaker in none, or the reverse."""
    if before == after:
        return ""
    if all(a >= b for a, b in zip(after, before, strict=True)):
        return "stronger"
    return "weaker" if all(a <= b for a, b in zip(after, before, strict=True)) else "other"


def _rank(evidence: Evidence) -> tuple[int, ...] | None:
    """Strength and certainty (or level) as numbers that grow with both; nothing where it does not rest on research."""
    if evidence.basis != "research":
        return None
    if evidence.level is not None:
        return (-(evidence.adjusted.to if evidence.adjusted else evidence.level),)
    strength = STRENGTHS.index(evidence.strength) if evidence.strength in STRENGTHS else -1
    certainty = grade.LEVELS.index(evidence.certainty) if evidence.certainty in grade.LEVELS else -1
    return (strength, certainty)


def grade_step(before: Evidence, after: Evidence) -> Grade:
    """How the grade of a rule changed."""
    first, second = _rank(before), _rank(after)
    if first is None or second is None:
        return "" if before.basis == after.basis else "other"
    return compared(first, second) if len(first) == len(second) else "other"
