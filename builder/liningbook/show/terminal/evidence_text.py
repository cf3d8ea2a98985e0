"""Study tables and what they come to, as text for people: the effect in words first, then what it rests on."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from liningbook.control.weighed import Weighed, WeighedTable
from liningbook.evidence.synthesis.result import Pooled, Without
from liningbook.model.protocol import Protocol
from liningbook.say.cases import capital, full_stop, labelled
from liningbook.say.command import evidence as say
from liningbook.say.findings.grades import level_words
from liningbook.say.findings.questions import question_words
from liningbook.say.locale import both
from liningbook.say.outputs import effects, forests
from liningbook.say.report import protocol_name
from liningbook.say.safety import STANDING_CAUTIONS
from liningbook.say.synthesis import estimate_words
from liningbook.show.terminal.lines import USUAL, block, table, wrapped
from liningbook.show.views.evidence.evidence_view import EvidenceWords
from liningbook.show.views.evidence.forest import Forest
from liningbook.show.views.evidence.tables import OutcomeView

INDENT = "  "

CORRECTED = "†"
"""Behind the name of a study to whose cells something was added."""


def evidence_text(protocol: Protocol, tables: Iterable[WeighedTable], width: int = USUAL) -> str:
    """Every table with its outcomes, then the cautions."""
    words = EvidenceWords(protocol.references, retracted=protocol.retracted)
    lines = wrapped(protocol_name(protocol.title, protocol.edition), width)
    for weighed in tables:
        view = words.table(weighed)
        lines += ["", *wrapped(say.table_head(view.title, weighed.table.file), width, hang=INDENT)]
        lines += block([(fact.label, fact.text) for fact in view.question], width, INDENT)
        for outcome, one in zip(view.outcomes, weighed.outcomes.values(), strict=True):
            lines += ["", *_outcome(outcome, one, width)]
    lines += ["", *cautions_lines(protocol, width)]
    return "\n".join(lines) + "\n"


def cautions_lines(protocol: Protocol, width: int) -> list[str]:
    """The practice's cautions, then those that every output carries."""
    return [line for text in (*protocol.cautions, *STANDING_CAUTIONS) for line in wrapped(text, width, hang="")]


def _outcome(view: OutcomeView, weighed: Weighed, width: int) -> Iterator[str]:
    yield from wrapped(say.outcome_head(view.label, view.importance), width)
    yield from block(list(_facts(view, weighed)), width, INDENT)
    if view.forest is None:
        yield from ("", *wrapped(view.nothing, width, INDENT))
        return
    yield from ("", *_studies(view.forest, width), "")
    ahead = view.forest.prediction
    for line in (*([labelled(ahead.name, ahead.estimate)] if ahead is not None else []), *view.forest.below):
        yield from wrapped(full_stop(line), width, INDENT)
    rows = zip(weighed.outcome.studies, view.forest.rows, strict=True)
    names = {study.study: row.name.removesuffix(CORRECTED) for study, row in rows}
    yield from _decides(weighed, names, width)
    yield from _years(weighed, names, width)
    yield from ("", *wrapped(say.QUESTIONS, width, INDENT))
    asked = [full_stop(capital(question_words(weighed.outcome, one))) for one in weighed.questions]
    for text in asked or [say.NO_QUESTION]:
        yield from wrapped(text, width, INDENT * 2)


def _facts(view: OutcomeView, weighed: Weighed) -> Iterator[tuple[str, str]]:
    yield say.EFFECT, full_stop(labelled(view.label, view.effect))
    if view.relative:
        yield say.RELATIVE, view.relative
    if view.absolute:
        yield say.ABSOLUTE, say.absolute(view.absolute, view.comparator)
    if view.needed:
        yield say.NEEDED, view.needed
    stated = weighed.outcome.certainty
    level = level_words(weighed.level) if weighed.level else ""
    yield say.CERTAINTY, say.certainty(level_words(stated) if stated else "", level)
    for text in (view.graded, *(full_stop(labelled(row.judged, row.because)) for row in view.domains if row.because)):
        if text:
            yield "", text


def _studies(forest: Forest, width: int) -> list[str]:
    """The studies in columns, or one below the other where there is no room for columns."""
    heads = forest.heads
    head = (heads.study, say.TREATED, say.COMPARED, heads.estimate, heads.weight)
    pooled = [forest.pooled] if forest.pooled is not None and len(forest.rows) > 1 else []
    rows: list[tuple[str, ...]] = [
        (row.name, row.treated, row.comparator, row.estimate or row.reason, row.weight)
        for row in (*forest.rows, *pooled)
    ]
    kept = [number for number in range(len(head)) if any(row[number] for row in rows)]
    heading, rows = [head[number] for number in kept], [tuple(row[number] for number in kept) for row in rows]
    if (lines := table(heading, rows, width - len(INDENT))) is not None:
        return [INDENT + line for line in lines]
    found: list[str] = []
    for name, *cells in rows:
        said = [(label, cell) for label, cell in zip(heading[1:], cells, strict=True) if cell]
        found += [*wrapped(name, width, INDENT), *block(said, width, INDENT * 2)]
    return found


def _decides(weighed: Weighed, names: Mapping[str, str], width: int) -> Iterator[str]:
    """Whether the conclusion hangs on a single study."""
    outcome, synthesis = weighed.outcome, weighed.synthesis
    if synthesis.pooled is None:
        return
    yield from ("", *wrapped(say.DECIDES, width, INDENT))
    deciding = [one for one in synthesis.leave_one_out if one.decides]
    values = [synthesis.shown(one.pooled.value) for one in synthesis.leave_one_out]
    if len(synthesis.effects) == 1:
        answers = [say.ONE_STUDY]
    elif not values:
        answers = [say.TOO_MANY]
    elif deciding:
        answers = [say.without(names[one.study], pooled_words(weighed, one.pooled)) for one in deciding]
    else:
        answers = [
            say.none_decides(*(estimate_words(value, outcome.no_effect) for value in (min(values), max(values))))
        ]
    for answer in answers:
        yield from wrapped(answer, width, INDENT * 2)


def _years(weighed: Weighed, names: Mapping[str, str], width: int) -> Iterator[str]:
    """How the pooled effect came about over the years."""
    steps = weighed.synthesis.cumulative
    if len(steps) < 2:
        return
    yield from ("", *wrapped(say.YEARS, width, INDENT))
    rows = [(str(one.year), both([names[study] for study in one.added]), _step(weighed, one)) for one in steps]
    head = (say.YEAR, say.ADDED, forests.estimate_head(weighed.outcome))
    if (lines := table(head, rows, width - 2 * len(INDENT))) is not None:
        yield from (INDENT * 2 + line for line in lines)
        return
    for year, added, step in rows:
        yield from wrapped(labelled(f"{year} {added}", step), width, INDENT * 2, INDENT * 3)


def _step(weighed: Weighed, one: Without) -> str:
    said = pooled_words(weighed, one.pooled)
    return f"{said}; {say.TURNED}" if one.decides else said


def pooled_words(weighed: Weighed, pooled: Pooled) -> str:
    """A pooled effect with its interval, as it is read."""
    shown = [None if one is None else weighed.synthesis.shown(one) for one in (pooled.value, pooled.low, pooled.high)]
    value, low, high = shown
    assert value is not None
    return effects.interval_words(weighed.outcome, value, low, high)


def lines_of(texts: Sequence[str], width: int, indent: str) -> list[str]:
    """Texts one below the other, each with a hanging indent."""
    return [line for text in texts for line in wrapped(text, width, indent, indent + INDENT)]
