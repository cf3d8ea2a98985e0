"""A table of cases, row by row to cells: which case each row is, how many it stands for, or why it cannot be used.

A column is named after a factor (`columns.known_columns`); `count`, if there is one, says how many cases a row stands
for; other columns are passed over. Rows are many and different texts few: what a text means is
worked out once and kept. Whatever is kept is bounded, and emptied when full.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from liningbook.cases.columns import COUNT, PLAIN, ColumnForm, TableForm, Vocabulary, find_columns
from liningbook.cases.readings import NoReading, cells_in, take
from liningbook.finding import Refused
from liningbook.model.values import NotAValue, parse_in_unit, read_value
from liningbook.sources.csv_rows import Broken, CannotRead, is_foreign, legible
from liningbook.space.boxes import Box
from liningbook.space.cells import Axis, Space
from liningbook.space.holding import MOST_KEPT, Holding, Kept

MOST_COLUMNS = 2_000
MOST_COUNTED = 10**12
MOST_QUOTED = 200
"""So many signs of a text are kept to say what is wrong with it: many rows may be wrong, and their cells long."""
MOST_LEFT = 20
"""So many cells too many are named."""
SLOT = 24
"""Bits of a key for a column of readings: far more than there are different bands of one factor."""


@dataclass(frozen=True, eq=False, slots=True)
class Case:
    """A case. Objects are equal only if they are the same; rows that are alike mostly share one.

    `cell` has one cell on every axis. In `within` a factor that was read off has every cell within its uncertainty.
    `doubtful` names the factors whose readings lie outside the limits: read or typed wrongly (`readings.Taken`).
    `missing` names those of which the row says nothing, its cell being blank; of them the case has every cell.
    """

    cell: Box
    within: Box
    doubtful: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()


class CaseRow(NamedTuple):
    """One row of a table of cases.

    `number` counts rows as a spreadsheet does, the header being 1. `fields` are the cells as they stand, as many as the
    header has. `weight` says how many cases it stands for. Where the row cannot be used `case` is nothing, `weight` is
    0 and `problem` is why.
    """

    number: int
    fields: list[str]
    weight: int
    case: Case | None
    problem: Refused | None


class _Column:
    """A column that is read: a whole number for each of its texts, `bad` for one that stands for nothing."""

    def __init__(self, name: str, place: int, read: Callable[[str], int], bad: int) -> None:
        self.name = name
        self.place = place
        self._read = read
        self._bad = bad
        self.codes: Kept[str, int] = Kept(self._code)
        self.problems: Kept[str, Refused | None] = Kept(self._problem)

    def _code(self, text: str) -> int:
        found = self._try(text)
        if isinstance(found, int):
            return found
        self.problems.keep(text, found)
        return self._bad

    def _problem(self, text: str) -> Refused | None:
        """Why a text stands for nothing; nothing if it stands for something."""
        found = self._try(text)
        return None if isinstance(found, int) else found

    def _try(self, text: str) -> int | Refused:
        try:
            return self._read(text)
        except (NotAValue, NoReading) as no:
            if not text.strip():
                return Refused("cell-blank", name=self.name)
            if is_foreign(text):
                return Refused("cell-not-utf-8", name=self.name, written=legible(text[:MOST_QUOTED]))
            given = {name: value[:MOST_QUOTED] if isinstance(value, str) else value for name, value in no.given.items()}
            return Refused("cell", name=self.name, reason=Refused(no.what, **given))


class _Cells(NamedTuple):
    """The masks of a value's cell and of the cells within its uncertainty; whether it is in doubt, or not given."""

    cell: int
    within: int
    is_doubtful: bool = False
    is_blank: bool = False


class _FactorColumn(_Column):
    """A column of a factor. Its codes, joined by `&` with those of the other factors, are the key of a case.

    The low bits of a code say which conditions the cell leaves open; each column of readings has a slot above them, in
    which it puts a number for what was read off, and the other columns ones. A bad text has the code 0.
    """

    def __init__(
        self,
        name: str,
        place: int,
        number: int,
        axis: Axis,
        column: ColumnForm,
        form: TableForm,
        held: tuple[Holding, int],
    ) -> None:
        super().__init__(name, place, self._read_code_off if column.is_reading else self._read_code, 0)
        self.is_read_off = column.is_reading
        self.number = number
        self.axis = axis
        self.holding, slots = held
        self.low = (1 << self.holding.size) - 1
        self.ones = (1 << self.holding.size + SLOT * slots) - 1
        self.slot = 0
        """Where its slot starts, if it holds readings."""
        self.vocabulary = Vocabulary(axis.factor, column, form)
        self.cells: Kept[str, _Cells] = Kept(self._cells)
        self._seen: dict[_Cells, int] = {}

    def _cells(self, text: str) -> _Cells:
        """What a text stands for; raises NotAValue, NoReading."""
        text = self.vocabulary.meant(text)
        if self.is_read_off:
            taken = take(self.axis, parse_in_unit(text, self.axis.unit))
            return _Cells(1 << taken.cell, cells_in(self.axis, taken.band), taken.is_doubtful)
        value, number = read_value(self.axis.factor, text)
        cell = self.axis.values.index(value) if number is None else self.axis.cell_of_number(number)
        return _Cells(1 << cell, 1 << cell)

    def _read_code(self, text: str) -> int:
        return self.ones ^ self.low | self.holding.on(self.number, self.cells[text].cell)

    def _read_code_off(self, text: str) -> int:
        found = self.cells[text]
        number = self._seen.setdefault(found, len(self._seen))
        return self.ones ^ ((1 << SLOT) - 1 << self.slot) | number << self.slot


