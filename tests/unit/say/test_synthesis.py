"""Whatever the numerics leave out or do otherwise is said in words."""

from __future__ import annotations

import re

import pytest

from liningbook.evidence.synthesis.result import Caveat, LeftOut
from liningbook.say.synthesis import LEFT_OUT, caveat_words, left_out_words

GIVEN = {"studies": ("ash2020", "marlow2019"), "added": 0.5, "risk": 1.0, "most": 200}
COUNTED = {"no-prediction", "too-many-to-leave-out"}


def codes(text: str | None) -> list[str]:
    """The codes that a docstring lists: names with a hyphen, or the first of a list."""
    return re.findall(r"`([a-z0-9]+(?:-[a-z0-9]+)+)`", text or "")


def test_every_code_is_documented_and_said() -> None:
    said = codes(Caveat.__doc__)
    assert len(said) > 15
    for code in said:
        given = {**GIVEN, "studies": 2} if code in COUNTED else GIVEN
        words = caveat_words(Caveat(code, given))
        assert words.endswith(".")
        assert not re.search("[{}]", words)
    assert {*codes(LeftOut.__doc__), "impossible"} == set(LEFT_OUT)


@pytest.mark.parametrize("code", LEFT_OUT)
def test_why_a_study_is_left_out_stands_at_the_end_of_a_line(code: str) -> None:
    words = left_out_words(LeftOut("ash2020", code))
    assert words[0].islower()
    assert not words.endswith(".")


def test_one_study_and_several() -> None:
    one, two = (Caveat("zero-cells-added", {"studies": names, "added": 0.5}) for names in (("a",), ("a", "b")))
    assert caveat_words(one) == "0.5 was added to all four cells of a, which has a cell of 0."
    assert caveat_words(two) == "0.5 was added to all four cells of a and b, which have a cell of 0."
