"""What must be said of a case of which only a part is known: every completion is looked at, one after the other.

From the contract alone (section 8): settled, open, irrelevant, and which factor is to be asked next.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import product
from typing import Any

from tests.oracle.brute import Brute, Judgement, placing_order
from tests.oracle.grid import Grid
from tests.oracle.notation import as_list, holds
from tests.oracle.readings import Said, said

Cell = tuple[int, ...]
"""The place of a value on each axis."""


class Cases:
    """Every case of a protocol, judged. `grid` must have a cell for all that Liningbook tells apart."""

    def __init__(self, brute: Brute, grid: Grid) -> None:
        self.brute = brute
        self.axes = grid.axes
        self.names = list(grid.axes)
        self._judged: dict[Cell, Judgement] = {}

    def judged(self, cell: Cell) -> Judgement:
        if cell not in self._judged:
            self._judged[cell] = self.brute.advise(self.values(cell))
        return self._judged[cell]

    def values(self, cell: Cell) -> dict[str, Any]:
        return {name: self.axes[name][n] for name, n in zip(self.names, cell, strict=True)}

    def cells(self) -> Iterator[Cell]:
        return product(*(range(len(axis)) for axis in self.axes.values()))


@dataclass
class Partial:
    """A case with a place on each axis, or nothing where the factor is missing."""

    cases: Cases
    known: tuple[int | None, ...]

    @cached_property
    def completions(self) -> list[Cell]:
        axes = self.cases.axes.values()
        return list(
            product(*([n] if n is not None else range(len(axis)) for n, axis in zip(self.known, axes, strict=True)))
        )

    @cached_property
    def judgements(self) -> list[Judgement]:
        """Those in scope."""
        return [judged for cell in self.completions if (judged := self.cases.judged(cell)).in_scope]

    @property
    def missing(self) -> list[str]:
        return [name for name, n in zip(self.cases.names, self.known, strict=True) if n is None]

    @property
    def in_scope(self) -> bool | str:
        if not self.judgements:
            return False
        return True if len(self.judgements) == len(self.completions) else "open"

    @cached_property
    def possible(self) -> dict[str, set[Said]]:
        """What each decision can come to."""
        found: dict[str, set[Said]] = {}
        for judged in self.judgements:
            for decision in judged.states:
                found.setdefault(decision, set()).add(said(judged, decision))
        return found

    @property
    def open(self) -> list[str]:
        return [decision for decision, some in self.possible.items() if len(some) > 1]

    def rules(self, decision: str) -> dict[Any, set[str]]:
        """By answer, the rules that give it in every completion in scope."""
        tables = [judged.answers[decision] for judged in self.judgements]
        return {answer: set.intersection(*(table[answer] for table in tables)) for answer in tables[0]}

    def avoided(self, decision: str) -> set[tuple[str, str]]:
        """Agent and rule, of the warnings that stand in every completion in scope."""
        return set.intersection(*(set(judged.outcome(decision)[2]) for judged in self.judgements))

    def silent(self, decision: str) -> set[str]:
        return set.intersection(*(judged.silent.get(decision, set()) for judged in self.judgements))

    def order(self) -> list[str] | None:
        """The settled layers that are placed; nothing where that is not said, an empty list where orders differ."""
        settled = [decision for decision in self.possible if decision not in self.open]
        orders = [placing_order(judged) for judged in self.judgements]
        if any(order is None for order in orders):
            return None
        seen = {tuple(name for name in order or [] if name in settled) for order in orders}
        return list(seen.pop()) if len(seen) == 1 else []

    # --- asking -----------------------------------------------------------------------------------------------------

    def matters(self, name: str) -> bool:
        """Whether two completions that differ in this factor alone differ in something that is open."""
        at = self.cases.names.index(name)
        seen: dict[Cell, set[Any]] = {}
        for cell in self.completions:
            seen.setdefault((*cell[:at], *cell[at + 1 :]), set()).update(self._told(cell))
        return any(
            len({told for told in some if told[0] == what}) > 1
            for some in seen.values()
            for what in {told[0] for told in some}
        )

    def _told(self, cell: Cell) -> set[tuple[str, Any]]:
        judged = self.cases.judged(cell)
        told: set[tuple[str, Any]] = {("in scope", judged.in_scope)} if self.in_scope == "open" else set()
        if judged.in_scope:
            told |= {(f"decision {name}", said(judged, name)) for name in self.open}
        return told

    def left_open(self, name: str) -> int:
        """How many completions still have something open once the factor is known, counted for each thing apart."""
        at = self.cases.names.index(name)
        by_value: dict[int, list[set[tuple[str, Any]]]] = {}
        for cell in self.completions:
            by_value.setdefault(cell[at], []).append(self._told(cell))
        total = 0
        for slices in by_value.values():
            for what in {told[0] for some in slices for told in some}:
                of_it = [told for some in slices for told in some if told[0] == what]
                total += len(of_it) if len(set(of_it)) > 1 else 0
        return total

    def next(self, always: Sequence[str], first: Sequence[str]) -> str | None:
        """The factor to ask: of those `first` asked, else the one that leaves least open, else one `always` asked."""
        if not self.judgements:
            return None
        relevant = [name for name in self.missing if self.matters(name)]
        for name in first:
            if name in relevant or (name in always and name in self.missing):
                return name
        if relevant:
            return min(relevant, key=self.left_open)
        return next((name for name in self.missing if name in always), None)


def asked_first(cases: Cases, protocol: Mapping[str, Any]) -> list[str]:
    """The factors that the stop questions hang on, question by question; one of which every value will do is none."""
    factors = protocol["factors"]

    def hangs_on(name: str, mapping: Mapping[str, Any]) -> bool:
        when = {name: mapping[name]} if name in mapping else {}
        return not all(holds(factors, when, {name: value}) for value in cases.axes[name])

    found: list[str] = []
    for question in protocol.get("stop_questions", []):
        for mapping in as_list(question["screens"]) if isinstance(question, Mapping) and "screens" in question else []:
            found += [name for name in factors if hangs_on(name, mapping) and name not in found]
    return found
