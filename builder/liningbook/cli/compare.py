"""`liningbook compare`: two versions, by which cases they treat differently."""

from __future__ import annotations

import argparse
import os
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from liningbook.cli.common import (
    FOUND,
    CannotDo,
    beside,
    check_writable,
    chosen_day,
    complain,
    epoch,
    os_words,
    print_json,
    say,
    write_all,
)
from liningbook.compare.comparison import Comparison
from liningbook.compare.versions import Broken, NoVersion, Version, compare_versions, read_version

if TYPE_CHECKING:
    from liningbook.compare.past_cases import PastCases, PastRow

SOURCES = (".md", ".yaml", ".yml", ".json", ".bib")
"""The endings of a protocol's own files."""


def run(options: argparse.Namespace) -> int:
    """Prints what differs; exits 0 whenever both versions could be read."""
    day = chosen_day(options.on)
    if options.out is not None and options.cases is None:
        raise CannotDo("--out is where the rows of a table of cases are written; name the table with --cases")
    _check_places(options)
    old, new = (version_of(where, day, options.repo) for where in (options.old, options.new))
    comparison = compare_versions(old, new, day)
    for version in (old, new):
        if version.caution:
            complain(f"liningbook: {version.where}: {version.caution}\n")
    past = None
    if options.cases is not None:
        past = _count(comparison, options.cases, options.out)
    _write_files(options, comparison, old, new, past)
    _print(options, comparison, old, new, day, past)
    return 0


def version_of(where: str, day: date, repository: Path | None) -> Version:
    """The version that a call names. Stops with the reason, or with the findings, if it cannot be read."""
    from liningbook.rendering.report import findings_text

    try:
        return read_version(where, day, repository)
    except NoVersion as no:
        raise CannotDo(str(no)) from None
    except Broken as broken:
        complain(findings_text(broken.analysis))
        raise CannotDo(f"the protocol of {where} cannot be read", FOUND) from None


def _print(
    options: argparse.Namespace, comparison: Comparison, old: Version, new: Version, day: date, past: PastCases | None
) -> None:
    from liningbook.rendering.changes_json import changes_json
    from liningbook.rendering.changes_text import changes_markdown, changes_text
    from liningbook.rendering.changes_view import changes_view
    from liningbook.safety import STANDING_CAUTIONS

    if options.format == "json":
        found = changes_json(comparison, old.where, new.where, day, past)
        print_json({**found, "errors": _errors_of(new, day)})
        return
    cautions = (*new.protocol.cautions, *STANDING_CAUTIONS)
    view = changes_view(comparison, old.where, new.where, past, cautions, _errors_of(new, day))
    say(changes_text(view) if options.format == "text" else changes_markdown(view))


def _errors_of(version: Version, day: date) -> int:
    """How many errors a check of a version finds: a reviewer must not take it for sound."""
    from liningbook.checks.inquiry import Inquiry
    from liningbook.checks.registry import CHECKS, ON_LATER_DAYS
    from liningbook.checks.validity import later
    from liningbook.finding import Severity
    from liningbook.logic.meaning import Meaning

    inquiry = Inquiry(Meaning(version.protocol, day))
    checks = [check for check in CHECKS if check.severity is Severity.ERROR]
    found = [finding for check in checks for finding in inquiry.settled(check.kind, check.severity, check.run)]
    lasting = [check for check in checks if check.kind in ON_LATER_DAYS]
    found += inquiry.settled(
        "expiring",
        Severity.WARNING,
        lambda now: later(now, lambda then: (f for check in lasting for f in check.run(then))),
    )
    return sum(finding.severity is Severity.ERROR for finding in found)


def _write_files(
    options: argparse.Namespace, comparison: Comparison, old: Version, new: Version, past: PastCases | None
) -> None:
    """The drawing and the sheet, where they are asked for."""
    files: dict[Path, bytes] = {}
    if options.chart is not None:
        from liningbook.rendering.changes_chart import changes_chart

        drawing = changes_chart(comparison)
        if drawing is None:
            raise CannotDo("--chart draws bands of a quantity against a choice, and this protocol lacks one of them")
        files[options.chart] = drawing.encode()
    if options.sheet is not None:
        from liningbook.rendering.changes_sheet import changes_sheet
        from liningbook.rendering.make import CannotMake

        try:
            files[options.sheet] = changes_sheet(comparison, old.where, new.where, past, epoch())
        except CannotMake as no:
            raise CannotDo(str(no), FOUND) from None
    write_all(files)


def _check_places(options: argparse.Namespace) -> None:
    """Stops where a file to be written is one that is read, a source, or another file to be written."""
    read = [options.cases] if options.cases else []
    read += [Path(where) for where in (options.old, options.new) if os.path.isfile(where)]
    taken = {os.path.realpath(path) for path in read}
    folders = [os.path.realpath(where) for where in (options.old, options.new) if os.path.isdir(where)]
    for place in (options.out, options.chart, options.sheet):
        if place is None:
            continue
        real = Path(os.path.realpath(place))
        is_source = any(real.is_relative_to(folder) for folder in folders) and real.suffix in SOURCES
        if is_source or str(real) in taken:
            raise CannotDo(f"{place} is a source, or is written twice; choose another file to write into", FOUND)
        if real.is_dir():
            raise CannotDo(f"{place} is a folder, where a file is to be written", FOUND)
        for folder in folders:
            check_writable(real.parent, Path(folder))
        taken.add(str(real))


def _count(comparison: Comparison, table: Path, out: Path | None) -> PastCases:
    """The past cases of a table, counted; the rows that change, and those that cannot be used, written to `out`."""
    from liningbook.compare.past_cases import PastCases, past_cases
    from liningbook.reading.csv_rows import CannotRead, open_rows, to_bytes

    tally = PastCases()
    try:
        with table.open("rb") as source:
            rows = open_rows(source)
            taken = past_cases(comparison, rows, tally)
            if out is None:
                for _ in taken:
                    pass
                return tally
            out.parent.mkdir(parents=True, exist_ok=True)
            new = beside(out, "new")
            try:
                with new.open("wb") as target:
                    target.writelines(to_bytes(_lines(comparison, taken, tally), rows))
                new.replace(out)
            finally:
                new.unlink(missing_ok=True)
    except CannotRead as no:
        raise CannotDo(f"{table}: {no}") from None
    except OSError as error:
        raise CannotDo(os_words(error), FOUND) from None
    return tally


def _lines(comparison: Comparison, rows: Iterator[PastRow], tally: PastCases) -> Iterator[list[str]]:
    """A line for each decision that changes in a row, and one for each row that cannot be used."""
    from liningbook.rendering.changes_view import outcome_words

    first = next(rows, None)
    yield ["row", *tally.header, "decision", "before", "after", "depends", "problem"]
    while first is not None:
        row, first = first, next(rows, None)
        if row.problem:
            yield [str(row.number), *row.fields, "", "", "", "", row.problem]
        for treated in row.changed:
            before = outcome_words(comparison.old.protocol, treated.decision, treated.before)
            after = outcome_words(comparison.new.protocol, treated.decision, treated.after)
            depends = "yes" if row.depends else "no"
            yield [str(row.number), *row.fields, treated.decision, before, after, depends, ""]
