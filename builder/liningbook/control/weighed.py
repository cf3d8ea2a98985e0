"""Outcomes of study tables with all that belongs side by side: the figures, the judgements, and what these give."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from liningbook.evidence.grade import GradeStep, RatingUp
from liningbook.evidence.overall import outcome_steps
from liningbook.evidence.synthesis.result import Synthesis
from liningbook.evidence.synthesis.synthesise import synthesise
from liningbook.evidence.table import OutcomeTable, StudyTable
from liningbook.model.protocol import Protocol


@dataclass(frozen=True)
class Weighed:
    """One outcome: what was read, what is computed of its studies, and how its certainty comes about."""

    outcome: OutcomeTable
    synthesis: Synthesis
    steps: tuple[GradeStep, ...] = ()
    """None where no design is stated."""

    @property
    def level(self) -> str:
        """The certainty that the judgements give; nothing where no design is stated."""
        return self.steps[-1].level if self.steps else ""

    @property
    def decides(self) -> tuple[str, ...]:
        """The studies without any one of which the conclusion would be another."""
        return tuple(one.study for one in self.synthesis.leave_one_out if one.decides)


@dataclass(frozen=True)
class WeighedTable:
    """A study table with its outcomes, by their names."""

    table: StudyTable
    outcomes: Mapping[str, Weighed]


def weigh(outcome: OutcomeTable, rating_up: RatingUp = "current") -> Weighed:
    """An outcome of a protocol with everything that is computed of it. Needs scipy."""
    return Weighed(outcome, synthesise(outcome), outcome_steps(outcome, rating_up))


def weighed_tables(protocol: Protocol) -> tuple[WeighedTable, ...]:
    """Every study table of a protocol. Needs scipy."""
    return tuple(
        WeighedTable(table, {name: weigh(outcome, protocol.rating_up) for name, outcome in table.outcomes.items()})
        for table in protocol.tables.values()
    )
