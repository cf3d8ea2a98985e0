"""What differs between two versions, as terminal, change sheet, protocol and page show it: plain data."""

from __future__ import annotations

from dataclasses import dataclass

from liningbook.say.cases import line_words
from liningbook.show.views.pieces import Labelled


@dataclass(frozen=True)
class NoteGroup:
    """Differences of one kind by which no case is treated differently; each on one line."""

    heading: str
    lines: tuple[str, ...]


@dataclass(frozen=True)
class Where:
    """A set of cases: what a chart would show of it first, then what else must hold."""

    main: tuple[Labelled, ...]
    further: tuple[Labelled, ...]

    @property
    def line(self) -> str:
        """All of it on one line."""
        return line_words([(one.label, one.text) for one in (*self.main, *self.further)])


@dataclass(frozen=True)
class ChangeView:
    """One change. `where` are its sets of cases, by what sets them apart; rules are given by title and name."""

    number: int
    decision: str
    before: str
    after: str
    where: tuple[Where, ...]
    example: str
    rules_before: tuple[str, ...]
    rules_after: tuple[str, ...]
    effects: tuple[str, ...]
    share: str
    following: tuple[str, ...] = ()
    """Changes that only follow from this one, counted."""
    loses: bool = False
    """Whether safety is lost."""

    @property
    def cases(self) -> tuple[str, ...]:
        """Its sets of cases, each on one line."""
        return tuple(one.line for one in self.where)


@dataclass(frozen=True, kw_only=True)
class ChangeRow(ChangeView):
    """One change as a page shows it. Tones are those of a chart's cell."""

    tone_before: str
    tone_after: str
    is_fault: bool
    """Whether there is no single answer now."""
    is_exception: bool = False
    """Whether it stands outside the chart, with no safety lost and one answer."""


@dataclass(frozen=True)
class ChangesPage:
    """All that is said of two versions: for review, or since the last edition. `old` is the edition of the first."""

    old: str
    summary: tuple[str, ...]
    faults: tuple[NoteGroup, ...]
    rows: tuple[ChangeRow, ...]
    notes: tuple[NoteGroup, ...]
    past: tuple[str, ...] = ()
    edition: str = ""
    """What the next edition may be called, and why."""
    first: tuple[NoteGroup, ...] = ()
    """What stands before all else: the errors of the new version, the safety that is lost."""

    @property
    def unsettled(self) -> tuple[str, ...]:
        """The numbers of the changes that leave no single answer."""
        return tuple(str(row.number) for row in self.rows if row.is_fault)
