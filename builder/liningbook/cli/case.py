"""`liningbook case`: one case, or a table of cases."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path

from liningbook.cases.question import BadQuestion, Reply, answer, put
from liningbook.cli.common import (
    CannotDo,
    opened_table,
    read_sound,
)
from liningbook.cli.terminal import columns, complain, print_json, say, tell
from liningbook.cli.writing import check_places, write_all, write_table
from liningbook.meaning.meaning import Meaning
from liningbook.say.catalogue import speaking
from liningbook.say.command import stops, usage
from liningbook.say.command.progress import table_written
from liningbook.say.faults import reason_words


def run(options: argparse.Namespace) -> int:
    """Prints the advice; exits 0 whenever the question could be answered."""
    if options.cases is not None or options.out is not None:
        return _many(options)
    if options.words is not None:
        raise CannotDo(usage.WORDS_NEED_CASES)
    meaning = read_sound(options)
    try:
        reply = answer(meaning, put(meaning, _given(options.values), options.complete))
    except BadQuestion as bad:
        raise CannotDo(reason_words(bad)) from None
    _draw(options, meaning, reply)
    _print(options, meaning, reply)
    return 0


def _print(options: argparse.Namespace, meaning: Meaning, reply: Reply) -> None:
    from liningbook.exchange.why import why_json
    from liningbook.say.safety import STANDING_CAUTIONS
    from liningbook.show.terminal.reply import reply_json, reply_text, why_text

    if options.format == "json":
        found = reply_json(meaning.protocol, reply)
        print_json({**found, "why": why_json(meaning, reply)} if options.why else found)
        return
    cautions = (*meaning.protocol.cautions, *STANDING_CAUTIONS)
    width = columns()
    why = why_text(meaning, reply, width) if options.why else ""
    tell(reply_text(meaning.protocol, reply, cautions, why, width))


def _given(items: Sequence[str]) -> dict[str, str]:
    given: dict[str, str] = {}
    for item in items:
        name, equals, text = (part.strip() for part in item.partition("="))
        if not equals:
            raise CannotDo(usage.no_value(item, *(list(given.items())[-1] if given else ())))
        if name in given:
            raise CannotDo(usage.GIVEN_TWICE.format(name=name))
        given[name] = text
    return given


def _draw(options: argparse.Namespace, meaning: Meaning, reply: Reply) -> None:
    """Writes the figures that are asked for, all of them or none."""
    if options.chart is None and options.section is None:
        return
    from liningbook.show.assets.fonts import PrintingUnavailable
    from liningbook.show.figures.script import Drawer

    if options.chart is not None and not reply.question.taken:
        raise CannotDo(usage.NO_READING_TO_DRAW)
    if options.section == options.chart:
        raise CannotDo(usage.TWO_DRAWINGS_IN_ONE)
    figures: dict[Path, str] = {}
    with speaking(meaning.protocol.language):
        try:
            drawer = Drawer(meaning)
        except PrintingUnavailable as lacking:
            raise CannotDo(str(lacking)) from None
        if options.chart is not None:
            figures[options.chart] = drawer.reading(reply, "case")
        if options.section is not None and (drawn := drawer.section(reply, "case")):
            figures[options.section] = drawn
    if options.section is not None and options.section not in figures:
        complain(stops.complaint(stops.NOTHING_TO_DRAW.format(place=options.section)))
    check_places(figures, [], [options.protocol])
    write_all({place: text.encode() for place, text in figures.items()})


def _many(options: argparse.Namespace) -> int:
    """Advice for a table of cases, streamed from one file into another."""
    from liningbook.cases.many_cases import Tally, label
    from liningbook.cli.words import form_of
    from liningbook.model.edition import edition_state
    from liningbook.say.outputs.cover import edition_notice

    if options.cases is None or options.out is None:
        raise CannotDo(usage.TABLE_NEEDS_BOTH)
    if options.values or options.why or options.chart is not None or options.section is not None:
        raise CannotDo(usage.TABLE_TAKES_NOTHING_ELSE)
    meaning = read_sound(options)
    check_places([options.out], [path for path in (options.cases, options.words) if path], [options.protocol])
    tally = Tally()
    with opened_table(options.cases) as rows:
        form = form_of(options.words, rows, meaning.space, meaning.protocol.language)
        write_table(options.out, label(meaning, rows, reason_words, tally, form), rows)
    if notice := edition_notice(meaning.protocol, edition_state(meaning.protocol, meaning.day)):
        say(f"{notice}\n")
    for number, problem in tally.problems:
        complain(stops.complaint(stops.ROW.format(table=options.cases, number=number, why=reason_words(problem))))
    say(f"{table_written(options.out, tally.rows, tally.unusable, tally.doubtful)}\n")
    return 0
