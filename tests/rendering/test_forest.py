"""The forest plot: its marks stand where the numbers say, read back from the drawing and its own axis."""

from __future__ import annotations

import random
import re
import xml.etree.ElementTree as ElementTree
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from math import exp, log

import pytest

from liningbook.evidence.synthesis.concluded import concluded
from liningbook.evidence.synthesis.synthesise import synthesise
from liningbook.evidence.table import OutcomeTable
from liningbook.say.catalogue import speaking
from liningbook.show.figures.forest import forest_parts, forest_svg
from liningbook.show.views.evidence.axis import shown_part, ticks
from liningbook.show.views.evidence.forest import Spot
from tests.rendering import sample_tables as sample
from tests.rendering.figure_facts import described, faults, text_of, words

WIDTHS = {"print": (170.0, 2.82), "page": (760.0, 15.0), "phone": (288.0, 14.5)}
OUTCOMES = {
    "counts": sample.NECROSIS,
    "means": sample.SENSITIVITY,
    "reported": sample.VITALITY,
    "extreme": sample.extreme(),
    "one study": sample.outcome((sample.counts("ash2020", (4, 92), (11, 95)),)),
    "no limits": replace(sample.NECROSIS, studies=sample.NECROSIS.studies[:1], interval="hartung-knapp"),
    "difference of risks": replace(sample.NECROSIS, measure="risk-difference"),
}
NUMBER = r"-?[0-9.]+"
CLOSE = 0.012
"""How far a place may be off, in units of the picture: it is written with two decimals."""


class Drawn:
    """A drawing, with its scale as its own ticks and their names give it."""

    def __init__(self, svg: str, is_ratio: bool) -> None:
        self.svg, self.root = svg, ElementTree.fromstring(svg)
        places = [self.first(path) for path in self.paths("tick")]
        names = {round(item.box[0] + (item.box[2] - item.box[0]) / 2, 1): item.text for item in words(svg)}
        named = [(x, names[near]) for x in places for near in names if abs(near - x) < 0.06 and is_number(names[near])]
        values = [(x, float(text.replace("−", "-"))) for x, text in named]
        assert len(values) >= 2
        (left, low), (right, high) = values[0], values[-1]
        self.read = (lambda value: log(value)) if is_ratio else (lambda value: value)
        self.scale = (self.read(high) - self.read(low)) / (right - left)
        self.at = lambda x: self.read(low) + (x - left) * self.scale

    def paths(self, name: str) -> list[str]:
        found = [node for node in self.root.iter() if name in node.get("class", "").split()]
        return [node.get("d", node.get("cx", "")) for node in found]

    @staticmethod
    def first(path: str) -> float:
        found = re.match(f"M?({NUMBER})", path)
        assert found is not None
        return float(found[1])

    @staticmethod
    def across(path: str) -> list[float]:
        """All places across of a path of the drawing."""
        if "H" in path:
            found = re.fullmatch(f"M({NUMBER}) {NUMBER}H({NUMBER})", path)
            assert found is not None
            return [float(found[1]), float(found[2])]
        return [float(x) for x, _ in re.findall(f"({NUMBER}) ({NUMBER})", path)]


def is_number(text: str) -> bool:
    return re.fullmatch(r"−?[0-9.]+", text) is not None


