"""Outcomes of study tables with all that belongs side by side: figures, judgements, what they give, questions."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from liningbook.evidence.grade import GradeStep, RatingUp
from liningbook.evidence.overall import outcome_steps
from liningbook.evidence.questioning import OpenQuestion, questions
from liningbook.evidence.synthesis.concluded import Conclusion, concluded
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
    questions: tuple[OpenQuestion, ...] = ()
    """What the figures ask of the judgements."""

    @property
    def level(self) -> str:
        """The certainty that the judgements give; nothing where no design is stated."""
        return self.steps[-1].level if self.steps else ""

    @property
    def conclusion(self) -> Conclusion | None:
        """What the interval of the pooled effect says; nothing where there is none."""
        return concluded(self.outcome, self.synthesis)

    @property
    def decides(self) -> tuple[str, ...]:
        """The studies without any one of which the conclusion would be another."""
        return tuple(one.study for one in self.synthesis.leave_one_out if one.decides)


@dataclass(frozen=True)
class WeighedTable:
    """A study table with its outcomes, by their names."""

    table: StudyTable
    outcomes: Mapping[str, Weighed]


def weigh(outcome: OutcomeTable, rating_up: RatingUp = "current", titles: Mapping[str, str] | None = None) -> Weighed:
    """An outcome with everything that is computed of it; `titles` are those of the studies. Needs scipy."""
    synthesis = synthesise(outcome)
    return Weighed(outcome, synthesis, outcome_steps(outcome, rating_up), questions(outcome, synthesis, titles))


def weighed_in(protocol: Protocol, outcome: OutcomeTable) -> Weighed:
    """An outcome as a protocol looks at it: with the titles of its references, and as it counts what raises."""
    titles = {key: str(entry.data.get("title", "")) for key, entry in protocol.references.items()}
    return weigh(outcome, protocol.rating_up, titles)


def weighed_tables(protocol: Protocol) -> tuple[WeighedTable, ...]:
    """Every study table of a protocol. Needs scipy."""
    return tuple(
        WeighedTable(table, {name: weighed_in(protocol, outcome) for name, outcome in table.outcomes.items()})
        for table in protocol.tables.values()
    )
