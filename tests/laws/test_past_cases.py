"""Past cases against two versions: each row of a table looked at by itself, in both.

Values are looked up in the table of all cases (`tests/oracle/versions.py`); readings are corrected once more by
`tests/oracle/readings.py`, in each version by itself.
"""

from __future__ import annotations

import copy
import csv
import io
import json
import os
import subprocess
import sys
from collections import defaultdict
from collections.abc import Iterator, Mapping
from fractions import Fraction
from itertools import product
from pathlib import Path
from random import Random
from typing import Any

import pytest

from liningbook.cli import main
from liningbook.compare.comparison import compare
from liningbook.compare.past_cases import PastCases, PastRow, past_cases
from liningbook.exchange.outcomes import outcome_json
from liningbook.say.faults import reason_words
from liningbook.sources.csv_rows import CannotRead
from tests import seeds
from tests.laws.test_edits import CALCIUM, protocol, rule
from tests.oracle.folder import brute, write_folder
from tests.oracle.generate import DAY
from tests.oracle.grid import axis_of
from tests.oracle.notation import SIZES, decimal
from tests.oracle.pairs import Pair, pair_of, protocol_of
from tests.oracle.readings import take
from tests.oracle.versions import bare
from tests.refused import refusing

Row = dict[str, str]

# --- values -----------------------------------------------------------------------------------------------------------


def text_of(factor: Mapping[str, Any], value: Any, random: Random) -> str:
    """A value as people write it, quantities in one of several units."""
    if factor["kind"] != "quantity":
        return f" {value} " if random.random() < 0.1 else str(value)
    kind, one = SIZES[factor["unit"]]
    codes = [c for c, (k, size) in SIZES.items() if k == kind and (value * one / size * 10**9).denominator == 1]
    code = random.choice(codes)
    return f"{decimal(value * one / SIZES[code][1])} {code}"


class Table:
    """Random rows for a pair of versions, and what must come of them."""

    def __init__(self, pair: Pair, seed: int) -> None:
        self.pair, self.random = pair, Random(f"table {seed}")
        self.versions = pair.versions
        grid = self.versions.grid
        told = pair.told
        once = [*told["factors"]["added"], *told["factors"]["removed"]]
        self.left_out = [name for name in once if self.random.random() < 0.6]
        factors = {entry["after"]: entry["before"] for entry in told["renamed"] if entry["kind"] == "factor"}
        self.columns = {name: name for name in grid.axes if name not in self.left_out}
        for name in self.columns:
            if self.random.random() < 0.7:
                self.columns[name] = factors.get(name, name)
        self.values: dict[str, dict[str, str]] = {}
        for entry in told["renamed"]:
            if entry["kind"] == "value":
                self.values.setdefault(entry["of"], {})[entry["after"]] = entry["before"]
        self.cases = [grid.case(self.random.randrange(grid.count)) for _ in range(40)]
        self.counts = [self.random.choice(["1", "1", "2", "17", "0", "x", ""]) for _ in self.cases]
        self.outcomes = (self.versions.outcomes(0), self.versions.outcomes(1))

    def rows(self) -> Iterator[list[str]]:
        order = list(self.columns)
        self.random.shuffle(order)
        yield ["who", *(self.columns[name] for name in order), "count"]
        for number_, (case, count) in enumerate(zip(self.cases, self.counts, strict=True)):
            found = []
            for name in order:
                text = text_of(self.versions.grid.factors[name], case[name], self.random)
                if self.random.random() < 0.5:
                    text = self.values.get(name, {}).get(text, text)
                found.append(text)
            yield [str(number_), *found, count]

    def cells_of(self, case: Mapping[str, Any]) -> Iterator[int]:
        """The cells of a case: one for each value of the factors left out."""
        grid = self.versions.grid
        for chosen in product(*(range(len(grid.axes[name])) for name in self.left_out)):
            places = {
                **{n: grid.axes[n].index(v) for n, v in case.items()},
                **dict(zip(self.left_out, chosen, strict=True)),
            }
            yield sum(grid.strides[name] * place for name, place in places.items())

    def changed(self, case: Mapping[str, Any]) -> list[frozenset[Any]]:
        """What changes in a case, once for each value of the factors left out."""
        found = []
        for cell in self.cells_of(case):
            changes = set()
            for decision in self.outcomes[0]:
                first, second = (bare(self._at(table[decision], cell)) for table in self.outcomes)
                if first != second:
                    changes.add((decision, first, second))
            found.append(frozenset(changes))
        return found

    def _at(self, table: Mapping[Any, int], cell: int) -> Any:
        return next(said for said, cells in table.items() if cells >> cell & 1)

    def told(self, row: PastRow) -> frozenset[Any]:
        return frozenset(
            (t.decision, *(bare(self.versions.told(n, outcome_json(o))) for n, o in enumerate((t.before, t.after))))
            for t in row.changed
        )


