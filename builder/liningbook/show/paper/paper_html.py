"""View data to the HTML that the typesetter prints: the protocol, the card, and the sheets about its copies."""

from __future__ import annotations

import re
from collections.abc import Sequence

from liningbook.say.texts import t
from liningbook.show.assets import fonts
from liningbook.show.figures import tones as figures
from liningbook.show.figures.card_figures import qr_code
from liningbook.show.figures.protocol_figures import NO_FIGURES, ProtocolFigures
from liningbook.show.markup.chart_table import chart_css, sizes_css
from liningbook.show.markup.chart_table import drawings as drawings_of
from liningbook.show.markup.columns import column_css
from liningbook.show.markup.grid import Grid, grid
from liningbook.show.markup.html import body_for, rendered
from liningbook.show.markup.narrow import narrowed
from liningbook.show.markup.plots import printed_plots
from liningbook.show.markup.templates import content_css, css, markup, page_numbers, with_alternative
from liningbook.show.paper import back, card_sheet
from liningbook.show.paper.card_sheet import SHEETS, CardStyle
from liningbook.show.paper.heights import chart_table, exceptions_table, protocol_sizes
from liningbook.show.paper.stops_parts import stops_parts
from liningbook.show.views.copies_view import CopiesView
from liningbook.show.views.pieces import FactorView, RuleView
from liningbook.show.views.view import CardView, ProtocolView
from liningbook.show.views.view_texts import view_texts

_FEW = 8
"""Rules up to which the parts of a protocol follow one another, without pages of their own and without contents."""


_COLUMN = 87
"""Millimetres of each of the two columns in which a protocol of few rules ends."""
_LONG = 45
"""Lines from which on a rule is set in one column, which may be broken over pages."""


def protocol_html(
    view: ProtocolView,
    chart_size: float = 10.5,
    measuring: bool = False,
    drawings: ProtocolFigures = NO_FIGURES,
    parts: Sequence[Grid] = (),
) -> str:
    """The printed protocol. `chart_size` is the type size of the decision chart in points, `parts` its tables.

    `measuring` sets the chart alone on a page so long that nothing is broken.
    """
    fonts.require_glyphs(view_texts(view))
    parts = parts or ((grid(view.chart),) if view.chart else ())
    sizes = protocol_sizes(chart_size)
    who = view.identity
    brief = not measuring and sum(len(group.rules) for group in view.rule_groups) <= _FEW
    signers = list(dict.fromkeys(fact.label for fact in (*who.approvals, *who.authors)))
    style_text = css(
        "base.css",
        "exceptions.css",
        "chart.css",
        "protocol.css",
        "pictures.css",
        *(["changes.css"] if view.changes else []),
        *(["evidence.css"] if view.tables else []),
        fonts.print_font_css(),
        figures.tone_css(),
        page_numbers(),
        _running_heads(),
        "@page chart { size: 210mm 3000mm; }" if measuring else "",
        "@page { margin: 24mm 14mm 25mm; }" if brief else "",
        sizes_css(sizes),
        *(chart_css(f".chart-{number}", part, 182, sizes) for number, part in enumerate(parts)),
    )
    text = rendered(
        "protocol.html",
        view=view,
        css=style_text,
        grids=[(part, drawings_of(part, 182, sizes)) for part in parts],
        grid=parts[0] if parts else None,
        figures=drawings,
        plots=lambda forest: printed_plots(forest, 182 if brief else 170),
        drawing=lambda svg: markup(with_alternative(svg)),
        signers=signers,
        factors=_alike(view.factors),
        stops=stops_parts(view.stops, 182 if brief else 170) if view.stops else (),
        is_long=_is_long,
        lines=len(signers) + 4,
        brief=brief,
        body=body_for(view, relative=False),
        measuring=measuring,
    )
    if not measuring:
        before, tail, after = text.partition('<div class="tail">')
        text = narrowed(before, 182 if brief else 170, 9, 4) + tail + narrowed(after, _COLUMN, 8.5, 2)
    start, end = text.find('<table class="chart'), text.rfind("</table>", 0, text.find('id="chart-end"'))
    return text[:start] + unbroken(text[start:end]) + text[end:] if parts else text


