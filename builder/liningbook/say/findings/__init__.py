"""The words of findings: one function a type of fact, one module a family of kinds.

They are said in the language spoken, since a draft prints them; those of wrong sources (`say/faults`) in English alone.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from liningbook.checks.facts import Dated, Unsettled
from liningbook.checks.kinds import conflicts, gaps, layers, overrides, reach, references, validity
from liningbook.checks.kinds.asked_first import NothingAsked, ScreensUsual, Unscreened
from liningbook.checks.kinds.coming import AdvisedOtherwise, FailsThen
from liningbook.checks.kinds.graded import questioned, stated, strong
from liningbook.checks.kinds.indistinct import Indistinct
from liningbook.checks.kinds.placing import CoversLess, NotKept, TooLate
from liningbook.checks.kinds.protection import LessProtection, Unprotected
from liningbook.checks.kinds.sources import CutText, NotRead
from liningbook.checks.kinds.vignettes import VignetteFails
from liningbook.finding import Fact, Fault, Finding
from liningbook.model.protocol import Acceptance
from liningbook.say.catalogue import gettext
from liningbook.say.faults import fault_told
from liningbook.say.findings import (
    coming,
    editions,
    files,
    grades,
    judgements,
    materials,
    placing,
    questions,
    rules,
    tables,
    works,
)
from liningbook.say.findings.cases import more_time
from liningbook.say.locale import day_words
from liningbook.say.told import Told


def told(finding: Finding) -> Told:
    """Message, labels, notes and help of a finding, in the language spoken, with why it is, or was, accepted."""
    said = WORDS[type(finding.fact)](finding.fact)
    if finding.lapsed:
        return said._replace(notes=(*said.notes, *map(_lapsed_words, finding.lapsed)))
    if not finding.accepted:
        return said
    return said._replace(notes=(*said.notes, "; ".join(_accepted_words(entry) for entry in finding.accepted)))


def _accepted_words(entry: Acceptance) -> str:
    """`accepted by B. Reed: It seals itself. (until 1 September 2027)`."""
    if entry.by:
        words = gettext("accepted by {name}: {reason}").format(name=entry.by, reason=entry.because)
    else:
        words = gettext("accepted: {reason}").format(reason=entry.because)
    return gettext("{words} (until {day})").format(words=words, day=day_words(entry.until)) if entry.until else words


def _lapsed_words(entry: Acceptance) -> str:
    """`accepted until 1 October 2026 by B. Reed`."""
    until = day_words(entry.until) if entry.until else ""
    if entry.by:
        return gettext("accepted until {day} by {name}").format(day=until, name=entry.by)
    return gettext("accepted until {day}").format(day=until)


def _dated(fact: Dated) -> Told:
    said = WORDS[type(fact.fact)](fact.fact)
    message = gettext("from {day} on: {message}").format(day=day_words(fact.day), message=said.message)
    return said._replace(message=message, notes=(*said.notes, gettext("a rule starts or ends on that day")))


def _unsettled(fact: Unsettled) -> Told:
    message = gettext("whether there is more of this kind takes too long to settle")
    return Told(message, help=(more_time(fact.limit),))


WORDS: dict[type[Fact], Callable[[Any], Told]] = {
    Fault: fault_told,
    Dated: _dated,
    Unsettled: _unsettled,
    conflicts.Conflict: rules.conflict,
    conflicts.Duplicate: rules.duplicate,
    conflicts.NotListed: rules.not_listed,
    gaps.Gap: rules.gap,
    validity.Expiring: rules.expiring,
    reach.Unreachable: rules.unreachable,
    reach.PerhapsUnreachable: rules.perhaps_unreachable,
    overrides.AvoidOverridden: rules.avoid_overridden,
    overrides.IdleOverride: rules.idle_override,
    overrides.WeakerOverridesStronger: rules.weaker_overrides_stronger,
    layers.Contraindicated: materials.contraindicated,
    layers.Clash: materials.clash,
    Unprotected: materials.unprotected,
    LessProtection: materials.less_protection,
    CoversLess: placing.covers_less,
    TooLate: placing.too_late,
    NotKept: placing.not_kept,
    Indistinct: materials.indistinct,
    stated.CertaintyMismatch: grades.certainty_mismatch,
    stated.TablesMismatch: judgements.tables_mismatch,
    stated.NothingCritical: judgements.nothing_critical,
    stated.OutcomeMismatch: judgements.outcome_mismatch,
    stated.OutcomeUngraded: judgements.outcome_ungraded,
    stated.OutcomeWithoutDesign: judgements.outcome_without_design,
    stated.LevelMismatch: grades.level_mismatch,
    stated.MovedWrongly: judgements.moved_wrongly,
    strong.StrongOnWeak: grades.strong_on_weak,
    strong.NotTheSituation: judgements.not_the_situation,
    questioned.OutcomeQuestioned: questions.outcome_questioned,
    questioned.NotFromPatients: questions.not_from_patients,
    questioned.ExceptionDoubted: questions.exception_doubted,
    questioned.SituationDoubted: questions.situation_doubted,
    references.UnknownReference: grades.unknown_reference,
    references.Uncited: grades.uncited,
    references.UnusedReference: grades.unused_reference,
    references.UnusedTable: tables.unused_table,
    references.BadIdentifier: works.bad_identifier,
    references.SameWorkTwice: works.same_work_twice,
    references.RetractedReference: works.retracted_reference,
    references.ReviewOverdue: grades.review_overdue,
    VignetteFails: grades.vignette,
    AdvisedOtherwise: coming.advised_otherwise,
    FailsThen: coming.fails_then,
    NotRead: files.not_read,
    CutText: files.cut_text,
    NothingAsked: editions.nothing_asked,
    Unscreened: editions.unscreened,
    ScreensUsual: editions.screens_usual,
    validity.Standing: editions.standing,
    validity.ChangedSince: editions.changed_since,
}
"""What is said of each type of fact."""
