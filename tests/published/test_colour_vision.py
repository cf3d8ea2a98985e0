"""The simulation of colour blindness, by what the paper says must hold of it (Machado 2009)."""

from __future__ import annotations

import numpy as np
import pytest

from tests.published.colour_vision import MATRICES, seen_with


@pytest.mark.parametrize("name", MATRICES)
def test_greys_stay_as_they_are(name: str) -> None:
    greys = np.repeat(np.arange(0, 256, 5)[:, None], 3, axis=1)
    assert np.abs(seen_with(name)(greys) - greys).max() < 0.5


@pytest.mark.parametrize(
    ("name", "one", "other"),
    [
        ("protanopia", (255, 0, 0), (109, 95, 0)),
        ("deuteranopia", (255, 0, 0), (163, 144, 0)),
        ("tritanopia", (0, 0, 255), (0, 107, 150)),
    ],
)
def test_a_pure_colour_is_seen_as_another(name: str, one: tuple[int, int, int], other: tuple[int, int, int]) -> None:
    """Worked out from the matrices by hand: one column of each, through the curve of sRGB."""
    assert np.abs(seen_with(name)(one) - np.array(other)).max() < 1


def test_red_and_green_that_differ_to_most_eyes_come_near() -> None:
    red, green = np.array([190, 60, 40]), np.array([110, 125, 30])
    before = np.abs(red - green).max()
    for name in ("protanopia", "deuteranopia"):
        see = seen_with(name)
        assert np.abs(see(red) - see(green)).max() < 0.7 * before
