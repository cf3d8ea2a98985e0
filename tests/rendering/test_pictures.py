"""The pictures of the layers in the printed protocol: one size, one scale, one page, and nothing drawn at a limit."""

from __future__ import annotations

import re
from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest

from liningbook.analysis import Analysis, analyse
from liningbook.meaning.meaning import Meaning
from liningbook.notation.interval import UNBOUNDED
from liningbook.show.figures.protocol_figures import Picture, protocol_figures
from liningbook.show.figures.tones import TONES, swatch, tile
from liningbook.show.views.answer_table import answer_key, decision_words
from liningbook.show.views.chart_view import ChartWords
from tests.rendering.figure_facts import described, faults, text_of

DAY = date(2026, 10, 1)


@pytest.fixture(scope="module")
def meaning(demonstration: Path) -> Meaning:
    found: Analysis = analyse(demonstration, DAY)
    assert found.meaning is not None
    return found.meaning


@pytest.fixture(scope="module")
def pictures(meaning: Meaning) -> tuple[Picture, ...]:
    return protocol_figures(meaning).sections


def test_pictures_of_a_protocol_have_one_size_and_one_scale(pictures: tuple[Picture, ...]) -> None:
    assert len(pictures) > 4
    assert len({re.search(r'viewBox="[^"]+"', one.svg)[0] for one in pictures}) == 1  # type: ignore[index]
    bars = {re.search(r"h5M\S+ \S+v([0-9.]+)m", one.svg)[1] for one in pictures}  # type: ignore[index]
    assert len(bars) == 1
    assert len({re.search(r"[0-9.]+ mm \(heights only\)", text_of(one.svg))[0] for one in pictures}) == 1  # type: ignore[index]


def test_pictures_of_a_protocol_keep_to_the_rules_of_all_figures(pictures: tuple[Picture, ...]) -> None:
    for number, one in enumerate(pictures):
        assert list(faults(one.svg, f"advice-{number + 1}", 14)) == []
        assert "<pattern" not in one.svg


def test_a_picture_says_at_which_of_its_cases_it_is_drawn(meaning: Meaning, pictures: tuple[Picture, ...]) -> None:
    words = ChartWords(meaning)
    bands = [words.band_words(mask) for mask in words.bands]
    for one in pictures:
        drawn = re.search(r"thickness: (.+), drawn at ([0-9.]+) mm\.", described(one.svg))
        assert drawn is not None
        assert one.holds_for[0].endswith(f": {drawn[1]}")
        assert drawn[2] not in re.findall(r"[0-9.]+", drawn[1])
    assert any(band in one.holds_for[0] for band in bands for one in pictures)


def test_no_layer_is_drawn_at_a_limit_that_it_must_not_reach(meaning: Meaning) -> None:
    told, seen = decision_words(meaning), 0
    for rule in meaning.rules:
        for decision, answer in rule.advise.items():
            if answer.thickness is None:
                continue
            drawn = told[decision]["answers"][answer_key(answer)]["drawn"]
            amount = answer.thickness
            value = Fraction(drawn["thickness"]) / amount.unit.size / 1000
            assert value in amount.range
            if amount.range.lower.value != amount.range.upper.value:
                assert amount.range.lower.value < value < amount.range.upper.value <= UNBOUNDED
                assert drawn["at"]
                seen += 1
    assert seen


def test_no_hatch_of_a_legend_or_of_a_strip_is_laid_of_tiles_that_show_their_seams() -> None:
    for tone in TONES:
        assert "<pattern" not in swatch(tone, "t")
        wide, high = (int(side) for side in re.findall(r'(?:width|height)="(\d+)"', tile(tone))[:2])
        assert high >= 40 * wide
