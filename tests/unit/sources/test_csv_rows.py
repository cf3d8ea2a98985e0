"""Tables as text: whatever a spreadsheet writes is read as it stands, and what is wrong costs its own row alone."""

from __future__ import annotations

import csv
import re
from collections import deque
from collections.abc import Iterator
from io import BytesIO, StringIO
from itertools import repeat
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from liningbook.sources import csv_rows
from liningbook.sources.csv_rows import (
    Broken,
    CannotRead,
    Rows,
    harmless,
    is_foreign,
    legible,
    open_rows,
    to_bytes,
    to_lines,
)
from tests.refused import refusing


def rows_of(data: bytes) -> list[list[str]]:
    return list(open_rows(BytesIO(data)))


# --- how a table is written -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("header", "separator"),
    [
        ("rdt,pulp,note", ","),
        ("rdt;pulp;note", ";"),
        ("rdt\tpulp\tnote", "\t"),
        ("rdt;pulp;sex, age", ";"),
        ('rdt;"a, b, c, d";pulp', ";"),
        ('rdt,"say ""a;b;c;d;"" here",pulp', ","),
        ("rdt;a,b", ","),
        ("rdt", ","),
        ("", ","),
    ],
)
def test_the_separator_is_the_commonest_in_the_first_line_outside_quotation_marks(header: str, separator: str) -> None:
    assert open_rows(BytesIO(header.encode() + b"\n1\n")).separator == separator


def test_later_lines_do_not_change_the_separator() -> None:
    assert rows_of(b"rdt;pulp\n0,5 mm;a,b,c,d\n") == [["rdt", "pulp"], ["0,5 mm", "a,b,c,d"]]


