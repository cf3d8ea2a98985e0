"""What an author says of how the protocol was made, a text a topic."""

from __future__ import annotations

from dataclasses import dataclass

from liningbook.finding import Span


@dataclass(frozen=True)
class Stated:
    """A text about one topic, or why there is nothing to say; one of the two is empty."""

    text: str
    not_applicable: str
    span: Span
