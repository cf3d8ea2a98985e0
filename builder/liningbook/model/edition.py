"""Where an edition stands on a day: whether its advice is the one to follow, and on which days the same rules hold."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Literal

from liningbook.model.protocol import Approval, Protocol, Status

EditionState = Literal["in-force", "draft", "withdrawn", "expired", "not-yet-in-force"]


def edition_state(protocol: Protocol, day: date) -> EditionState:
    """The state of an edition on a day; its rules are taken to be those of the same day.

    See `status_held` for what it says of itself and is not.
    """
    status, first = status_held(protocol), protocol.in_force_from
    if status != "in-force":
        return status
    if day > protocol.review_by.on:
        return "expired"
    return "not-yet-in-force" if first is not None and day < first else status


def status_held(protocol: Protocol) -> Status:
    """The status of an edition as it is to be taken.

    One that nobody approved, that bears no first day or that has changed since it was approved is a draft, though it
    says that it is in force.
    """
    is_held = protocol.approved and protocol.in_force_from is not None and not outdated(protocol)
    return protocol.status if is_held or protocol.status != "in-force" else "draft"


def outdated(protocol: Protocol) -> tuple[Approval, ...]:
    """The approvals of something else than the sources say now; one without a digest is taken at its word."""
    return tuple(approval for approval in protocol.approved if approval.digest not in ("", protocol.sealed))


def days_of_rules(protocol: Protocol, day: date) -> tuple[date | None, date | None]:
    """The first and the last of the days around the one looked at on which the same rules hold; None is without end."""
    starts: list[date] = []
    ends: list[date] = []
    for rule in protocol.rules.values():
        if rule.valid_from is not None and rule.valid_from <= day:
            starts.append(rule.valid_from)
        elif rule.valid_from is not None:
            ends.append(rule.valid_from - timedelta(days=1))
        if rule.valid_until is not None and rule.valid_until < day:
            starts.append(rule.valid_until + timedelta(days=1))
        elif rule.valid_until is not None:
            ends.append(rule.valid_until)
    return max(starts, default=None), min(ends, default=None)


def days_of_use(protocol: Protocol, day: date) -> tuple[date | None, date]:
    """The first day (None if nothing says it) and the last on which what is made on a day may be used.

    The edition is in force, not past its review date, and its rules are those of the day.
    """
    first, last = days_of_rules(protocol, day)
    starts = [start for start in (protocol.in_force_from, first) if start is not None]
    return max(starts, default=None), min(protocol.review_by.on, last or date.max)
