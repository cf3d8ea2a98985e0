"""The band chart before and after, one above the other, with the cells marked whose advice has changed (SVG 1.1)."""

from __future__ import annotations

import re
from html import escape

from liningbook.compare.comparison import Comparison
from liningbook.logic.boxes import meets
from liningbook.logic.chart import Layout, cell_box, choose_layout
from liningbook.rendering.band_chart import band_chart_of, draw
from liningbook.rendering.chart_view import ChartWords
from liningbook.rendering.fonts import web_font_css
from liningbook.wording import count_words

WIDTH = 720
HEAD = 34
INK = "#16202a"


def changes_chart(comparison: Comparison) -> str | None:
    """Both charts on the bands of both versions; nothing where there is no quantity or no choice to draw one of."""
    layout = choose_layout(comparison.new)
    if layout is None:
        return None
    words = [ChartWords(meaning, layout=layout) for meaning in (comparison.old, comparison.new)]
    bands = sorted({a & b for a in words[0].bands for b in words[1].bands if a & b} | _alone(words))
    marked = _marked(comparison, layout, bands)
    drawings = []
    for name, one in zip(("before", "after"), words, strict=True):
        one.bands = bands
        data = band_chart_of(one.meaning, one)
        if data is None:
            return None
        drawings.append(draw(data, name, marked=marked))
    return _stacked(comparison, drawings, _outside(comparison, layout))


def _alone(words: list[ChartWords]) -> set[int]:
    """Parts of bands that only one version covers."""
    old, new = (_union(one.bands) for one in words)
    first = {band & ~new for band in words[0].bands if band & ~new}
    return first | {band & ~old for band in words[1].bands if band & ~old}


def _union(masks: list[int]) -> int:
    found = 0
    for mask in masks:
        found |= mask
    return found


def _marked(comparison: Comparison, layout: Layout, bands: list[int]) -> set[tuple[int, int]]:
    """The cells (number of the band, number of the choice) in which anything changed for the usual case."""
    changed = [box for difference in comparison.differences for box in difference.region]
    found = set()
    for number, band in enumerate(bands):
        for place, cell in enumerate(layout.columns):
            shown = cell_box(layout, band, 1 << cell)
            if any(meets(box, shown) for box in changed):
                found.add((number, place))
    return found


def _outside(comparison: Comparison, layout: Layout) -> int:
    """How many changes concern no case of the chart at all."""
    return sum(not any(meets(box, layout.usual) for box in d.region) for d in comparison.differences)


def _stacked(comparison: Comparison, drawings: list[str], outside: int) -> str:
    old, new = comparison.old_protocol, comparison.new_protocol
    heads = [f"Before: edition {old.edition}", f"After: edition {new.edition}"]
    parts = []
    top = 0
    for head, drawing in zip(heads, drawings, strict=True):
        parts.append(f'<text x="0" y="{top + 22}" font-size="18" font-weight="700">{escape(head)}</text>')
        width, height = _size(drawing)
        placed = f'<svg x="0" y="{top + HEAD}" width="{WIDTH}" height="{height * WIDTH // width}"'
        parts.append(re.sub(r'<svg( (width|height)="[^"]*")*', placed, _without_size(drawing), count=1))
        top += HEAD + height * WIDTH // width + 10
    note = _note(outside)
    parts.append(f'<text x="0" y="{top + 16}" font-size="14">{escape(note)}</text>')
    title = f"{new.title}: the chart before and after"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH}" height="{top + 28}" '
        f'viewBox="0 0 {WIDTH} {top + 28}" role="img" aria-labelledby="changes-t changes-d" '
        f'font-family="Source Sans Pro, sans-serif" fill="{INK}">'
        f'<title id="changes-t">{escape(title)}</title><desc id="changes-d">{escape(note)}</desc>'
        f"<style>{web_font_css()}</style>"  # a file that stands alone must not depend on what fonts a machine has
        f'<rect width="{WIDTH}" height="{top + 28}" fill="#ffffff"/>{"".join(parts)}</svg>\n'
    )


def _note(outside: int) -> str:
    if not outside:
        return "Cells whose advice has changed are outlined and say so."
    changes = count_words(outside, "change concerns", "changes concern")
    return f"Cells whose advice has changed are outlined and say so. {changes} no case of this chart."


def _size(drawing: str) -> tuple[int, int]:
    found = re.search(r'viewBox="0 0 (\d+) (\d+)"', drawing)
    assert found is not None
    return int(found[1]), int(found[2])


def _without_size(drawing: str) -> str:
    head, end, rest = drawing.partition(">")
    return re.sub(r' (width|height|xmlns)="[^"]*"', "", head) + end + rest
