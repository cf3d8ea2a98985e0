"""What differs between two versions, as the sheet for the meeting, the protocol and the page show it."""

from __future__ import annotations

from liningbook.compare.comparison import Comparison, Difference
from liningbook.compare.past_cases import PastCases
from liningbook.meaning.chart import Outcomes, choose_layout
from liningbook.meaning.decide import Outcome
from liningbook.meaning.meaning import Meaning
from liningbook.say.cases import case_parts
from liningbook.say.changes.treatment import part_of_combinations
from liningbook.show.changes.changes_view import ChangeView, changes_view
from liningbook.show.views.case_words import CaseWords
from liningbook.show.views.cell_view import CellWords
from liningbook.show.views.changed import ChangeRow, ChangesPage, Where
from liningbook.show.views.labelled import Labelled
from liningbook.space.boxes import Box


def changes_page(comparison: Comparison, past: PastCases | None = None) -> ChangesPage:
    """The words for a comparison; no place where the versions were found is named."""
    view = changes_view(comparison, "", "", past)
    layout = choose_layout(comparison.new)
    main = (layout.column_axis, layout.band_axis) if layout else ()
    cells = [_cells(meaning) for meaning in (comparison.old, comparison.new)]
    return ChangesPage(
        old=comparison.old_protocol.edition,
        summary=view.summary,
        faults=view.faults,
        rows=tuple(
            _row(
                comparison, one, difference, main, cells, part_of_combinations(one.share) if past is None else one.share
            )
            for one, difference in zip(view.changes, comparison.differences, strict=True)
        ),
        notes=view.notes,
        past=view.past,
        edition=view.edition,
    )


def _cells(meaning: Meaning) -> CellWords:
    return CellWords(Outcomes(meaning), CaseWords(meaning, meaning.space.full), tuple(meaning.protocol.decisions))


def _row(
    comparison: Comparison,
    one: ChangeView,
    difference: Difference,
    main: tuple[int, ...],
    cells: list[CellWords],
    share: str,
) -> ChangeRow:
    before, after = (
        _tone(words, difference.decision, outcome)
        for words, outcome in zip(cells, (difference.before, difference.after), strict=True)
    )
    return ChangeRow(
        number=one.number,
        decision=one.decision,
        before=one.before,
        after=one.after,
        tone_before=before,
        tone_after=after,
        where=tuple(_where(comparison, box, main) for box in difference.region),
        example=one.witness,
        rules_before=one.rules_before,
        rules_after=one.rules_after,
        effects=one.effects,
        share=share,
        is_fault=after == "fault",
    )


def _tone(words: CellWords, name: str, outcome: Outcome) -> str:
    decision = words.protocol.decisions.get(name)
    if decision is None or outcome.state == "out-of-scope":
        return "out"
    return "nothing" if outcome.state == "not-needed" else words.tone(decision, outcome)


def _where(comparison: Comparison, box: Box, main: tuple[int, ...]) -> Where:
    factors = comparison.new.protocol.factors
    notation = comparison.space.notation(box)
    first = [comparison.space.names[number] for number in main]
    parts = {name: case_parts(factors, {name: notation[name]})[0] for name in notation}
    return Where(
        tuple(Labelled(*parts[name]) for name in first if name in parts),
        tuple(Labelled(*part) for name, part in parts.items() if name not in first),
    )
