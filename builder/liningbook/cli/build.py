"""`liningbook build`."""

from __future__ import annotations

import argparse
from pathlib import Path

from liningbook.cli.common import FOUND, OUTPUTS, CannotDo, check_writable, complain, epoch, read, say, write_all
from liningbook.rendering.make import CannotMake, make
from liningbook.rendering.report import findings_text


def run(options: argparse.Namespace) -> int:
    """Checks, then writes the outputs; nothing is written while there are errors, unless as a draft."""
    wanted = _wanted(options.only)
    analysis = read(options)
    if analysis.protocol is None or (analysis.has_errors and not options.draft):
        complain(findings_text(analysis))
        hint = "" if analysis.protocol is None else "; `--draft` builds all the same, with every page marked"
        raise CannotDo(f"nothing was written, since there are errors{hint}", FOUND)
    check_writable(options.out, options.protocol)
    files: dict[Path, bytes] = {}
    try:
        for name, content in make(analysis, wanted, epoch=epoch(), crop_marks=options.crop_marks):
            complain(f"made {name}\n")
            files[options.out / name] = content
    except CannotMake as no:
        raise CannotDo(f"{no}\nnothing was written", FOUND) from None
    write_all(files)
    say("".join(f"{place}\n" for place in files))
    return 0


def _wanted(only: str | None) -> list[str]:
    if only is None:
        return list(OUTPUTS)
    names = [name.strip() for name in only.split(",")]
    for name in names:
        if name not in OUTPUTS:
            raise CannotDo(f"'{name}' is not an output; --only takes some of {','.join(OUTPUTS)}")
    return [name for name in OUTPUTS if name in names]
