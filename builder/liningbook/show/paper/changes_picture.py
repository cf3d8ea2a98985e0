"""The chart with what has changed, as a picture that stands alone: the chart of all outputs within SVG 1.1.

Browsers draw it (HTML within `foreignObject`); any other program reads from its description what has changed.
"""

from __future__ import annotations

import html
import re
from xml.etree import ElementTree

from liningbook.compare.comparison import Comparison
from liningbook.say.cases import labelled, sentences
from liningbook.say.texts import t
from liningbook.show.assets.fonts import web_font_css
from liningbook.show.changes.changed_chart import changed_chart
from liningbook.show.changes.changes_view import changes_view
from liningbook.show.figures.tones import tone_css
from liningbook.show.markup.chart_table import chart_css, drawings, setting, sizes_css
from liningbook.show.markup.templates import css, filled
from liningbook.show.paper.chart_fit import WIDTH, chart_tables
from liningbook.show.paper.heights import protocol_sizes
from liningbook.show.paper.paper_html import unbroken

SIZES = protocol_sizes(10)
PLAIN = (
    '.picture { font-family: "Source Sans Pro"; font-size: 10pt; line-height: 1.25; color: var(--ink); }'
    " .hidden { display: none; } .chart, .legend { margin-top: 2mm; }"
)
"""What a page would say of its body."""
AROUND = 30.0
"""Millimetres for the case that the chart stands for, and for its key."""
_PIXELS = 96 / 25.4


def changes_picture(comparison: Comparison) -> str | None:
    """The picture; nothing where no chart can be drawn. Its description lists every change."""
    chart = changed_chart(comparison, whole=True)
    if chart is None:
        return None
    tables = chart_tables(chart, SIZES)
    style = css(
        "base.css",
        "chart.css",
        web_font_css(),  # a file that stands alone must not depend on what fonts a machine has
        tone_css(),
        sizes_css(SIZES),
        *(chart_css(f".chart-{number}", table, WIDTH, SIZES) for number, table in enumerate(tables)),
        PLAIN,
    )
    drawn = [(table, drawings(table, WIDTH, SIZES)) for table in tables]
    body = _as_xml(unbroken(filled("changed_chart.html", chart=chart, css=style, tables=drawn)))
    height = AROUND + sum(1.1 * setting(table, WIDTH, SIZES).height + 20 for table in tables)
    wide, high = round(WIDTH * _PIXELS), round(height * _PIXELS)
    title = html.escape(t.chart_title(title=comparison.new_protocol.title))
    told = html.escape(sentences(_told(comparison)))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH}mm" height="{height:.0f}mm" '
        f'viewBox="0 0 {wide} {high}" role="img" aria-labelledby="changes-t changes-d">'
        f'<title id="changes-t">{title}</title><desc id="changes-d">{told}</desc>'
        f'<rect width="{wide}" height="{high}" fill="#ffffff"/>'
        f'<foreignObject width="{wide}" height="{high}">{body}</foreignObject></svg>\n'
    )


def _told(comparison: Comparison) -> list[str]:
    """Every change with its cases, a sentence each."""
    return [
        f"{one.number}, {labelled(one.decision, f'{one.before} → {one.after}')}. {f' — {t.or_these} '.join(one.cases)}."
        for one in changes_view(comparison, "", "").changes
    ]


def _as_xml(page: str) -> str:
    """HTML as XML, the part within its body."""
    import tinyhtml5

    ElementTree.register_namespace("", "http://www.w3.org/1999/xhtml")
    root = tinyhtml5.parse(page)
    body = next(element for element in root.iter() if str(element.tag).endswith("}body"))
    text = ElementTree.tostring(body[0], encoding="unicode")
    return re.sub(r"<(/?)svg:", r"<\1", text)
