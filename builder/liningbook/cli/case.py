"""`liningbook case`: one case, or a table of cases."""

from __future__ import annotations

import argparse
import os
from collections.abc import Sequence
from pathlib import Path

from liningbook.cli.common import (
    FOUND,
    CannotDo,
    beside,
    check_writable,
    complain,
    os_words,
    print_json,
    read_sound,
    say,
    write_all,
)
from liningbook.logic.meaning import Meaning
from liningbook.logic.question import BadQuestion, Reply, answer, put
from liningbook.wording import count_words

SOURCES = ("protocol.yaml", "materials.yaml", "vignettes.yaml", "references.json", "references.bib")


def run(options: argparse.Namespace) -> int:
    """Prints the advice; exits 0 whenever the question could be answered."""
    if options.cases is not None or options.out is not None:
        return _many(options)
    _, _, meaning = read_sound(options)
    try:
        reply = answer(meaning, put(meaning, _given(options.values)))
    except BadQuestion as bad:
        raise CannotDo(str(bad)) from None
    _draw(options, meaning, reply)
    _print(options, meaning, reply)
    return 0


def _print(options: argparse.Namespace, meaning: Meaning, reply: Reply) -> None:
    from liningbook.rendering.reply import reply_json, reply_text
    from liningbook.rendering.trace import why_json, why_text
    from liningbook.safety import STANDING_CAUTIONS

    if options.format == "json":
        found = reply_json(meaning.protocol, reply)
        print_json({**found, "why": why_json(meaning, reply)} if options.why else found)
        return
    cautions = (*meaning.protocol.cautions, *STANDING_CAUTIONS)
    why = why_text(meaning, reply) if options.why else ""
    say(reply_text(meaning.protocol, reply, cautions, why))


def _given(items: Sequence[str]) -> dict[str, str]:
    given: dict[str, str] = {}
    for item in items:
        name, equals, text = (part.strip() for part in item.partition("="))
        if not equals:
            joined = f"{list(given)[-1]}={given[list(given)[-1]]}{item}" if given else "rdt=1.2mm"
            raise CannotDo(f"'{item}' is not a factor and its value; write them without a blank, for example {joined}")
        if name in given:
            raise CannotDo(f"the factor {name} is given twice")
        given[name] = text
    return given


def _draw(options: argparse.Namespace, meaning: Meaning, reply: Reply) -> None:
    """Writes the figures that are asked for, all of them or none."""
    figures: dict[Path, str] = {}
    if options.chart is not None:
        from liningbook.rendering.reading_chart import reading_chart

        if not reply.question.taken:
            raise CannotDo("--chart draws readings, and none is given; write for example rdt.reading=1.2mm")
        figures[options.chart] = reading_chart(meaning, reply)
    if options.section is not None:
        from liningbook.rendering.cross_section import cross_section

        if options.section in figures:
            raise CannotDo("--chart and --section cannot both be written into one file")
        drawn = cross_section(meaning, reply, "case")
        if drawn:
            figures[options.section] = drawn
        else:
            complain(f"liningbook: {options.section} is not written: this case gets no single set of layers to draw\n")
    for place in figures:
        _refuse_sources(place, options)
        check_writable(place.parent, options.protocol)
    write_all({place: text.encode() for place, text in figures.items()})


def _refuse_sources(place: Path, options: argparse.Namespace) -> None:
    """Stops where a file to be written is one that is read."""
    sources = [options.protocol / name for name in SOURCES] + ([options.cases] if options.cases else [])
    if any(os.path.realpath(place) == os.path.realpath(source) for source in sources):
        raise CannotDo(f"{place} is a source; choose another file to write into", FOUND)


def _many(options: argparse.Namespace) -> int:
    """Advice for a table of cases, streamed from one file into another."""
    from liningbook.logic.many_cases import CannotRead, Tally, label, open_rows, to_bytes

    if options.cases is None or options.out is None:
        raise CannotDo("a table of cases needs both --cases FILE.csv and --out FILE.csv")
    if options.values or options.why or options.chart is not None or options.section is not None:
        raise CannotDo("a table of cases takes no FACTOR=VALUE, no --why, no --chart and no --section")
    _, _, meaning = read_sound(options)
    _refuse_sources(options.out, options)
    check_writable(options.out.parent, options.protocol)
    new, tally = beside(options.out, "new"), Tally()
    try:
        with options.cases.open("rb") as source, new.open("wb") as target:
            rows = open_rows(source)
            target.writelines(to_bytes(label(meaning, rows, tally), rows))
        new.replace(options.out)
    except CannotRead as no:
        raise CannotDo(f"{options.cases}: {no}") from None
    except OSError as error:
        raise CannotDo(os_words(error), FOUND) from None
    finally:
        new.unlink(missing_ok=True)
    say(f"{options.out}: {count_words(tally.rows, 'row')}, {tally.unusable} of them not usable (column problem)\n")
    return 0
