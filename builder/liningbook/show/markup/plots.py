"""Forest plots for paper and for the screen, as markup."""

from __future__ import annotations

import re
from typing import Any

from liningbook.show.assets.fonts import WEB_FAMILY, web_font_css
from liningbook.show.figures.forest import forest_parts, forest_svg
from liningbook.show.figures.shapes import FAMILY, PAPER, number
from liningbook.show.markup.templates import markup, with_alternative
from liningbook.show.markup.wrapping import POINT
from liningbook.show.views.evidence.forest import Forest

_PRINTED = 8 * POINT
_HIGHEST = 222.0
"""Millimetres of a page of the protocol that a plot may take beneath its heading."""
_WIDE, _NARROW = (760.0, 15.0), (288.0, 14.5)
"""Width and type in pixels: where there is as much room (see the styles), and on a screen of 320 pixels."""

_MARGIN = 16


def printed_plots(forest: Forest, width: float) -> list[Any]:
    """The plot in pictures that each fit a page, `width` millimetres wide."""
    parts = forest_parts(forest, width, _PRINTED, _HIGHEST, "mm")
    return [markup(with_alternative(svg)) for svg in parts]


def screen_plots(forest: Forest) -> list[Any]:
    """The plot for a wide and for a narrow screen; a table beside it tells the same to who cannot see it."""
    sizes = {"wide": _WIDE, "narrow": _NARROW}
    return [
        markup(f'<div class="plot-{name}">{forest_svg(forest, *sizes[name], is_hidden=True)}</div>') for name in sizes
    ]


def plot_file(forest: Forest) -> str:
    """The plot as a file of its own (SVG), on paper with a margin, with the font in it."""
    svg = forest_svg(forest, *_WIDE, "px")
    size = re.search(r'width="([0-9.]+)px" height="([0-9.]+)px"', svg)
    assert size is not None
    width, height = (number(float(one) + 2 * _MARGIN) for one in size.groups())
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" viewBox="0 0 {width} {height}">'
        f"<style>{web_font_css([svg])}</style>"
        f'<rect width="{width}" height="{height}" fill="{PAPER}"/>'
        f'<g transform="translate({_MARGIN} {_MARGIN})">{svg}</g></svg>\n'
    ).replace(FAMILY, f"'{WEB_FAMILY}', {FAMILY}")
