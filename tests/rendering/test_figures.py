"""The figures: what is drawn is said, to scale, in order, apart, and the same in grey."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ElementTree
from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from fractions import Fraction
from itertools import combinations, pairwise
from pathlib import Path
from typing import Any

import pytest

from liningbook.analysis import analyse
from liningbook.cases.question import Reply, answer, put
from liningbook.cli import main
from liningbook.meaning.meaning import Meaning
from liningbook.meaning.table import table_of
from liningbook.notation.interval import Lower, Range, Upper
from liningbook.notation.quantity import UNITS
from liningbook.show.figures import band_chart, cross_section, drawing, reading_chart
from liningbook.show.figures.band_chart import BandChart, band_chart_of
from liningbook.show.figures.cross_section import Drawing
from liningbook.show.figures.reading_chart import Read
from liningbook.show.views.section_view import Ground, Layer, Section, section_of
from liningbook.show.views.view import Cell, Step
from tests.rendering.figure_facts import advance, described, faults, font, text_of, words

DAY = date(2026, 10, 1)
USUAL = {
    "rdt": "0.4 mm", "exposed": "no", "pulp": "normal", "restoration": "amalgam", "metal-contact": "no",
    "amalgam-restricted": "no", "methacrylate-allergy": "no", "eugenol-allergy": "no", "rosin-allergy": "no",
    "amalgam-metal-allergy": "no",
}  # fmt: skip
HOSTILE = "</text><script>alert('1')</script> & \"quoted\""
F = Fraction
ONE = F(1)


@pytest.fixture(scope="module")
def meaning(demonstration: Path) -> Meaning:
    found = analyse(demonstration, DAY).meaning
    assert found is not None
    return found


def ask(meaning: Meaning, **changes: str) -> Reply:
    given = {**USUAL, **{name.replace("_", "-"): text for name, text in changes.items()}}
    if "reading" in given:
        given["rdt.reading"] = given.pop("reading")
        del given["rdt"]
    return answer(meaning, put(meaning, given))


def every_advice(meaning: Meaning) -> list[Reply]:
    """One case of every row of every decision table."""
    rows = [row for decision in meaning.protocol.decisions for row in table_of(meaning, decision)]
    cases = {tuple(meaning.space.witness(row.box).items()) for row in rows}
    return [answer(meaning, put(meaning, dict(case))) for case in sorted(cases)]


def layer(number: int = 1, **changes: Any) -> Layer:
    usual = Layer(number, f"Agent {number}", ("Layer",), 1, F(1), "1 mm", "", number - 1)
    return replace(usual, **changes)


def section(*layers: Layer, thickness: Fraction | None = ONE, places: int = 3) -> Section:
    return Section(Ground("Dentine left", "1 mm", thickness), layers, places, ("Amalgam", "Restoration"))


# --- the cross-section ----------------------------------------------------------------------------------------------


def test_every_section_of_the_demonstration_keeps_to_the_rules_of_all_figures(meaning: Meaning) -> None:
    drawn = [cross_section.cross_section(meaning, reply, "t") for reply in every_advice(meaning)]
    figures = sorted({figure for figure in drawn if figure})
    assert len(figures) >= 20
    assert [fault for figure in figures for fault in faults(figure, "t")] == []


def test_layers_stand_in_placing_order_from_the_pulp_up(meaning: Meaning) -> None:
    figure = cross_section.cross_section(meaning, ask(meaning), "t")
    names = ["Pulp", "Remaining dentine", "Hard-setting calcium", "Resin-modified glass", "Cavity varnish", "Amalgam"]
    heights = [next(item.box[1] for item in words(figure) if item.text == name) for name in names]
    assert heights == sorted(heights, reverse=True)
    numbers = [
        item.text for item in sorted(words(figure), key=lambda item: item.box[1]) if item.text in ("1", "2", "3")
    ]
    assert numbers == ["3", "2", "1"]


def test_the_text_alternative_says_every_layer_in_order(meaning: Meaning) -> None:
    assert described(cross_section.cross_section(meaning, ask(meaning), "t")) == (
        "From the pulp outwards. Remaining dentine thickness: 0.4 mm. 1: Hard-setting calcium hydroxide, Liner, "
        "deepest spot, under 0.5 mm. 2: Resin-modified glass ionomer, Base, pulpal or axial floor, 0.75 to 1 mm. "
        "3: Cavity varnish, Cavity sealer, all cavity walls, 2 coats, 2 to 5 µm. On top: Amalgam (Restoration)."
    )


def test_a_film_is_said_not_to_be_to_scale_and_carries_the_break_mark(meaning: Meaning) -> None:
    figure = cross_section.cross_section(meaning, ask(meaning), "t")
    assert "not to scale: 2 to 5 µm" in text_of(figure)
    film, solid = layer(thickness=F(1, 200), amount="5 µm"), layer()
    assert Drawing(section(film), "t").heights == [cross_section.FILM]
    dots = [cross_section.draw(section(one), "t").count('r="3"') for one in (film, solid)]
    assert dots[0] == dots[1] - 1  # the break mark stands where the dot would


def test_a_layer_without_a_thickness_says_so() -> None:
    figure = cross_section.draw(section(layer(thickness=None, amount="")), "t")
    assert "thickness not stated, not to scale" in text_of(figure)
    assert described(figure).count("thickness not stated") == 1


@pytest.mark.parametrize(
    "millimetres", [("0.1", "0.5", "1"), ("2", "1", "0.75"), ("6", "0.8", "1.2"), ("0.4", "0.5", "1")]
)
def test_dentine_and_layers_are_drawn_to_one_scale(millimetres: tuple[str, str, str]) -> None:
    dentine, first, second = map(F, millimetres)
    drawn = Drawing(section(layer(1, thickness=first), layer(2, thickness=second), thickness=dentine), "t")
    for height, thickness in zip([drawn.ground, *drawn.heights], (dentine, first, second), strict=True):
        assert abs(height - drawn.scale * thickness) <= F(1, 2)
    tops = [surface[0][1] for surface in drawn.surfaces]
    assert [upper - lower for lower, upper in pairwise(tops)] == drawn.heights


def test_more_dentine_is_never_drawn_thinner_beside_the_same_layer() -> None:
    shares = []
    for hundredths in range(0, 600, 7):
        drawn = Drawing(section(layer(), thickness=F(hundredths, 100)), "t")
        shares.append(F(drawn.ground, drawn.heights[0]))
    assert shares == sorted(shares)


def test_the_scale_bar_is_as_long_as_it_says() -> None:
    for thickness in (F(1, 50), F(1), F(5), F(400)):
        drawn = Drawing(section(layer(), thickness=thickness), "t")
        said = re.search(r"([0-9.]+) mm \(heights only\)", text_of(drawn.figure()))
        bar = re.search(r"h7M[0-9.]+ [0-9.]+v([0-9.]+)m", drawn.figure())
        assert said is not None
        assert bar is not None
        assert abs(F(bar[1]) * 10 - F(said[1]) * drawn.scale) <= F(1, 2)


def test_a_place_decides_how_much_of_the_cavity_is_covered() -> None:
    def covered(place: int, places: int) -> int:
        drawn = Drawing(section(layer(place=place), places=places), "t")
        before, after = drawn.surfaces
        bare = [u for (u, low), (_, high) in zip(before, after, strict=False) if high == low]
        return min(bare, default=cross_section.HALF) + (1000 if after[-1][0] < before[-1][0] else 0)

    assert covered(0, 3) < covered(1, 3) == cross_section.HALF < covered(2, 3)
    assert [covered(n, 5) for n in range(5)] == sorted({covered(n, 5) for n in range(5)})
    assert covered(-1, 0) == cross_section.HALF


def test_many_layers_with_long_words_keep_apart() -> None:
    long = "An agent whose name goes on and on, as names of cements do when nobody stops them"
    layers = tuple(
        layer(n, agent=f"{long} {n}", words=("A layer with a long name", "a place with a long name"), place=n % 3)
        for n in range(1, 13)
    )
    unbroken = layer(1, agent="W" * 90, words=("M" * 70,))
    for drawn in (section(*layers), section(*layers, thickness=None, places=0), section(unbroken)):
        assert list(faults(cross_section.draw(drawn, "t"), "t")) == []


def test_nothing_placed_is_said(meaning: Meaning) -> None:
    figure = cross_section.cross_section(meaning, ask(meaning, rdt="3 mm", restoration="glass-ionomer"), "t")
    assert "No layer is placed under it." in text_of(figure)
    assert "No layer is placed." in described(figure)


@pytest.mark.parametrize(
    "changes",
    [{"exposed": "yes"}, {"rdt": "0 mm"}, {"pulp": "uncertain"}, {"amalgam_restricted": "yes"}],
    ids=["refer", "out of scope", "judgement", "change"],
)
def test_no_layers_are_drawn_where_none_are_advised(meaning: Meaning, changes: Mapping[str, str]) -> None:
    reply = ask(meaning, **changes)
    assert not any(
        o.state == "answered" and o.answer and o.answer.kind == "layer" for o in reply.advice.outcomes.values()
    )
    assert cross_section.cross_section(meaning, reply, "t") == ""


def test_no_layers_are_drawn_where_a_decision_is_open(meaning: Meaning) -> None:
    reply = ask(meaning)
    for state in ("gap", "conflict", "contraindicated", "clash"):
        outcomes = {**reply.advice.outcomes, "base": replace(reply.advice.outcomes["base"], state=state)}
        assert section_of(meaning, replace(reply, advice=replace(reply.advice, outcomes=outcomes))) is None


def test_a_reading_that_stops_short_of_nothing_leaves_dentine_to_be_seen(meaning: Meaning) -> None:
    found = section_of(meaning, ask(meaning, reading="0 mm"))
    assert found is not None
    assert (found.ground.words, found.ground.thickness) == ("just above 0 mm", 0)
    assert Drawing(found, "t").ground == cross_section.JUST


def test_hostile_words_stay_words() -> None:
    figure = cross_section.draw(section(layer(agent=HOSTILE, words=(HOSTILE,))), "t")
    assert "<script" not in figure
    assert list(faults(figure, "t")) == []
    assert HOSTILE in described(figure)


def test_hatches_are_told_apart_in_grey(pango: None) -> None:  # noqa: ARG001
    from weasyprint import HTML

    from tests.rendering.measure import raster

    names = [f"hatch-{number}" for number in range(drawing.HATCHES)]
    defs = "".join(drawing.hatch(number, name) for number, name in enumerate(names))
    boxes = "".join(f'<path d="M{n * 48} 0h48v48h-48z" fill="url(#{name})"/>' for n, name in enumerate(names))
    wide = len(names) * 48
    svg = f'<svg viewBox="0 0 {wide} 48" width="{wide}" height="48"><defs>{defs}</defs>{boxes}</svg>'
    page = f"<style>@page {{ size: {wide}px 48px; margin: 0 }} body {{ margin: 0 }}</style>{svg}"
    grey = raster(HTML(string=page).write_pdf(), 0, scale=8 / 3, grey=True).astype(float) / 255
    side = grey.shape[1] / len(names)
    tiles = [grey[20:-20, int(n * side) + 20 : int((n + 1) * side) - 20] for n in range(len(names))]

    def looks(tile: Any) -> list[float]:
        across, down = abs(tile[:, 4:] - tile[:, :-4]).mean(), abs(tile[4:] - tile[:-4]).mean()
        falling, rising = abs(tile[4:, 4:] - tile[:-4, :-4]).mean(), abs(tile[4:, :-4] - tile[:-4, 4:]).mean()
        return [tile.mean(), across, down, falling, rising]

    for (one, first), (other, second) in combinations(enumerate(map(looks, tiles)), 2):
        assert max(abs(a - b) for a, b in zip(first, second, strict=True)) > 0.08, (one, other)


# --- the reading chart ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("reading", ["0 mm", "0.6 mm", "0.72 mm", "1.3 mm", "3.6 mm", "8 mm", "200 mm", "0.001 mm"])
def test_a_reading_chart_keeps_its_words_apart(meaning: Meaning, reading: str) -> None:
    figure = reading_chart.reading_chart(meaning, ask(meaning, reading=reading), "t")
    assert list(faults(figure, "t")) == []
    assert f"Read: {reading}" in text_of(figure)


def read(*thresholds: str, reading: str = "1", low: str = "0", high: str = "6") -> Read:
    value = F(reading)
    cuts = tuple((F(text), f"{text} mm") for text in thresholds)
    said = ("Read: so much", "Corrected: so much; within its uncertainty: so much", "Treated as: so much")
    return Read("A quantity", said, value, value, value - F(1, 5), value + F(1, 5), value, cuts, (F(low), F(high)))


@pytest.mark.parametrize(
    "one",
    [
        read("0.5", "0.51", "0.52", "0.53", "0.6", "0.9", "1", "1.01", "5.99"),
        read("0.001", "5.999", reading="6"),
        read(reading="0"),
        read(*[f"{n / 10:g}" for n in range(1, 40)]),
        read("0.123456789012345678901234567890123456789"),
    ],
    ids=["close", "at the ends", "none", "many", "long"],
)
def test_thresholds_close_together_or_at_the_ends_keep_their_words_apart(one: Read) -> None:
    figure = reading_chart.draw([one, one], "t")
    assert list(faults(figure, "t")) == []
    places = {item.text: item.box for item in words(figure)[: len(words(figure)) // 2]}
    lefts = [places[drawing.wrap(text, True, reading_chart.MOST_LABEL)[0]][0] for _, text in one.thresholds]
    assert lefts == sorted(lefts)


def test_a_line_to_a_threshold_crosses_no_words() -> None:
    figure = reading_chart.draw([read("0.5", "0.51", "0.52", "0.6", "0.9", "1", "1.01")], "t")
    for data in re.findall(r'd="(M[0-9.]+ [0-9.]+V[0-9.]+)"', figure):
        x, top, foot = map(float, re.findall(r"[0-9.]+", data))
        for item in words(figure):
            assert not (item.box[0] < x < item.box[2] and item.box[1] < foot and top < item.box[3]), item


def test_the_reading_chart_says_everything_in_words(meaning: Meaning) -> None:
    assert described(reading_chart.reading_chart(meaning, ask(meaning, reading="0.6 mm"), "t")) == (
        "Remaining dentine thickness: read: 0.6 mm (bitewing radiograph); corrected: 0.42 mm; within its uncertainty: "
        "0.02 mm to 0.82 mm; treated as: 0.02 mm. Thresholds: 0.5 mm, 2 mm."
    )


def test_without_a_reading_there_is_no_reading_chart(meaning: Meaning) -> None:
    assert reading_chart.reading_chart(meaning, ask(meaning), "t") == ""


# --- the band chart -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("narrow", [False, True])
@pytest.mark.parametrize("marked", [(), ((0, 0), (1, 2), (2, 6))])
def test_the_band_chart_keeps_to_the_rules_of_all_figures(meaning: Meaning, narrow: bool, marked: Any) -> None:
    data = band_chart_of(meaning)
    assert data is not None
    figure = band_chart.draw(data, "t", guard=True, marked=marked, narrow=narrow)
    assert list(faults(figure, "t", 12 / 280 * 320 if narrow else 14)) == []
    assert text_of(figure).count("Changed") == len(marked)
    assert described(figure).count("changed: ") == len(marked)


def test_the_band_chart_says_every_region_in_words(meaning: Meaning) -> None:
    data = band_chart_of(meaning)
    assert data is not None
    said = described(band_chart.draw(data, "t", guard=True))
    assert "Composite, Ceramic. more than 0 mm, at most 0.5 mm: 1: Hard-setting calcium hydroxide" in said
    assert "more than 0.5 mm: 1: Resin adhesive, all cavity walls." in said
    assert "Glass ionomer, Provisional before resin, Other provisional." in said
    assert said.endswith("here counts as less: guard band 0.4 mm.")


def bands(*cuts: tuple[str, bool], low: str = "0", high: str = "6", first: str = "0") -> BandChart:
    """Bands that end at each cut, which belongs to the lower band where it says so."""
    ranges = []
    lower = Lower(F(first), True)
    for text, closed in (*cuts, (high, True)):
        ranges.append(Range(lower, Upper(F(text), closed)))
        lower = Lower(F(text), not closed)
    cells = tuple(
        tuple(Cell(f"{c} {b}", (Step(1, f"Agent {b} {c}, so much"),), "place") for c in ("a", "b"))
        for b in range(len(ranges))
    )
    limits = Range(Lower(F(low), True), Upper(F(high), True))
    return BandChart("Depth", "Choice", tuple(ranges), ("A", "B"), cells, UNITS["mm"], limits, F(2, 5), "below", "film")


def test_each_end_is_told_by_words_and_by_a_filled_or_hollow_mark() -> None:
    for closed, words_ in (
        (True, ("0.5 mm or less", "more than 0.5 mm")),
        (False, ("less than 0.5 mm", "0.5 mm or more")),
    ):
        figure = band_chart.draw(bands(("0.5", closed)), "t")
        assert all(text in text_of(figure) for text in words_)
        marks = re.findall(r'<circle class="(fig-\w+) fig-line"[^>]* cx="([0-9.]+)"', figure)[:4]
        names = [name for name, _ in sorted(marks, key=lambda mark: float(mark[1]))]
        assert names == ["fig-ink", *(("fig-ink", "fig-paper") if closed else ("fig-paper", "fig-ink")), "fig-ink"]


def test_a_band_of_one_value_has_room_for_its_words() -> None:
    data = bands(("0.5", False), ("0.5", True), ("2", True))
    figure = band_chart.draw(data, "t", guard=True)
    assert "exactly 0.5 mm" in text_of(figure)
    assert list(faults(figure, "t", 14)) == []


def test_the_guard_band_lies_beyond_the_threshold_on_the_doubtful_side() -> None:
    data = bands(("0.5", True), ("2", True))
    assert band_chart.guards(data, [1, 2]) == [
        Range(Lower(F(1, 2), True), Upper(F(9, 10), True)),
        Range(Lower(F(2), True), Upper(F(12, 5), True)),
    ]
    above = band_chart.guards(replace(data, cautious="above"), [1])
    assert above == [Range(Lower(F(1, 10), True), Upper(F(1, 2), True))]
    assert "guard-t)" in band_chart.draw(data, "t", guard=True)
    assert "guard-t)" not in band_chart.draw(data, "t")


@pytest.mark.parametrize("count", [1, 2, 5, 6, 12])
def test_any_number_of_bands_keeps_its_words_apart(count: int) -> None:
    data = bands(*[(f"{n * 5 / 10:g}", n % 2 == 0) for n in range(1, count)])
    for narrow in (False, True):
        figure = band_chart.draw(data, "t", guard=True, narrow=narrow, marked=[(0, 1)])
        assert list(faults(figure, "t", 14)) == []


def test_values_that_no_band_covers_are_said_not_to_be_covered() -> None:
    data = bands(("1", True), ("2", True), first="0.5")
    figure = band_chart.draw(
        replace(data, bands=(data.bands[0], data.bands[2]), cells=data.cells[::2]), "t", marked=[(1, 0)]
    )
    said = described(figure)
    assert "less than 0.5 mm: Not covered here." in said
    assert "more than 1 mm, at most 2 mm: Not covered here." in said
    assert "changed: more than 2 mm: 1: Agent 2 a" in said


def test_hostile_words_of_a_chart_stay_words() -> None:
    data = bands(("0.5", True))
    cell = Cell("x", (Step(1, f"{HOSTILE}, {HOSTILE}"), Step(0, HOSTILE)), "decide")
    hostile = replace(
        data, quantity=HOSTILE, choice=HOSTILE, choices=(HOSTILE, "B"), method=HOSTILE, cells=((cell, cell),) * 2
    )
    for narrow in (False, True):
        figure = band_chart.draw(hostile, "t", guard=True, narrow=narrow)
        assert "<script" not in figure
        assert list(faults(figure, "t", 14)) == []


# --- what they are drawn with ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("bold", [False, True])
def test_text_is_never_measured_narrower_than_the_font_draws_it(bold: bool) -> None:
    for point in font(bold)[0]:
        char = chr(point)
        if 32 <= point < 0x2200 and char.isprintable():
            assert drawing.measure(char, bold) >= round(advance(char, bold) * 1000), char
    ascii_ = "".join(map(chr, range(32, 127)))
    assert drawing.measure(ascii_, bold) == round(advance(ascii_, bold) * 1000)


def test_a_number_stays_with_its_unit() -> None:
    assert drawing.wrap("at least 0.75 to 1 mm thick", False, 800) == ["at least", "0.75 to 1 mm", "thick"]


def test_a_number_leaves_its_unit_where_there_is_no_room() -> None:
    assert drawing.wrap("2 to 5 µm, 2 coats", False, 480) == ["2 to", "5 µm,", "2 coats"]


def test_the_bands_are_as_wide_as_their_words() -> None:
    wordy = Cell("x", (Step(1, "Hydroxyapatiteglass, " + "so much " * 20),), "place")
    slim = Cell("y", (Step(1, "Polyalkenoate, inextinguishable"),), "place")
    data = replace(bands(("0.5", True), ("2", True)), cells=((wordy,) * 2, (wordy,) * 2, (slim,) * 2))
    said = [item.text for item in words(band_chart.draw(data, "t"))]
    assert "Hydroxyapatiteglass" in said
    assert "inextinguishable" in said


def test_tenths_are_written_as_decimals() -> None:
    assert [drawing.tenths(n) for n in (0, 5, 10, 125, -5, -120)] == ["0", "0.5", "1", "12.5", "-0.5", "-12"]


# --- the command ----------------------------------------------------------------------------------------------------


def test_case_writes_the_section(demonstration: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    place = tmp_path / "tooth.svg"
    given = [f"{name}={text}" for name, text in USUAL.items()]
    assert main(["case", str(demonstration), *given, "--section", str(place)]) == 0
    assert "Place in this order" in capsys.readouterr().out
    assert ElementTree.fromstring(place.read_text("utf-8")).tag.endswith("svg")


def test_case_says_that_there_is_no_section_to_write(
    demonstration: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    place = tmp_path / "tooth.svg"
    given = [f"{name}={text}" for name, text in {**USUAL, "exposed": "yes"}.items()]
    assert main(["case", str(demonstration), *given, "--section", str(place)]) == 0
    told = capsys.readouterr()
    assert "Assess the pulp first" in told.out
    assert "is not written: this case gets no single set of layers to draw" in told.err
    assert not place.exists()


def test_two_figures_need_two_files(demonstration: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    place = str(tmp_path / "one.svg")
    given = [f"{name}={text}" for name, text in USUAL.items() if name != "rdt"]
    call = ["case", str(demonstration), *given, "rdt.reading=0.6mm", "--section", place, "--chart", place]
    assert main(call) == 2
    assert "cannot both be written into one file" in capsys.readouterr().err
