"""What the commands share: stopping with a reason, the day looked at, reading the protocol and tables."""

from __future__ import annotations

import argparse
import os
import re
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from liningbook.cli.terminal import complain, complain_at_length
from liningbook.say.command import stops, usage

if TYPE_CHECKING:
    from liningbook.analysis import Analysis
    from liningbook.meaning.meaning import Meaning
    from liningbook.sources.citations.retraction import RetractedList
    from liningbook.sources.csv_rows import Rows

FOUND = 1
"""Exit code: there are errors."""

UNUSABLE = 2
"""Exit code: there is no protocol, or the call is wrong."""


class CannotDo(Exception):
    """Why a command stops, in one line for the user, with its exit code."""

    def __init__(self, reason: str, code: int = UNUSABLE) -> None:
        super().__init__(reason)
        self.code = code


def os_words(error: OSError) -> str:
    """What the system refused, in one line."""
    what = error.strerror or str(error)
    return stops.OF_FILE.format(name=error.filename, what=what) if error.filename else what


@contextmanager
def _found() -> Iterator[None]:
    """Stops where there is no protocol."""
    from liningbook.say.faults import reason_words
    from liningbook.sources.documents import NoProtocol

    try:
        yield
    except NoProtocol as no:
        raise CannotDo(reason_words(no)) from None


@_found()
def read(options: argparse.Namespace, budget: float | None = None) -> Analysis:
    """The analysis of the protocol that a call names, on the day it names."""
    from liningbook.analysis import analyse

    listed = retracted(options)
    return _beyond_list(listed, analyse(options.protocol, chosen_day(options.on), budget, listed))


@_found()
def read_sound(options: argparse.Namespace) -> Meaning:
    """What the protocol says, for a command that answers questions; no check is run.

    Stops with the findings if a source is wrong.
    """
    from liningbook.analysis import understand

    listed = retracted(options)
    analysis = _beyond_list(listed, understand(options.protocol, chosen_day(options.on), listed))
    if analysis.meaning is None:
        from liningbook.show.terminal.report import findings_text

        complain_at_length(lambda width: findings_text(analysis, width=width))
        raise CannotDo(stops.CANNOT_BE_READ, FOUND)
    if passed_over := analysis.meaning.protocol.passed_over:
        complain(stops.complaint(stops.not_read(passed_over)))
    return analysis.meaning


def retracted(options: argparse.Namespace) -> RetractedList | None:
    """The list of `--retracted`, if one is given; rows that hold no DOI are told. Stops where it cannot be read."""
    table = getattr(options, "retracted", None)
    if table is None:
        return None
    from liningbook.say.faults import reason_words
    from liningbook.sources.citations.retraction import read_retracted
    from liningbook.sources.csv_rows import CannotRead

    try:
        with table.open("rb") as source:
            found = read_retracted(source, table.name)
    except CannotRead as no:
        raise CannotDo(stops.OF_FILE.format(name=table, what=reason_words(no))) from None
    except OSError as error:
        raise CannotDo(os_words(error)) from None
    for number, text in found.passed_over:
        complain(stops.complaint(stops.ROW.format(table=table, number=number, why=stops.NO_DOI.format(text=text))))
    if found.more:
        complain(stops.complaint(stops.MORE_WITHOUT_DOI.format(table=table, number=found.more)))
    return found


def _beyond_list(listed: RetractedList | None, analysis: Analysis) -> Analysis:
    """Tells of references that no list of DOIs can name, since they have none."""
    if listed is not None and analysis.protocol is not None:
        without = [key for key, entry in analysis.protocol.references.items() if not entry.data.get("DOI")]
        if without:
            complain(stops.complaint(stops.without_doi(listed.name, without)))
    return analysis


def chosen_day(text: str | None) -> date:
    """The day of `--on`, else that of SOURCE_DATE_EPOCH, else today (UTC)."""
    if text is not None:
        return day_of(text, usage.NO_DAY)
    seconds = epoch()
    return (datetime.now(UTC) if seconds is None else datetime.fromtimestamp(seconds, UTC)).date()


def day_of(text: str, otherwise: str) -> date:
    """The day that is written as YEAR-MONTH-DAY. Raises CannotDo with `otherwise`, where `{text}` stands for it."""
    try:
        if re.fullmatch("[0-9]{4}-[0-9]{2}-[0-9]{2}", text):
            return date.fromisoformat(text)
    except ValueError:
        pass  # no such day, such as 30 February
    raise CannotDo(otherwise.format(text=text))


def epoch() -> int | None:
    """The seconds of SOURCE_DATE_EPOCH (https://reproducible-builds.org/specs/source-date-epoch/), if it is set."""
    text = os.environ.get("SOURCE_DATE_EPOCH")
    if not text:
        return None
    try:
        if not re.fullmatch("-?[0-9]+", text):  # `int` reads the digits of every script, and blanks
            raise CannotDo(usage.BAD_EPOCH)
        datetime.fromtimestamp(int(text), UTC)
    except (ValueError, OverflowError, OSError):
        raise CannotDo(usage.BAD_EPOCH) from None
    return int(text)


@contextmanager
def opened_table(table: Path) -> Iterator[Rows]:
    """The rows of a table of cases. Stops where it cannot be read, or what is made of it cannot be written."""
    from liningbook.say.faults import reason_words
    from liningbook.sources.csv_rows import CannotRead, open_rows

    try:
        with table.open("rb") as source:
            yield open_rows(source)
    except CannotRead as no:
        raise CannotDo(stops.OF_FILE.format(name=table, what=reason_words(no))) from None
    except OSError as error:
        raise CannotDo(os_words(error), FOUND) from None
