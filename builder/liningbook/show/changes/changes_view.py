"""What differs between two versions, in words and in reading order: for the terminal, a comment, a sheet, a page."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from liningbook.compare.comparison import Comparison, Difference, key_of
from liningbook.compare.past_cases import PastCases
from liningbook.compare.ranking import ToldChange
from liningbook.compare.safety import Loss
from liningbook.exchange.uncommitted import Uncommitted
from liningbook.finding import Finding
from liningbook.say.cases import alternatives, line_words, value_words
from liningbook.say.changes.notes import note_groups, note_words, to_look_at
from liningbook.say.changes.report import version_words
from liningbook.say.changes.safety import (
    error_words,
    errors_found,
    following_words,
    further_errors,
    further_files,
    loss_line,
    loss_words,
    lost_safety,
    not_committed,
    vignettes_fail,
)
from liningbook.say.changes.summary import (
    decision_label,
    edition_words,
    gaps_and_conflicts,
    older_approval,
    past_words,
    summary_words,
)
from liningbook.say.changes.treatment import effect_words, outcome_words, part_of_cases, part_words, rule_titles
from liningbook.say.changes.where import set_line, set_parts
from liningbook.say.findings import told as finding_told
from liningbook.show.views.changed import ChangeView, NoteGroup, Where
from liningbook.show.views.pieces import Labelled
from liningbook.space.boxes import Box

MOST_ERRORS = 12
"""So many errors of the new version are listed; the rest is counted."""

MOST_SETS = 3
"""So many sets of cases of a loss are told; the rest is counted."""

MOST_FILES = 8
"""So many files with edits are named."""


@dataclass(frozen=True)
class ChangesView:
    """Everything that a report of two versions says. `faults` are new and closed gaps and conflicts.

    `first` stands before all else: the safety that is lost, the errors of the new version, edits that are left out, an
    approval that is older, and what a person must look at.
    """

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
    first: tuple[NoteGroup, ...] = ()


def changes_view(
    comparison: Comparison,
    old: str,
    new: str,
    past: PastCases | None = None,
    cautions: Iterable[str] = (),
    errors: Sequence[Finding] = (),
    uncommitted: Uncommitted | None = None,
) -> ChangesView:
    """The words for a comparison. `old` and `new` are what the user called the versions; `past` are counted cases.

    `errors` are those that a check of the new version finds.
    """
    before, after = comparison.old_protocol, comparison.new_protocol
    told = comparison.ranking.told
    return ChangesView(
        title=after.title,
        practice=after.practice,
        old=version_words(before.edition, old),
        new=version_words(after.edition, new),
        summary=tuple(summary_words(comparison, past)),
        changes=tuple(_change(comparison, number, one, past) for number, one in enumerate(told, 1)),
        faults=tuple(NoteGroup(*group) for group in gaps_and_conflicts(comparison)),
        notes=tuple(NoteGroup(*group) for group in note_groups(comparison)),
        past=tuple(past_words(comparison, past)) if past else (),
        edition=edition_words(comparison),
        cautions=tuple(cautions),
        first=tuple(_first(comparison, errors, uncommitted)),
    )


def _first(comparison: Comparison, errors: Sequence[Finding], uncommitted: Uncommitted | None) -> Iterator[NoteGroup]:
    lost = tuple(_loss(comparison, loss) for loss in comparison.ranking.losses)
    lost += tuple(note_words(note) for note in comparison.lost_words)
    if lost:
        yield NoteGroup(lost_safety(), lost)
    failing = [finding for finding in errors if finding.kind == "vignette"]
    others = [finding for finding in errors if finding.kind != "vignette"]
    for findings, heading in ((failing, vignettes_fail), (others, errors_found)):
        if findings:
            listed = [error_words(finding_told(finding).message, finding.kind) for finding in findings[:MOST_ERRORS]]
            if len(findings) > MOST_ERRORS:
                listed.append(further_errors(len(findings) - MOST_ERRORS))
            yield NoteGroup(heading(len(findings)), tuple(listed))
    if uncommitted is not None:
        files = (*uncommitted.files[:MOST_FILES], *further_files(len(uncommitted.files) - MOST_FILES))
        yield NoteGroup(not_committed(uncommitted.is_compared), files)
    if comparison.approval_is_older:
        yield NoteGroup(*older_approval(comparison))
    yield from (NoteGroup(*group) for group in to_look_at(comparison))


def _loss(comparison: Comparison, loss: Loss) -> str:
    boxes = comparison.covered(loss.region)
    numbers = [n for n, one in enumerate(comparison.ranking.told, 1) if any(loss is lost for lost in one.losses)]
    words = loss_words(comparison.old.protocol, comparison.new.protocol, loss)
    part = part_words(comparison.share_of(loss.region))
    listed = alternatives([set_line(comparison, box) for box in boxes[:MOST_SETS]])
    return loss_line(words, listed, max(len(boxes) - MOST_SETS, 0), part, numbers)


def _where(comparison: Comparison, box: Box) -> Where:
    main, further = (tuple(Labelled(*part) for part in parts) for parts in set_parts(comparison, box))
    return Where(main, further)


def _change(comparison: Comparison, number: int, told: ToldChange[Difference], past: PastCases | None) -> ChangeView:
    old, new, change = comparison.old.protocol, comparison.new.protocol, told.change
    group = past.groups.get(key_of(change.decision, change.before, change.after)) if past is not None else None
    labels = {one.decision: decision_label(comparison, one.decision) for one in comparison.differences}
    return ChangeView(
        number=number,
        decision=decision_label(comparison, change.decision),
        before=outcome_words(old, change.decision, change.before),
        after=outcome_words(new, change.decision, change.after),
        where=tuple(_where(comparison, box) for box in comparison.cases_of(change)),
        example=line_words([(f.label, value_words(f, change.witness[name])) for name, f in new.factors.items()]),
        rules_before=rule_titles(comparison.old_protocol, change.before),
        rules_after=rule_titles(comparison.new_protocol, change.after),
        effects=tuple(effect_words(comparison, told)),
        share=part_words(change.share) if past is None else part_of_cases(group.cases if group else 0, past.cases),
        following=tuple(following_words(labels, [(one.decision, one.before, one.after) for one in told.following])),
        loses=bool(told.losses),
    )
