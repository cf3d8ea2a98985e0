"""A report of two versions as plain values: the JSON of the contract, and what more there is to say."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any, get_args

from liningbook.compare.comparison import Comparison, Difference, Exactly, four_decimals, key_of
from liningbook.compare.noting.note import Note, What
from liningbook.compare.past_cases import PastCases
from liningbook.compare.renames import Renamed
from liningbook.compare.safety import Loss
from liningbook.exchange.outcomes import loss_about, outcome_json
from liningbook.exchange.uncommitted import Uncommitted
from liningbook.finding import Finding
from liningbook.model.protocol import Protocol
from liningbook.say.faults import reason_words
from liningbook.say.findings import told as told_of

FORMAT = "liningbook-comparison"
VERSION = 1


def changes_json(
    comparison: Comparison,
    old: str,
    new: str,
    day: date,
    past: PastCases | None = None,
    errors: Sequence[Finding] = (),
    edits: Uncommitted | None = None,
) -> dict[str, Any]:
    """The object that `compare --format json` prints: changes by consequence, those that only follow last.

    `errors` are those of the new version, `edits` those that are not committed.
    """
    ranking = comparison.ranking
    found: dict[str, Any] = {
        "format": FORMAT,
        "version": VERSION,
        "old": _version(comparison.old_protocol, old),
        "new": _version(comparison.new_protocol, new),
        "on": day.isoformat(),
        "changes": [_change(comparison, d, part, past) for d in ranking.in_order for part in d.parts],
        "lost_safety": [_loss(comparison, loss) for loss in ranking.losses],
        "no_case_changed": comparison.no_case_changed,
        "share_changed": four_decimals(comparison.share_changed),
    }
    for key, state in (("gaps", "gap"), ("conflicts", "conflict")):
        found[key] = {
            "new": [_region(comparison, d.decision, d) for d in comparison.differences if d.opens(state)],
            "closed": [_region(comparison, d.decision, d) for d in comparison.differences if d.closes(state)],
        }
    found["renamed"] = [_renamed(renamed) for renamed in comparison.renamed]
    found["factors"] = {
        "added": [factor.id for factor in comparison.added],
        "removed": [factor.id for factor in comparison.gone],
    }
    for what in get_args(What):
        found[what] = [_note(note) for note in comparison.notes if note.what == what]
    found["new_errors"] = [{"kind": error.kind, "message": told_of(error).message} for error in errors]
    found["uncommitted"] = list(edits.files) if edits is not None else []
    found["edition_step"] = {"step": comparison.largest_step, "suggested": comparison.suggested_edition}
    if past is not None:
        found["past_cases"] = _past(past)
    return found


def _version(protocol: Protocol, where: str) -> dict[str, str]:
    return {"from": where, "title": protocol.title, "edition": protocol.edition, "status": protocol.status}


def _loss(comparison: Comparison, loss: Loss) -> dict[str, Any]:
    return loss_about(loss) | {
        "cases": [comparison.space.notation(box) for box in loss.region],
        "witness": dict(comparison.space.witness(loss.region.boxes[0])),
        "share": four_decimals(comparison.share_of(loss.region)),
    }


def _change(comparison: Comparison, difference: Difference, part: Exactly, past: PastCases | None) -> dict[str, Any]:
    effects = part.effects
    found: dict[str, Any] = {
        **part_json(comparison, difference.decision, part),
        "effects": {
            "protection_added": list(effects.gained),
            "protection_removed": list(effects.lost),
            **{key: getattr(effects, key) or "same" for key in ("layer", "referral", "judgement", "cover", "grade")},
        },
    }
    lost = comparison.ranking.lost_by(difference, part.pieces)
    if lost:
        found["lost_safety"] = list(dict.fromkeys(loss.kind for loss in lost))
    causes = comparison.ranking.causes_of(difference)
    if causes:
        found["follows_from"] = list(dict.fromkeys(cause.decision for cause in causes))
    if past is not None:
        group = past.groups.get(key_of(difference.decision, difference.before, difference.after))
        found["past"] = {"rows": group.rows, "cases": group.cases} if group else {"rows": 0, "cases": 0}
    return found


def part_json(comparison: Comparison, decision: str, part: Exactly) -> dict[str, Any]:
    """The cases that are treated differently in one way, and how they are treated before and after."""
    return {
        **_region(comparison, decision, part),
        "before": outcome_json(part.before),
        "after": outcome_json(part.after),
        "share": four_decimals(part.share),
    }


def _region(comparison: Comparison, decision: str, cases: Difference | Exactly) -> dict[str, Any]:
    return {
        "decision": decision,
        "cases": [comparison.space.notation(box) for box in cases.region],
        "witness": dict(cases.witness),
    }


def _renamed(renamed: Renamed) -> dict[str, str]:
    found = {"kind": renamed.kind, "before": renamed.before, "after": renamed.after}
    return {**found, "of": renamed.within} if renamed.within else found


def _note(note: Note) -> dict[str, str]:
    field = f"{note.field}, {note.under}" if note.under else note.field
    found = {"kind": note.kind, "name": note.name, "field": field, "before": str(note.before), "after": str(note.after)}
    return {key: value for key, value in {**found, "grade": note.grade}.items() if value}


def _past(past: PastCases) -> dict[str, Any]:
    return {
        "rows": past.rows,
        "cases": past.cases,
        "changed": {"rows": past.changed_rows, "cases": past.changed_cases},
        "depends": {"rows": past.depends_rows, "cases": past.depends_cases, "on": list(past.depends_on)},
        "outside_limits": {"rows": past.doubtful},
        "unusable": {
            "rows": past.unusable,
            "listed": [{"row": n, "problem": reason_words(why)} for n, why in past.problems],
        },
        "groups": [
            {
                "decision": group.decision,
                "before": outcome_json(group.before),
                "after": outcome_json(group.after),
                "rows": group.rows,
                "cases": group.cases,
                "row_numbers": list(group.numbers),
            }
            for group in past.groups.values()
        ],
    }
