"""Of two texts only the sentences that differ are told, from shortly before the first word that does."""

from __future__ import annotations

import pytest

from liningbook.compare.sentences import parted

LONG = "one two three four five six seven eight nine"


@pytest.mark.parametrize(
    ("before", "after", "told"),
    [
        ("Do not go on. Place it wet and call.", "Do not go on. Place it dry and wait.",
         ("Place it wet and call.", "Place it dry and wait.")),
        ("Stop.\nDo not go on.", "Stop.", ("Do not go on.", "")),
        ("Stop.", "Stop. Go on.", ("", "Go on.")),
        ("Stop. Call.", "Call.\n\nStop.", ("", "")),
        (f"{LONG} place.", f"{LONG} do not place.",
         ("… four five six seven eight nine place.", "… four five six seven eight nine do not place.")),
    ],
)  # fmt: skip
def test_the_sentences_in_which_two_texts_part(before: str, after: str, told: tuple[str, str]) -> None:
    assert parted(before, after) == told
