"""What differs between two versions, in words and in reading order: for the terminal, a comment, a sheet, a page."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from liningbook.compare.comparison import Comparison, Difference, key_of
from liningbook.compare.past_cases import PastCases
from liningbook.say.cases import box_words, line_words, value_words
from liningbook.say.changes.notes import note_groups
from liningbook.say.changes.report import new_errors, version_words
from liningbook.say.changes.summary import (
    decision_label,
    edition_words,
    gaps_and_conflicts,
    past_words,
    summary_words,
)
from liningbook.say.changes.treatment import effect_words, outcome_words, part_of_cases, part_words, rule_titles
from liningbook.show.views.changed import ChangeView, NoteGroup


@dataclass(frozen=True)
class ChangesView:
    """Everything that a report of two versions says. `faults` are new and closed gaps and conflicts."""

    title: str
    practice: str
    old: str
    new: str
    summary: tuple[str, ...]
    changes: tuple[ChangeView, ...]
    faults: tuple[NoteGroup, ...]
    notes: tuple[NoteGroup, ...]
    past: tuple[str, ...]
    edition: str
    cautions: tuple[str, ...] = ()


def changes_view(
    comparison: Comparison,
    old: str,
    new: str,
    past: PastCases | None = None,
    cautions: Iterable[str] = (),
    errors: int = 0,
) -> ChangesView:
    """The words for a comparison. `old` and `new` are what the user called the versions; `past` are counted cases.

    `errors` is how many errors a check of the new version finds.
    """
    before, after = comparison.old_protocol, comparison.new_protocol
    return ChangesView(
        title=after.title,
        practice=after.practice,
        old=version_words(before.edition, old),
        new=version_words(after.edition, new),
        summary=(*([new_errors(errors)] if errors else []), *summary_words(comparison, past)),
        changes=tuple(_change(comparison, n, one, past) for n, one in enumerate(comparison.differences, 1)),
        faults=tuple(NoteGroup(*group) for group in gaps_and_conflicts(comparison)),
        notes=tuple(NoteGroup(*group) for group in note_groups(comparison)),
        past=tuple(past_words(comparison, past)) if past else (),
        edition=edition_words(comparison),
        cautions=tuple(cautions),
    )


def _change(comparison: Comparison, number: int, change: Difference, past: PastCases | None) -> ChangeView:
    old, new = comparison.old.protocol, comparison.new.protocol
    boxes = [comparison.space.notation(box) for box in change.region]
    group = past.groups.get(key_of(change.decision, change.before, change.after)) if past is not None else None
    return ChangeView(
        number=number,
        decision=decision_label(comparison, change.decision),
        before=outcome_words(old, change.decision, change.before),
        after=outcome_words(new, change.decision, change.after),
        cases=tuple(box_words(new.factors, box) for box in boxes),
        example=line_words([(f.label, value_words(f, change.witness[name])) for name, f in new.factors.items()]),
        rules_before=rule_titles(comparison.old_protocol, change.before),
        rules_after=rule_titles(comparison.new_protocol, change.after),
        effects=tuple(effect_words(comparison, change.effects)),
        share=part_words(change.share) if past is None else part_of_cases(group.cases if group else 0, past.cases),
    )