class CaseTable:
    """The cases of a table, to be taken once. Raises CannotRead where the header will not do."""

    def __init__(
        self,
        space: Space,
        rows: Iterable[list[str]],
        conditions: Sequence[Box] | None = None,
        form: TableForm = PLAIN,
    ) -> None:
        self._rows = iter(rows)
        self.header: list[str] = next(self._rows, [])
        if isinstance(self.header, Broken):
            raise CannotRead("table-first-row-misquoted")
        if len(self.header) > MOST_COLUMNS:
            raise CannotRead("table-too-wide", columns=len(self.header), most=MOST_COLUMNS)
        names = [name.strip() for name in self.header]
        found = find_columns(space, names, form)
        self.is_read_off = any(column.is_reading for _, column in found)
        """Whether any column holds readings."""
        holding = Holding(space, _every_cell(space) if conditions is None else conditions)
        held = holding, sum(column.is_reading for _, column in found)
        self._factors = [
            _FactorColumn(name, names.index(name), number, axis, column, form, held)
            for number, ((name, column), axis) in enumerate(zip(found, space.axes, strict=True))
        ]
        for number, column in enumerate(column for column in self._factors if column.is_read_off):
            column.slot = holding.size + number * SLOT
        is_counted = COUNT in names and all(name != COUNT for name, _ in found)
        self._count = _Column(COUNT, names.index(COUNT), _read_count, -1) if is_counted else None

    def __iter__(self) -> Iterator[CaseRow]:
        """Row by row; those that cannot be used have their place among the others."""
        columns = [(column.place, column.codes) for column in self._factors]
        counted = self._count
        width = len(self.header)
        cases: dict[int, Case] = {}
        partial: Kept[tuple[_Cells, ...], Case] = Kept(self._case)
        weight = 1
        for number, row in enumerate(self._rows, 2):
            key = 0
            if len(row) == width:
                key = -1
                for place, codes in columns:
                    key &= codes[row[place]]
                if counted is not None:
                    weight = counted.codes[row[counted.place]]
            if not key or weight < 0:
                known = None if weight < 0 or len(row) != width else self._known(row)
                if known is None:
                    yield CaseRow(number, _fitted(row, width), 0, None, self._problem(row))
                else:
                    yield CaseRow(number, row, weight, partial[known], None)
                continue
            case = cases.get(key)
            if case is None:
                if len(cases) >= MOST_KEPT:
                    cases.clear()
                case = cases[key] = self._case(tuple(column.cells[row[column.place]] for column in self._factors))
            yield CaseRow(number, row, weight, case, None)

    def _case(self, found: tuple[_Cells, ...]) -> Case:
        names = [column.axis.factor.id for column in self._factors]
        doubtful = tuple(name for name, cells in zip(names, found, strict=True) if cells.is_doubtful)
        missing = tuple(name for name, cells in zip(names, found, strict=True) if cells.is_blank)
        return Case(tuple(cells.cell for cells in found), tuple(cells.within for cells in found), doubtful, missing)

    def _known(self, row: list[str]) -> tuple[_Cells, ...] | None:
        """What a row says of each factor where some of their cells are blank and nothing else is wrong."""
        found = []
        for column in self._factors:
            text = row[column.place]
            if text.strip() and column.problems[text]:
                return None
            full = (1 << column.axis.count) - 1
            found.append(column.cells[text] if text.strip() else _Cells(full, full, is_blank=True))
        return tuple(found) if not all(cells.is_blank for cells in found) else None

    def _problem(self, row: list[str]) -> Refused:
        """Why a row cannot be used: everything that is wrong with it."""
        if isinstance(row, Broken):
            return Refused("row-misquoted")
        if not any(cell.strip() for cell in row):
            return Refused("row-empty")
        if len(row) != len(self.header):
            left = tuple(legible(cell[:MOST_QUOTED]) for cell in row[len(self.header) :][:MOST_LEFT])
            return Refused("row-of-other-length", cells=len(row), wanted=len(self.header), left=left)
        columns = [*self._factors, *([self._count] if self._count else [])]
        problems = [problem for column in columns if (problem := column.problems[row[column.place]])]
        others = [problem for problem in problems if problem.what != "cell-blank" or problem.given["name"] == COUNT]
        return Refused("row-useless", problems=tuple(others or problems))  # a blank may not matter


def read_cases(
    space: Space, rows: Iterable[list[str]], conditions: Sequence[Box] | None = None, form: TableForm = PLAIN
) -> CaseTable:
    """The cases of a table with a header, in the cells of a space. Raises CannotRead.

    With `conditions` a row's case may be another in which the same of them hold; for a table with many different cases
    that is quicker. Readings are exact in either way.
    """
    return CaseTable(space, rows, conditions, form)


def _every_cell(space: Space) -> list[Box]:
    """A box for each cell of each axis: which of them hold says which case it is."""
    return [
        tuple(1 << cell if other == axis else full for other, full in enumerate(space.full))
        for axis in range(len(space.axes))
        for cell in range(space.axes[axis].count)
    ]


def _read_count(text: str) -> int:
    digits = text.strip()
    if not (digits.isascii() and digits.isdigit()):
        raise NotAValue("schema", "not-a-count", written=text)
    if len(digits) > 15 or int(digits) > MOST_COUNTED:
        raise NotAValue("schema", "too-large-a-count", written=text)
    return int(digits)


def _fitted(row: list[str], width: int) -> list[str]:
    """The cells of a row, as many as the header has."""
    cells = [row.text] if isinstance(row, Broken) else row[:width]
    return cells + [""] * (width - len(cells))
