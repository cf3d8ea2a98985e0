"""`liningbook build`."""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from liningbook.analysis import Analysis
from liningbook.cli.common import FOUND, CannotDo, epoch, read
from liningbook.cli.in_place import holding, put
from liningbook.cli.progress import Progress
from liningbook.cli.record import NAME, Written, differs, is_as_written, read_record, record_bytes, sha256_of
from liningbook.cli.terminal import complain, complain_at_length, say
from liningbook.cli.writing import check_below, check_writable
from liningbook.outputs.cannot import CannotMake
from liningbook.outputs.make import Output, outputs
from liningbook.outputs.rows import PARTS
from liningbook.say.command import progress as words
from liningbook.say.command import stops, usage
from liningbook.show.paper.typeset import listening
from liningbook.show.terminal.report import findings_text, placing_text

if TYPE_CHECKING:
    from liningbook.compare.comparison import Comparison


def run(options: argparse.Namespace) -> int:
    """Checks, then makes all files and writes them; nothing while there are errors, unless as a draft."""
    wanted = _wanted(options.only)
    if options.repo is not None and options.since is None:
        raise CannotDo(usage.REPO_NEEDS_SINCE)
    out = options.out
    with Progress() as progress:
        analysis = _read(options, progress)
        since = _since(options, analysis, progress)
        check_writable(out, options.protocol)
        try:
            with listening(progress.step):
                planned = outputs(analysis, wanted, epoch=epoch(), crop_marks=options.crop_marks, since=since)
                check_below(out, [output.name for output in planned])
                made = _make(planned, out, progress)
        except CannotMake as no:
            raise CannotDo(stops.NOT_MADE.format(why=no), FOUND) from None
        progress.clear()
        complain(_same_name(out, made))
        with holding(out, lambda: complain(stops.complaint(stops.BUILD_WAITS.format(folder=out)))):
            _write(out, made, {output.name: output.part for output in planned}, wanted, progress)
        say("".join(f"{out / name}\n" for name in made))
        return 0


def _same_name(out: Path, made: Mapping[str, bytes]) -> str:
    """A warning if an edition in force was built before under the same name and says something else now."""
    try:
        old = json.loads((out / "bundle.json").read_text("utf-8"))
        edition, digest = old["protocol"]["edition"], old["digest"]
    except (OSError, ValueError, KeyError, TypeError):
        return ""
    if "bundle.json" not in made:
        return ""
    new = json.loads(made["bundle.json"])
    is_other = digest != new["digest"] and edition == new["protocol"]["edition"]
    if not is_other or new["protocol"]["status"] != "in-force":
        return ""
    return stops.complaint(stops.SAME_NAME.format(edition=edition, before=digest[:8], now=new["digest"][:8]))


def _read(options: argparse.Namespace, progress: Progress) -> Analysis:
    progress.begin(str(options.protocol))
    progress.step(words.READING)
    analysis = read(options)
    progress.clear()
    if analysis.protocol is None or (analysis.has_errors and not options.draft):
        complain_at_length(lambda width: findings_text(analysis, width=width))
        raise CannotDo(stops.MAY_BE_DRAFT if analysis.protocol is not None else stops.NOTHING_WRITTEN, FOUND)
    if order := placing_text(analysis):
        progress.say(order)
    progress.step(words.WORDING)
    return analysis


def _since(options: argparse.Namespace, analysis: Analysis, progress: Progress) -> Comparison | None:
    """What differs from the version of `--since`; nothing where none is named or where nothing differs."""
    if options.since is None:
        return None
    from liningbook.cli.compare import version_of
    from liningbook.exchange.versions import Version, compare_versions
    from liningbook.say.cases import labelled
    from liningbook.say.changes.summary import older_approval

    assert analysis.protocol is not None
    progress.clear()
    old = version_of(options.since, analysis.day, options.repo)
    progress.step(words.COMPARING.format(version=options.since))
    comparison = compare_versions(old, Version(str(options.protocol), analysis.protocol), analysis.day)
    if old.caution:
        progress.say(stops.OF_FILE.format(name=options.since, what=old.caution))
    if comparison.is_alike:
        progress.say(words.NOTHING_DIFFERS.format(version=options.since))
        return None
    if comparison.no_case_changed:
        progress.say(words.NO_CASE_DIFFERS.format(version=options.since))
    if comparison.old_protocol.edition == comparison.new_protocol.edition:
        progress.say(words.ONE_EDITION.format(edition=comparison.new_protocol.edition))
    if comparison.approval_is_older:
        what, approvals = older_approval(comparison)
        progress.say(labelled(what, "; ".join(approvals)))
    progress.clear()
    return comparison


def _make(planned: Iterable[Output], out: Path, progress: Progress) -> dict[str, bytes]:
    """The content of each file."""
    made = {}
    for output in planned:
        progress.begin(output.name)
        made[output.name] = output.content()
        progress.end(words.MADE if differs(out / output.name, made[output.name]) else words.UNCHANGED)
    return made


def _write(
    out: Path, made: Mapping[str, bytes], parts: Mapping[str, str], wanted: Iterable[str], progress: Progress
) -> None:
    """Writes what was made and the record of it, and removes what is made no longer, all of it or nothing."""
    before = read_record(out)
    no_more = [name for name, last in sorted(before.items()) if last.part in wanted and name not in made]
    ours = [name for name in no_more if is_as_written(out / name, before[name])]
    altered = [name for name in no_more if name not in ours and (out / name).exists()]
    record = {name: last for name, last in before.items() if name not in no_more or name in altered}
    record |= {name: Written(parts[name], sha256_of(content)) for name, content in made.items()}
    files = {**made, NAME: record_bytes(record)}
    put(out, {name: content for name, content in files.items() if differs(out / name, content)}, ours)
    for name in ours:
        progress.say(words.REMOVED.format(name=name))
    for name in altered:
        progress.say(words.LEFT.format(name=name))


def _wanted(only: str | None) -> list[str]:
    if only is None:
        return list(PARTS)
    names = [name.strip() for name in only.split(",")]
    for name in names:
        if name not in PARTS:
            raise CannotDo(usage.NO_OUTPUT.format(name=name, outputs=",".join(PARTS)))
    return [name for name in PARTS if name in names]
