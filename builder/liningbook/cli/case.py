"""`liningbook case`: one case, or a table of cases."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path

from liningbook.cases.question import BadQuestion, Reply, answer, put
from liningbook.cli.common import (
    CannotDo,
    check_places,
    complain,
    opened_table,
    print_json,
    read_sound,
    say,
    write_all,
    write_table,
)
from liningbook.meaning.meaning import Meaning
from liningbook.say.cases import count_words


def run(options: argparse.Namespace) -> int:
    """Prints the advice; exits 0 whenever the question could be answered."""
    if options.cases is not None or options.out is not None:
        return _many(options)
    meaning = read_sound(options)
    try:
        reply = answer(meaning, put(meaning, _given(options.values)))
    except BadQuestion as bad:
        raise CannotDo(str(bad)) from None
    _draw(options, meaning, reply)
    _print(options, meaning, reply)
    return 0


def _print(options: argparse.Namespace, meaning: Meaning, reply: Reply) -> None:
    from liningbook.say.safety import STANDING_CAUTIONS
    from liningbook.show.terminal.reply import reply_json, reply_text
    from liningbook.show.terminal.trace import why_json, why_text

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
        from liningbook.show.figures.reading_chart import reading_chart

        if not reply.question.taken:
            raise CannotDo("--chart draws readings, and none is given; write for example rdt.reading=1.2mm")
        figures[options.chart] = reading_chart(meaning, reply)
    if options.section is not None:
        from liningbook.show.figures.cross_section import cross_section

        if options.section in figures:
            raise CannotDo("--chart and --section cannot both be written into one file")
        drawn = cross_section(meaning, reply, "case")
        if drawn:
            figures[options.section] = drawn
        else:
            complain(f"liningbook: {options.section} is not written: this case gets no single set of layers to draw\n")
    check_places(figures, [], [options.protocol])
    write_all({place: text.encode() for place, text in figures.items()})


def _many(options: argparse.Namespace) -> int:
    """Advice for a table of cases, streamed from one file into another."""
    from liningbook.cases.many_cases import Tally, label

    if options.cases is None or options.out is None:
        raise CannotDo("a table of cases needs both --cases FILE.csv and --out FILE.csv")
    if options.values or options.why or options.chart is not None or options.section is not None:
        raise CannotDo("a table of cases takes no FACTOR=VALUE, no --why, no --chart and no --section")
    meaning = read_sound(options)
    check_places([options.out], [options.cases], [options.protocol])
    tally = Tally()
    with opened_table(options.cases) as rows:
        write_table(options.out, label(meaning, rows, tally), rows)
    say(f"{options.out}: {count_words(tally.rows, 'row')}, {tally.unusable} of them not usable (column problem)\n")
    return 0
