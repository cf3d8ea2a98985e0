"""The figures: what is drawn is said, to scale, in order, apart, and the same in grey."""

from __future__ import annotations

import re
import shutil
import sys
import xml.etree.ElementTree as ElementTree
from collections.abc import Callable, Mapping
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
from liningbook.show.assets import font_widths
from liningbook.show.figures.script import Drawer
from tests.rendering import drawn
from tests.rendering.drawn import layer, section, tooth
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


def cross_section(meaning: Meaning, reply: Reply) -> str:
    return Drawer(meaning).section(reply, "t")


def reading_chart(meaning: Meaning, reply: Reply) -> str:
    return Drawer(meaning).reading(reply, "t")


# --- the cross-section ----------------------------------------------------------------------------------------------


def test_every_section_of_the_demonstration_keeps_to_the_rules_of_all_figures(meaning: Meaning) -> None:
    drawer = Drawer(meaning)
    figures = sorted({drawer.section(reply, "t") for reply in every_advice(meaning)} - {""})
    assert len(figures) >= 20
    assert [fault for figure in figures for fault in faults(figure, "t")] == []


def test_layers_stand_in_placing_order_from_the_pulp_up(meaning: Meaning) -> None:
    figure = cross_section(meaning, ask(meaning))
    names = ["Pulp", "Remaining dentine", "Hard-setting", "Resin-modified", "Cavity varnish", "Amalgam"]
    heights = [next(item.box[1] for item in words(figure) if item.text == name) for name in names]
    assert heights == sorted(heights, reverse=True)
    numbers = [
        item.text for item in sorted(words(figure), key=lambda item: item.box[1]) if item.text in ("1", "2", "3")
    ]
    assert numbers == ["3", "2", "1"]


def test_the_text_alternative_says_every_layer_in_order(meaning: Meaning) -> None:
    assert described(cross_section(meaning, ask(meaning))) == (
        "From the pulp outwards. Remaining dentine thickness: 0.4 mm. 1: Hard-setting calcium hydroxide, Liner, "
        "deepest spot, under 0.5 mm. 2: Resin-modified glass ionomer, Base, pulpal or axial floor, 0.75 to 1 mm. "
        "3: Cavity varnish, Cavity sealer, all cavity walls, 2 coats, 2 to 5 µm. On top: Amalgam (Restoration)."
    )


def test_a_film_is_said_not_to_be_to_scale_and_carries_the_break_mark(meaning: Meaning) -> None:
    figure = cross_section(meaning, ask(meaning))
    assert "2 to 5 µm; not to scale" in text_of(figure)
    film, solid = layer(thickness=F(1, 200), amount="5 µm"), layer()
    assert tooth(section(film)).heights == [drawn.FILM]
    dots = [tooth(section(one)).figure.count("<circle") for one in (film, solid)]
    assert dots[0] == dots[1] - 1  # the break mark stands where the dot would


def test_a_layer_without_a_thickness_says_so() -> None:
    figure = tooth(section(layer(thickness=None, amount=""))).figure
    assert "thickness not stated, not to scale" in text_of(figure)
    assert described(figure).count("thickness not stated") == 1


@pytest.mark.parametrize(
    "millimetres", [("0.1", "0.5", "1"), ("2", "1", "0.75"), ("6", "0.8", "1.2"), ("0.4", "0.5", "1")]
)
def test_dentine_and_layers_are_drawn_to_one_scale(millimetres: tuple[str, str, str]) -> None:
    dentine, first, second = map(F, millimetres)
    found = tooth(section(layer(1, thickness=first), layer(2, thickness=second), thickness=dentine))
    for height, thickness in zip([found.ground, *found.heights], (dentine, first, second), strict=True):
        assert abs(height - found.scale * thickness) <= F(1, 2)
    tops = found.over(drawn.SPOT)
    assert [upper - lower for lower, upper in pairwise(tops)] == found.heights


