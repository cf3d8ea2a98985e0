"""How a table may be written: labels, the practice's own words, decimal commas; nothing with two meanings is read."""

from __future__ import annotations

import csv
import io
from datetime import date
from pathlib import Path

import pytest

from liningbook.analysis import understand
from liningbook.cases.build_columns import read_columns
from liningbook.cases.case_table import CaseRow, read_cases
from liningbook.cases.columns import TableForm, is_range
from liningbook.cases.question import put
from liningbook.cli import main
from liningbook.finding import Finding
from liningbook.meaning.meaning import Meaning
from liningbook.say.faults import reason_words
from liningbook.say.findings import told
from liningbook.sources.csv_rows import CannotRead
from tests.refused import refusing
from tests.usual import USUAL_CASE

DAY = date(2026, 11, 25)


@pytest.fixture(scope="module")
def meaning(demonstration: Path) -> Meaning:
    found = understand(demonstration, DAY).meaning
    assert found is not None
    return found


def read(meaning: Meaning, form: TableForm, **changed: str) -> CaseRow:
    """One row of the usual case with other cells; a name with `=>` before it stands in place of a column."""
    cells = {**USUAL_CASE, **{name.replace("_", "-"): text for name, text in changed.items()}}
    (row,) = read_cases(meaning.space, [list(cells), list(cells.values())], form=form)
    return row


def case_of(meaning: Meaning, **changed: str) -> object:
    return put(meaning, {**USUAL_CASE, **changed}).case


def words(text: str, meaning: Meaning) -> TableForm:
    columns, _, findings = read_columns(text.encode(), "words.yaml", meaning.space)
    assert findings == []
    return TableForm(columns)


def wrong(text: str, meaning: Meaning) -> list[Finding]:
    *_, findings = read_columns(text.encode(), "words.yaml", meaning.space)
    assert findings
    return findings


PLAIN = TableForm()


# --- labels -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("text", ["amalgam", "Amalgam", " AMALGAM ", "amalgam\t"])
def test_a_value_may_be_written_by_its_label_whatever_its_capitals_and_blanks(meaning: Meaning, text: str) -> None:
    row = read(meaning, PLAIN, restoration=text)
    assert row.case is not None
    assert row.case.cell == case_of(meaning, restoration="amalgam")


def test_a_label_of_several_words_is_read_with_any_blanks(meaning: Meaning) -> None:
    value, label = next(
        (value, label) for value, label in meaning.protocol.factors["pulp"].values.items() if " " in label
    )
    for text in (label, label.upper(), label.replace(" ", " \u00a0 ")):
        row = read(meaning, PLAIN, pulp=text)
        assert row.case is not None
        assert row.case.cell == case_of(meaning, pulp=value)


def test_a_column_may_be_called_by_the_label_of_its_factor(meaning: Meaning) -> None:
    labels = {name: factor.label for name, factor in meaning.protocol.factors.items()}
    header = [f" {labels[name].upper()} " for name in USUAL_CASE]
    (row,) = read_cases(meaning.space, [header, list(USUAL_CASE.values())])
    assert row.case is not None
    assert row.case.cell == case_of(meaning)


def test_a_column_with_the_label_is_passed_over_where_one_has_the_name(meaning: Meaning) -> None:
    label = meaning.protocol.factors["rdt"].label
    header, cells = [*USUAL_CASE, label], [*USUAL_CASE.values(), "no matter what"]
    (row,) = read_cases(meaning.space, [header, cells])
    assert row.case is not None


def test_yes_and_no_are_read_in_the_language_of_the_protocol_too(meaning: Meaning) -> None:
    form = TableForm({}, {"ja": "yes", "nein": "no"})
    row = read(meaning, form, exposed="Nein")
    assert row.case is not None
    assert row.case.cell == case_of(meaning, exposed="no")
    assert read(meaning, PLAIN, exposed="Nein").case is None


# --- numbers ----------------------------------------------------------------------------------------------------------

SEMICOLONS = TableForm(has_semicolons=True)


