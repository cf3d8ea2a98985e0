"""The history of a rule as plain values for JSON."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from liningbook.control.history import AdvisedAnew, ApprovedAs, Commit, InForce, Turn
from liningbook.exchange.changes_json import part_json
from liningbook.model.rule import Evidence, Rule


def history_json(
    rule: str, place: str, turns: Iterable[Turn], looked_at: int, is_whole: bool, is_edited: bool, former: Sequence[str]
) -> dict[str, Any]:
    """Every change, the newest first.

    `is_whole` says whether no older commit was left out, `is_edited` whether the file has edits that are not committed;
    `former` are the folders in which the protocol lay before, the newest first.
    """
    return {
        "rule": rule,
        "place": place,
        "commits": looked_at,
        "complete": is_whole,
        "uncommitted": is_edited,
        "former_folders": list(former),
        "history": [_turn(turn) for turn in turns],
    }


def _turn(turn: Turn) -> dict[str, Any]:
    found: dict[str, Any] = {
        "change": turn.what,
        "rule": turn.name,
        **_commit(turn.commit),
        "edition": turn.edition,
        "status": turn.status,
    }
    if turn.old_name:
        found["called_before"] = turn.old_name
    if turn.unread:
        found["unreadable"] = turn.unread
    if turn.after is not None:
        found["fields"] = [
            {"field": note.field, "before": str(note.before), "after": str(note.after), "group": note.what}
            | ({"grade": note.grade} if note.grade else {})
            for note in turn.notes
        ]
        found["advice"] = [_treated(turn, treated) for treated in turn.treated]
        found["before"], found["after"] = (
            None if rule is None else _rests_on(rule) for rule in (turn.before, turn.after)
        )
        held = turn.held
        found["in_force"] = None if held.in_force is None else _in_force(held.in_force)
        found["in_force_unapproved"] = None if held.unapproved is None else _in_force(held.unapproved)
        found["in_force_searched"] = held.is_searched
    return found


def _commit(commit: Commit) -> dict[str, Any]:
    when = None if commit.when is None else commit.when.isoformat()
    return {"commit": commit.name, "on": when, "author": commit.author, "committer": commit.committer}


def _treated(turn: Turn, treated: AdvisedAnew) -> dict[str, Any]:
    assert turn.comparison is not None
    return part_json(turn.comparison, treated.decision, treated.part)


def _rests_on(rule: Rule) -> dict[str, Any]:
    """The grade, and what is cited."""
    evidence = rule.evidence
    return {"grade": _grade(evidence), "cites": [name.id for name in evidence.cites]}


def _grade(evidence: Evidence) -> dict[str, Any]:
    found: dict[str, Any] = {
        "basis": evidence.basis,
        "certainty": evidence.certainty,
        "strength": evidence.strength,
        "level": evidence.level,
        "lowered": dict(evidence.lowered),
        "raised": dict(evidence.raised),
        "adjusted": evidence.adjusted.to if evidence.adjusted else None,
    }
    return {key: value for key, value in found.items() if value not in (None, {})}


def _in_force(held: InForce) -> dict[str, Any]:
    return {
        **_commit(held.commit),
        "edition": held.edition,
        "from": held.since.isoformat() if held.since else None,
        "approved": [_approved(one) for one in held.approvals],
    }


def _approved(one: ApprovedAs) -> dict[str, Any]:
    found = {"name": one.name, "role": one.role, "on": one.on.isoformat()}
    return found | ({"digest": one.digest, "of_this_text": one.fits} if one.digest else {})
