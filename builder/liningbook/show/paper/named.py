"""The blocks of a printed page by their identifiers, in their author's words: for saying what does not fit."""

from __future__ import annotations

from collections.abc import Sequence

from liningbook.say.outputs import paper
from liningbook.show.figures.protocol_figures import ProtocolFigures
from liningbook.show.markup.grid import Grid
from liningbook.show.paper import back
from liningbook.show.paper.card_sheet import CardStyle
from liningbook.show.paper.heights import chart_table
from liningbook.show.views.view import CardView, ProtocolView


def chart_names(drawn: Grid, prefix: str) -> dict[str, str]:
    """The rows, columns and cells of a chart."""
    names = {}
    for c, words in enumerate(drawn.columns):
        names[f"{prefix}-column-{c}"] = paper.CHART_COLUMN.format(names=", ".join(words))
    for r, row in enumerate(drawn.rows):
        names[f"{prefix}-row-{r}"] = paper.CHART_ROW.format(names=", ".join(row.names))
        names |= {f"{prefix}-{r}-{c}": paper.CHART_CELL.format(id=cell.id) for c, cell in enumerate(row.cells)}
    return names


def protocol_names(view: ProtocolView, parts: Sequence[Grid], drawings: ProtocolFigures) -> dict[str, str]:
    """What can be too long in the printed protocol."""
    names: dict[str, str] = {}
    for number, part in enumerate(parts):
        names |= chart_names(part, f"chart{number or ''}")
    names |= {f"factor-{n}": paper.FACTOR.format(label=factor.label) for n, factor in enumerate(view.factors)}
    for n, picture in enumerate(drawings.sections):
        names[f"picture-{n}"] = paper.PICTURE_OF.format(names="; ".join(picture.holds_for))
    for group in view.rule_groups:
        for rule in group.rules:
            names[rule.anchor] = names[f"{rule.anchor}-box"] = paper.RULE_TITLED.format(title=rule.title, name=rule.id)
    return names


def card_names(view: CardView, style: CardStyle) -> dict[str, str]:
    """The measured blocks of the card by identifier, in words. Cells go by their own identifier."""
    names = dict(paper.BLOCKS)
    names |= {
        f"f-ask-{i}": paper.STOP_QUESTION.format(text=text) for i, text in enumerate(view.identity.stop_questions)
    }
    drawn = chart_table(view, style)[0]
    names |= chart_names(drawn, "f")
    for g, group in enumerate(view.exceptions):
        name = names[f"b-case-{g}"] = paper.exception_name(group.triggers)
        names |= {f"b-then-{g}-{i}": paper.LINE.format(number=i + 1, name=name) for i, _ in enumerate(group.lines)}
    for entry in back.entries(view, style.brief, not style.code_front):
        words = entry.label or entry.text
        names[entry.id] = (paper.ENTRY if words else paper.BOX).format(words=words, section=entry.section)
    return names
