"""A study table as plain data: the question, and of each outcome the effect, its plot and how its grade came about."""

from __future__ import annotations

from dataclasses import dataclass

from liningbook.show.views.evidence.forest import Forest
from liningbook.show.views.pieces import Labelled, RuleLink


@dataclass(frozen=True)
class DomainRow:
    """A judgement on one domain: `lowered by 1 for imprecision`, the author's sentence, what the figures say."""

    judged: str
    because: str
    figures: str


@dataclass(frozen=True)
class OutcomeView:
    """One outcome. `forest` is None where no study has an effect; `nothing` then says so.

    `absolute` tells how many of 1000 have the event with the comparator and how many more or fewer with the treatment.
    """

    id: str
    anchor: str
    label: str
    importance: str
    effect: str
    """In words: `probably happens less often`."""
    relative: str
    """`Risk ratio 0.49 (0.34 to 0.70)`."""
    comparator: str
    absolute: str
    needed: str
    certainty: str
    graded: str
    """From where to where the certainty went."""
    domains: tuple[DomainRow, ...]
    people: str
    numbers: tuple[int, ...]
    """Of the studies in the reference list; `cites` has them in runs. None where the list is not shown."""
    cites: tuple[tuple[int, ...], ...]
    forest: Forest | None
    nothing: str = ""


@dataclass(frozen=True)
class EvidenceTable:
    """A study table; `title` says what is compared. `rules` are those that rest on it. Anchors are safe as HTML ids."""

    id: str
    number: int
    anchor: str
    title: str
    question: tuple[Labelled, ...]
    outcomes: tuple[OutcomeView, ...]
    rules: tuple[RuleLink, ...] = ()

    @property
    def has_absolute(self) -> bool:
        """Whether any outcome has an effect in people."""
        return any(outcome.absolute for outcome in self.outcomes)
