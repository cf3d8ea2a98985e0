"""What stands first in a report: errors, edits left out, lost safety; and what only follows from a change."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from liningbook.compare.safety import Loss
from liningbook.meaning.decide import NOT_NEEDED, Outcome
from liningbook.meaning.difference import OUT_OF_SCOPE
from liningbook.model.protocol import Protocol
from liningbook.say.catalogue import gettext, ngettext
from liningbook.say.locale import both


def loss_words(old: Protocol, new: Protocol, loss: Loss) -> str:
    """What is lost, as a sentence; both protocols are over the joint space."""
    decision = old.decisions[loss.decision].label if loss.decision else ""
    layers = both([old.decisions[name].label for name in loss.layers]) if loss.layers else ""
    if loss.kind == "referral":
        return gettext("A referral ends: {decision} held back {layers}.").format(decision=decision, layers=layers)
    if loss.kind == "judgement":
        words = gettext("No longer left to the dentist: {decision} held back {layers}.")
        return words.format(decision=decision, layers=layers)
    if loss.kind == "protection":
        words = gettext("Protection is lost: {irritant} is live, and no layer stops it now, by the protocol's table.")
        return words.format(irritant=new.irritants[loss.name].label)
    agent = new.agents.get(loss.name)
    named = agent.label if agent is not None else new.decisions[loss.decision].answers[loss.name]
    return gettext("A “never” is gone: {answer} under {decision}.").format(answer=named, decision=decision)


def in_some_cases(words: str) -> str:
    """A loss by a change of which it takes in a part alone."""
    return gettext("In some of these cases: {words}").format(words=words)


def loss_line(words: str, cases: str, more: int, part: str, numbers: Sequence[int]) -> str:
    """A loss on one line: its cases (`more` further sets are counted), their part, the changes that bring it."""
    where = cases
    if more:
        where = ngettext(
            "{line} (and {count} further set of cases)", "{line} (and {count} further sets of cases)", more
        ).format(line=cases, count=more)
    line = gettext("{loss} Where: {cases}. Part of all combinations: {part}.").format(
        loss=words, cases=where, part=part
    )
    if not numbers:
        return gettext("{line} No change of advice goes with it.").format(line=line)
    by = ngettext("{line} See change {numbers}.", "{line} See changes {numbers}.", len(numbers))
    return by.format(line=line, numbers=both([str(number) for number in numbers]))


def following_words(labels: Mapping[str, str], following: Sequence[tuple[str, Outcome, Outcome]]) -> Iterator[str]:
    """What follows from a change, counted by what becomes of it. Each has its decision, before and after."""
    no_more: list[str] = []
    uncovered: list[str] = []
    newly: list[str] = []
    for decision, _, after in following:
        table = uncovered if after == OUT_OF_SCOPE else no_more if after == NOT_NEEDED else newly
        table.append(labels[decision])
    for table, words in (
        (newly, gettext("So newly needed: {decisions} ({changes}).")),
        (no_more, gettext("So no longer needed: {decisions} ({changes}).")),
        (uncovered, gettext("So no longer covered: {decisions} ({changes}).")),
    ):
        if table:
            yield words.format(decisions=both(list(dict.fromkeys(table))), changes=_counted(len(table)))


def _counted(number: int) -> str:
    words = ngettext("{count} change that follows, not listed", "{count} changes that follow, not listed", number)
    return words.format(count=number)


# --- what stands before all else --------------------------------------------------------------------------------------


def lost_safety() -> str:
    """The heading of what is lost."""
    return gettext("Lost safety: look at this first")


def errors_found(number: int) -> str:
    """That a check of the new version finds errors."""
    return ngettext(
        "The new version has {count} error and cannot be built",
        "The new version has {count} errors and cannot be built",
        number,
    ).format(count=number)


def vignettes_fail(number: int) -> str:
    """That vignettes do not get the advice that they must."""
    return ngettext(
        "In the new version {count} vignette fails", "In the new version {count} vignettes fail", number
    ).format(count=number)


def error_words(message: str, kind: str) -> str:
    """One error, with its kind as in the report of a check."""
    return gettext("{message} ({kind})").format(message=message, kind=kind)


def further_errors(number: int) -> str:
    """The errors that are only counted."""
    return ngettext(
        "and {count} further error: `liningbook check` has all",
        "and {count} further errors: `liningbook check` has all",
        number,
    ).format(count=number)


def not_committed(is_compared: bool) -> str:
    """That the folder on the disk is not as it was last committed."""
    if is_compared:
        return gettext("With edits that are not committed, in these files of the folder")
    return gettext("Left out: edits that are not committed, in these files of the folder")


def further_files(number: int) -> Iterator[str]:
    """The files that are only counted, if there are any."""
    if number > 0:
        yield ngettext("and {count} further file", "and {count} further files", number).format(count=number)
