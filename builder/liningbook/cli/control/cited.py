"""`liningbook cited`."""

from __future__ import annotations

import argparse
from pathlib import Path

from liningbook.cli.common import CannotDo, read_sound
from liningbook.cli.terminal import columns, print_json, say
from liningbook.say.command import cited as words
from liningbook.say.faults.words import did_you_mean


def run(options: argparse.Namespace) -> int:
    """Prints what rests on a work; exits 0 whatever that is."""
    written, options.protocol = _told_apart(options.key, options.protocol)
    meaning = read_sound(options)
    from liningbook.control.cited import cited_work, key_of_work

    protocol = meaning.protocol
    key = key_of_work(protocol, written)
    if key is None:
        near = did_you_mean(written, protocol.references) if protocol.references else words.NONE_LISTED
        raise CannotDo(words.no_work(written, near))
    work = cited_work(meaning, key)
    if options.format == "json":
        from liningbook.exchange.cited_json import cited_json

        print_json(cited_json(meaning, work))
        return 0
    from liningbook.show.terminal.cited_text import cited_text

    say(cited_text(meaning, work, columns()))
    return 0


def _told_apart(first: str, second: Path | None) -> tuple[str, Path]:
    """The key and the folder, in whichever order they are written; without a folder it is the one that we are in."""
    is_folder = Path(first).is_dir()
    if second is None:
        if is_folder and (Path(first) / "protocol.yaml").exists():
            raise CannotDo(words.NO_KEY)
        return first, Path()
    return (str(second), Path(first)) if is_folder and not second.is_dir() else (first, second)
