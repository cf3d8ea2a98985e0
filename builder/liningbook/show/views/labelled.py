"""A labelled line, as all views have it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Labelled:
    """A labelled line: `label` and `text`."""

    label: str
    text: str
