"""`liningbook compare`: two versions, by which cases they treat differently."""

from __future__ import annotations

import argparse
from collections import deque
from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from liningbook.cli.common import (
    FOUND,
    CannotDo,
    chosen_day,
    epoch,
    opened_table,
)
from liningbook.cli.terminal import columns, complain, complain_at_length, print_json, say
from liningbook.cli.writing import check_places, write_all, write_table
from liningbook.compare.comparison import Comparison
from liningbook.exchange.uncommitted import Uncommitted
from liningbook.exchange.versions import (
    NoVersion,
    UnsoundVersion,
    Version,
    compare_versions,
    read_version,
    uncommitted_edits,
)
from liningbook.finding import Finding
from liningbook.say.catalogue import speaking
from liningbook.say.command import stops, usage

if TYPE_CHECKING:
    from liningbook.compare.past_cases import PastCases, PastRow


def run(options: argparse.Namespace) -> int:
    """Prints what differs; exits 0 whenever both versions could be read."""
    day = chosen_day(options.on)
    if options.out is not None and options.cases is None:
        raise CannotDo(usage.OUT_NEEDS_CASES)
    if options.words is not None and options.cases is None:
        raise CannotDo(usage.WORDS_NEED_CASES)
    named = [Path(where) for where in (options.old, options.new)]
    read = [path for path in (options.cases, options.words, *named) if path is not None and path.is_file()]
    folders = [path for path in (options.repo, *named) if path is not None and path.is_dir()]
    check_places((options.out, options.chart, options.sheet), read, folders)
    old, new = (version_of(where, day, options.repo) for where in (options.old, options.new))
    comparison = compare_versions(old, new, day)
    for version in (old, new):
        if version.caution:
            complain(stops.complaint(stops.OF_FILE.format(name=version.where, what=version.caution)))
    past = None if options.cases is None else _count(comparison, options.cases, options.words, options.out)
    beside = Beside(past, _errors_of(new, day), uncommitted_edits((old, new), options.repo))
    with speaking(new.protocol.language):
        files = _files(options, comparison, old, new, beside)
    write_all(files)
    _print(options.format, comparison, old, new, day, beside)
    return 0


class Beside(NamedTuple):
    """What is told of two versions beside what differs: past cases, the errors of the new one, edits not committed."""

    past: PastCases | None
    errors: Sequence[Finding]
    edits: Uncommitted | None


def version_of(where: str, day: date, repository: Path | None) -> Version:
    """The version that a call names. Stops with the reason, or with the findings, if it cannot be read."""
    from liningbook.show.terminal.report import findings_text

    try:
        return read_version(where, day, repository)
    except NoVersion as no:
        raise CannotDo(str(no)) from None
    except UnsoundVersion as broken:
        analysis = broken.analysis
        complain_at_length(lambda width: findings_text(analysis, width=width))
        raise CannotDo(stops.VERSION_CANNOT_BE_READ.format(where=where), FOUND) from None


def _print(form: str, comparison: Comparison, old: Version, new: Version, day: date, beside: Beside) -> None:
    from liningbook.exchange.changes_json import changes_json
    from liningbook.say.safety import STANDING_CAUTIONS
    from liningbook.show.changes.changes_view import changes_view
    from liningbook.show.terminal.changes_text import changes_markdown, changes_text

    past, errors, edits = beside
    if form == "json":
        found = changes_json(comparison, old.where, new.where, day, past, errors, edits)
        print_json({**found, "errors": len(errors)})
        return
    cautions = (*new.protocol.cautions, *STANDING_CAUTIONS)
    view = changes_view(comparison, old.where, new.where, past, cautions, errors, edits)
    if form == "text":
        say(changes_text(view, columns()))
    else:
        say(changes_markdown(view), "markup")


def _errors_of(version: Version, day: date) -> Sequence[Finding]:
    """The errors that a check of a version finds: a reviewer must not take it for sound."""
    from liningbook.checks.inquiry import Inquiry
    from liningbook.checks.registry import CHECKS, run_all
    from liningbook.finding import Severity
    from liningbook.meaning.meaning import Meaning

    checks = [check for check in CHECKS if check.severity is Severity.ERROR]
    found = run_all(Inquiry(Meaning(version.protocol, day)), checks)
    return [finding for finding in found if finding.severity is Severity.ERROR]


def _files(
    options: argparse.Namespace, comparison: Comparison, old: Version, new: Version, beside: Beside
) -> dict[Path, bytes]:
    """The drawing and the sheet, where they are asked for."""
    files: dict[Path, bytes] = {}
    if options.chart is not None:
        from liningbook.show.paper.changes_picture import changes_picture

        drawing = changes_picture(comparison)
        if drawing is None:
            raise CannotDo(stops.NO_CHART_TO_COMPARE)
        files[options.chart] = drawing.encode()
    if options.sheet is not None:
        from liningbook.outputs.cannot import CannotMake, worded
        from liningbook.show.paper.changes_sheet import changes_sheet

        try:
            with worded():
                files[options.sheet] = changes_sheet(
                    comparison, old.where, new.where, beside.past, epoch(), beside.errors, beside.edits
                )
        except CannotMake as no:
            raise CannotDo(str(no), FOUND) from None
    return files


def _count(comparison: Comparison, table: Path, words: Path | None, out: Path | None) -> PastCases:
    """The past cases of a table, counted; the rows that change, and those that cannot be used, written to `out`."""
    from liningbook.cli.words import form_of
    from liningbook.compare.past_cases import PastCases, past_cases

    tally = PastCases()
    with opened_table(table) as rows:
        form = form_of(words, rows, comparison.space, comparison.new_protocol.language)
        taken = past_cases(comparison, rows, tally, form)
        if out is not None:
            write_table(out, _lines(comparison, taken, tally.header), rows)
        else:
            deque(taken, maxlen=0)
    return tally


def _lines(comparison: Comparison, rows: Iterable[PastRow], header: list[str]) -> Iterator[list[str]]:
    """A line for each decision that changes in a row, and one for each row that is in doubt or cannot be used."""
    from liningbook.cases.many_cases import doubts
    from liningbook.say.changes.treatment import outcome_words
    from liningbook.say.faults import reason_words

    yield ["row", *header, "decision", "before", "after", "depends", "outside_limits", "problem"]
    for row in rows:
        doubt = doubts(row.doubtful, reason_words)
        if row.problem is not None or (doubt and not row.changed):
            problem = "" if row.problem is None else reason_words(row.problem)
            yield [str(row.number), *row.fields, "", "", "", "", doubt, problem]
        for treated in row.changed:
            before = outcome_words(comparison.old.protocol, treated.decision, treated.before)
            after = outcome_words(comparison.new.protocol, treated.decision, treated.after)
            depends = "yes" if row.depends else "no"
            yield [str(row.number), *row.fields, treated.decision, before, after, depends, doubt, ""]
