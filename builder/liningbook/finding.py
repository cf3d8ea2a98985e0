"""What the tool has to say: one finding, its place in the sources, and the fact that it rests on.

Frozen data only; nothing here reads a file or knows what a rule is. The words are made where they are shown, by
`say.findings.told`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from typing import Any


class Severity(StrEnum):
    """How much a finding matters; only an error stops a build."""

    ERROR = "error"
    WARNING = "warning"
    NOTE = "note"


@dataclass(frozen=True, order=True)
class Span:
    """A stretch of one source file.

    `file` is relative to the protocol folder, with `/`. Lines and columns count from 1, columns in
    characters; the end is the first position after the text.
    """

    file: str
    line: int
    column: int
    end_line: int
    end_column: int


@dataclass(frozen=True)
class About:
    """What a fact is about, by the names that stand in JSON beside its cases.

    `further` holds the keys of its kind (`agent`, `irritant`, `entry`, ...), `on` the later day that it speaks of and
    `case` a described case that it names. Only the first `telling` of the rules tell two facts apart, if it is given;
    the others are those that happen to advise.
    """

    decision: str | None = None
    rules: tuple[str, ...] = ()
    further: Mapping[str, Any] = field(default_factory=dict)
    on: date | None = None
    case: Mapping[str, str] | None = None
    telling: int | None = None


@dataclass(frozen=True)
class Fact:
    """What is so, as values, places and regions of cases; every sort of finding has a type of its own."""

    span: Span
    """The place that it speaks of first."""

    def about(self) -> About:
        """The names that tell it from others of its kind."""
        return About()


@dataclass(frozen=True)
class Fault(Fact):
    """What is wrong in a source: a code, the values that its words need, and further places with a code each."""

    what: str
    given: Mapping[str, Any] = field(default_factory=dict)
    related: tuple[tuple[Span, str], ...] = ()


class Refused(Exception):
    """Why something cannot be used, where no finding can say so: a code, and the values that its words need."""

    def __init__(self, what: str, **given: Any) -> None:
        super().__init__(what)
        self.what, self.given = what, given


class RefusedAs(Refused):
    """Why a text of a source cannot be used: the kind of the finding that it would be, a code, and values."""

    def __init__(self, kind: str, what: str, **given: Any) -> None:
        super().__init__(what, **given)
        self.kind = kind


@dataclass(frozen=True)
class Finding:
    """One thing that is wrong or worth knowing, and what the checks as a whole make of it."""

    kind: str
    severity: Severity
    fact: Fact
    group: str = ""
    """What findings that most likely have one cause share; nothing for one that stands alone."""
    accepted: tuple[Any, ...] = ()
    """The entries by which the practice accepts it (`model.protocol.Acceptance`)."""
    lapsed: tuple[Any, ...] = ()
    """The entries by which it was accepted until a day that is past."""
    mends: tuple[Any, ...] | None = None
    """What would mend it (`mending.Mend`), if that was tried out."""

    @property
    def span(self) -> Span:
        """The place that it speaks of first."""
        return self.fact.span

    @property
    def counts(self) -> bool:
        """Whether the finding still counts: an accepted one does not."""
        return not self.accepted


def fault(kind: str, span: Span, what: str, related: tuple[tuple[Span, str], ...] = (), **given: Any) -> Finding:
    """A finding that a source is wrong."""
    return Finding(kind, Severity.ERROR, Fault(span, what, given, related))
