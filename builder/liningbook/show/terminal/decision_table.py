"""A whole decision as a table of disjoint rows, as text, CSV or a page."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from liningbook.meaning.decide import Outcome
from liningbook.meaning.meaning import Meaning
from liningbook.meaning.table import outcomes_of, table_of
from liningbook.model.edition import EditionState, edition_state
from liningbook.model.rule import Decision
from liningbook.say.answers import answer_words
from liningbook.say.cases import case_parts
from liningbook.say.command import decision_table as words
from liningbook.say.outputs.cover import edition_notice
from liningbook.say.safety import STANDING_CAUTIONS
from liningbook.show.terminal.lines import USUAL, block, table, wide, wrapped
from liningbook.sources.csv_rows import to_lines
from liningbook.sources.text import visible
from liningbook.space.region import fewest_rows

STYLE = (
    "body{font:16px/1.4 sans-serif;margin:1.5rem}table{border-collapse:collapse}"
    "th,td{border:1px solid #555;padding:.3rem .5rem;text-align:left;vertical-align:top}thead th{background:#eee}"
)


@dataclass(frozen=True)
class TableView:
    """The rows in words: one text a factor that tells rows apart, what is advised, and by which rules."""

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    summary: str
    cautions: tuple[str, ...]
    state: EditionState
    notice: str
    """Why the edition is not the one to follow; nothing if it is."""


def table_view(meaning: Meaning, decision: Decision) -> TableView:
    """The table of one decision. Rows are disjoint and together are every case in scope."""
    protocol, space = meaning.protocol, meaning.space
    state = edition_state(protocol, meaning.day)
    rows = table_of(meaning, decision.id)
    used = [number for number, axis in enumerate(space.axes) if any(row.box[number] != axis.full for row in rows)]
    columns = [space.axes[number].factor.label for number in used]
    lines = []
    for row in rows:
        named = dict(case_parts(protocol.factors, space.notation(row.box)))
        answer, rules = _outcome_words(meaning, decision, row.outcome)
        lines.append((*(named.get(column, words.ANY) for column in columns), answer, rules))
    least = sum(fewest_rows(region) for region in outcomes_of(meaning, decision.id).values())
    return TableView(
        title=words.TITLE.format(
            decision=decision.label, title=protocol.title, edition=protocol.edition, practice=protocol.practice
        ),
        columns=(*columns, decision.label, words.RULES),
        rows=tuple(lines),
        summary=words.table_summary(len(rows), least),
        cautions=(*protocol.cautions, *STANDING_CAUTIONS),
        state=state,
        notice=edition_notice(protocol, state),
    )


def _outcome_words(meaning: Meaning, decision: Decision, outcome: Outcome) -> tuple[str, str]:
    answers = [answer_words(meaning.protocol, decision, c.answer) for c in outcome.candidates]
    rules = ", ".join(dict.fromkeys(rule for c in outcome.candidates for rule in c.rules))
    if outcome.state == "answered":
        return answers[0], rules
    return words.no_answer(outcome.state, answers), rules


def as_csv(view: TableView) -> str:
    """Comma-separated, one line a row, with a heading line; the state of the edition stands at the end of each."""
    rows = [(*view.columns, "edition_state"), *((*row, view.state) for row in view.rows)]
    return "".join(f"{line}\n" for line in to_lines(rows))


def as_text(view: TableView, width: int = USUAL) -> str:
    """Columns where they fit on a line; else a numbered block a row, of what tells it apart and what is advised."""
    lines = table(view.columns, view.rows, width) or list(_blocks(view, width))
    head, *end = (wrapped(text, width, hang="") for text in (view.title, view.summary, *view.cautions))
    summary, *cautions = end
    head += wrapped(view.notice, width, hang="") if view.notice else []
    parts = (head, lines, summary, [line for caution in cautions for line in caution])
    return "\n\n".join("\n".join(part) for part in parts) + "\n"


def _blocks(view: TableView, width: int) -> Iterator[str]:
    digits = max(2, len(str(len(view.rows))))
    indent = " " * (digits + 2)
    column = max(map(wide, view.columns), default=0)
    for number, row in enumerate(view.rows, 1):
        told = zip(view.columns, row, strict=True)
        named = [(label.ljust(column), text) for label, text in told if text not in ("", words.ANY)]
        first, *others = block(named, width, indent)
        yield from (f"{number:>{digits}}{first[digits:]}", *others)
        if number < len(view.rows):
            yield ""


def as_html(view: TableView) -> str:
    """A page of its own, readable without anything else."""
    from html import escape as escaped

    def escape(text: str) -> str:
        return escaped(visible(text))

    head = "".join(f'<th scope="col">{escape(column)}</th>' for column in view.columns)
    body = "\n".join("<tr>" + "".join(f"<td>{escape(text)}</td>" for text in row) + "</tr>" for row in view.rows)
    cautions = "".join(f"<li>{escape(text)}</li>" for text in view.cautions)
    notice = f"<p><strong>{escape(view.notice)}</strong></p>\n" if view.notice else ""
    return (
        f'<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        f'<meta name="viewport" content="width=device-width"><title>{escape(view.title)}</title>'
        f"<style>{STYLE}</style></head><body><h1>{escape(view.title)}</h1>\n{notice}"
        f"<table><caption>{escape(view.summary)}</caption><thead><tr>{head}</tr></thead><tbody>\n{body}\n</tbody></table>"
        f"<ul>{cautions}</ul></body></html>\n"
    )