@pytest.mark.parametrize("seed", seeds.window(0, 80, 5))
def test_every_row_is_what_the_table_of_all_cases_says(seed: int) -> None:
    pair = pair_of(seed)
    table, tally = Table(pair, seed), PastCases()
    rows = list(past_cases(pair.comparison, (list(row) for row in table.rows()), tally))
    assert len(rows) == len(table.cases)
    assert set(tally.not_given) == set(table.left_out)
    counted: dict[Any, int] = defaultdict(int)
    cases = changed = depends = 0
    for at, (row, case, count) in enumerate(zip(rows, table.cases, table.counts, strict=True)):
        assert row.number == at + 2
        assert row.fields[0] == str(at)
        if not count.isdigit():
            assert (row.weight, row.changed) == (0, ())
            assert row.problem is not None
            assert "count" in reason_words(row.problem)
            continue
        assert (row.problem, row.weight) == (None, int(count))
        wanted = table.changed(case)
        assert table.told(row) == frozenset().union(*wanted)
        assert row.depends == (len(set(wanted)) > 1)
        cases += int(count)
        if row.changed:
            changed += 0 if row.depends else int(count)
            depends += int(count) if row.depends else 0
        for treated in table.told(row):
            counted[treated] += int(count)
    assert (tally.cases, tally.changed_cases, tally.depends_cases) == (cases, changed, depends)
    unusable = [(at + 2) for at, count in enumerate(table.counts) if not count.isdigit()]
    assert [n for n, _ in tally.problems] == unusable
    assert (tally.unusable, tally.rows) == (len(unusable), len(rows) - len(unusable))
    assert sorted(g.cases for g in tally.groups.values()) == sorted(counted.values())


def test_rows_are_written_as_they_stand_whatever_is_called_otherwise_now(tmp_path: Path) -> None:
    new = protocol()
    new["protocol"]["factors"]["restoration"]["values"] = {"silver": "Amalgam", "composite": "Composite"}
    new["rules"]["deep"]["when"] = {"rdt": {"at_most": "2 mm"}}
    comparison = compared(protocol(), new, tmp_path)
    given = [["rdt", "restoration"], ["1.5 mm", "amalgam"], ["0.5 mm", "silver"], ["1.5mm", "composite"]]
    tally = PastCases()
    rows = list(past_cases(comparison, [list(row) for row in given], tally))
    assert [row.fields for row in rows] == given[1:]
    assert [len(row.changed) for row in rows] == [1, 0, 1]
    assert tally.header == given[0]


# --- readings ---------------------------------------------------------------------------------------------------------

READING = {"method": "film", "scale": "0.7", "uncertainty": "0.4 mm", "guard_band": "1", "cautious": "below"}


