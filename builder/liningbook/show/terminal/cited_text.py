"""What rests on a work, as text for a terminal."""

from __future__ import annotations

from collections.abc import Iterator

from liningbook.control.cited import CitedWork, Decided, Portion
from liningbook.finding import Span
from liningbook.meaning.meaning import Meaning
from liningbook.say.cases import box_words, full_stop
from liningbook.say.changes.treatment import part_words
from liningbook.say.command import cited as say
from liningbook.say.locale import both
from liningbook.say.references import format_reference, retraction_words
from liningbook.say.report import as_sentence, place_words
from liningbook.show.terminal.lines import USUAL, wrapped

MOST_SETS = 20
"""So many sets of cases of one decision are listed."""


def cited_text(meaning: Meaning, work: CitedWork, width: int = USUAL) -> str:
    """The work, whether it was retracted, what rests on it, and the cases that this decides."""
    lines = wrapped(format_reference(work.reference.data), width, f"{work.reference.id}  ", "    ")
    for said in _retracted(work):
        lines += wrapped(as_sentence(said), width, "    ")
    if work.also:
        lines += wrapped(as_sentence(say.ALSO.format(keys=both(work.also))), width, "    ")
    lines += ["", say.RESTING, ""]
    found = list(_resting(work))
    for text in found:
        lines += wrapped(text, width, "  ", "    ")
    if not found:
        lines += wrapped(full_stop(as_sentence(say.NOTHING)), width, "  ")
    lines += ["", say.CASES, ""]
    for decided in work.decisions:
        lines += _decided(meaning, decided, width)
    if not work.decisions:
        lines += wrapped(full_stop(as_sentence(say.NO_CASES)), width, "  ")
    return "".join(f"{line}\n" for line in lines)


def _retracted(work: CitedWork) -> Iterator[str]:
    if work.retraction is not None:
        listed = work.retraction.listed
        yield say.LISTED.format(file=listed[0], row=listed[1]) if listed else retraction_words(work.retraction)
    elif work.is_asked:
        yield say.IS_ASKED


def _resting(work: CitedWork) -> Iterator[str]:
    for rule, name in work.resting.rules:
        yield _at(_in_force(work, say.RULE.format(title=rule.title), rule.id), name.span)
    for rule, names in work.resting.through:
        told = say.BY_TABLE.format(title=rule.title, tables=both([name.id for name in names]))
        yield _at(_in_force(work, told, rule.id), names[0].span)
    for table, number, name in work.resting.entries:
        yield _at(say.ENTRY.format(number=number + 1, table=table), name.span)
    for study_table, outcome, study in work.resting.studies:
        said = say.STUDY.format(table=study_table.id, outcome=outcome.label)
        yield _at(said, study.places["study"])


def _in_force(work: CitedWork, said: str, rule: str) -> str:
    return said if any(one.id == rule for one in work.in_force) else say.NOT_IN_FORCE.format(rule=said)


def _at(what: str, span: Span) -> str:
    return say.AT.format(what=what, place=place_words(span.file, span.line))


def _decided(meaning: Meaning, decided: Decided, width: int) -> list[str]:
    label = meaning.protocol.decisions[decided.decision].label
    if decided.advises.region is None or decided.only.region is None:
        return wrapped(full_stop(as_sentence(say.UNSETTLED.format(decision=label))), width, "  ")
    if decided.advises.region:
        head = say.ADVISES.format(decision=label, part=_share(decided.advises))
        lines = [*wrapped(head + ":", width, "  "), *_sets(meaning, decided.advises, width)]
    else:
        lines = wrapped(full_stop(as_sentence(say.NEVER_ADVISES.format(decision=label))), width, "  ")
    if decided.only.region:
        lines += wrapped(as_sentence(say.ONLY.format(part=_share(decided.only))), width, "  ")
        lines += _sets(meaning, decided.only, width)
    return lines


def _share(part: Portion) -> str:
    return part_words(part.share) if part.share is not None else ""


def _sets(meaning: Meaning, part: Portion, width: int) -> Iterator[str]:
    boxes = part.region.boxes if part.region is not None else ()
    for box in boxes[:MOST_SETS]:
        yield from wrapped(box_words(meaning.protocol.factors, meaning.space.notation(box)), width, "    - ")
    if len(boxes) > MOST_SETS:
        yield from wrapped(as_sentence(say.MORE.format(number=len(boxes) - MOST_SETS)), width, "      ")
