"""Rows to cases: what a header must say, what a row must hold, and how a row that will not do is told apart."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from fractions import Fraction
from io import BytesIO
from pathlib import Path
from random import Random

import pytest

from liningbook.analysis import analyse
from liningbook.cases.case_table import Case, CaseRow, read_cases
from liningbook.cases.many_cases import conditions_of
from liningbook.cases.question import put
from liningbook.cases.readings import cells_in
from liningbook.meaning.meaning import Meaning
from liningbook.say.faults import reason_words
from liningbook.sources.csv_rows import Broken, CannotRead, open_rows
from liningbook.space import holding
from liningbook.space.boxes import inside
from liningbook.space.cells import Space, all_whens
from tests.refused import refusing
from tests.usual import USUAL_CASE

DAY = date(2026, 11, 25)

GOOD = USUAL_CASE


def why(row: CaseRow) -> str:
    """Why a row cannot be used, in words; empty if it can be."""
    return "" if row.problem is None else reason_words(row.problem)


@pytest.fixture(scope="module")
def meaning(demonstration: Path) -> Meaning:
    found = analyse(demonstration, DAY).meaning
    assert found is not None
    return found


def cases_of(meaning: Meaning, header: list[str], *rows: list[str]) -> list[CaseRow]:
    return list(read_cases(meaning.space, [header, *rows]))


def read_one(meaning: Meaning, **other: str) -> CaseRow:
    """The one row of a table of a good case in which some cells are otherwise, or columns more."""
    cells = {**GOOD, **{name.replace("_", "-"): text for name, text in other.items()}}
    (row,) = cases_of(meaning, list(cells), list(cells.values()))
    return row


def without(*names: str, more: tuple[str, ...] = ()) -> list[str]:
    return [name for name in GOOD if name not in names] + list(more)


# --- headers --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("rows", [[], [[]], [["", " "]]])
def test_a_table_without_names_of_columns_is_empty(meaning: Meaning, rows: list[list[str]]) -> None:
    with refusing(CannotRead, "the table is empty; its first row must name the columns"):
        read_cases(meaning.space, rows)


def test_a_header_alone_is_a_table_without_rows(meaning: Meaning) -> None:
    assert cases_of(meaning, list(GOOD)) == []


@pytest.mark.parametrize(
    ("header", "message"),
    [
        (["0.5 mm", "no", "normal"], "the first row names no factor; it must name a column for each of rdt, exposed"),
        (["a;b"], "the first row names no factor"),
        (without("pulp", "rosin-allergy"), "the table has no column for pulp, rosin-allergy"),
        (without("rdt", more=("rtd",)), "no column for rdt; there is one called 'rtd': did you mean `rdt`?"),
        (without("rdt", more=("RDT",)), "did you mean `rdt`?"),
        (without("rdt", more=("rdt reading",)), "did you mean `rdt.reading`?"),
        (without("metal-contact", more=("metal_contact",)), "did you mean `metal-contact`?"),
        ([*GOOD, "rdt"], "two columns are called 'rdt'"),
        ([*GOOD, "note", "note"], "two columns are called 'note'"),
        ([*GOOD, "count", " count "], "two columns are called 'count'"),
        ([*GOOD, "rdt.reading"], "Remaining dentine thickness is given both in the column rdt and in rdt.reading"),
        (without("pulp", more=("pulp.reading",)), "Pulp diagnosis is not a quantity, so it is not read off; call its column `pulp`"),  # noqa: E501
        ([*GOOD, "age.reading"], "'age.reading': there is no factor called 'age'"),
        ([*GOOD, *map(str, range(2_000))], "the first row has 2010 columns; 2000 are read at most"),
        ([*GOOD, "coutn"], "if 'coutn' says how many cases a row stands for, call it `count`"),
        ([*GOOD, "Count"], "call it `count`"),
        ([*GOOD, "cont"], "call it `count`"),
    ],
)  # fmt: skip
def test_a_header_that_will_not_do_is_said_why(meaning: Meaning, header: list[str], message: str) -> None:
    with pytest.raises(CannotRead) as stop:
        read_cases(meaning.space, [header])
    assert message in reason_words(stop.value)


def test_looking_at_a_header_grows_with_it_alone(meaning: Meaning) -> None:
    """Names are compared as often as there are columns, however many of them are unlike."""

    class Name(str):
        __slots__ = ()
        compared = 0

        def __eq__(self, other: object) -> bool:
            Name.compared += 1
            return str.__eq__(self, other)

        __hash__ = str.__hash__

        def strip(self, _: str | None = None) -> Name:  # type: ignore[override]
            return self

    def work(columns: int) -> int:
        Name.compared = 0
        read_cases(meaning.space, [[*GOOD, *(Name(f"note {number}") for number in range(columns))]])
        return Name.compared

    assert work(1_900) <= 20 * work(100)


def test_a_header_with_wrong_quotation_marks_is_said_to_have_them(meaning: Meaning) -> None:
    with refusing(CannotRead, "the first row cannot be read: a quotation mark is missing"):
        read_cases(meaning.space, [Broken('rdt,"pulp')])


def test_a_factor_without_a_way_of_reading_it_is_not_read_off(demonstration: Path, tmp_path: Path) -> None:
    for source in demonstration.rglob("*.*"):
        place = tmp_path / source.relative_to(demonstration)
        place.parent.mkdir(exist_ok=True)
        place.write_bytes(source.read_bytes())
    text = (tmp_path / "protocol.yaml").read_text("utf-8")
    start, end = text.index("    reading:\n"), text.index("  exposed:\n")
    (tmp_path / "protocol.yaml").write_text(text[:start] + text[end:], "utf-8")
    found = analyse(tmp_path, DAY).meaning
    assert found is not None
    with refusing(CannotRead, "does not say how Remaining dentine thickness is read off"):
        read_cases(found.space, [without("rdt", more=("rdt.reading",))])


@pytest.mark.parametrize(
    "name", ["note", "country", "account", "rdt-old", "restorations", "pulp test", "", "Zähne", "=1"]
)
def test_columns_of_no_factor_are_passed_over(meaning: Meaning, name: str) -> None:
    (row,) = cases_of(meaning, [name, *GOOD], ["anything, \n \udcff", *GOOD.values()])
    assert row.problem is None
    assert row.fields[0] == "anything, \n \udcff"


def test_a_name_like_count_is_passed_over_where_there_is_a_count(meaning: Meaning) -> None:
    (row,) = cases_of(meaning, ["counts", "count", *GOOD], ["x", "3", *GOOD.values()])
    assert row.weight == 3


def test_columns_stand_in_any_order_and_blanks_around_a_name_do_not_matter(meaning: Meaning) -> None:
    turned = dict(reversed(GOOD.items()))
    (row,) = cases_of(meaning, [f" {name} " for name in turned], list(turned.values()))
    assert row.case is not None
    assert row.case.cell == put(meaning, GOOD).case


# --- rows -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("column", "text", "problem"),
    [
        ("rdt", "0,5 mm", "rdt: the number has a decimal comma"),
        ("rdt", "0.5", "rdt: the number has no unit"),
        ("rdt", "0.5 millimetres", "rdt: 'millimetres' is not a unit"),
        ("rdt", "0.5 g", "rdt: 'g' measures another kind of thing"),
        ("rdt", "thin", "rdt: 'thin' is not"),
        ("rdt", "1e0 mm", "rdt: "),
        ("rdt", "6.01 mm", "rdt: 6.01 mm is outside the limits"),
        ("rdt", "-0.1 mm", "rdt: -0.1 mm is outside the limits"),
        ("rdt", "0.5\udcb5m", "rdt: '0.5\ufffdm' is not written in UTF-8; save the table as “CSV UTF-8”"),
        ("rdt", "nan mm", "rdt: "),
        ("rdt", "9" * 100_000 + " mm", "rdt: "),
        ("pulp", "norml", "pulp: 'norml' is not a value of Pulp diagnosis; did you mean `normal`?"),
        ("pulp", "n\udcfcrmal", "pulp: 'n\ufffdrmal' is not written in UTF-8"),
        ("exposed", "Yess", "exposed: 'Yess' is not a value of Pulp exposed; did you mean `yes`?"),
        *[
            ("rdt", text, f"rdt: '{text}' is a range, and a case is one value; write the value that this case has")
            for text in (
                "0.5-2 mm",
                "0.5 mm – 2 mm",
                "0.5 to 2 mm",
                "< 0.5 mm",
                "≤ 0.5 mm",
                ">=0.5 mm",
                "up to 0.5 mm",
                "Under 0.5 mm",
                "{below: 0.5 mm}",
                "0.5..2 mm",
                "0,5-2 mm",
                "at most 2 mm",
            )
        ],
        ("rdt", "-0.5 mm", "rdt: -0.5 mm is outside the limits"),
        ("rdt", "5e-1 mm", "rdt: "),
        ("exposed", "0", "exposed: '0' is not a value of Pulp exposed; one of "),
        ("count", "-1", "count: '-1' is not a whole number of cases; write for example `12`"),
        ("count", "1.5", "count: '1.5' is not a whole number of cases"),
        ("count", "1,000", "count: '1,000' is not a whole number of cases"),
        ("count", "", "count: the cell is blank"),
        ("count", "٣", "count: '٣' is not a whole number of cases"),
        ("count", "²", "count: '²' is not a whole number of cases"),
        ("count", "1" * 5000, "is too large a number of cases"),
    ],
)
def test_a_cell_that_will_not_do_is_said_why(meaning: Meaning, column: str, text: str, problem: str) -> None:
    row = read_one(meaning, **{column: text})
    assert row.case is None
    assert row.weight == 0
    words = why(row)
    assert problem in words
    assert len(words) < 300
    words.encode("utf-8")


@pytest.mark.parametrize(
    ("column", "text"), [("rdt", "x"), ("rdt", "9"), ("pulp", "x"), ("pulp", "\udcff"), ("count", "9")]
)
def test_of_a_long_text_little_is_kept(meaning: Meaning, column: str, text: str) -> None:
    row = read_one(meaning, **{column: text * 100_000})
    assert row.problem is not None
    (problem,) = row.problem.given["problems"]
    assert len(repr(problem.given)) + len(repr(getattr(problem.given.get("reason"), "given", ""))) < 2_000


def test_everything_wrong_with_a_row_is_said_at_once(meaning: Meaning) -> None:
    row = read_one(meaning, rdt="0,5 mm", pulp="norml", count="-1")
    assert [part.partition(":")[0] for part in why(row).split("; ") if ": " in part] == ["rdt", "pulp", "count"]


def test_a_value_off_the_step_is_said_to_be(meaning: Meaning) -> None:
    factor = next(iter(meaning.protocol.factors.values()))
    assert factor.step is None, "the demonstration has a step now; test that instead"
    stepped = {**meaning.protocol.factors, "rdt": replace(factor, step=Fraction(1, 20))}
    space = Space(stepped, all_whens(meaning.protocol))
    (row,) = read_cases(space, [list(GOOD), ["0.51 mm", *list(GOOD.values())[1:]]])
    assert "rdt: 0.51 mm is not a whole multiple" in why(row)
    (row,) = read_cases(space, [list(GOOD), list(GOOD.values())])
    assert row.problem is None


@pytest.mark.parametrize(
    ("cells", "fields", "problem"),
    [
        ([], [""] * 10, "the row is empty"),
        ([""] * 10, [""] * 10, "the row is empty"),
        (["", " "], ["", " ", *[""] * 8], "the row is empty"),
        (["0.5 mm", "no"], ["0.5 mm", "no", *[""] * 8], "the row has 2 cells, the header has 10"),
        (["0", "5 mm", *list(GOOD.values())[1:]], ["0", "5 mm", *list(GOOD.values())[1:-1]],
         "11 cells, the header has 10; is there a decimal comma, or a quotation mark missing? (left over: no)"),
        ([*GOOD.values(), "", "\udcff"], list(GOOD.values()), "(left over:  | \ufffd)"),
        (Broken('0.5 mm,"no'), ['0.5 mm,"no', *[""] * 9], "the cells of the row cannot be told apart"),
    ],
)  # fmt: skip
def test_a_row_with_other_cells_than_the_header_is_kept_and_said_to_be(
    meaning: Meaning, cells: list[str], fields: list[str], problem: str
) -> None:
    after = list(GOOD.values())
    bad, good = cases_of(meaning, list(GOOD), cells, after)
    assert (bad.number, bad.fields, bad.weight, bad.case) == (2, fields, 0, None)
    assert problem in why(bad)
    assert (good.number, good.fields, good.weight, good.problem) == (3, after, 1, None)


def test_a_count_says_how_many_cases_a_row_stands_for(meaning: Meaning) -> None:
    assert read_one(meaning).weight == 1
    assert read_one(meaning, count="12").weight == 12
    assert read_one(meaning, count=" 0 ").weight == 0
    assert read_one(meaning, count="0").case is not None


def test_a_bad_row_does_not_leave_its_count_to_the_next(meaning: Meaning) -> None:
    header = [*GOOD, "count"]
    values = list(GOOD.values())
    rows = cases_of(meaning, header, [*values, "5"], ["x"], [*values, "-1"], [*values, "7"])
    assert [row.weight for row in rows] == [5, 0, 0, 7]


def test_rows_are_numbered_as_a_spreadsheet_numbers_them(meaning: Meaning) -> None:
    line = ",".join(GOOD.values())
    data = f'{",".join(GOOD)},note\n{line},"two\nlines"\n\n{line},x\n{line},"open\n{line},y\n'
    rows = list(read_cases(meaning.space, open_rows(BytesIO(data.encode()))))
    assert [(row.number, bool(row.problem)) for row in rows] == [
        (2, False),
        (3, True),
        (4, False),
        (5, True),
        (6, False),
    ]


def test_numbers_are_exact(meaning: Meaning) -> None:
    def cell(text: str) -> int:
        case = read_one(meaning, rdt=text).case
        assert case is not None
        return case.cell[0]

    assert cell("0.5 mm") == cell("500 um") == cell(" 0.50mm ") == cell("0.05 cm")
    assert len({cell("0.4999999999999999999999 mm"), cell("0.5 mm"), cell("0.5000000000000000000001 mm")}) == 3


# --- the same as one question at a time -----------------------------------------------------------------------------


def random_texts(meaning: Meaning, random: Random, read_off: bool) -> Iterator[tuple[str, str]]:
    for factor in meaning.protocol.factors.values():
        if factor.unit is None:
            yield factor.id, random.choice(list(factor.values))
        elif read_off:
            yield f"{factor.id}.reading", random.choice(["{:.2f} mm", "{:.1f} mm"]).format(random.uniform(-1, 11))
        else:
            yield factor.id, random.choice(["{:.2f} mm", "{:.1f} mm", "{:.0f} mm"]).format(random.uniform(0, 6))


@pytest.mark.parametrize("read_off", [False, True])
def test_every_row_is_the_case_that_a_question_puts(meaning: Meaning, read_off: bool) -> None:
    random = Random(7)
    given = [dict(random_texts(meaning, random, read_off)) for _ in range(1500)]
    rows = cases_of(meaning, list(given[0]), *[list(texts.values()) for texts in given])
    for texts, row in zip(given, rows, strict=True):
        question = put(meaning, texts)
        within = list(question.case)
        for name, taken in question.taken.items():
            axis = meaning.space.index[name]
            within[axis] = cells_in(meaning.space.axes[axis], taken.band)
        assert isinstance(row.case, Case)
        assert row.case.cell == question.case
        assert row.case.within == tuple(within)


@pytest.mark.parametrize("read_off", [False, True])
def test_with_conditions_a_row_may_be_another_case_in_which_the_same_hold(meaning: Meaning, read_off: bool) -> None:
    random = Random(8)
    given = [dict(random_texts(meaning, random, read_off)) for _ in range(1500)]
    table = [list(given[0]), *[list(texts.values()) for texts in given]]
    boxes = conditions_of(meaning)
    exact = list(read_cases(meaning.space, table))
    alike = list(read_cases(meaning.space, table, boxes))
    axis = meaning.space.index["rdt"]
    for row, other in zip(exact, alike, strict=True):
        assert row.case is not None
        assert other.case is not None
        assert [inside(row.case.cell, box) for box in boxes] == [inside(other.case.cell, box) for box in boxes]
        if read_off:
            assert row.case.cell[axis] == other.case.cell[axis]
            assert row.case.within[axis] == other.case.within[axis]
    assert len({id(row.case) for row in alike}) < len({id(row.case) for row in exact})


def test_what_is_kept_is_bounded_and_forgetting_changes_nothing(
    meaning: Meaning, monkeypatch: pytest.MonkeyPatch
) -> None:
    random = Random(9)
    given = [dict(random_texts(meaning, random, True)) for _ in range(600)]
    given += [{**texts, "pulp": f"unknown {number}"} for number, texts in enumerate(given)]
    table = [list(given[0]), *[list(texts.values()) for texts in given]]

    def seen() -> list[object]:
        return [(why(row), row.case and (row.case.cell, row.case.within)) for row in read_cases(meaning.space, table)]

    before = seen()
    monkeypatch.setattr(holding, "MOST_KEPT", 7)
    monkeypatch.setattr("liningbook.cases.case_table.MOST_KEPT", 7)
    assert seen() == before
    kept: holding.Kept[int, int] = holding.Kept(lambda number: number * number)
    assert [kept[number] for number in range(100)] == [number * number for number in range(100)]
    assert len(kept) <= 7


def test_cases_are_shared_and_their_number_is_bounded(meaning: Meaning, monkeypatch: pytest.MonkeyPatch) -> None:
    one, other = list(GOOD.values()), ["1 mm", *list(GOOD.values())[1:]]
    rows = cases_of(meaning, list(GOOD), one, other, one)
    assert rows[0].case is rows[2].case
    monkeypatch.setattr("liningbook.cases.case_table.MOST_KEPT", 1)
    rows = cases_of(meaning, list(GOOD), one, other, one)
    assert rows[0].case is not rows[2].case


def test_long_texts_are_not_kept() -> None:
    kept: holding.Kept[str, int] = holding.Kept(len)
    assert kept["x" * 1000] == 1000
    assert kept["x" * 10] == 10
    assert list(kept) == ["x" * 10]