def random_table(seed: int) -> OutcomeTable:
    chance = random.Random(seed)
    studies = []
    for name in sample.NAMES[: chance.randrange(2, 9)]:
        treated, comparator = chance.randrange(10, 400), chance.randrange(10, 400)
        events = (chance.randrange(treated // 3 + 1), chance.randrange(comparator // 2 + 1))
        studies.append(sample.counts(f"{name.lower()}2020", (events[0], treated), (events[1], comparator)))
    measure = chance.choice(["risk-ratio", "odds-ratio", "risk-difference"])
    return sample.outcome(tuple(studies), measure=measure, threshold=None)


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("one", [*OUTCOMES.values(), *map(random_table, range(12))])
def test_marks_stand_where_the_numbers_say(one: OutcomeTable, width: str) -> None:
    found = synthesise(one)
    if not found.effects:
        pytest.skip("no study of this random table has an effect")
    forest = sample.forest(one)
    drawn = Drawn(forest_svg(forest, *WIDTHS[width]), one.is_ratio)
    low, high = forest.axis.low, forest.axis.high
    close = CLOSE * abs(drawn.scale) * 2
    inside = [effect for effect in found.effects if low <= effect.value <= high]
    squares = [drawn.across(path) for path in drawn.paths("square")]
    assert [drawn.at((min(xs) + max(xs)) / 2) for xs in squares] == pytest.approx(
        [effect.value for effect in inside], abs=close
    )
    whiskers = [sorted(drawn.across(path)) for path in drawn.paths("whisker")][: len(found.effects)]
    ends = [(min(max(e.low, low), high), min(max(e.high, low), high)) for e in found.effects]
    assert [drawn.at(x) for xs in whiskers for x in xs] == pytest.approx([x for xs in ends for x in xs], abs=close)
    beyond = [end for e in found.effects for end in (e.low, e.high) if not low - 1e-9 <= end <= high + 1e-9]
    others = [found.prediction.low, found.prediction.high] if found.prediction else []
    pooled = found.pooled
    assert pooled is not None
    others += [end for end in (pooled.low, pooled.high) if end is not None]
    beyond += [end for end in others if not low - 1e-9 <= end <= high + 1e-9]
    assert len(drawn.paths("arrow")) == len(beyond)
    if pooled.low is None or pooled.high is None:
        assert not drawn.paths("diamond")
        assert drawn.at(float(drawn.paths("ring")[0])) == pytest.approx(pooled.value, abs=close)
    else:
        (corners,) = (drawn.across(path) for path in drawn.paths("diamond"))
        assert drawn.at(min(corners)) == pytest.approx(max(pooled.low, low), abs=close)
        assert drawn.at(max(corners)) == pytest.approx(min(pooled.high, high), abs=close)
        assert drawn.at(corners[2]) == pytest.approx(pooled.value, abs=close)
    if found.prediction:
        (bar,) = (drawn.across(path) for path in drawn.paths("prediction"))
        assert drawn.at(bar[0]) == pytest.approx(max(found.prediction.low, low), abs=close)
        assert drawn.at(bar[1]) == pytest.approx(min(found.prediction.high, high), abs=close)
    assert drawn.at(drawn.first(drawn.paths("no-effect")[0])) == pytest.approx(0, abs=close)
    assert drawn.at(drawn.first(drawn.paths("all-studies")[0])) == pytest.approx(pooled.value, abs=close)


def test_where_an_effect_begins_to_matter_has_its_line() -> None:
    drawn = Drawn(forest_svg(sample.forest(sample.SENSITIVITY), 640, 15), False)
    assert drawn.at(drawn.first(drawn.paths("threshold")[0])) == pytest.approx(-1, abs=0.01)
    assert not Drawn(forest_svg(sample.forest(), 640, 15), True).paths("threshold")


@pytest.mark.parametrize("threshold", [Fraction(10**39), Fraction(1, 10**38)])
@pytest.mark.parametrize("one", [sample.NECROSIS, sample.SENSITIVITY], ids=["ratio", "means"])
def test_the_furthest_threshold_that_can_be_read_is_drawn_or_left_out(one: OutcomeTable, threshold: Fraction) -> None:
    outcome = replace(one, threshold=threshold)
    assert concluded(outcome, synthesise(outcome)) in ("little", "less", "more", "open")
    drawing = forest_svg(sample.forest(outcome), *WIDTHS["page"], uid="x")
    assert list(faults(drawing, "x", least=WIDTHS["page"][1])) == []
    assert not re.search(r"\b(nan|inf)\b", drawing)


def test_the_area_of_a_square_is_the_weight() -> None:
    forest = sample.forest(sample.SENSITIVITY)
    drawn = Drawn(forest_svg(forest, 640, 15), False)
    sides = [max(xs) - min(xs) for xs in map(drawn.across, drawn.paths("square"))]
    largest = max(row.share for row in forest.rows)
    assert [(side / max(sides)) ** 2 for side in sides] == pytest.approx(
        [row.share / largest for row in forest.rows], abs=0.01
    )


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("language", ["en-GB", "de", "fr", "es"])
@pytest.mark.parametrize("name", OUTCOMES)
def test_nothing_overlaps_or_leaves_the_picture(name: str, language: str, width: str) -> None:
    with speaking(language):
        svg = forest_svg(sample.forest(OUTCOMES[name]), *WIDTHS[width], uid="x")
    assert list(faults(svg, "x", least=WIDTHS[width][1])) == []


@pytest.mark.parametrize("width", WIDTHS)
def test_names_and_arms_may_be_long(width: str) -> None:
    long = "resin-modified glass ionomer over a hard-setting calcium hydroxide liner on the deepest spot of the cavity"
    forest = sample.forest(sample.extreme(), long, f"no {long} and Unterfüllungszementgemischbestandteilprüfung")
    assert list(faults(forest_svg(forest, *WIDTHS[width], uid="x"), "x", least=WIDTHS[width][1])) == []
    forest = sample.forest(sample.NECROSIS, long, f"no {long}")
    assert list(faults(forest_svg(forest, *WIDTHS[width], uid="x"), "x", least=WIDTHS[width][1])) == []


def test_sixty_studies_go_over_several_pages_under_the_same_head() -> None:
    forest = sample.forest(sample.many())
    parts = forest_parts(forest, 170, 2.82, 120, "mm")
    assert len(parts) > 2
    assert all(float(re.search(r'height="([0-9.]+)mm"', part)[1]) <= 120 for part in parts)  # type: ignore[index]
    squares = [len(Drawn(part, True).paths("square")) for part in parts]
    assert sum(squares) == 60
    for first, part in enumerate(parts):
        said = text_of(part)
        assert "events/people" in said
        assert ("continued" in said) == (first > 0)
        assert ("All 60 studies" in said) == (first == len(parts) - 1)
        assert list(faults(part, f"{forest.id}-{first}", least=2.82)) == []


def test_the_alternative_tells_every_figure_of_the_plot() -> None:
    forest = sample.forest(sample.NECROSIS)
    told = described(forest_svg(forest, 640, 15))
    for row in (*forest.rows, forest.pooled, forest.prediction):
        assert row is not None
        assert row.name in told
        assert row.estimate in told
        assert row.weight in told
        assert row.arms in told
        assert row.reason in told
    assert all(line in told for line in forest.below)


def test_a_study_that_is_left_out_is_named_with_the_reason() -> None:
    assert "left out: no event in either arm" in text_of(forest_svg(sample.forest(), 170, 2.82)).replace("\xa0", " ")


def test_no_plot_is_drawn_of_studies_without_an_effect() -> None:
    found = sample.table_view().outcomes[-1]
    assert found.forest is None
    assert "Ash 2020" in found.nothing


def test_which_side_speaks_for_whom_follows_from_what_is_better() -> None:
    harm, benefit = (sample.forest(one).axis for one in (sample.NECROSIS, sample.VITALITY))
    assert harm.left == benefit.right == "in favour of calcium hydroxide liner"
    assert harm.right == benefit.left == "in favour of no liner"


def test_the_plot_needs_no_colour() -> None:
    svg = forest_svg(sample.forest(), 170, 2.82)
    assert set(re.findall(r"#[0-9a-f]{6}", svg)) == {"#16202a", "#ffffff"}


def test_the_same_bytes_twice() -> None:
    assert forest_svg(sample.forest(), 170, 2.82, "mm") == forest_svg(sample.forest(), 170, 2.82, "mm")


@pytest.mark.parametrize(
    ("low", "high", "expected"),
    [
        (0.1, 10.0, [0.1, 0.2, 0.5, 1, 2, 5, 10]),
        (0.05, 4.0, [0.05, 0.1, 0.2, 0.5, 1, 2]),
        (0.9, 1.2, [0.9, 1, 1.1, 1.2]),
    ],
)
def test_the_axis_of_ratios_has_round_ticks(low: float, high: float, expected: list[float]) -> None:
    sets = ticks(log(low), log(high), True, str)
    assert any([exp(one.value) for one in found] == pytest.approx(expected) for found in sets)


@pytest.mark.parametrize("seed", range(200))
def test_the_axis_shows_every_estimate_and_no_effect(seed: int) -> None:
    chance = random.Random(seed)
    is_ratio = chance.random() < 0.5
    size = 10 ** chance.uniform(-6, 0.3 if is_ratio else 8)
    marks = []
    for _ in range(chance.randrange(1, 6)):
        value = chance.gauss(0, 1) * size
        half = abs(chance.gauss(0, 1)) * size * 10 ** chance.uniform(-1, 2)
        marks.append(Spot(value, value - half, value + half))
    low, high = shown_part(marks, [0.0], is_ratio)
    assert low < high
    shown = [max(min(mark.value, log(1000)), -log(1000)) if is_ratio else mark.value for mark in marks]
    assert all(low <= value + 1e-9 and value <= high + 1e-9 for value in [*shown, 0.0])
    for found in ticks(low, high, is_ratio, str):
        assert all(one.value < other.value for one, other in pairwise(found))
        assert all(low - 1e-6 * (high - low) <= one.value <= high + 1e-6 * (high - low) for one in found)
    assert len(ticks(low, high, is_ratio, str)[0]) >= 2


def test_figures_are_those_of_the_sources() -> None:
    """Exact decimals as written, and the language's own sign."""
    assert sample.forest(sample.SENSITIVITY).rows[0].treated == "1.2 (0.9), 150"
    with speaking("de"):
        row = sample.forest(sample.SENSITIVITY).rows[0]
        assert row.treated == "1,2 (0,9), 150"
        assert re.fullmatch(r"−0,70 \(−0,99 \w+ −0,41\)", row.estimate)
    assert Fraction("1.2") == sample.SENSITIVITY.studies[0].treated.mean  # type: ignore[union-attr]