def with_reading(steps: Mapping[str, str] | None = None, **changed: str) -> dict[str, Any]:
    """The small protocol with three bands, its factor and its reading changed."""
    plain = protocol()
    plain["rules"] = {
        "deep": rule("Deep", {"rdt": {"at_most": "0.8 mm"}}, CALCIUM),
        "middle": rule("Middle", {"rdt": {"above": "0.8 mm", "at_most": "2.4 mm"}}, {"agent": "silicate"}),
        "shallow": rule("Shallow", {"rdt": {"above": "2.4 mm"}}, "none"),
    }
    factor = plain["protocol"]["factors"]["rdt"]
    factor["reading"] = {**READING, **changed}
    factor |= steps or {}
    return plain


VERSIONS: dict[str, dict[str, Any]] = {
    "plain": with_reading(),
    "scale": with_reading(scale="0.8"),
    "offset": with_reading(offset="0.25 mm"),
    "uncertain": with_reading(uncertainty="0.8 mm"),
    "above": with_reading(cautious="above"),
    "no guard": with_reading(guard_band="0"),
    "further": with_reading({"at_most": "9 mm"}),
    "nearer": with_reading({"at_most": "3.2 mm", "at_least": "0.4 mm"}),
    "um": with_reading({"unit": "um"}),
    "step": with_reading({"step": "0.4 mm"}),
    "coarse": with_reading({"step": "0.8 mm"}, uncertainty="0.8 mm"),
}


@pytest.mark.parametrize("old", VERSIONS)
@pytest.mark.parametrize("new", VERSIONS)
def test_a_reading_is_corrected_as_each_version_says(old: str, new: str, tmp_path: Path) -> None:
    both = [copy.deepcopy(VERSIONS[name]) for name in (old, new)]
    both[1]["rules"]["deep"]["when"] = {"rdt": {"at_most": "1.6 mm"}}
    both[1]["rules"]["middle"]["when"] = {"rdt": {"above": "1.6 mm", "at_most": "2.4 mm"}}
    comparison = compared(*both, tmp_path)
    readings = [Fraction(n, 20) for n in range(250)]
    table = [["rdt.reading", "restoration"], *([f"{decimal(r)} mm", "amalgam"] for r in readings)]
    tally = PastCases()
    rows = list(past_cases(comparison, table, tally))
    assert tally.unusable == 0
    for read, row in zip(readings, rows, strict=True):
        first, second = (by_itself(plain, read) for plain in both)
        found = [(t.before, t.after) for t in row.changed]
        if first == second:
            assert found == [], (read, first)
        else:
            [(before, after)] = found
            assert [o.candidates[0].rules for o in (before, after)] == [(first[1],), (second[1],)], read
    assert tally.changed_rows == sum(bool(row.changed) for row in rows)


def by_itself(plain: Mapping[str, Any], read: Fraction) -> tuple[Any, str]:
    """What one version says to a reading in millimetres: the answer, and the rule."""
    oracle = brute(plain)
    factor = plain["protocol"]["factors"]["rdt"]
    axis = axis_of("rdt", factor, [r.get("when") for r in plain["rules"].values()])
    value = take(factor, read / SIZES[factor["unit"]][1], axis).value
    judged = oracle.advise({"rdt": value, "restoration": "amalgam"})
    [(meaning, rules)] = judged.answers["liner"].items()
    [name] = rules
    return meaning, name


def test_a_version_that_reads_nothing_off_is_named(tmp_path: Path) -> None:
    new = with_reading()
    del new["protocol"]["factors"]["rdt"]["reading"]
    comparison = compared(with_reading(), new, tmp_path)
    with refusing(CannotRead, r"for the new version, rdt\.reading: the protocol does not say how"):
        list(past_cases(comparison, [["rdt.reading", "restoration"], ["1 mm", "amalgam"]], PastCases()))


def compared(old: dict[str, Any], new: dict[str, Any], folder: Path) -> Any:
    protocols = [protocol_of(plain, folder / name) for name, plain in (("old", old), ("new", new))]
    assert protocols[0] is not None
    assert protocols[1] is not None
    return compare(protocols[0], protocols[1], DAY)


