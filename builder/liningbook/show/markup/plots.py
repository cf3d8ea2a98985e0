"""Forest plots for paper and for the screen, as markup."""

from __future__ import annotations

from typing import Any

from liningbook.show.figures.forest import forest_parts, forest_svg
from liningbook.show.markup.templates import markup, with_alternative
from liningbook.show.markup.wrapping import POINT
from liningbook.show.views.evidence.forest import Forest

_PRINTED = 8 * POINT
_HIGHEST = 222.0
"""Millimetres of a page of the protocol that a plot may take beneath its heading."""
_WIDE, _NARROW = (760.0, 15.0), (288.0, 14.5)
"""Width and type in pixels: where there is as much room (see the styles), and on a screen of 320 pixels."""


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
    """The plot as a file of its own (SVG)."""
    return forest_svg(forest, *_WIDE, "px") + "\n"
