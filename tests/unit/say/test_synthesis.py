"""Whatever the numerics leave out or do otherwise is said in words."""

from __future__ import annotations

import pytest

from liningbook.evidence.synthesis.result import Caveat, LeftOut
from liningbook.say.synthesis import LEFT_OUT, caveat_words, left_out_words


@pytest.mark.parametrize("code", LEFT_OUT)
def test_why_a_study_is_left_out_stands_at_the_end_of_a_line(code: str) -> None:
    words = left_out_words(LeftOut("ash2020", code))
    assert words[0].islower()
    assert not words.endswith(".")


def test_one_study_and_several() -> None:
    one, two = (Caveat("zero-cells-added", {"studies": names, "added": 0.5}) for names in (("a",), ("a", "b")))
    assert caveat_words(one) == "0.5 was added to all four cells of a, which has a cell of 0."
    assert caveat_words(two) == "0.5 was added to all four cells of a and b, which have a cell of 0."
