"""Where an edition stands on a day: whether its advice is the one to follow."""

from __future__ import annotations

from datetime import date
from typing import Literal

from liningbook.model.protocol import Protocol

EditionState = Literal["in-force", "draft", "withdrawn", "expired", "not-yet-in-force"]


def edition_state(protocol: Protocol, day: date) -> EditionState:
    """The state of an edition on a day; its rules are taken to be those of the same day."""
    if protocol.status != "in-force":
        return protocol.status
    if day > protocol.review_by.on:
        return "expired"
    return "not-yet-in-force" if protocol.in_force_from and day < protocol.in_force_from else "in-force"
