"""How many of a practice's past cases two versions treat differently, row by row, whatever the size of the table.

A row that holds a reading is corrected as each version says, within its own limits. A factor that only one version
knows may have no column: the row then stands for all its values, and what it comes to may depend on them.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Hashable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from itertools import tee
from typing import NamedTuple

from liningbook.cases.case_table import Case, CaseTable, read_cases
from liningbook.cases.columns import PLAIN, TableForm, known_columns
from liningbook.cases.many_cases import conditions_of
from liningbook.cases.question import READING
from liningbook.compare.comparison import Comparison, Key, key_of
from liningbook.compare.completing import completed, hangs_on, is_too_open
from liningbook.compare.joint import in_unit
from liningbook.compare.own_readings import conditions_on, moved, places_of, taken_by
from liningbook.finding import Refused
from liningbook.meaning.decide import NOT_NEEDED, Outcome, decide
from liningbook.meaning.difference import OUT_OF_SCOPE
from liningbook.meaning.meaning import Meaning
from liningbook.model.rule import Factor
from liningbook.sources.csv_rows import Broken, CannotRead
from liningbook.space.boxes import Box
from liningbook.space.cells import Space, all_whens
from liningbook.space.holding import MOST_KEPT, Holding, Kept

MOST_LISTED = 10_000
"""How many rows are kept of each kind; all of them are counted, and written where the user asks for it."""


class Treated(NamedTuple):
    """A decision that comes to something else in a case."""

    decision: str
    before: Outcome
    after: Outcome


Judged = tuple[tuple[Treated, ...], bool, tuple[str, ...]]
"""What changes in a case, whether that hangs on factors that it does not give, and on which."""


class PastRow(NamedTuple):
    """One row of the table: what changes in it, and whether that hangs on a factor it does not give.

    `problem` says why the row cannot be used; `weight` says how many cases it stands for. `doubtful` names factors
    whose readings lie outside the limits.
    """

    number: int
    fields: list[str]
    weight: int
    changed: tuple[Treated, ...]
    depends: bool
    hangs_on: tuple[str, ...]
    problem: Refused | None
    doubtful: tuple[str, ...] = ()


@dataclass
class Group:
    """The rows and the cases in which one decision comes to the same other thing; some rows by their number."""

    decision: str
    before: Outcome
    after: Outcome
    rows: int = 0
    cases: int = 0
    numbers: list[int] = field(default_factory=list)


@dataclass
class PastCases:
    """What was counted. `depends` counts rows of which a factor that they do not give decides whether they change."""

    header: list[str] = field(default_factory=list)
    rows: int = 0
    cases: int = 0
    changed_rows: int = 0
    changed_cases: int = 0
    depends_rows: int = 0
    depends_cases: int = 0
    depends_on: dict[str, None] = field(default_factory=dict)
    """The factors that those rows do not give and that decide."""
    groups: dict[Key, Group] = field(default_factory=dict)
    unusable: int = 0
    doubtful: int = 0
    """Rows with a reading that lies outside the limits: read or typed wrongly."""
    problems: list[tuple[int, Refused]] = field(default_factory=list)
    not_given: tuple[str, ...] = ()
    """Factors that only one version knows and the table does not give."""

    def count(self, row: PastRow) -> PastRow:
        """Adds one row, and gives it back."""
        if row.problem:
            self.unusable += 1
            if len(self.problems) < MOST_LISTED:
                self.problems.append((row.number, row.problem))
            return row
        self.rows += 1
        self.cases += row.weight
        self.doubtful += bool(row.doubtful)
        if row.changed and row.depends:
            self.depends_rows += 1
            self.depends_cases += row.weight
            self.depends_on |= dict.fromkeys(row.hangs_on)
        elif row.changed:
            self.changed_rows += 1
            self.changed_cases += row.weight
        for treated in row.changed:
            group = self.groups.setdefault(key_of(*treated), Group(*treated))
            group.rows += 1
            group.cases += row.weight
            if len(group.numbers) < MOST_LISTED:
                group.numbers.append(row.number)
        return row


def past_cases(
    comparison: Comparison, rows: Iterable[list[str]], tally: PastCases, form: TableForm = PLAIN
) -> Iterator[PastRow]:
    """Every row with what changes in it, `tally` kept up to date as they are taken. Raises CannotRead."""
    stream = iter(rows)
    tally.header = next(stream, [])
    reader = _PastReader(comparison, tally.header, form)
    tally.not_given = tuple(reader.not_given)
    return map(tally.count, reader.rows(stream))


class _PastReader:
    def __init__(self, comparison: Comparison, header: list[str], form: TableForm) -> None:
        self.comparison = comparison
        self.old, self.new = comparison.old, comparison.new
        names = [name.strip() for name in header]
        new_names, self.value_names = _new_names(comparison, names)
        names = [new_names.get(name, name) for name in names]
        columns = known_columns(comparison.new.protocol.factors, names, form)
        names = [columns[name].name if name in columns else name for name in names]
        self.header = header if isinstance(header, Broken) else names
        self.form = replace(form, columns={column.name: column for column in columns.values()})
        given = {column.factor for column in columns.values()}
        once = {factor.id for factor in (*comparison.gone, *comparison.added)}
        self.not_given = [name for name in comparison.space.names if name in once and name not in given]
        read_off = [f for f in comparison.new.protocol.factors.values() if f.id + READING in self.header]
        self.own = [{f.id: self._own(side, f) for f in read_off} for side in (0, 1)]
        """How each version by itself knows the factors that are read off."""
        self.same_readings = all(
            taken_by(own[factor.id]) == taken_by(factor) for own in self.own for factor in read_off
        )
        # Cases in which the same conditions of both versions hold are alike, and one of them is enough.
        self.conditions = list(dict.fromkeys([*conditions_of(self.old), *conditions_of(self.new)]))
        self.holding = None if self.not_given else Holding(comparison.space, self.conditions)
        self.judged: Kept[tuple[Box, Box], Judged] = Kept(self._judge_alike)
        self.known: dict[tuple[int, int], Judged] = {}
        self.as_written: deque[list[str]] = deque()
        """Rows of which values were translated, as they stand in the table."""

    def rows(self, stream: Iterator[list[str]]) -> Iterator[PastRow]:
        """The rows of the table below its header."""
        if not self.same_readings:
            yield from self._rows_twice(stream)
            return
        judged: Kept[Case, Judged] = Kept(lambda case: self.judged[case.cell, case.cell])
        alike = None if self.not_given else self.conditions
        space = self.comparison.space if not self.not_given else self._space({})
        for number, fields, weight, case, problem in read_cases(space, self._translated(stream), alike, self.form):
            fields = self._written(fields)
            if case is not None and case.missing and is_too_open(case.cell):
                case, problem = None, Refused("row-too-blank")
            if case is None:
                yield PastRow(number, fields, 0, (), False, (), problem)
            else:
                yield PastRow(number, fields, weight, *judged[case], None, case.doubtful)

    def _rows_twice(self, stream: Iterator[list[str]]) -> Iterator[PastRow]:
        """The rows where the versions correct a reading differently: each is read as either says."""
        copies = tee(self._translated(stream))
        spaces = [self._space(own) for own in self.own]
        joint = self._space({})
        places = [places_of(space, joint) for space in spaces]
        before, after = (self._read(*both) for both in zip(spaces, copies, ("old", "new"), strict=True))
        in_joint: Kept[tuple[int, Box], Box] = Kept(lambda asked: moved(places[asked[0]], asked[1], joint.full))
        for ours, theirs in zip(before, after, strict=True):
            fields = self._written(ours.fields)
            if ours.case is None or theirs.case is None:
                yield PastRow(ours.number, fields, 0, (), False, (), theirs.problem or ours.problem)
            else:
                if ours.case.missing and is_too_open(ours.case.cell):
                    yield PastRow(ours.number, fields, 0, (), False, (), Refused("row-too-blank"))
                    continue
                cells = in_joint[0, ours.case.cell], in_joint[1, theirs.case.cell]
                doubtful = tuple(dict.fromkeys((*ours.case.doubtful, *theirs.case.doubtful)))
                yield PastRow(ours.number, fields, ours.weight, *self.judged[cells], None, doubtful)

    def _read(self, space: Space, rows: Iterator[list[str]], version: str) -> CaseTable:
        try:
            return read_cases(space, rows, form=self.form)
        except CannotRead as no:
            raise CannotRead("table-for-version", version=version, reason=no) from None

    def _translated(self, stream: Iterator[list[str]]) -> Iterator[list[str]]:
        """The table under the new names."""
        yield self.header
        places = [(at, self.value_names[name]) for at, name in enumerate(self.header) if name in self.value_names]
        for row in stream:
            if places and len(row) == len(self.header):
                self.as_written.append(row)
                row = list(row)
                for at, names in places:
                    row[at] = names.get(row[at].strip(), row[at])
            yield row

    def _written(self, fields: list[str]) -> list[str]:
        """The cells of the row just read as they stand in the table."""
        return self.as_written.popleft() if self.as_written else fields

    def _space(self, own: Mapping[str, Factor]) -> Space:
        """The joint space without the factors that the table does not give, some factors as one version knows them."""
        factors = {
            name: own.get(name, factor)
            for name, factor in self.new.protocol.factors.items()
            if name not in self.not_given
        }
        whens = [*all_whens(self.old.protocol), *all_whens(self.new.protocol)]
        return Space(factors, [tuple(conditions_on(conditions, factors, own) for conditions in when) for when in whens])

    def _own(self, side: int, joint: Factor) -> Factor:
        """A factor that is read off as one version by itself knows it, in the unit of the joint one."""
        protocol, name = self.comparison.new_protocol, joint.id
        if side == 0:
            former = {r.after: r.before for r in self.comparison.renamed if r.kind == "factor"}
            protocol, name = self.comparison.old_protocol, former.get(name, name)
        own = protocol.factors.get(name)
        if own is None or own.unit is None or joint.unit is None or own.unit.dimension != joint.unit.dimension:
            return joint  # another version's factor, or one that is something else there
        return replace(in_unit(own, own.unit, joint.unit), id=joint.id, label=joint.label)

    def _judge_alike(self, cells: tuple[Box, Box]) -> Judged:
        """What changes in a case, worked out once for all cases in which the same conditions hold."""
        if self.holding is None or any(mask.bit_count() > 1 for mask in cells[0]):
            return self._judge(cells)
        key = self.holding.of(cells[0]), self.holding.of(cells[1])
        found = self.known.get(key)
        if found is None:
            if len(self.known) >= MOST_KEPT:
                self.known.clear()
            found = self.known[key] = self._judge(cells)
        return found

    def _judge(self, cells: tuple[Box, Box]) -> Judged:
        """What changes in a case, and which factors that it does not give decide that."""
        found: dict[Key, Treated] = {}
        seen: dict[Box, Hashable] = {}
        space = self.comparison.space
        absent = {space.index[name] for name in self.not_given}
        for old_case, new_case in completed(space.full, absent, cells):
            changed = tuple(_changed(self.old, self.new, old_case, new_case))
            seen[new_case] = tuple(key_of(*treated) for treated in changed)
            for treated in changed:
                found.setdefault(key_of(*treated), treated)
        depends = len(set(seen.values())) > 1
        return tuple(found.values()), depends, tuple(space.names[n] for n in hangs_on(seen)) if depends else ()


def _changed(old: Meaning, new: Meaning, old_case: Box, new_case: Box) -> Iterator[Treated]:
    before, after = decide(old, old_case), decide(new, new_case)
    for decision in dict.fromkeys([*new.protocol.decisions, *old.protocol.decisions]):
        first = OUT_OF_SCOPE if before.excluded is not None else before.outcomes.get(decision, NOT_NEEDED)
        second = OUT_OF_SCOPE if after.excluded is not None else after.outcomes.get(decision, NOT_NEEDED)
        if first.said != second.said:
            yield Treated(decision, first, second)


def _new_names(comparison: Comparison, names: list[str]) -> tuple[dict[str, str], dict[str, dict[str, str]]]:
    """New names of columns, and of values by the new name of their column, for a table under the old names."""
    columns: dict[str, str] = {}
    values: dict[str, dict[str, str]] = {}
    for renamed in comparison.renamed:
        if renamed.kind == "factor":
            for ending in ("", READING):
                if renamed.before + ending in names and renamed.after + ending not in names:
                    columns[renamed.before + ending] = renamed.after + ending
        if renamed.kind == "value":
            values.setdefault(renamed.within, {})[renamed.before] = renamed.after
    return columns, values
