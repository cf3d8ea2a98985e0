"""The outcomes of the study tables with all that belongs side by side: figures, judgements, what they give."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from liningbook.evidence.grade import GradeStep, explain
from liningbook.evidence.synthesis.result import Synthesis
from liningbook.evidence.table import OutcomeTable, StudyTable


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


def weighed(outcome: OutcomeTable, synthesis: Synthesis) -> Weighed:
    """An outcome beside what was computed of it."""
    judged = [{name: one.level for name, one in part.items()} for part in (outcome.lowered, outcome.raised)]
    steps = explain(outcome.design, *judged) if outcome.design else ()
    return Weighed(outcome, synthesis, steps)


@dataclass(frozen=True)
class WeighedTable:
    """A study table with its outcomes, by their names."""

    table: StudyTable
    outcomes: Mapping[str, Weighed]