@pytest.mark.parametrize(("text", "value"), [("0,4 mm", "0.4 mm"), ("0,400 mm", "0.4 mm"), ("1,25mm", "1.25 mm")])
def test_a_decimal_comma_is_read_where_semicolons_set_cells_apart(meaning: Meaning, text: str, value: str) -> None:
    row = read(meaning, SEMICOLONS, rdt=text)
    assert row.case is not None
    assert row.case.cell == case_of(meaning, rdt=value)
    assert read(meaning, PLAIN, rdt=text).case is None


@pytest.mark.parametrize("text", ["1,200 mm", "1,000 um", "1.200,5 mm", "1,2,3 mm"])
def test_a_comma_that_may_mark_thousands_is_never_guessed(meaning: Meaning, text: str) -> None:
    assert read(meaning, SEMICOLONS, rdt=text).case is None


def test_the_file_of_words_says_what_the_table_cannot(meaning: Meaning) -> None:
    form = words("columns: {rdt: {factor: rdt, unit: mm, decimal: comma}}", meaning)
    for text in ("1,200", "1,2", "1,2 mm", "1200 um"):
        row = read(meaning, form, rdt=text)
        assert row.case is not None, text
        assert row.case.cell == case_of(meaning, rdt="1.2 mm")
    row = read(meaning, form, rdt="1.200")
    assert row.problem is not None
    assert "has a decimal point, where the file of words says" in reason_words(row.problem)


@pytest.mark.parametrize(
    "text", ["0.5 mm", "-5 mm", "5e-1 mm", "1/2 mm", "−5 mm", "", "mm", "1 000 mm", "a-b", "9" * 10_000]
)
def test_what_is_no_range_is_none(text: str) -> None:
    assert not is_range(text)


# --- the practice's own words -----------------------------------------------------------------------------------------

OWN = """
columns:
  Dentine on the film: {factor: rdt, as: reading, unit: mm}
  Filling:
    factor: restoration
    words: {amalgam: [AM, Silver filling], composite: Comp}
"""


def test_columns_and_values_may_have_the_practices_own_names(meaning: Meaning) -> None:
    form = words(OWN, meaning)
    kept = {name: text for name, text in USUAL_CASE.items() if name not in ("rdt", "restoration")}
    header = ["dentine  on the FILM", "Filling", *kept]
    texts = [["0.6", "am"], ["0.6 mm", "silver  filling"], ["0.6", "Amalgam"], ["0.6", "amalgam"], ["0.6", "Silver"]]
    rows = list(read_cases(meaning.space, [header, *[[*cells, *kept.values()] for cells in texts]], form=form))
    asked = {"rdt.reading": "0.6 mm", "restoration": "amalgam", **kept}
    wanted = put(meaning, asked).case
    assert [row.case.cell if row.case else None for row in rows] == [wanted] * 4 + [None]
    problem = rows[4].problem
    assert problem is not None
    assert "Filling: 'Silver' is not a value of Restoration" in reason_words(problem)


def test_a_column_that_the_table_has_not_is_told(meaning: Meaning) -> None:
    with refusing(CannotRead, "names a column 'Filling', which the table has not; did you mean `Fillings`"):
        read_cases(meaning.space, [["Fillings", *USUAL_CASE]], form=words(
            "columns: {Filling: {factor: restoration}}", meaning))  # fmt: skip


def test_a_factor_in_two_columns_is_told(meaning: Meaning) -> None:
    with refusing(CannotRead, "Restoration is given both in the column"):
        read_cases(meaning.space, [["Filling", *USUAL_CASE]], form=words(
            "columns: {Filling: {factor: restoration}}", meaning))  # fmt: skip