@pytest.mark.parametrize("newline", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("last", ["", "end"])
def test_lines_end_in_any_of_three_ways_and_the_last_need_not(newline: str, last: str) -> None:
    rows = open_rows(BytesIO((f"a,b{newline}1,2{newline}3,4" + (newline if last else "")).encode()))
    assert rows.newline == newline
    assert list(rows) == [["a", "b"], ["1", "2"], ["3", "4"]]


def test_a_mark_at_the_start_is_no_part_of_the_first_name() -> None:
    rows = open_rows(BytesIO(b"\xef\xbb\xbfrdt,pulp\n"))
    assert rows.is_marked
    assert list(rows) == [["rdt", "pulp"]]
    assert not open_rows(BytesIO(b"rdt,pulp\n")).is_marked


@pytest.mark.parametrize("newline", ["\n", "\r\n", "\r"])
def test_a_line_may_end_within_quotation_marks(newline: str) -> None:
    text = f'a,b{newline}"one{newline}two","say ""so"""{newline}3,4{newline}'
    assert rows_of(text.encode()) == [["a", "b"], [f"one{newline}two", 'say "so"'], ["3", "4"]]


def test_an_empty_file_has_no_rows_and_a_blank_line_is_a_row() -> None:
    assert rows_of(b"") == []
    assert rows_of(b"\xef\xbb\xbf") == []
    assert rows_of(b"a,b\n\n1,2\n") == [["a", "b"], [], ["1", "2"]]


def test_a_file_that_ends_within_a_character_loses_nothing() -> None:
    assert rows_of("a,b\n1,≤".encode()[:-1]) == [["a", "b"], ["1", "\udce2\udc89"]]


def test_signs_that_only_look_like_an_end_of_line_are_none() -> None:
    assert rows_of("a,b\nx\u2028y\x0bz\x85,2\n".encode()) == [["a", "b"], ["x\u2028y\x0bz\x85", "2"]]


@pytest.mark.parametrize("block", range(1, 12))
def test_it_does_not_matter_where_a_block_ends(block: int, monkeypatch: pytest.MonkeyPatch) -> None:
    data = '\ufeffµm,b\r\n"≤ 0.5\r\n",\r\n\r\nx,"a""b"\r\n'.encode() + b"\xff\xc2,1"
    whole = rows_of(data)
    monkeypatch.setattr(csv_rows, "BLOCK", block)
    assert rows_of(data) == whole
    assert whole == [["µm", "b"], ["≤ 0.5\r\n", ""], [], ["x", 'a"b'], ["\udcff\udcc2", "1"]]


# --- rows that are wrong --------------------------------------------------------------------------------------------


def broken(rows: list[list[str]]) -> dict[int, str]:
    return {number: row.text for number, row in enumerate(rows) if isinstance(row, Broken)}


@pytest.mark.parametrize(
    "bad",
    ['1,"2', '1,"2" inch', '"', '"1"x,2', f'1,"{"x" * 200_000}', f"{'x' * 200_000},2"],
    ids=["open", "goes on after the end", "alone", "first cell", "open and long", "long"],
)
def test_a_row_whose_cells_cannot_be_told_apart_costs_itself_alone(bad: str) -> None:
    good = [["3", "4"]] * 50
    rows = rows_of(f"a,b\n{bad}\n".encode() + b"3,4\n" * 50)
    assert rows == [["a", "b"], [], *good]
    assert broken(rows) == {1: bad}


def test_a_quotation_mark_left_open_in_the_last_row_is_found() -> None:
    rows = rows_of(b'a,b\n1,2\n3,"4\n')
    assert rows[:2] == [["a", "b"], ["1", "2"]]
    assert broken(rows) == {2: '3,"4'}


def test_many_broken_rows_each_cost_only_themselves() -> None:
    count = 2_000
    rows = rows_of(b"a,b\n" + b'1,"2\n3,4\n' * count)
    assert sum(isinstance(row, Broken) for row in rows) == count
    assert len(rows) == 2 * count + 1


def test_the_work_grows_with_the_table_alone() -> None:
    """Lines that leave a quotation mark open, each of which could go on for ever."""
    line = 'a","""\n'

    def work(lines: int) -> int:
        """How many lines the reader of the library is given, those it is given again counted again."""
        given = 0

        def noted(again: deque[str], more: Iterator[str], seen: list[str]) -> Iterator[str]:
            nonlocal given
            for text in original(again, more, seen):
                given += 1
                yield text

        original = csv_rows._noted
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(csv_rows, "_noted", noted)
            assert sum(1 for _ in Rows(repeat(line, lines)))
        return given

    small, large = work(2_000), work(8_000)
    assert large <= 5 * small
    assert large <= 8_000 * (csv_rows.MOST_LINES + 1)


def test_a_cell_may_have_as_many_lines_as_a_spreadsheet_lets_it() -> None:
    cell = "\n" * 253
    assert rows_of(f'a,b\n"{cell}",2\n'.encode()) == [["a", "b"], [cell, "2"]]


def test_bytes_that_are_not_utf_8_are_kept_and_can_be_shown() -> None:
    (_, row) = rows_of(b"a,b\nM\xfcller,\xe2\x89\xa4\n")
    assert [is_foreign(cell) for cell in row] == [True, False]
    assert legible(row[0]) == "M\ufffdller"


@pytest.mark.parametrize(
    ("data", "words"),
    [
        ("rdt,pulp\n".encode("utf-16"), "UTF-8"),
        ("rdt,pulp\n".encode("utf-16-be"), "UTF-8"),
        (b"\xfe\xff" + "rdt,pulp\n".encode("utf-16-be"), "UTF-8"),
        (b"PK\x03\x04\x14\x00\x06\x00\x08\x00", "spreadsheet"),
    ],
)
def test_what_is_no_table_as_text_is_said_to_be_none(data: bytes, words: str) -> None:
    with refusing(CannotRead, words):
        open_rows(BytesIO(data))


def test_a_line_without_end_is_not_read_into_memory() -> None:
    class Endless(BytesIO):
        taken = 0

        def read(self, size: int | None = -1) -> bytes:
            assert size is not None
            assert size > 0
            self.taken += size
            return b"x" * size

    stream = Endless()
    with refusing(CannotRead, "more than 1,048,576 characters"):
        open_rows(stream)
    assert stream.taken < 4_000_000


# --- written again --------------------------------------------------------------------------------------------------

CELLS = st.text(st.characters(codec="utf-8") | st.sampled_from('",;\t\r\n\udc80\udcff'), max_size=8)


@given(
    st.lists(st.lists(CELLS, min_size=3, max_size=3), min_size=1, max_size=6),
    st.sampled_from(",;\t"),
    st.sampled_from(["\n", "\r\n"]),
    st.booleans(),
)
def test_rows_that_are_written_are_read_the_same(
    rows: list[list[str]], separator: str, newline: str, is_marked: bool
) -> None:
    data = b"".join(to_bytes(rows, Rows(iter(()), separator, newline, is_marked)))
    assert data.startswith(b"\xef\xbb\xbf") == is_marked or rows[0][0].startswith("\ufeff")
    text = data.decode("utf-8", "surrogateescape").removeprefix("\ufeff" if is_marked else "")
    expected = [[legible_bytes(harmless(cell)) for cell in row] for row in rows]
    assert list(Rows(iter(StringIO(text, newline="")), separator)) == expected
    assert list(csv.reader(StringIO(text, newline=""), delimiter=separator)) == expected


def legible_bytes(cell: str) -> str:
    """Surrogates that together are a character of UTF-8 come back as that character."""
    return cell.encode("utf-8", "surrogateescape").decode("utf-8", "surrogateescape")


def test_a_table_is_written_as_it_was() -> None:
    data = b'\xef\xbb\xbfrdt;M\xfcller;"a;b"\r\n0.5 mm;\xb5;"1\r\n2"\r\n'
    rows = open_rows(BytesIO(data))
    assert b"".join(to_bytes(rows, rows)) == data


@pytest.mark.parametrize(
    "cell",
    [
        "=1+1",
        "+1+1",
        "-1+1",
        "@SUM(A1)",
        "\t=1",
        "\r=1",
        "\n=1",
        " =1",
        "\ufeff=1",
        "=",
        "-0.4 mm",
        "-",
        "\uff1d1",
        "\tx",
    ],
)
def test_no_cell_that_is_written_is_a_formula(cell: str) -> None:
    data = b"".join(to_bytes([[cell, cell]], Rows(iter(()), ";")))
    (row,) = Rows(StringIO(data.decode(), newline=""), ";")
    assert row == [f"'{cell}"] * 2


@pytest.mark.parametrize("cell", ["-0.4", "+1", "-0,4", " -3 ", "0.5 mm", "a=b", "a-b", "'=1", "", "≤", "1-2"])
def test_a_plain_number_and_what_begins_otherwise_are_written_as_they_are(cell: str) -> None:
    (row,) = open_rows(BytesIO(b"".join(to_bytes([[cell, cell]], Rows(iter(()))))))
    assert row == [cell] * 2


def test_every_blank_before_a_formula_is_looked_behind() -> None:
    signs = {sign for sign in map(chr, range(0x10000)) if sign.isspace()} | {*"=+-@\uff0d\uff1d\uff0b\uff20\ufeff"}
    for sign in map(chr, (*range(0x3100), *range(0xFE00, 0x10000))):
        (line,) = to_lines([[f"{sign}=1", "x"]])
        assert line.lstrip('"').startswith(f"'{sign}") == (sign in signs), f"{sign!r}"


def test_every_table_is_written_by_one_function(repository: Path) -> None:
    package = repository / "builder" / "liningbook"
    writing = [
        path.name for path in package.rglob("*.py") if re.search(r"csv\.(Dict)?[Ww]riter", path.read_text("utf-8"))
    ]
    assert writing == ["csv_rows.py"]


def test_rows_are_written_as_they_come() -> None:
    endless = to_bytes(repeat(["a", "b"]), Rows(iter(())))
    assert next(endless) == b"a,b\r\n" * csv_rows.BATCH