def test_more_dentine_is_never_drawn_thinner_beside_the_same_layer() -> None:
    shares = []
    for hundredths in range(0, 600, 7):
        found = tooth(section(layer(), thickness=F(hundredths, 100)))
        shares.append(F(found.ground, found.heights[0]))
    assert shares == sorted(shares)


def test_the_scale_bar_is_as_long_as_it_says() -> None:
    for thickness in (F(1, 50), F(1), F(5), F(400)):
        found = tooth(section(layer(), thickness=thickness))
        said = re.search(r"([0-9.]+) mm \(heights only\)", text_of(found.figure))
        bar = re.search(r"h5M[0-9.]+ [0-9.]+v([0-9.]+)m", found.figure)
        assert said is not None
        assert bar is not None
        assert abs(F(bar[1]) * 10 - F(said[1]) * found.scale) <= F(1, 2)


def covered(place: int, places: int) -> tuple[int, bool]:
    """How much of the floor a layer covers, and whether it lines the walls."""
    before, after = tooth(section(layer(place=place), places=places)).surfaces
    risen = sum(high > low for (_, low), (_, high) in zip(before, after, strict=False))
    return risen, after[-1][0] < before[-1][0]


def test_a_place_decides_how_much_of_the_cavity_is_covered() -> None:
    whole = len(tooth(section(layer(place=1))).surfaces[0])
    assert 0 < covered(0, 3)[0] < whole / 2
    assert covered(1, 3) == (whole, False)
    assert covered(2, 3)[1]
    parts = [covered(n, 5) for n in range(5)]
    assert [risen for risen, _ in parts[:4]] == sorted({risen for risen, _ in parts[:4]})
    assert [walls for _, walls in parts] == [False] * 4 + [True]
    assert covered(-1, 0) == (whole, False)


def test_a_liner_fills_the_deepest_spot_over_the_horn_and_the_base_on_it_is_flat() -> None:
    found = tooth(section(layer(1, place=0, thickness=F(2, 5)), layer(2, place=1, thickness=F(9, 10))))
    floor, liner, base = found.surfaces
    assert min(h for _, h in floor) == 0 == found.over(drawn.SPOT)[0]
    assert {h for x, h in floor if abs(x - drawn.SPOT) > 200} == {found.heights[0]}
    assert {h for _, h in liner} == {found.heights[0]}
    assert {h for _, h in base} == {sum(found.heights)}


def test_a_layer_on_the_deepest_spot_of_a_flat_floor_is_a_small_cap() -> None:
    found = tooth(section(layer(1, place=1, thickness=F(1, 2)), layer(2, place=0, thickness=F(1, 2))))
    under, over = found.surfaces[1:]
    raised = [x for (x, low), (_, high) in zip(under, over, strict=True) if high > low]
    assert drawn.SPOT in raised
    assert len(raised) < len(under) / 2
    assert max(high - low for (_, low), (_, high) in zip(under, over, strict=True)) == found.heights[1]


@pytest.mark.parametrize("thickness", ["0.001", "0.05", "0.4", "2.5", "6"])
def test_nothing_placed_reaches_the_pulp(thickness: str) -> None:
    found = tooth(section(layer(1, place=0), layer(2, place=2, thickness=F(1, 200)), thickness=F(thickness)))
    assert found.ground >= drawn.JUST
    clips = re.findall(r'<clipPath[^>]*><path d="([^"]+)"', found.figure)
    depths = [float(y) for clip in clips for y in re.findall(r"[0-9.]+ ([0-9.]+)", clip)]
    assert len(clips) == 2
    assert max(depths) * 10 <= drawn.HORN + found.more - drawn.JUST


def test_a_picture_has_no_tiles() -> None:
    figure = tooth(section(*(layer(n, place=n % 3) for n in range(1, 9)))).figure
    assert "<pattern" not in figure
    assert figure.count("<clipPath") == 8