def _is_long(rule: RuleView) -> bool:
    """Whether the two columns of a rule may be longer than a page."""
    facts = (*(fact for box in rule.conditions for fact in box), *rule.advice, *rule.avoid, *rule.never)
    says = sum(2 + (len(fact.label) + len(fact.text)) // 30 for fact in facts) + len(rule.conditions)
    why = len(rule.why_html) // 45 + rule.why_html.count("<p") + 2 * rule.why_html.count("<tr")
    return max(says, why) + len(rule.title) // 50 > _LONG


def _alike(factors: Sequence[FactorView]) -> list[tuple[tuple[str, str], list[tuple[int, str]]]]:
    """Values and how they are measured, each with the numbers and labels of the factors that are alike in both."""
    found: dict[tuple[str, str], list[tuple[int, str]]] = {}
    for number, factor in enumerate(factors):
        found.setdefault((factor.values, factor.reading), []).append((number, factor.label))
    return list(found.items())


def _running_heads() -> str:
    """What the heads of the pages say of the rules: their section, and the rule that goes on from the page before."""
    group = content_css(t.rules_of, group="content()")
    rule = content_css(t.rule_continued, number="content()")
    return (
        f'.rules > h3 {{ string-set: before " · {t.rules}", continued "", also " · " content(); }}'
        f'.rules > h3 .named {{ string-set: before " · " {group}, also ""; }}'
        f'.rule .rule-number {{ string-set: continued ", " {rule}; }}'
    )


def card_html(view: CardView, style: CardStyle | None = None) -> str:
    """The two sides of a card, on paper of the view's size."""
    style = style or CardStyle()
    fonts.require_glyphs(view_texts(view))
    sheet = SHEETS[view.size]
    width, height = card_sheet.paper(sheet, style)
    room = width - 2 * card_sheet.SAFE
    drawn, sizes = chart_table(view, style)
    exceptions = exceptions_table(view, style)
    style_text = css(
        "base.css",
        "exceptions.css",
        "chart.css",
        "card.css",
        fonts.print_font_css(),
        figures.tone_css(),
        card_sheet.page_css(sheet, style),
        sizes_css(sizes),
        chart_css(".chart", drawn, room, sizes),
        column_css(".exceptions", exceptions[0], room, exceptions[1]),
    )
    run = back.entries(view, style.brief, not style.code_front)
    columns = (run, back.continued(run)) if style.measuring else back.shared_out(run, style.split)
    text = rendered(
        "card.html",
        view=view,
        style=style,
        sheet=sheet,
        width=width,
        height=height,
        css=style_text,
        grid=drawn,
        depth=drawings_of(drawn, room, sizes),
        columns=(run,) if sheet.halves == 1 else columns,
        code=markup(qr_code(view.code, sheet.module, sheet.correction)) if view.code else "",
        code_words=back.code_words(view),
        groups=back.groups,
        beside_code=back.beside_code,
    )
    return unbroken(text)


def unbroken(text: str) -> str:
    """What is tied, tied by spaces: the typesetter may break a line long before a piece that is not to be broken."""
    return re.sub(r'<span class="tied">([^<]*)</span>', lambda match: match[1].replace(" ", "\u00a0"), text)


def copies_html(template: str, view: CopiesView, size: float) -> str:
    """A sheet about the copies of the card: `notice.html` or `register.html`, its type `size` points large."""
    fonts.require_glyphs(view_texts(view))
    style_text = css("base.css", "copies.css", fonts.print_font_css(), f":root {{ --size: {size:g}pt; }}")
    return rendered(template, view=view, css=style_text)
