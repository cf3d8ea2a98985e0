"""What one more study would change: the figures, what they ask of the judgements, and the cases that rest on them.

Nothing is regraded: certainty and recommendation are the author's.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from liningbook.control.decided import RuleCases, cases_decided
from liningbook.control.weighed import Weighed, weighed_in
from liningbook.evidence.questioning import OpenQuestion
from liningbook.evidence.table import OutcomeTable, Study, StudyTable
from liningbook.meaning.meaning import Meaning


@dataclass(frozen=True)
class NewStudy:
    """A study beside the table that it is meant for: what is known without it and with it."""

    table: StudyTable
    study: Study
    before: Weighed
    after: Weighed
    rules: tuple[RuleCases, ...]
    """The rules that rest on the table, with the cases that each decides."""

    @property
    def asked(self) -> tuple[OpenQuestion, ...]:
        """What the figures ask with the study that they do not ask without it."""
        return _asked_by_one(self.after.questions, self.before.questions)

    @property
    def settled(self) -> tuple[OpenQuestion, ...]:
        """What the figures ask without the study that they no longer ask with it."""
        return _asked_by_one(self.before.questions, self.after.questions)

    @property
    def turns(self) -> bool:
        """Whether the conclusion is another with the study than without it."""
        return self.before.conclusion != self.after.conclusion


def arriving(meaning: Meaning, table: StudyTable, outcome: OutcomeTable, study: Study) -> NewStudy:
    """What a study would change that is new to an outcome of a table."""
    protocol = meaning.protocol
    larger = replace(outcome, studies=(*outcome.studies, study))
    resting = [rule for rule in protocol.rules.values() if any(name.id == table.id for name in rule.evidence.tables)]
    return NewStudy(
        table,
        study,
        weighed_in(protocol, outcome),
        weighed_in(protocol, larger),
        tuple(cases_decided(meaning, rule) for rule in resting),
    )


def _asked_by_one(questions: Sequence[OpenQuestion], others: Sequence[OpenQuestion]) -> tuple[OpenQuestion, ...]:
    """Of some questions, with their causes, what the others do not ask."""
    known = {(question.domain, cause.what) for question in others for cause in question.causes}
    found = (
        replace(one, causes=tuple(cause for cause in one.causes if (one.domain, cause.what) not in known))
        for one in questions
    )
    return tuple(question for question in found if question.causes)