def test_many_layers_with_long_words_keep_apart() -> None:
    long = "An agent whose name goes on and on, as names of cements do when nobody stops them"
    layers = tuple(
        layer(n, agent=f"{long} {n}", words="A layer with a long name, a place with a long name", place=n % 3)
        for n in range(1, 13)
    )
    unbroken = layer(1, agent="W" * 90, words="M" * 70)
    for shown in (section(*layers), section(*layers, thickness=None, places=0), section(unbroken)):
        assert list(faults(tooth(shown).figure, "t")) == []


def test_nothing_placed_is_said(meaning: Meaning) -> None:
    figure = cross_section(meaning, ask(meaning, rdt="3 mm", restoration="glass-ionomer"))
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
    assert cross_section(meaning, reply) == ""


def test_no_layers_are_drawn_where_a_decision_is_open(meaning: Meaning) -> None:
    reply = ask(meaning)
    for state in ("gap", "conflict", "contraindicated", "clash"):
        outcomes = {**reply.advice.outcomes, "base": replace(reply.advice.outcomes["base"], state=state)}
        assert cross_section(meaning, replace(reply, advice=replace(reply.advice, outcomes=outcomes))) == ""


def test_a_reading_that_stops_short_of_nothing_leaves_dentine_to_be_seen(meaning: Meaning) -> None:
    found = drawn.ground_of(meaning, ask(meaning, reading="0 mm"))
    assert found is not None
    assert (found["words"], found["thickness"], found["isJustShort"]) == ("just above 0 mm", "0/1", True)
    assert tooth({**section(layer()), "ground": {**found, "thickness": "0"}}).ground == drawn.JUST


def test_hostile_words_stay_words() -> None:
    figure = tooth(section(layer(agent=HOSTILE, words=HOSTILE))).figure
    assert "<script" not in figure
    assert list(faults(figure, "t")) == []
    assert HOSTILE in described(figure)


def test_hatches_are_told_apart_in_grey(pango: None) -> None:  # noqa: ARG001
    from weasyprint import HTML

    from tests.rendering.measure import raster

    assert drawn.evaluated("DRAWING_HATCHES.length") == drawn.HATCHES
    names = [f"hatch-{number}" for number in range(drawn.HATCHES)]
    boxes = "".join(drawn.hatched(number, name, number * 48, 48) for number, name in enumerate(names))
    wide = len(names) * 48
    svg = f'<svg viewBox="0 0 {wide} 48" width="{wide}" height="48">{boxes}</svg>'
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
    figure = reading_chart(meaning, ask(meaning, reading=reading))
    assert list(faults(figure, "t")) == []
    assert f"Read: {reading}" in text_of(figure)


