"""Answers and what a decision comes to, as plain values ready for JSON: in replies, bundles and lists of changes."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from liningbook.compare.safety import Loss
from liningbook.meaning.decide import Advice, Outcome
from liningbook.model.rule import Amount, Answer
from liningbook.notation.codec import range_notation


def answer_json(answer: Answer) -> Any:
    """An answer as the sources would write it."""
    if answer.kind == "none":
        return "none"
    if answer.kind == "choice":
        return answer.name
    if answer.kind == "judgement":
        return {"judgement": answer.why}
    found: dict[str, Any] = {"agent": answer.name}
    if answer.thickness:
        found["thickness"] = amount_json(answer.thickness)
    if answer.coats is not None:
        found["coats"] = answer.coats
    if answer.place:
        found["place"] = answer.place
    if answer.wait:
        found["wait"] = str(answer.wait)
    for key, other in (("before", answer.before), ("after", answer.after)):
        if other:
            found[key] = other
    return found


def amount_json(amount: Amount) -> dict[str, str]:
    """A layer's thickness in the notation of the sources."""
    return range_notation(amount.range, amount.unit)


def outcome_json(outcome: Outcome) -> dict[str, Any]:
    """What a decision comes to, as in `case --format json` and in the bundle's tables."""
    found: dict[str, Any] = {"state": outcome.state}
    candidates = [{"answer": answer_json(c.answer), "rules": list(c.rules)} for c in outcome.candidates]
    if outcome.state == "conflict":
        found["answers"] = candidates
    elif candidates:
        found.update(candidates[0])
    if outcome.warnings:
        found["avoided_by"] = [{"agent": agent, "rule": rule} for agent, rule in outcome.warnings]
    if outcome.clashes:
        found["entries"] = list(outcome.clashes)
    return found


def said_json(outcome: Outcome) -> dict[str, Any]:
    """What is said, whichever rules say it: state and answer, in a conflict the answers."""
    told = outcome_json(outcome)
    if "answers" in told:
        return {"state": outcome.state, "answers": [{"answer": entry["answer"]} for entry in told["answers"]]}
    return {key: told[key] for key in ("state", "answer") if key in told}


def case_json(case: Mapping[str, str], advice: Advice) -> dict[str, Any]:
    """The object that `case --format json` prints."""
    found: dict[str, Any] = {
        "case": dict(case),
        "in_scope": advice.excluded is None,
        "advice": {name: outcome_json(outcome) for name, outcome in advice.outcomes.items()},
        "silent": {name: list(outcome.silent) for name, outcome in advice.outcomes.items() if outcome.silent},
        "placing_order": list(advice.placing_order),
    }
    if advice.excluded is not None:
        found["because"] = advice.excluded.because
        found["instead"] = advice.excluded.instead
    return found


def loss_about(loss: Loss) -> dict[str, Any]:
    """What safety is lost, without the cases."""
    about: dict[str, dict[str, Any]] = {
        "referral": {"layers": list(loss.layers)},
        "judgement": {"layers": list(loss.layers)},
        "protection": {"irritant": loss.name},
        "never": {"agent": loss.name, "rules": list(loss.rules)},
    }
    return {"kind": loss.kind, **({"decision": loss.decision} if loss.decision else {}), **about[loss.kind]}
