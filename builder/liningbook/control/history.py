"""How a rule came to say what it says: each change of its meaning, and who approved the edition that first held it.

Versions come in as arguments, with the commit that each stands in; nothing here knows where they come from. A change is
told by meaning, as two versions are compared; what only words changed is told apart.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

from liningbook.compare.comparison import Comparison, Exactly, compare
from liningbook.compare.noting.note import Note
from liningbook.meaning.decide import Outcome
from liningbook.model.protocol import Protocol
from liningbook.model.rule import Rule

What = Literal["written", "changed", "renamed", "words", "taken-out", "unreadable"]
"""What became of the rule; `words` is a change of wording alone."""

SAME_MEANING: tuple[What, ...] = ("words", "renamed")
"""Changes after which the rule means what it meant."""


@dataclass(frozen=True)
class Commit:
    """A commit: its name, who wrote and who committed it, and when that was, if it says so."""

    name: str
    author: str
    committer: str
    when: datetime | None

    def day(self, otherwise: date) -> date:
        """The day on which it was committed."""
        return self.when.date() if self.when is not None else otherwise


@dataclass(frozen=True)
class ApprovedAs:
    """An approval as it stands in a commit; `fits` says whether its digest, if it bears one, is that of the text."""

    name: str
    role: str
    on: date
    digest: str
    fits: bool | None


@dataclass(frozen=True)
class InForce:
    """An edition that is said to be in force in a commit.

    `since` is the first day on which it was, not before that of the commit; nothing where it cannot be told.
    """

    commit: Commit
    edition: str
    since: date | None
    approvals: tuple[ApprovedAs, ...]


@dataclass(frozen=True)
class Held:
    """The edition that first held the rule, as it was then, in force and approved.

    `unapproved` is the first before it that was said to be in force, but not approved as it was; `is_searched` is
    False where there were more commits than are looked at.
    """

    in_force: InForce | None = None
    unapproved: InForce | None = None
    is_searched: bool = True


@dataclass(frozen=True)
class AdvisedAnew:
    """Cases in which a decision comes to something else, and the rule is among those that decided or decide."""

    decision: str
    part: Exactly


@dataclass(frozen=True)
class Turn:
    """One commit in which the rule became another.

    `before` and `after` are the rule as it was and as it is, where there is one that can be read; `unread` says why the
    protocol of the commit cannot be, and `comparison` holds the two versions, where both can.
    """

    what: What
    commit: Commit
    name: str
    edition: str = ""
    status: str = ""
    before: Rule | None = None
    after: Rule | None = None
    old_name: str = ""
    notes: tuple[Note, ...] = ()
    treated: tuple[AdvisedAnew, ...] = ()
    comparison: Comparison | None = None
    protocol: Protocol | None = None
    """The protocol that holds `after`."""
    unread: str = ""
    held: Held = Held()


@dataclass(frozen=True)
class Became:
    """What became of a rule between two versions, of which the old one may be missing."""

    what: What
    notes: tuple[Note, ...]
    treated: tuple[AdvisedAnew, ...]
    comparison: Comparison | None


def change_of(before: Protocol | None, after: Protocol, old_name: str, name: str, day: date) -> Became:
    """What became of a rule that is called `name` now and was called `old_name`, empty if it was not there."""
    if before is None:
        return Became("written", (), (), None)
    comparison = compare(before, after, day)
    notes = tuple(note for note in comparison.notes if note.kind == "rule" and note.name == name)
    treated = tuple(
        AdvisedAnew(difference.decision, part)
        for difference in comparison.differences
        for part in difference.parts
        if old_name in _rules(part.before) or name in _rules(part.after)
    )
    kinds = {note.what for note in notes}
    if not old_name:
        return Became("written", (), treated, comparison)
    if kinds - {"words"}:  # where the rule itself advises as before, what else changed is not its doing
        return Became("changed", notes, treated if kinds & {"rules", "dates"} else (), comparison)
    return Became("renamed" if old_name != name else "words", notes, (), comparison)


def _rules(outcome: Outcome) -> Sequence[str]:
    return [rule for candidate in outcome.candidates for rule in candidate.rules]