def read(*thresholds: str, reading: str = "1", low: str = "0", high: str = "6") -> dict[str, Any]:
    value = F(reading)
    return {
        "label": "A quantity",
        "words": dict.fromkeys(("reading", "corrected", "band", "value"), "so much"),
        "thresholds": [(F(text), f"{text} mm") for text in thresholds],
        "limits": (F(low), F(high)),
        **dict.fromkeys(("reading", "corrected", "value"), value),
        "low": value - F(1, 5),
        "high": value + F(1, 5),
    }


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
def test_thresholds_close_together_or_at_the_ends_keep_their_words_apart(one: dict[str, Any]) -> None:
    figure = drawn.reading_chart([one, one])
    assert list(faults(figure, "t")) == []
    places = {item.text: item.box for item in words(figure)[: len(words(figure)) // 2]}
    lefts = [places[drawn.wrapped(text, True, drawn.MOST_LABEL)[0]][0] for _, text in one["thresholds"]]
    assert lefts == sorted(lefts)


def test_a_line_to_a_threshold_crosses_no_words() -> None:
    figure = drawn.reading_chart([read("0.5", "0.51", "0.52", "0.6", "0.9", "1", "1.01")])
    for data in re.findall(r'd="(M[0-9.]+ [0-9.]+V[0-9.]+)"', figure):
        x, top, foot = map(float, re.findall(r"[0-9.]+", data))
        for item in words(figure):
            assert not (item.box[0] < x < item.box[2] and item.box[1] < foot and top < item.box[3]), item


def test_the_reading_chart_says_everything_in_words(meaning: Meaning) -> None:
    assert described(reading_chart(meaning, ask(meaning, reading="0.6 mm"))) == (
        "Remaining dentine thickness: read: 0.6 mm (bitewing radiograph); corrected: 0.4 mm; within its uncertainty: "
        "more than 0 mm, at most 0.9 mm; treated as: just above 0 mm. Thresholds: 0.5 mm, 2 mm."
    )


def test_without_a_reading_there_is_no_reading_chart(meaning: Meaning) -> None:
    assert reading_chart(meaning, ask(meaning)) == ""


# --- what they are drawn with ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("bold", [False, True])
def test_text_is_measured_as_wide_as_the_printed_font_draws_it(bold: bool) -> None:
    for point in font(bold)[0]:
        assert font_widths.measure(chr(point), bold) == round(advance(chr(point), bold) * 1000), chr(point)
    assert font_widths.measure("\u2717", bold) == font_widths.WIDEST


def test_the_script_measures_with_the_same_widths() -> None:
    text = "".join(chr(point) for point in font(True)[0] if 32 <= point < 0x2200)
    for bold in (False, True):
        found = drawn.evaluated("drawingMeasure")(text, bold)
        assert found == font_widths.measure(text, bold)
        assert drawn.evaluated("drawingMeasure")("\u2717", bold) == font_widths.WIDEST


WRAPS = pytest.mark.parametrize("wrap", [drawn.wrapped], ids=["script"])


@WRAPS
def test_a_number_stays_with_its_unit(wrap: Callable[[str, bool, int], list[str]]) -> None:
    assert wrap("at least 0.75 to 1 mm thick", False, 800) == ["at least", "0.75 to 1 mm", "thick"]


@WRAPS
def test_a_number_leaves_its_unit_where_there_is_no_room(wrap: Callable[[str, bool, int], list[str]]) -> None:
    assert wrap("2 to 5 µm, 2 coats", False, 480) == ["2 to", "5 µm,", "2 coats"]


# --- the command ----------------------------------------------------------------------------------------------------


def test_case_writes_the_section(demonstration: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    place = tmp_path / "tooth.svg"
    given = [f"{name}={text}" for name, text in USUAL.items()]
    assert main(["case", str(demonstration), *given, "--section", str(place)]) == 0
    assert "Place in this order" in capsys.readouterr().out
    assert ElementTree.fromstring(place.read_text("utf-8")).tag.endswith("svg")


@pytest.mark.parametrize(("language", "title"), [("en-GB", "Cross-section"), ("de", "Querschnitt")])
def test_the_section_speaks_the_language_of_the_protocol(
    language: str, title: str, demonstration: Path, tmp_path: Path
) -> None:
    folder = Path(shutil.copytree(demonstration, tmp_path / "protocol"))
    source = folder / "protocol.yaml"
    source.write_text(f"language: {language}\n{source.read_text('utf-8')}", "utf-8")
    given = [f"{name}={text}" for name, text in USUAL.items()]
    assert main(["case", str(folder), *given, "--section", str(tmp_path / "tooth.svg")]) == 0
    assert title in (tmp_path / "tooth.svg").read_text("utf-8")


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


def test_without_the_engine_it_is_said_what_to_install(
    demonstration: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "py_mini_racer", None)
    given = [f"{name}={text}" for name, text in USUAL.items()]
    assert main(["case", str(demonstration), *given, "--section", str(tmp_path / "tooth.svg")]) == 2
    assert "pip install 'liningbook[pdf]'" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_an_authors_words_are_data_for_the_engine() -> None:
    """A text that ends strings, templates and scripts is drawn as it is, and nothing of it is run."""
    attack = "`${globalThis.run = 1}\"'); globalThis.run = 1; //\u2028\\</script>"
    figure = tooth(section(layer(agent=attack, words=attack))).figure
    assert attack.replace("\u2028", "") in described(figure).replace("\u2028", "")
    assert drawn.evaluated("typeof globalThis.run") == "undefined"
