"""What the commands share: stopping with a reason, the day looked at, reading the protocol, writing whole files."""

from __future__ import annotations

import argparse
import os
import re
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from liningbook.cli.terminal import complain
from liningbook.say.command import stops, usage

if TYPE_CHECKING:
    from liningbook.analysis import Analysis
    from liningbook.meaning.meaning import Meaning
    from liningbook.sources.csv_rows import Rows

FOUND = 1
"""Exit code: there are errors."""

UNUSABLE = 2
"""Exit code: there is no protocol, or the call is wrong."""

SOURCES = (".md", ".yaml", ".yml", ".json", ".bib")
"""The endings of a protocol's own files."""


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

    return analyse(options.protocol, chosen_day(options.on), budget)


@_found()
def read_sound(options: argparse.Namespace) -> Meaning:
    """What the protocol says, for a command that answers questions; no check is run.

    Stops with the findings if a source is wrong.
    """
    from liningbook.analysis import understand

    analysis = understand(options.protocol, chosen_day(options.on))
    if analysis.meaning is None:
        from liningbook.show.terminal.report import findings_text

        complain(findings_text(analysis))
        raise CannotDo(stops.CANNOT_BE_READ, FOUND)
    return analysis.meaning


def chosen_day(text: str | None) -> date:
    """The day of `--on`, else that of SOURCE_DATE_EPOCH, else today (UTC)."""
    if text is not None:
        try:
            if re.fullmatch("[0-9]{4}-[0-9]{2}-[0-9]{2}", text):
                return date.fromisoformat(text)
        except ValueError:
            pass  # no such day, such as 30 February
        raise CannotDo(usage.NO_DAY.format(text=text))
    seconds = epoch()
    return (datetime.now(UTC) if seconds is None else datetime.fromtimestamp(seconds, UTC)).date()


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


def check_writable(folder: Path, protocol: Path) -> None:
    """Stops before the work is done if a folder cannot be written to, or is one that holds only rules."""
    if _folded(folder).is_relative_to(_folded(protocol / "rules")):
        raise CannotDo(stops.RULES_ONLY.format(folder=folder), FOUND)
    existing = next(place for place in (folder, *folder.absolute().parents) if os.path.lexists(place))
    if not os.path.isdir(existing):
        raise CannotDo(stops.NO_FOLDER.format(place=existing), FOUND)
    if not os.access(existing, os.W_OK | os.X_OK):
        raise CannotDo(stops.NOT_WRITABLE.format(folder=existing), FOUND)


def check_places(places: Iterable[Path | None], read: Iterable[Path], folders: Iterable[Path]) -> None:
    """Stops before the work is done where a file to be written is read, is a source, or is written twice.

    `read` are the files that the call reads; below the `folders` of protocols no file with the ending of a source is
    written.
    """
    taken = {_folded(path) for path in read}
    real_folders = [os.path.realpath(folder) for folder in folders]
    for place in places:
        if place is None:
            continue
        real = Path(os.path.realpath(place))
        is_inside = any(_folded(real).is_relative_to(_folded(folder)) for folder in real_folders)
        if (real.suffix.casefold() in SOURCES and is_inside) or _folded(real) in taken:
            raise CannotDo(stops.SOURCE_OR_TWICE.format(place=place), FOUND)
        if real.is_dir():
            raise CannotDo(stops.IS_FOLDER.format(place=place), FOUND)
        for folder in real_folders:
            check_writable(real.parent, Path(folder))
        taken.add(_folded(real))


def _folded(place: str | Path) -> Path:
    """The real place without its capitals: where a system tells them not apart, two such places are one."""
    return Path(os.path.realpath(place).casefold())


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


def write_table(out: Path, made: Iterable[list[str]], like: Rows) -> None:
    """Writes a table row by row beside its place, as `like` was written, and moves it in only when it is complete."""
    from liningbook.sources.csv_rows import to_bytes

    out.parent.mkdir(parents=True, exist_ok=True)
    new = beside(out, "new")
    try:
        with new.open("wb") as target:
            target.writelines(to_bytes(made, like))
        new.replace(out)
    finally:
        new.unlink(missing_ok=True)


def write_all(files: Mapping[Path, bytes], unwanted: Iterable[Path] = ()) -> None:
    """Writes every file beside its place first and moves them in only when all are complete; removes the unwanted.

    If one cannot be moved in (a viewer may have locked the old one) those moved before are put back.
    """
    gone = tuple(unwanted)
    new = {place: beside(place, "new") for place in files}
    old = {place: beside(place, "old") for place in (*files, *gone)}
    moved: list[Path] = []
    try:
        for place, content in files.items():
            place.parent.mkdir(parents=True, exist_ok=True)
            if place.is_dir():
                raise CannotDo(stops.IS_FOLDER.format(place=place), FOUND)
            _write(new[place], content)
            if place.exists():
                _write(old[place], place.read_bytes())
        for place in files:
            new[place].replace(place)
            moved.append(place)
        for place in gone:
            place.replace(old[place])
            moved.append(place)
    except OSError as error:
        for place in moved:
            if old[place].exists():
                old[place].replace(place)
            else:
                place.unlink()
        what = re.sub(rf"\.(new|old)-{os.getpid()}\b", "", os_words(error))
        raise CannotDo(stops.AS_IT_WAS.format(what=what), FOUND) from None
    finally:
        for path in (*new.values(), *old.values()):
            if os.path.lexists(path):
                path.unlink()


def beside(place: Path, what: str) -> Path:
    """A name of our own beside a file."""
    return place.with_name(f"{place.name}.{what}-{os.getpid()}")


def _write(path: Path, content: bytes) -> None:
    with path.open("wb") as stream:
        stream.write(content)
        stream.flush()
        os.fsync(stream.fileno())
