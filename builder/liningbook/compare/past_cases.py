"""How many of a practice's past cases two versions treat differently, row by row, whatever the size of the table.

A row that holds a reading is corrected as each version says (within the limits of both together). A factor that only
one version knows may have no column: the row then stands for all its values, and what it comes to may depend on them.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from itertools import product, tee
from typing import NamedTuple

from liningbook.compare.comparison import Comparison
from liningbook.compare.natures import of_reading
from liningbook.logic.boxes import Box, bits
from liningbook.logic.case_table import Case, CaseRow, read_cases
from liningbook.logic.cells import Space, all_whens
from liningbook.logic.decide import NOT_NEEDED, Outcome, decide
from liningbook.logic.difference import OUT_OF_SCOPE
from liningbook.logic.holding import Kept
from liningbook.logic.many_cases import conditions_of
from liningbook.logic.meaning import Meaning
from liningbook.logic.question import READING
from liningbook.logic.readings import same
from liningbook.model.protocol import Conditions, Factor, Protocol, Reading

MOST_LISTED = 10_000
"""How many rows are kept of each kind; all of them are counted, and written where the user asks for it."""

Key = tuple[str, Hashable, Hashable]


class Treated(NamedTuple):
    """A decision that comes to something else in a case."""

    decision: str
    before: Outcome
    after: Outcome


class PastRow(NamedTuple):
    """One row of the table: what changes in it, and whether that hangs on a factor it does not give.

    `problem` says why the row cannot be used; `weight` says how many cases it stands for.
    """

    number: int
    fields: list[str]
    weight: int
    changed: tuple[Treated, ...]
    depends: bool
    problem: str


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
    groups: dict[Key, Group] = field(default_factory=dict)
    unusable: int = 0
    problems: list[tuple[int, str]] = field(default_factory=list)
    not_given: tuple[str, ...] = ()
    """Factors that only one version knows and the table does not give."""

    def count(self, row: PastRow) -> None:
        """Adds one row."""
        if row.problem:
            self.unusable += 1
            if len(self.problems) < MOST_LISTED:
                self.problems.append((row.number, row.problem))
            return
        self.rows += 1
        self.cases += row.weight
        if not row.changed:
            return
        if row.depends:
            self.depends_rows += 1
            self.depends_cases += row.weight
        else:
            self.changed_rows += 1
            self.changed_cases += row.weight
        for treated in row.changed:
            group = self.groups.setdefault(key_of(*treated), Group(*treated))
            group.rows += 1
            group.cases += row.weight
            if len(group.numbers) < MOST_LISTED:
                group.numbers.append(row.number)


def key_of(decision: str, before: Outcome, after: Outcome) -> Key:
    """What tells two changes apart: decision, states and answers, whichever rules give them."""
    return (decision, _said(before), _said(after))


def _said(outcome: Outcome) -> Hashable:
    return (outcome.state, frozenset(candidate.answer.meaning for candidate in outcome.candidates))


def past_cases(comparison: Comparison, rows: Iterable[list[str]], tally: PastCases) -> Iterator[PastRow]:
    """Every row with what changes in it, `tally` kept up to date as they are taken. Raises CannotRead."""
    stream = iter(rows)
    header = next(stream, [])
    reader = _Reader(comparison, header)
    tally.header = header
    tally.not_given = tuple(reader.not_given)
    for row in reader.rows(stream):
        tally.count(row)
        yield row


class _Reader:
    def __init__(self, comparison: Comparison, header: list[str]) -> None:
        self.comparison = comparison
        self.old, self.new = comparison.old, comparison.new
        names = [name.strip() for name in header]
        self.column_names, self.value_names = _new_names(comparison, names)
        given = {self.column_names.get(name, name).removesuffix(READING) for name in names}
        once = {factor.id for factor in (*comparison.gone, *comparison.added)}
        self.not_given = [name for name in comparison.space.names if name in once and name not in given]
        self.same_readings = all(
            of_reading(self._read_by(comparison.old_protocol, factor)) == of_reading(factor.reading)
            for factor in comparison.new.protocol.factors.values()
            if factor.id + READING in (self.column_names.get(name, name) for name in names)
        )
        self.header = [self.column_names.get(name, name) for name in names]
        self.judged: Kept[tuple[Box, Box], tuple[tuple[Treated, ...], bool]] = Kept(self._judge)

    def rows(self, stream: Iterator[list[str]]) -> Iterator[PastRow]:
        """The rows of the table below its header."""
        if not self.same_readings:
            yield from self._rows_twice(stream)
            return
        judged: Kept[Case, tuple[tuple[Treated, ...], bool]] = Kept(lambda case: self.judged[case.cell, case.cell])
        # Cases in which the same conditions of both versions hold are alike, and one of them is enough.
        alike = None if self.not_given else list(dict.fromkeys([*conditions_of(self.old), *conditions_of(self.new)]))
        for number, fields, weight, case, problem in read_cases(self._space(None), self._translated(stream), alike):
            if case is None:
                yield PastRow(number, fields, 0, (), False, problem)
            else:
                yield PastRow(number, fields, weight, *judged[case], "")

    def _rows_twice(self, stream: Iterator[list[str]]) -> Iterator[PastRow]:
        """The same where the versions correct a reading differently: each row is read as either says."""
        first, second = tee(self._translated(stream))
        before = read_cases(self._space(self.comparison.old_protocol), first)
        after = read_cases(self._space(self.comparison.new_protocol), second)
        for ours, theirs in zip(before, after, strict=True):
            yield self._row(ours, theirs)

    def _row(self, ours: CaseRow, theirs: CaseRow) -> PastRow:
        if ours.case is None or theirs.case is None:
            return PastRow(ours.number, ours.fields, 0, (), False, theirs.problem or ours.problem)
        return PastRow(ours.number, ours.fields, ours.weight, *self.judged[ours.case.cell, theirs.case.cell], "")

    def _translated(self, stream: Iterator[list[str]]) -> Iterator[list[str]]:
        """The table under the new names."""
        yield self.header
        places = [(at, self.value_names[name]) for at, name in enumerate(self.header) if name in self.value_names]
        if not places:
            yield from stream
            return
        for row in stream:
            if len(row) == len(self.header):
                for at, names in places:
                    row[at] = names.get(row[at].strip(), row[at])
            yield row

    def _space(self, protocol: Protocol | None) -> Space:
        """The joint space without the factors that the table does not give, read off as a version says."""
        if protocol is None and not self.not_given:
            return self.comparison.space
        factors = {
            name: factor if protocol is None else replace(factor, reading=self._read_by(protocol, factor))
            for name, factor in self.new.protocol.factors.items()
            if name not in self.not_given
        }
        whens = [*all_whens(self.old.protocol), *all_whens(self.new.protocol)]
        return Space(factors, [tuple(_only(conditions, factors) for conditions in when) for when in whens])

    def _read_by(self, protocol: Protocol, joint: Factor) -> Reading | None:
        """How a version reads a factor off, in the unit of the joint one."""
        name = joint.id
        if protocol is self.comparison.old_protocol:
            former = {r.after: r.before for r in self.comparison.renamed if r.kind == "factor"}
            name = former.get(name, name)
        own = protocol.factors.get(name)
        if own is None or own.reading is None or own.unit is None or joint.unit is None:
            return None
        by = own.unit.size / joint.unit.size
        return replace(own.reading, offset=own.reading.offset * by, uncertainty=own.reading.uncertainty * by)

    def _judge(self, cells: tuple[Box, Box]) -> tuple[tuple[Treated, ...], bool]:
        """What changes in a case, and whether that hangs on a factor that it does not give."""
        found: dict[Key, Treated] = {}
        seen = set()
        for old_case, new_case in self._completed(*cells):
            changed = tuple(_changed(self.old, self.new, old_case, new_case))
            seen.add(tuple(key_of(*treated) for treated in changed))
            for treated in changed:
                found.setdefault(key_of(*treated), treated)
        return tuple(found.values()), len(seen) > 1

    def _completed(self, old_cell: Box, new_cell: Box) -> Iterator[tuple[Box, Box]]:
        """The case with each value of the factors that it does not give."""
        axes = self.comparison.space.axes
        missing = [n for n, name in enumerate(self.comparison.space.names) if name in self.not_given]
        for cells in product(*(bits(axes[n].full) for n in missing)):
            filled = dict(zip(missing, (1 << cell for cell in cells), strict=True))
            both = []
            for given in (old_cell, new_cell):
                known = iter(given)
                both.append(tuple(filled[n] if n in filled else next(known) for n in range(len(axes))))
            yield both[0], both[1]


def _changed(old: Meaning, new: Meaning, old_case: Box, new_case: Box) -> Iterator[Treated]:
    before, after = decide(old, old_case), decide(new, new_case)
    for decision in dict.fromkeys([*new.protocol.decisions, *old.protocol.decisions]):
        first = OUT_OF_SCOPE if before.excluded is not None else before.outcomes.get(decision, NOT_NEEDED)
        second = OUT_OF_SCOPE if after.excluded is not None else after.outcomes.get(decision, NOT_NEEDED)
        if not same(first, second):
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


def _only(conditions: Conditions, factors: Mapping[str, Factor]) -> Conditions:
    """The conditions on some factors alone."""
    return replace(conditions, conditions={n: c for n, c in conditions.conditions.items() if n in factors})
