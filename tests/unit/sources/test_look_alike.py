"""Which texts a reader takes for one another."""

from __future__ import annotations

import pytest

from liningbook.sources.look_alike import pairs_alike


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Amalgam", "Amalgam"),
        ("Amalgam", "amalgam"),
        ("Glass  ionomer", " Glass\u00a0ionomer"),
        ("Glass–ionomer", "Glass-ionomer"),
        ("Füllung", "Fu\u0308llung"),
        ("Class Ⅱ", "Class II"),
        ("0.5 µm", "0.5 μm"),
        ("Amalgam", "\u0410malgam"),
        ("AMALGAM", "\u0430malgam"),
        ("Amalgam", "Ama1gam"),
        ("Amalgam", "Arnalgam"),
        ("Line", "Iine"),
        ("Composite", "C0mposite"),
        ("IRM", "\u0456rm"),
        ("Base O", "Base \u039f"),
        ("\u0391\u0392\u0393", "\u0410\u0412\u0413"),
    ],
)
def test_texts_that_look_alike_are_one(one: str, other: str) -> None:
    assert list(pairs_alike([one, "Something else", other])) == [(0, 2)]
    assert list(pairs_alike([other, one])) == [(0, 1)]


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Füllung", "Fullung"),
        ("Base 1", "Base I"),
        ("Class II", "Class 11"),
        ("Amalgam", "Amalgam, old"),
        ("≤ 0.5 mm", "≥ 0.5 mm"),
        ("Zahn ja", "Zahn nein"),
        ("Σ", "Π"),
        ("ÄÖÜ", "AOU"),
    ],
)
def test_texts_that_a_reader_can_tell_apart_are_two(one: str, other: str) -> None:
    assert list(pairs_alike([one, other])) == []


def test_each_text_is_held_against_the_first_that_it_is_like() -> None:
    assert list(pairs_alike(["a", "b", "A", "B ", "a"])) == [(0, 2), (1, 3), (0, 4)]
