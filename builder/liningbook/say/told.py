"""What is said of one finding."""

from __future__ import annotations

from typing import NamedTuple

from liningbook.finding import Span


class Told(NamedTuple):
    """One plain sentence, and what stands below it.

    `label` is said at the place of the finding, `related` at further places; `notes` are facts, `help` what to change.
    `example` is the one of the notes that names one case in full, for whoever says that case in another way; `ways`
    are the ways out, each beginning with "or" but for the first, where `help` has them in several lines.
    """

    message: str
    label: str = ""
    related: tuple[tuple[Span, str], ...] = ()
    notes: tuple[str, ...] = ()
    help: tuple[str, ...] = ()
    example: str = ""
    ways: tuple[str, ...] = ()
