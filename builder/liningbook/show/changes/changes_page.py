"""What differs between two versions, as the sheet for the meeting, the protocol and the page show it."""

from __future__ import annotations

from collections.abc import Sequence

from liningbook.compare.comparison import Comparison
from liningbook.compare.past_cases import PastCases
from liningbook.exchange.uncommitted import Uncommitted
from liningbook.finding import Finding
from liningbook.meaning.chart import Outcomes
from liningbook.meaning.decide import Outcome
from liningbook.show.changes.changes_view import changes_view
from liningbook.show.views.case_words import CaseWords
from liningbook.show.views.cell_view import CellWords
from liningbook.show.views.changed import ChangeRow, ChangesPage


def changes_page(
    comparison: Comparison,
    past: PastCases | None = None,
    errors: Sequence[Finding] = (),
    uncommitted: Uncommitted | None = None,
) -> ChangesPage:
    """The words for a comparison; no place where the versions were found is named."""
    view = changes_view(comparison, "", "", past, (), errors, uncommitted)
    cells = [
        CellWords(Outcomes(meaning), CaseWords(meaning, meaning.space.full), tuple(meaning.protocol.decisions))
        for meaning in (comparison.old, comparison.new)
    ]
    rows = []
    for one, told in zip(view.changes, comparison.ranking.told, strict=True):
        difference = told.change
        before = _tone(cells[0], difference.decision, difference.before)
        after = _tone(cells[1], difference.decision, difference.after)
        is_exception = comparison.ranking.is_exception(told)
        rows.append(ChangeRow(**vars(one), tone_before=before, tone_after=after, is_fault=after == "fault",
                              is_exception=is_exception))  # fmt: skip
    edition = comparison.old_protocol.edition
    return ChangesPage(edition, view.summary, view.faults, tuple(rows), view.notes, view.past, view.edition, view.first)


def _tone(words: CellWords, name: str, outcome: Outcome) -> str:
    decision = words.protocol.decisions.get(name)
    if decision is None or outcome.state == "out-of-scope":
        return "out"
    return "nothing" if outcome.state == "not-needed" else words.tone(decision, outcome)