@pytest.mark.parametrize(
    ("text", "line", "message"),
    [
        ("columns: {a: {factor: rtd}}", 1, "there is no factor called 'rtd'"),
        ("columns:\n  a: {factor: restoration, words: {amalgum: [x]}}", 2, "amalgum"),
        ("columns:\n  a:\n    factor: restoration\n    words: {amalgam: [X], composite: [x]}", 4,
         "already stands for `amalgam`"),
        ("columns: {a: {factor: restoration, unit: mm}}", 1, "is not a quantity, so it has no unit"),
        ("columns: {a: {factor: restoration, as: reading}}", 1, "is not a quantity, so it is not read off"),
        ("columns: {a: {factor: restoration, decimal: comma}}", 1, "is not a quantity"),
        ("columns: {a: {factor: rdt, unit: g}}", 1, "measures another kind of thing"),
        ("columns: {a: {factor: rdt, unit: milli}}", 1, "milli"),
        ("columns: {a: {factor: rdt, words: {deep: [x]}}}", 1, "is a quantity, so no words stand for its values"),
        ("columns: {a: {factor: rdt}, b: {factor: rdt}}", 1, "the factor rdt has two columns"),
        ("columns: {a: {factor: rdt, decimal: point}}", 1, "comma"),
        ("columns: {a: {fctor: rdt}}", 1, "fctor"),
        ("column: {}", 1, "column"),
        ("columns: [", 1, ""),
        ("", 1, ""),
    ],
)  # fmt: skip
def test_what_is_wrong_in_a_file_of_words_is_a_finding_with_its_place(
    text: str, line: int, message: str, meaning: Meaning
) -> None:
    findings = wrong(text, meaning)
    assert findings[0].span.file == "words.yaml"
    assert findings[0].span.line == line
    assert message in " ".join(told(finding).message for finding in findings)


# --- the commands -----------------------------------------------------------------------------------------------------


def table(folder: Path, sign: str = ";") -> Path:
    cells = {**USUAL_CASE, "rdt": "0,4", "restoration": "AM"}
    cells = {{"rdt": "Dentine", "restoration": "Filling"}.get(name, name): text for name, text in cells.items()}
    path = folder / "cases.csv"
    path.write_text(
        f"{sign.join(cells)}\n{sign.join(cells.values())}\n{sign.join({**cells, 'Filling': 'x'}.values())}\n"
    )
    (folder / "words.yaml").write_text(
        "columns: {Dentine: {factor: rdt, unit: mm}, Filling: {factor: restoration, words: {amalgam: AM}}}"
    )
    return path


def test_a_table_of_cases_takes_a_file_of_words(
    demonstration: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    cases, out = table(tmp_path), tmp_path / "advice.csv"
    options = ["--cases", str(cases), "--words", str(tmp_path / "words.yaml"), "--out", str(out)]
    assert main(["case", str(demonstration), *options, "--on", "2026-11-25"]) == 0
    said = capsys.readouterr()
    rows = list(csv.DictReader(io.StringIO(out.read_text("utf-8")), delimiter=";"))
    assert [row["liner"] for row in rows] == ["calcium-hydroxide", ""]
    assert "Filling: 'x' is not a value of Restoration" in rows[1]["problem"]
    assert f"{cases}, row 3: Filling: 'x' is not a value" in said.err
    assert "2 rows, 1 of them not usable" in said.out


def test_so_does_a_table_of_past_cases(demonstration: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    cases = table(tmp_path)
    options = ["--cases", str(cases), "--words", str(tmp_path / "words.yaml"), "--on", "2026-11-25"]
    assert main(["compare", str(demonstration), str(demonstration), *options]) == 0
    said = capsys.readouterr().out
    assert "Of 1 past case in 1 row, 0 (0 rows)" in said
    assert "Row 3 could not be used: " in said


TABLE = "case AT --cases cases.csv --out"


@pytest.mark.parametrize(
    ("call", "said"),
    [
        ("case AT rdt=1mm --words w", "--words says how a table of cases is written"),
        ("compare AT AT --words w", "--words says how a table of cases is written"),
        (f"{TABLE} o.csv --words none.yaml", "none.yaml"),
        (f"{TABLE} o.csv --words bad.yaml", "bad.yaml cannot be used"),
        (f"{TABLE} words.yaml --words words.yaml", "is a source"),
    ],
)
def test_a_file_of_words_that_will_not_do_stops_it(
    call: str, said: str, demonstration: Path, tmp_path: Path,
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    monkeypatch.chdir(tmp_path)
    table(tmp_path)
    (tmp_path / "bad.yaml").write_text("columns: {a: {factor: rtd}}")
    assert main([str(demonstration) if word == "AT" else word for word in call.split()]) in (1, 2)
    assert said in capsys.readouterr().err
    assert not (tmp_path / "o.csv").exists()