@pytest.mark.parametrize("new", ["plain", "scale"])
def test_a_row_with_an_impossible_reading_is_told_whether_or_not_it_changes(
    new: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """`plain` reads as the old version does; with `scale` every row is read as either says."""
    places = [str(write_folder(VERSIONS[name], tmp_path / str(at))) for at, name in enumerate(("plain", new))]
    table, out = tmp_path / "past.csv", tmp_path / "rows.csv"
    table.write_text("rdt.reading,restoration\n1000 m,amalgam\n1 mm,amalgam\n-5 mm,amalgam\n", "utf-8")
    call = ["compare", *places, "--cases", str(table), "--on", "2026-11-25"]
    assert main([*call, "--out", str(out), "--format", "json"]) == 0
    assert json.loads(capsys.readouterr().out)["past_cases"]["outside_limits"] == {"rows": 2}
    rows = {row["row"]: row["outside_limits"] for row in csv.DictReader(io.StringIO(out.read_text("utf-8")))}
    doubt = "rdt: the reading is outside the limits; check the number and the unit"
    assert {name: text for name, text in rows.items() if text} == {"2": doubt, "4": doubt}
    assert main(call) == 0
    assert "2 rows have a reading outside the limits" in capsys.readouterr().out


@pytest.mark.parametrize(("new", "column"), [("plain", "rdt"), ("plain", "rdt.reading"), ("scale", "rdt.reading")])
def test_a_blank_is_every_value_and_is_named_where_it_decides(new: str, column: str, tmp_path: Path) -> None:
    both = [copy.deepcopy(VERSIONS[name]) for name in ("plain", new)]
    both[1]["rules"]["deep"]["when"] = {"rdt": {"at_most": "1.6 mm"}}
    both[1]["rules"]["middle"]["when"] = {"rdt": {"above": "1.6 mm", "at_most": "2.4 mm"}}
    comparison = compared(*both, tmp_path)
    header = [column, "restoration"]
    texts = [f"{decimal(Fraction(n, 20))} mm" for n in range(1, 80)]
    table = [header, ["", "amalgam"], *[[text, ""] for text in texts], *[[text, "amalgam"] for text in texts]]
    tally = PastCases()
    first, *rows = list(past_cases(comparison, table, tally))
    assert tally.unusable == 0
    assert (first.depends, first.hangs_on) == (True, ("rdt",))
    for blank, whole in zip(rows[: len(texts)], rows[len(texts) :], strict=True):
        assert (blank.changed, blank.depends, blank.hangs_on) == (whole.changed, False, ())
    assert any(row.changed for row in rows)
    assert (tally.depends_rows, list(tally.depends_on)) == (1, ["rdt"])


# --- the command ------------------------------------------------------------------------------------------------------


@pytest.fixture
def folders(tmp_path: Path) -> tuple[str, str]:
    new = protocol()
    new["rules"]["deep"]["when"] = {"rdt": {"at_most": "1.5 mm"}}
    new["rules"]["shallow"]["when"] = {"rdt": {"above": "1.5 mm"}}
    return str(write_folder(protocol(), tmp_path / "old")), str(write_folder(new, tmp_path / "new"))


def test_the_command_counts_and_writes_the_rows(
    folders: tuple[str, str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    table = tmp_path / "past.csv"
    table.write_text(
        'name,rdt,restoration,count\r\n"a, b",1.2 mm,amalgam,3\r\nc,0.5 mm,amalgam,2\r\nd,1.2,amalgam,1\r\n'
        "e,1.5 mm,gold,1\r\nf,1.5 mm\r\ng,1.5 mm,composite,4\r\n", "utf-8"
    )  # fmt: skip
    before = table.read_bytes()
    out = tmp_path / "rows.csv"
    call = ["compare", *folders, "--cases", str(table), "--on", "2026-11-25"]
    assert main([*call, "--out", str(out), "--format", "json"]) == 0
    told = json.loads(capsys.readouterr().out)["past_cases"]
    assert (told["rows"], told["cases"], told["changed"]) == (3, 9, {"rows": 2, "cases": 7})
    assert [entry["row"] for entry in told["unusable"]["listed"]] == [4, 5, 6]
    assert told["groups"][0]["row_numbers"] == [2, 7]
    lines = list(csv.reader(io.StringIO(out.read_text("utf-8"), newline="")))
    assert lines[0] == [
        "row", "name", "rdt", "restoration", "count", "decision", "before", "after", "depends", "outside_limits",
        "problem",
    ]  # fmt: skip
    assert [line[0] for line in lines[1:]] == ["2", "4", "5", "6", "7"]
    assert lines[1][1:9] == ["a, b", "1.2 mm", "amalgam", "3", "liner", "No liner", "Calcium hydroxide", "no"]
    assert all(line[-1] for line in lines[2:5])
    assert table.read_bytes() == before
    assert main(call) == 0
    text = capsys.readouterr().out
    assert "Of 9 past cases in 3 rows, 7 (2 rows) would be treated differently." in text
    assert "7 of 9 cases" in text
    assert text.count("could not be used:") == 3
    assert "not of patients" not in text


@pytest.mark.parametrize(
    ("content", "words"),
    [
        ("", "the table is empty"),
        ("a,b\n1,2\n", "names no factor"),
        ("rdt\n1 mm\n", "no column for restoration"),
        ("rdt,rdt,restoration\n", "two columns are called 'rdt'"),
        ('rdt,"restoration\n', "the first row cannot be read"),
    ],
)
def test_a_table_that_will_not_do_is_said_in_one_line(
    content: str, words: str, folders: tuple[str, str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    table = tmp_path / "past.csv"
    table.write_text(content, "utf-8")
    out = tmp_path / "rows.csv"
    out.write_text("kept", "utf-8")
    assert main(["compare", *folders, "--cases", str(table), "--out", str(out)]) == 2
    printed = capsys.readouterr()
    assert words in printed.err
    assert printed.err.count("\n") == 1
    assert printed.out == ""
    assert out.read_text("utf-8") == "kept"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["new", "old", "past.csv", "rows.csv"]


def test_the_table_itself_is_never_written_over(
    folders: tuple[str, str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    table = tmp_path / "past.csv"
    table.write_text("rdt,restoration\n1 mm,amalgam\n", "utf-8")
    (tmp_path / "same.csv").symlink_to(table)
    for out in (table, tmp_path / "same.csv", Path(folders[0]) / "protocol.yaml", Path(folders[1]) / "rules/deep.md"):
        before = out.read_bytes()
        assert main(["compare", *folders, "--cases", str(table), "--out", str(out)]) != 0
        assert out.read_bytes() == before
    assert "Traceback" not in capsys.readouterr().err


def test_memory_does_not_grow_with_the_table(folders: tuple[str, str], tmp_path: Path) -> None:
    """Ten times as many rows, all of them changed and written out, take no more than a little more."""
    peaks = []
    for rows in (10_000, 110_000):
        table = tmp_path / f"{rows}.csv"
        with table.open("w", encoding="utf-8") as file:
            file.write("rdt.reading,restoration,who\n")
            file.writelines(f"{n % 700 / 100:.2f} mm,amalgam,{n}\n" for n in range(rows))
        call = ["compare", *folders, "--cases", str(table), "--out", str(tmp_path / "out.csv"), "--format", "json"]
        code = (
            "import resource, sys\nfrom liningbook.cli import main\nassert main(sys.argv[1:]) == 0\n"
            "sys.stderr.write(str(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss))"
        )
        done = subprocess.run([sys.executable, "-c", code, *call], capture_output=True, text=True, check=True,
                              env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)})  # fmt: skip
        assert json.loads(done.stdout)["past_cases"]["rows"] == rows
        peaks.append(int(done.stderr))
    assert peaks[1] < peaks[0] + 7_000, peaks  # kilobytes
