"""`liningbook evidence`: what the study tables come to, and what one more study would change."""

from __future__ import annotations

import argparse
import os
from pathlib import Path
from typing import TYPE_CHECKING, Any

from liningbook.cli.common import FOUND, CannotDo, read, read_sound
from liningbook.cli.in_place import holding, put
from liningbook.cli.record import NAME, Written, differs, is_as_written, read_record, record_bytes, sha256_of
from liningbook.cli.terminal import columns, complain, complain_at_length, print_json, say
from liningbook.cli.writing import check_below, check_writable
from liningbook.control.weighed import weighed_tables
from liningbook.evidence.synthesis.installed import is_installed
from liningbook.say.command import evidence as words
from liningbook.say.command import stops

if TYPE_CHECKING:
    from liningbook.control.new_study import NewStudy
    from liningbook.meaning.meaning import Meaning


def run(options: argparse.Namespace) -> int:
    """Prints what the studies come to, and writes it if asked; exits 0 whatever that is."""
    study = vars(options)["with"]
    if study is not None and options.out is not None:
        raise CannotDo(words.WITH_WRITES_NOTHING)
    if options.out is not None:
        return _write(options)
    meaning = read_sound(options)
    _check_tables(meaning, is_asked=study is not None)
    new = None if study is None else _arriving(study, meaning)
    if options.format == "json":
        _print_json(meaning, new)
    elif new is not None:
        from liningbook.show.terminal.new_study_text import new_study_text

        say(new_study_text(meaning, new, columns()))
    elif not meaning.protocol.tables:
        say(f"{words.NO_TABLES}\n")
    else:
        from liningbook.show.terminal.evidence_text import evidence_text

        say(evidence_text(meaning.protocol, weighed_tables(meaning.protocol), columns()))
    return 0


def _check_tables(meaning: Meaning, is_asked: bool) -> None:
    """Stops where nothing can put the tables together, or where tables are asked for and there are none."""
    first = next(iter(meaning.protocol.tables.values()), None)
    if first is not None and not is_installed():
        raise CannotDo(words.missing(first.file))
    if is_asked and first is None:
        raise CannotDo(words.NO_TABLES)


def _print_json(meaning: Meaning, new: NewStudy | None) -> None:
    from liningbook.exchange.evidence_json import evidence_json, new_study_json

    found: dict[str, Any] = evidence_json(meaning.protocol, weighed_tables(meaning.protocol))
    if new is not None:
        found["with"] = new_study_json(meaning, new)
    print_json(found)


def _arriving(place: Path, meaning: Meaning) -> NewStudy:
    """What the study of a file would change. Stops with the findings if it cannot be used."""
    from liningbook.control.new_study import arriving
    from liningbook.model.studies.new_study import read_new_study
    from liningbook.say.faults import reason_words
    from liningbook.show.terminal.report import findings_alone
    from liningbook.sources.files import CannotOpen, FilesOnDisk

    if not place.exists():
        raise CannotDo(words.NO_SUCH_FILE.format(name=place))
    real = Path(os.path.realpath(place))
    try:
        content = FilesOnDisk(real.parent).content(real.name)
    except CannotOpen as no:
        raise CannotDo(stops.OF_FILE.format(name=place, what=reason_words(no))) from None
    found, folder, findings = read_new_study(content, str(place), meaning.protocol.tables)
    if found is None:
        complain_at_length(lambda width: findings_alone(findings, folder.texts, width))
        raise CannotDo(words.CANNOT_BE_USED.format(name=place), FOUND)
    return arriving(meaning, found.table, found.outcome, found.study)


def _write(options: argparse.Namespace) -> int:
    """Writes page, plots, table and JSON, all or none, and says where; the page bears the marks of open findings."""
    from liningbook.outputs.cannot import CannotMake
    from liningbook.outputs.evidence_files import evidence_outputs
    from liningbook.outputs.rows import is_plot
    from liningbook.show.terminal.report import findings_text

    out: Path = options.out
    analysis = read(options)
    if analysis.meaning is None:
        complain_at_length(lambda width: findings_text(analysis, width=width))
        raise CannotDo(stops.NOTHING_WRITTEN, FOUND)
    _check_tables(analysis.meaning, is_asked=True)
    check_writable(out, options.protocol)
    if (out / "protocol.yaml").exists():
        raise CannotDo(stops.HOLDS_PROTOCOL.format(folder=out), FOUND)
    try:
        files = evidence_outputs(analysis)
    except CannotMake as no:
        raise CannotDo(stops.NOT_MADE.format(why=no), FOUND) from None
    check_below(out, files)
    with holding(out, lambda: complain(stops.complaint(stops.BUILD_WAITS.format(folder=out)))):
        before = read_record(out)
        for name, content in files.items():
            is_ours = name in before and is_as_written(out / name, before[name])
            if (out / name).exists() and not is_ours and differs(out / name, content):
                raise CannotDo(stops.NOT_OURS.format(place=out / name), FOUND)
        record = before | {name: Written("evidence", sha256_of(content)) for name, content in files.items()}
        put(out, {**files, NAME: record_bytes(record)}, [])
    say("".join(f"{out / name}\n" for name in files))
    for left in sorted(name for name in os.listdir(out) if is_plot(name) and name not in files):
        complain(stops.complaint(stops.OLDER_PLOT.format(place=out / left)))
    return 0
