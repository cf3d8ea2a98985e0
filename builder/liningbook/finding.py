"""What the tool has to say: one finding, its place in the sources and the text around it.

Frozen data only; nothing here reads a file or knows what a rule is.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
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
class Label:
    """A second place that a finding speaks of, with a few words on why."""

    span: Span
    text: str


@dataclass(frozen=True)
class About:
    """What a fact is about, by the names that stand in JSON beside its cases; `case` is one that it names itself."""

    decision: str | None = None
    rules: tuple[str, ...] = ()
    further: Mapping[str, Any] = field(default_factory=dict)
    case: Mapping[str, str] | None = None


class Fact:
    """What is so, as values, places and cases and without words; every sort of finding has a type of its own.

    The words are made where they are shown, by `say.findings.told`.
    """

    span: Span
    """The place that it speaks of first."""

    def about(self) -> About:
        """The names that tell it from others of its kind."""
        return About()


@dataclass(frozen=True)
class Fault(Fact):
    """What is wrong in a source: a code, the values that its words need, and further places with a code each."""

    span: Span
    what: str
    given: Mapping[str, Any] = field(default_factory=dict)
    related: tuple[tuple[Span, str], ...] = ()


def fault(kind: str, span: Span, what: str, related: tuple[tuple[Span, str], ...] = (), **given: Any) -> Finding:
    """A finding that a source is wrong."""
    return Finding(kind, Severity.ERROR, "", span, fact=Fault(span, what, given, related))


@dataclass(frozen=True)
class Finding:
    """One thing that is wrong or worth knowing.

    `message` is one plain sentence. `cases` holds disjoint boxes and `witness` one case, both in the notation of
    the sources (plain values, ready for JSON). `extra` holds the further keys of its kind
    (`agent`, `irritant`, `entry`, `factor`, ...).
    """

    kind: str
    severity: Severity
    message: str
    span: Span
    label: str = ""
    related: tuple[Label, ...] = ()
    notes: tuple[str, ...] = ()
    help: tuple[str, ...] = ()
    decision: str | None = None
    rules: tuple[str, ...] = ()
    cases: tuple[Mapping[str, Any], ...] = ()
    witness: Mapping[str, str] | None = None
    extra: Mapping[str, Any] = field(default_factory=dict)
    accepted: bool = False
    mends: tuple[str, ...] = ()
    """What would mend it, in lines of words; those that begin with a blank go on with the one before."""
    fact: Fact | None = None

    @property
    def counts(self) -> bool:
        """Whether the finding still counts: an accepted one does not."""
        return not self.accepted

    def accept(self, note: str) -> Finding:
        """The same finding, looked at and accepted by the practice."""
        return replace(self, accepted=True, notes=(*self.notes, note))
