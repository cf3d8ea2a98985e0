"""Lines as wide as a terminal: hanging indents, wide signs, pieces that stay together, tables as blocks."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as some

from liningbook.show.terminal.lines import LEAST, block, reflowed, table, wide, wrapped


def test_a_text_is_broken_at_blanks_under_a_hanging_indent() -> None:
    assert wrapped("one two three four five", 20, " 1  ") == [" 1  one two three", "    four five"]
    assert wrapped("", 16, " 1  ") == [" 1"]


def test_a_number_stays_with_its_unit_and_what_is_to_be_written_in_one_piece() -> None:
    assert wrapped("more than it by 0.5 mm", 20) == ["more than it by", "0.5 mm"]
    assert wrapped("you may write `at_most: 0.5 mm`, or not", 24) == ["you may write", "`at_most: 0.5 mm`, or", "not"]
    assert wrapped("write `one two three four five six`", 20) == ["write `one two three", "four five six`"]


def test_wide_signs_take_two_columns_and_those_set_upon_others_none() -> None:
    assert [wide(text) for text in ("ab", "漢字", "u\u0308", "≤ µ", "☎\ufe0e")] == [2, 4, 1, 3, 1]
    assert wrapped("漢字漢字漢字漢字漢字", 16) == ["漢字漢字漢字漢字", "漢字"]


@given(some.text(some.sampled_from("ab` 漢0mµ\u0308"), max_size=80), some.integers(LEAST + 4, 60))
def test_no_line_is_too_wide_and_nothing_is_lost(text: str, width: int) -> None:
    lines = wrapped(text, width, "  - ")
    assert all(wide(line) <= width for line in lines)
    assert "".join(lines).replace(" ", "").removeprefix("-") == text.replace(" ", "")


def test_a_block_lines_its_values_up_unless_a_label_leaves_them_no_room() -> None:
    rows = [("Liner", "No liner"), ("Cavity sealer", "Cavity varnish, all cavity walls")]
    assert block(rows, 40) == [
        "Liner          No liner", "Cavity sealer  Cavity varnish, all", "               cavity walls",
    ]  # fmt: skip
    assert block(rows, 24) == [
        "Liner: No liner", "Cavity sealer: Cavity", "    varnish, all cavity", "    walls",
    ]  # fmt: skip


def test_a_table_has_columns_only_where_they_fit() -> None:
    rows = [("exactly 0 mm", "No liner")]
    assert table(("Depth", "Liner"), rows, 22) == [
        "Depth         Liner",
        "-" * 12 + "  " + "-" * 8,
        "exactly 0 mm  No liner",
    ]
    assert table(("Depth", "Liner"), rows, 21) is None


def test_lines_that_are_too_long_go_on_further_in() -> None:
    assert reflowed(["Liner: Calcium hydroxide", "  by a rule"], 20) == [
        "Liner: Calcium",
        "    hydroxide",
        "  by a rule",
    ]
    assert reflowed(["Liner: Calcium hydroxide"], 20, 0) == ["Liner: Calcium", "hydroxide"]
