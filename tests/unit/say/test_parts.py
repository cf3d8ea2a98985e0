"""Parts of all combinations in per cent: never rounded to nothing, nor to all."""

from __future__ import annotations

from fractions import Fraction

import pytest

from liningbook.say.catalogue import speaking
from liningbook.say.changes.treatment import part_words


@pytest.mark.parametrize(
    ("share", "words"),
    [
        ("0.2719", "27%"),
        ("0.125", "13%"),
        ("0.0417", "4.2%"),
        ("0.05", "5%"),
        ("0.0996", "10%"),
        ("0.001", "0.1%"),
        ("0.00099999", "less than 0.1%"),
        ("0.0000001", "less than 0.1%"),
        ("0", "0% (single values)"),
        ("1", "100%"),
        ("0.9999", "more than 99.9%"),
        ("0.996", "99.6%"),
        ("0.99", "99%"),
    ],
)
def test_a_part_is_said_in_per_cent(share: str, words: str) -> None:
    assert part_words(Fraction(share)) == words


def test_another_language_writes_its_own_sign() -> None:
    with speaking("de"):
        assert part_words(Fraction("0.0417")) == "4,2\u00a0%"
