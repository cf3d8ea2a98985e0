"""The one chart: its columns, its slots, its depth axis, the marks on what has changed."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from liningbook.analysis import analyse
from liningbook.exchange.bundle import bundle_of
from liningbook.notation.interval import Lower, Range, Upper
from liningbook.notation.quantity import UNITS
from liningbook.show.changes.marked import marked_chart
from liningbook.show.figures.depth import depth_axis, depth_bands
from liningbook.show.markup.chart_table import setting
from liningbook.show.markup.grid import grid, parted
from liningbook.show.markup.markdown import to_html
from liningbook.show.paper import paper_html
from liningbook.show.paper.heights import protocol_sizes
from liningbook.show.paper.typeset import typesetter
from liningbook.show.viewer import Viewer
from liningbook.show.views.pieces import Cell, Chart, Depth, Step
from tests.rendering.lengths import chart_faults, elements
from tests.rendering.test_changes import CHANGED, RULES, between, put

TERN_STREET = Path(__file__).resolve().parents[2] / "guidelines" / "tern-street"


@pytest.fixture(scope="module")
def demonstration() -> Viewer:
    analysis = analyse(TERN_STREET, date(2026, 11, 28))
    return Viewer(analysis, bundle_of(analysis)["digest"], to_html)


@pytest.fixture(scope="module")
def chart(demonstration: Viewer) -> Chart:
    found = demonstration.protocol_view().chart
    assert found is not None
    return found


# --- the same chart everywhere ----------------------------------------------------------------------------------------


def test_card_and_protocol_show_the_same_chart(demonstration: Viewer, chart: Chart) -> None:
    on_card = demonstration.card_views("A4")[0].chart
    assert replace(on_card, usual=chart.usual) == chart


def test_a_band_is_called_the_same_everywhere(demonstration: Viewer, chart: Chart) -> None:
    assert chart.bands == ("up to 0.5 mm", "over 0.5 up to 2 mm", "over 2 mm")
    assert [cell.id.partition(", ")[2] for cell, *_ in chart.cells] == list(chart.bands)
    places = " ".join(fact.label for fact in demonstration.protocol_view().protection)
    assert "Amalgam, up to 2 mm" in places
    assert not re.search("or less|more than|at most", places)


def test_no_layer_is_called_by_its_name_and_the_agents_in_one_breath(chart: Chart) -> None:
    amalgam = chart.cells[0][0]
    assert [(step.number, step.layer, step.head) for step in amalgam.steps] == [
        (1, "Liner", "Hard-setting calcium hydroxide"),
        (2, "Base", "Resin-modified glass ionomer"),
        (3, "Cavity sealer", "Cavity varnish"),
    ]


# --- slots ------------------------------------------------------------------------------------------------------------


def test_a_row_has_a_slot_for_each_of_its_layers_and_says_which_are_not_placed(chart: Chart) -> None:
    amalgam, *_, cast = grid(chart).rows
    assert amalgam.layers == ("Liner", "Base", "Cavity sealer")
    said = [[step.head if step else None for step in amalgam.slots(cell)] for cell in amalgam.cells]
    assert said == [
        ["Hard-setting calcium hydroxide", "Resin-modified glass ionomer", "Cavity varnish"],
        [None, "Resin-modified glass ionomer", "Cavity varnish"],
        [None, None, "Cavity varnish"],
    ]
    assert cast.layers == ("Liner", "Base")
    assert cast.slots(cast.cells[2]) == ()
    assert [step.head for step in cast.cells[2].steps] == ["Place nothing"]


def test_choices_alike_throughout_share_a_row(chart: Chart) -> None:
    assert [row.names for row in grid(chart).rows] == [
        ("Amalgam",),
        ("Composite", "Ceramic"),
        ("Glass ionomer", "Provisional before resin", "Other provisional"),
        ("Cast metal",),
    ]


def test_slots_keep_their_place_where_the_order_of_placing_differs() -> None:
    liner, sealer = Step(2, "A", layer="Liner", slot=1), Step(1, "B", layer="Sealer", slot=3)
    base = Step(1, "C", layer="Base", slot=2)
    cells = (Cell("", (sealer, liner), "place"), Cell("", (base,), "place"))
    drawn = grid(Chart("Depth", "Filling", ("a", "b"), ("x",), tuple((cell,) for cell in cells), ()))
    assert drawn.rows[0].layers == ("Liner", "Base", "Sealer")
    assert drawn.rows[0].slots(cells[0]) == (liner, None, sealer)


def laid_out(view: Any, size: float) -> Any:
    with typesetter(1) as setter:
        return setter.lay_out(paper_html.protocol_html(view, size, measuring=True))


@pytest.mark.usefixtures("pango")
@pytest.mark.parametrize("size", [8.0, 9.5, 11.0])
def test_the_slots_of_a_layer_stand_at_one_height_and_all_columns_are_of_one_width(
    demonstration: Viewer, size: float
) -> None:
    page = laid_out(demonstration.protocol_view(), size)
    assert list(chart_faults(page)) == []
    assert len(list(elements(page.pages[0]._page_box, "BlockBox", "slot "))) == 32
    widths = {round(cell.width) for cell in elements(page.pages[0]._page_box, "TableCellBox", "cell ")}
    assert max(widths) - min(widths) <= 2


# --- the depth axis ---------------------------------------------------------------------------------------------------


def test_the_drawing_has_a_wedge_over_each_column_to_scale_and_says_to_which_side_a_threshold_belongs(
    chart: Chart,
) -> None:
    assert chart.depth is not None
    drawing = depth_bands(chart.depth, 90, 20, 4)
    wedges = re.findall(r'fig-dentine" d="M(\S+) \S+V(\S+)L(\S+) (\S+)V', drawing)
    assert [(float(left), float(right)) for left, _, right, _ in wedges] == [(0, 30), (30, 60), (60, 90)]
    ends = [16 - float(low) for _, low, _, _ in wedges] + [16 - float(wedges[-1][3])]
    assert ends[0] == 0
    assert ends[1] / ends[2] == pytest.approx(0.5 / 2, abs=0.01)
    assert ends[3] > ends[2]
    dots = drawing.count('class="fig-line dot"'), drawing.count('class="fig-line-paper dot"')
    assert dots == (5, 3), "0, 0.5 twice, 2 twice; hollow are 0 and the lower ends"
    scale = depth_axis(chart.depth, 30, 20, 4, 9)
    assert ">2 mm</text>" in scale
    assert ">0.5</text>" in scale
    assert "<pattern" not in drawing + scale


def test_labels_of_thresholds_never_touch() -> None:
    ends = [Fraction(n, 10) for n in range(15)]
    bands = tuple(Range(Lower(a, True), Upper(b, False)) for a, b in pairwise(ends))
    scale = depth_axis(Depth(bands, UNITS["mm"], Fraction(0), Fraction(3, 2)), 30, 20, 4, 9)
    places = sorted(float(y) for y in re.findall(r'<text [^>]*y="(\S+?)"', scale))
    assert 3 < len(places) < 14
    assert all(after - before > 2.2 for before, after in pairwise(places))


def test_a_part_of_a_chart_has_the_drawing_of_its_columns(chart: Chart) -> None:
    assert chart.depth is not None
    parts = parted(grid(chart), 2)
    assert [len(part.depth.bands) for part in parts if part.depth] == [1, 2]
    assert {part.depth.top for part in parts if part.depth} == {chart.depth.top}


# --- what has changed -------------------------------------------------------------------------------------------------


def test_the_cells_that_have_changed_since_an_edition_are_marked_and_no_others(tmp_path: Path) -> None:
    comparison = between(put(tmp_path / "old", RULES), put(tmp_path / "new", CHANGED, "2026.2"))
    analysis = analyse(tmp_path / "new", date(2026, 11, 28))
    view = Viewer(analysis, bundle_of(analysis)["digest"], to_html, comparison).protocol_view()
    assert view.chart is not None
    assert view.chart.changed_since == "2026.1"
    marked = {cell.id for row in view.chart.cells for cell in row if cell.changed}
    assert marked == {"Amalgam, over 0.5 up to 1 mm"}
    text = paper_html.protocol_html(view)
    assert text.count('<p class="change">Changed</p>') == len(marked)
    assert "changed since edition 2026.1" in text


def test_nothing_is_marked_without_an_older_edition(chart: Chart) -> None:
    assert chart.changed_since == ""
    assert not any(cell.changed for row in chart.cells for cell in row)


def test_an_edition_in_another_unit_is_marked_alike(tmp_path: Path) -> None:
    old = put(tmp_path / "old", RULES, **{"unit: mm": "unit: um"})
    comparison = between(old, put(tmp_path / "new", CHANGED, "2026.2", **{"unit: mm": "unit: um"}))
    analysis = analyse(tmp_path / "new", date(2026, 11, 28))
    words = Viewer(analysis, "0" * 64, to_html).charts
    chart = words.chart()
    assert chart is not None
    marked = [cell.id for row in marked_chart(chart, comparison, words).cells for cell in row if cell.changed]
    assert len(marked) == 1


# --- widths -----------------------------------------------------------------------------------------------------------


def test_names_take_no_more_than_their_words_need(chart: Chart) -> None:
    sizes = protocol_sizes(10)
    found = setting(grid(chart), 182, sizes)
    assert found.excess == 0
    assert found.names < 0.3 * 182
    # Half of the line around the chart lies outside its columns, on either side.
    assert found.column * 3 + found.names + found.labels == pytest.approx(182 - 0.35)
