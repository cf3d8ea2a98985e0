"""Numbers of references that stand together."""

from __future__ import annotations

import pytest

from liningbook.say.references import number_runs


@pytest.mark.parametrize(
    ("numbers", "runs"),
    [
        ([], ()),
        ([4], ((4,),)),
        ([1, 2], ((1,), (2,))),
        ([1, 2, 3], ((1, 3),)),
        ([5, 3, 1, 2], ((1, 3), (5,))),
        ([1, 2, 2, 4, 5, 6, 7, 9], ((1,), (2,), (4, 7), (9,))),
    ],
)
def test_three_or_more_in_a_row_are_told_by_the_first_and_the_last(
    numbers: list[int], runs: tuple[tuple[int, ...], ...]
) -> None:
    assert number_runs(numbers) == runs
